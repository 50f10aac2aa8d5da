"""A drawer of own parts: what a build takes of it, what it refuses, and what can be built of all of it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from wheelcalc import answers
from wheelcalc.cli.main import run
from wheelcalc.files.buildfile import read_build
from wheelcalc.wheel.errors import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"

DRAWER = """
[measuring]
tool = "calliper"
[[rims]]
name = "black 36"
holes = 36
erd = 602.4
erd_to = "spoke end"
bead_seat_diameter = 622
[[rims]]
name = "small 36"
holes = 36
erd = 541.3
erd_to = "spoke end"
[[hubs]]
name = "freewheel hub"
over_locknut = 126
drive = "freewheel"
[hubs.left]
holes = 18
pcd = 45
locknut_to_flange = 29.1
[hubs.right]
holes = 18
pcd = 45.2
locknut_to_flange = 43.4
[[hubs]]
name = "wide hub"
over_locknut = 148
[hubs.left]
holes = 18
pcd = 52
locknut_to_flange = 37.5
[hubs.right]
holes = 18
pcd = 52
locknut_to_flange = 51.2
[[spokes]]
name = "tin"
wire = "1.8"
thread_length = 9
on_hand = { "290" = 24, "288" = 10, "289" = 12 }
taken_from = "new"
[[cranks]]
name = "double"
chainline = 43.5
rings = 2
ring_pitch = 5
"""
BUILD = """
title = "From the drawer"
[rim]
part = "black 36"
[hub]
part = "freewheel hub"
[lacing]
crosses = 3
"""
FRAME = """
title = "A frame"
[frame]
dropout_spacing = 130.0
material = "steel"
dropout = "slot"
"""


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    (tmp_path / "drawer.toml").write_text(DRAWER)
    (tmp_path / "build.toml").write_text(BUILD)
    (tmp_path / "frame.toml").write_text(FRAME)
    return tmp_path


def test_a_part_stands_for_its_keys_with_the_drawers_tool(shed: Path) -> None:
    taken = read_build(shed / "build.toml", (), [shed / "drawer.toml"]).build
    assert taken.number("rim.erd") == 602.4
    assert taken.sigma("rim.erd") == 0.1  # the drawer was read with a calliper
    assert taken.number("hub.right.locknut_to_flange") == 43.4
    written = BUILD.replace('part = "black 36"', 'holes = 36\nerd = "602.4 +- 0.1 mm"\nerd_to = "spoke end"')
    written = written.replace('part = "freewheel hub"', "over_locknut = 126")
    for side, pcd, place in (("left", 45, 29.1), ("right", 45.2, 43.4)):
        written += f'[hub.{side}]\nholes = 18\npcd = "{pcd} +- 0.1 mm"\nlocknut_to_flange = "{place} +- 0.1 mm"\n'
    (shed / "written.toml").write_text(written.replace("over_locknut = 126", 'over_locknut = "126 +- 0.1 mm"'))
    from_drawer = answers.lengths(read_build(shed / "build.toml", (), [shed / "drawer.toml"]))
    by_hand = answers.lengths(shed / "written.toml")
    for side in ("left", "right"):
        one, other = from_drawer.sides[side], by_hand.sides[side]
        assert (one.cut, one.sigma) == pytest.approx((other.cut, other.sigma), abs=1e-9)


def test_own_keys_beside_a_part_go_before(shed: Path) -> None:
    overrides = ("hub.right.pcd=47.3", "hub.left.offset=31.7")
    taken = read_build(shed / "build.toml", overrides, [shed / "drawer.toml"]).build
    assert taken.hub.right.pcd == 47.3
    assert taken.sigma("hub.right.pcd") == 0.5  # the build's own tool
    assert "hub.left.locknut_to_flange" not in taken  # which would go before the build's own offset
    assert (
        answers.lengths(read_build(shed / "build.toml", overrides, [shed / "drawer.toml"])).wheel.hub.left.offset
        == 31.7
    )


def test_an_own_erd_says_itself_where_it_was_read_to(shed: Path) -> None:
    with pytest.raises(InputError, match=r"rim\.erd_to"):
        read_build(shed / "build.toml", ["rim.erd=600"], [shed / "drawer.toml"])


def test_spokes_of_a_drawer_are_on_hand_and_of_their_wire(shed: Path) -> None:
    taken = read_build(shed / "build.toml", ["spokes.part=tin"], [shed / "drawer.toml"]).build
    assert taken.spokes.wire["left"] == (1.8, 1.8, 1.8)
    assert taken.spokes.thread_length["right"] == 9
    assert taken.value("stock.on_hand") == {290.0: 24, 288.0: 10, 289.0: 12}


def test_the_old_wheels_hub_may_be_of_the_drawer_too(shed: Path) -> None:
    taken = read_build(shed / "build.toml", ["old_wheel.hub.part=wide hub"], [shed / "drawer.toml"]).build
    assert taken.number("old_wheel.hub.over_locknut") == 148


@pytest.mark.parametrize(
    ("override", "words"),
    [
        ("rim.part=red 36", 'rim.part: found "red 36", which is not in .*drawer.toml; it has black 36, small 36'),
        ("rim.part=tin", 'rim.part: found "tin", which is in .*drawer.toml as spokes, not as rim'),
        ("crank.part=black 36", 'crank.part: found "black 36", which is in .*drawer.toml as rim, not as crank'),
    ],
)
def test_a_part_that_is_not_there(shed: Path, capsys: pytest.CaptureFixture[str], override: str, words: str) -> None:
    drawer = str(shed / "drawer.toml")
    assert run(["order", str(shed / "build.toml"), "--parts", drawer, "--set", override]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    with pytest.raises(InputError, match=words):
        read_build(shed / "build.toml", [override], [drawer])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (DRAWER.replace("small 36", "black 36"), 'rim.name: found "black 36" twice'),
        (DRAWER.replace('name = "double"\n', ""), "cranks.name: is missing in the first of them"),
        (DRAWER.replace("pcd = 45.2", "pdc = 45.2"), "hub.right.pdc: is not a known key"),
        (DRAWER + "\n[lacing]\ncrosses = 3\n", "lacing: does not belong into a drawer"),
        (DRAWER.replace("holes = 36", 'holes = "many"'), "rim.holes"),
        (DRAWER.replace('"calliper"', '"eye"'), "measuring.tool: found eye; write one of tape, rule, calliper"),
        (DRAWER.replace('tool = "calliper"', "tool = { left = 1 }"), "measuring.tool"),
        ("measuring = 3\n[[rims]]\nname = 'x'\n", "measuring.tool"),
        ("rims = 3\n[[hubs]]\nname = 'x'\n", "rims: write .*rims.* once for each"),
    ],
)
def test_a_drawer_that_cannot_be_used_is_named(shed: Path, text: str, words: str) -> None:
    (shed / "drawer.toml").write_text(text)
    with pytest.raises(InputError, match=words) as error:
        answers.lengths(read_build(shed / "build.toml", (), [shed / "drawer.toml"]))
    assert "drawer.toml" in str(error.value)


def test_one_name_in_two_drawers(shed: Path) -> None:
    (shed / "other.toml").write_text(DRAWER)
    with pytest.raises(InputError, match=r'found "black 36" twice, here and in .*drawer\.toml'):
        read_build(shed / "build.toml", (), [shed / "drawer.toml", shed / "other.toml"])


def test_without_a_drawer_a_part_is_refused(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["order", str(shed / "build.toml")]) == 2
    assert "no drawer was opened; give it as `--parts`" in capsys.readouterr().err


def test_check_tells_which_parts_are_ready(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (shed / "drawer.toml").write_text(DRAWER.replace("pcd = 52\n", "", 1))
    assert run(["check", str(shed / "drawer.toml"), "--json"]) == 0
    parts = {each["name"]: each for each in json.loads(capsys.readouterr().out)["parts"]}
    assert [name for name, each in parts.items() if not each["ready"]] == ["wide hub"]
    assert parts["wide hub"]["missing"] == ["hub.left.pcd"]
    assert run(["check", str(shed / "drawer.toml")]) == 0
    assert re.search(r"wide hub +lacks hub\.left\.pcd", capsys.readouterr().out)


def test_check_refuses_a_drawer_with_a_wrong_key(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (shed / "drawer.toml").write_text(DRAWER.replace("chainline", "chain_line"))
    assert run(["check", str(shed / "drawer.toml")]) == 2
    error = capsys.readouterr().err
    assert "drawer.toml" in error
    assert "crank.chain_line" in error


def test_what_can_be_built_of_all_of_it_for_a_frame(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["salvage", str(shed / "frame.toml"), "--parts", str(shed / "drawer.toml"), "--json"]) == 0
    builds = json.loads(capsys.readouterr().out)["builds"]
    first = builds[0]
    assert (first["rim"], first["hub"], first["in_the_frame"]) == ("black 36", "freewheel hub", "fits with spacers")
    assert first["short_of"] == []
    # the lengths are those with the spacers of the plan that fit proposes
    frame = FRAME + BUILD.replace('title = "From the drawer"', "")
    (shed / "whole.toml").write_text(frame)
    plan = answers.fit(read_build(shed / "whole.toml", (), [shed / "drawer.toml"])).as_json()["plans"][0]
    assert plan["left_mm"] + plan["right_mm"] == 4
    spacers = f"spacers.fitted={{ left = {plan['left_mm']}, right = {plan['right_mm']} }}"
    ordered = answers.order(read_build(shed / "whole.toml", [spacers, "spokes.part=tin"], [shed / "drawer.toml"]))
    assert [(each["side"], each["length_mm"], each["count"]) for each in first["lines"]] == [
        (line.side, line.length, line.count) for line in ordered.lines
    ]
    assert not any(each["hub"] == "wide hub" and each["in_the_frame"] == "fits" for each in builds)


def test_a_part_that_the_build_takes_does_not_lie_in_the_drawer_besides(shed: Path) -> None:
    taken = read_build(shed / "build.toml", (), [shed / "drawer.toml"])
    assert [each.value("rim.name") for each in taken.jar["jar.rims"]] == ["small 36"]
    builds = answers.salvage(taken).jar.builds
    assert builds
    assert {each.rim for each in builds} <= {"black 36", "small 36"}


def test_start_takes_a_part_and_puts_one_in(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawer, wheel = str(shed / "drawer.toml"), str(shed / "wheel.toml")
    given = ["--parts", drawer, "--rim-part", "black 36", "--lacing-crosses", "3", "--hub-over-locknut", "131.5"]
    for side, place in (("left", "31"), ("right", "45.5")):
        given += [f"--hub-{side}-holes", "18", f"--hub-{side}-pcd", "45", f"--hub-{side}-locknut-to-flange", place]
    assert run(["start", wheel, *given, "--keep", 'hub="road hub"']) == 0
    text = Path(wheel).read_text()
    assert 'part = "black 36"' in text
    assert "erd" not in text  # the part brings it
    assert answers.order(read_build(wheel, (), [drawer])).lines
    assert run(["check", drawer, "--json"]) == 0
    capsys.readouterr()
    again = read_build(wheel, (), [drawer]).build
    from_part = read_build(shed / "build.toml", ["hub.part=road hub"], [drawer]).build
    for key in ("hub.over_locknut", "hub.right.pcd", "hub.left.locknut_to_flange"):
        assert from_part.number(key) == again.number(key)
    assert (shed / "drawer.toml").read_text().startswith(DRAWER.rstrip("\n"))  # what lay in it stays as it was


def test_start_refuses_a_name_that_the_drawer_has(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (shed / "build.toml").write_text(BUILD.replace('part = "freewheel hub"', "over_locknut = 130"))
    drawer = str(shed / "drawer.toml")
    given = ["start", str(shed / "build.toml"), "--parts", drawer, "--keep", "hub=wide hub"]
    for side, place in (("left", "31"), ("right", "45.5")):
        given += [f"--hub-{side}-holes", "18", f"--hub-{side}-pcd", "45", f"--hub-{side}-locknut-to-flange", place]
    assert run(given) == 2
    assert 'found "wide hub" twice' in capsys.readouterr().err
    assert (shed / "drawer.toml").read_text() == DRAWER


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--keep", "hub=x"], "--parts: is missing"),
        (["--keep", "frame=x"], '--keep: found "frame=x"; write rim=NAME'),
        (["--rim-part", "black 36"], "no drawer was opened"),
    ],
)
def test_start_names_what_it_cannot_do_with_a_drawer(
    shed: Path, capsys: pytest.CaptureFixture[str], args: list[str], words: str
) -> None:
    assert run(["start", str(shed / "new.toml"), *args]) == 2
    assert words in capsys.readouterr().err
    assert not (shed / "new.toml").exists()


def test_the_shed_of_the_examples_builds_wheels_for_the_errand_bike(capsys: pytest.CaptureFixture[str]) -> None:
    drawer = str(EXAMPLES / "shed.toml")
    assert run(["check", drawer, "--json"]) == 0
    assert all(part["ready"] for part in json.loads(capsys.readouterr().out)["parts"])
    assert run(["salvage", str(EXAMPLES / "errand-rear.toml"), "--parts", drawer, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    whole = [build for build in found["builds"] if not build["short_of"]]
    assert {(build["rim"], build["hub"]) for build in whole} >= {("black rim", "folder hub"), ("this rim", "this hub")}
    near = [build for build in found["builds"] if build["short_of"]]
    assert {build["rim"] for build in near} == {"shop bike rim"}  # 32 holes on hubs of 36
    assert found["old_spokes"] == {"of": 52, "may_serve": 52, "refused": []}
    crank = ["fit", str(EXAMPLES / "errand-rear.toml"), "--parts", drawer, "--set", "crank.part=road crank", "--json"]
    assert run(crank) in (0, 1)
    assert json.loads(capsys.readouterr().out)["chainline"]["front_mm"] == 43.5


def test_a_build_file_as_drawer_is_said_to_be_one(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["salvage", str(EXAMPLES / "donor-hub.toml"), "--parts", str(EXAMPLES / "donor-hub.toml")]) == 2
    said = capsys.readouterr()
    assert not said.out
    assert said.err.count("\n") == 1
    assert "donor-hub.toml: --parts: is a build file, not a drawer" in said.err


@pytest.mark.parametrize(
    "name", [r"\u001b[31mred", r"a\u001b]0;title\u0007", r"red\u202egnirts", "x" * 201, r"two\nlines"]
)
@pytest.mark.parametrize("command", ["check", "salvage"])
def test_names_that_would_rewrite_the_screen_are_refused(
    command: str, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawer = tmp_path / "evil.toml"
    drawer.write_text(f'[[rims]]\nname = "{name}"\nholes = 36\nerd = 598\nerd_to = "spoke end"\n')
    call = (
        ["check", str(drawer)]
        if command == "check"
        else ["salvage", str(EXAMPLES / "donor-hub.toml"), "--parts", str(drawer)]
    )
    assert run(call) == 2
    said = capsys.readouterr()
    assert not said.out
    assert said.err.rstrip("\n").isprintable()
    assert "evil.toml: rims.name: " in said.err


def test_names_that_a_spreadsheet_would_run_are_text_in_csv(tmp_path: Path) -> None:
    drawer, out = tmp_path / "shed.toml", tmp_path / "builds.csv"
    lot = '[[spokes]]\nname = "lot"\nwire = "2.0"\non_hand = { "287" = 36, "288" = 36 }\ntaken_from = "new"\n'
    drawer.write_text(f'[[rims]]\nname = "=cmd|\' /C calc\'!A0"\nholes = 36\nerd = 599\nerd_to = "spoke end"\n{lot}')
    assert run(["salvage", str(EXAMPLES / "donor-hub.toml"), "--parts", str(drawer), "-o", str(out)]) == 0
    cells = [cell for line in out.read_text().splitlines() for cell in line.split(",")]
    assert any("cmd|" in cell for cell in cells)
    assert not any(cell.lstrip('"').startswith(("=", "@")) for cell in cells)


def test_parts_in_cm_and_inches_are_the_same_parts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = []
    for erd, width, pcd, place in (
        ('"23.5 in"', '"12 cm"', '"1.75 in"', '"2.75 cm"'),
        ('"596.9 mm"', '"120 mm"', '"44.45 mm"', '"27.5 mm"'),
    ):
        drawer = tmp_path / "shed.toml"
        flange = f"holes = 18\npcd = {pcd}\nlocknut_to_flange = {place}\n"
        drawer.write_text(
            f'[[rims]]\nname = "rim"\nholes = 36\nerd = {erd}\nerd_to = "spoke end"\n'
            f'[[hubs]]\nname = "hub"\nover_locknut = {width}\n[hubs.left]\n{flange}[hubs.right]\n{flange}'
        )
        call = ["lengths", str(EXAMPLES / "donor-hub.toml"), "--parts", str(drawer), "--json"]
        run([*call, "--set", 'rim.part="rim"', "--set", 'hub.part="hub"'])
        said.append(json.loads(capsys.readouterr().out)["sides"])
    assert said[0] == said[1]


def test_one_list_of_a_drawer_without_its_s_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawer = tmp_path / "drawer.toml"
    drawer.write_text('[[rims]]\nname = "black"\nholes = 36\n[[hub]]\nname = "old"\n')
    assert run(["salvage", str(EXAMPLES / "donor-hub.toml"), "--parts", str(drawer)]) == 2
    said = capsys.readouterr().err
    assert "drawer.toml: hub: does not belong into a drawer; write [[rims]], [[hubs]]" in said
