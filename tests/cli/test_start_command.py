"""`start` through a pseudo-terminal: good, bad, interrupted and taken-back answers; and unattended."""

from __future__ import annotations

import itertools
import subprocess
import time
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("pty", reason="needs a pseudo-terminal")

from tests.tools.process import inside
from tests.tools.terminal import CTRL_C, CTRL_D, HANG_UP, dialogue
from wheelcalc.files.buildfile import read_build
from wheelcalc.files.keys import keys
from wheelcalc.files.outline.whole import OUTLINE

# What an order needs, each the plain dimension, by option.
NEEDED = {
    "--rim-holes": "36",
    "--rim-erd-to": "spoke end",
    "--rim-erd": "602.1, 602.5, 602.6",
    "--hub-over-locknut": "130 mm",
    "--hub-left-holes": "18",
    "--hub-left-pcd": "44.7",
    "--hub-left-locknut-to-flange": "30.6",
    "--hub-right-holes": "18",
    "--hub-right-pcd": "45.1",
    "--hub-right-locknut-to-flange": "46.3",
    "--lacing-crosses": "left 2, right 3",
}
RIM_ONLY = ["Errand bike", "", "calliper", "36", "622", "1", "260", "82.4, 82.8, 82.3"]


def everything(arguments: list[str], answers: Iterable[str], folder: Path) -> tuple[str, int]:
    """A dialogue that asks in the order of the job, not what an order needs first."""
    return dialogue(arguments, itertools.chain(["all"], answers), folder)


def options(**changed: str | None) -> list[str]:
    """NEEDED as arguments; a changed one by its name with underscores, None leaves it out."""
    wanted: dict[str, str | None] = {
        **NEEDED,
        **{"--" + name.replace("_", "-"): text for name, text in changed.items()},
    }
    return [word for name, text in wanted.items() if text is not None for word in (name, text)]


def unattended(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return inside("start", *arguments, folder=folder)


def refused(done: subprocess.CompletedProcess[str]) -> str:
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("Error: ")
    assert done.stderr.count("\n") == 1
    return done.stderr


# A whole dialogue


def test_a_whole_build_by_raw_readings(tmp_path: Path) -> None:
    answers = [
        "wheel.toml", "Errand bike, rear", "", "calliper",
        "36", "622", "1", "260", "82.4, 82.8, 82.3", "2.5 mm left", "", "double", "yes", "120 kgf", "520 g",
        "", "no", "no", "", "632.1, 632.6, 631.8", "0.8",
        "130.2 130.0", "cassette", "no",
        "18", "", "1", "42.3", "47.3", "53", "1", "3.2", "29.0",
        "18", "", "2", "7", "42.1", "", "", "2", "46.3", "aligned",
        "", "2.0/1.8/2.0", "", "aluminium", "2.0", "288 = 20, 290 = 18",
        "no", "yes", "8", "6.1", "4.8", "2", "43.5", "", "no",
        "yes", "left 3, right 2", "left 291, 291.5, right 289, 288.5", "left -1, right 0.5", "900 N",
        "126.2", "18", "40.2", "29.1", "18", "40.1", "42.4",
    ]  # fmt: skip
    shown, status = dialogue(["start"], [answers[0], "all", *answers[1:]], tmp_path)
    assert status in (0, 1), shown
    known = read_build(tmp_path / "wheel.toml").build
    assert known.number("rim.erd") == pytest.approx(2 * 260 + (82.4 + 82.8 + 82.3) / 3)
    assert known.number("hub.left.pcd") == pytest.approx((42.3 + 47.3) / 2)
    assert known.number("hub.left.locknut_to_flange") == pytest.approx(29.0 + 3.2 / 2)
    assert known.number("rim.hole_offset") == -2.5
    assert known.number("rim.tension_limit") == pytest.approx(120 * 9.80665)
    assert known["hub.over_locknut"].repeats == (130.2, 130.0)
    assert (known.value("lacing.crosses.left"), known.value("lacing.crosses.right")) == (3, 3)
    assert known.value("stock.on_hand") == {288.0: 20, 290.0: 18}
    assert known.value("nipple.material") == "aluminium"
    assert known["old_rim.diameters"].value == (632.1, 632.6, 631.8)
    assert (known.value("old_rim.cracks"), known.number("old_rim.flat_gap")) == (False, 0.8)
    assert (known.value("hub.phase"), known.number("crank.chainline"), known.value("cogs.count")) == (
        "aligned",
        43.5,
        8,
    )
    assert (known.value("old_wheel.crosses.left"), known.value("old_wheel.crosses.right")) == (3, 2)
    assert known["old_wheel.lengths.right"].value == (289.0, 288.5)
    assert known.number("old_wheel.hub.right.locknut_to_flange") == 42.4
    assert "wheelcalc order wheel.toml" in shown[shown.index("Next: ") :]
    lines = (tmp_path / "wheel.toml").read_text().splitlines()
    keyed = [n for n, line in enumerate(lines) if " = " in line and not line.startswith("#")]
    assert len(keyed) > 25
    assert all(" # " in lines[n] or lines[n - 1].startswith("# ") for n in keyed)
    assert max(map(len, shown.splitlines())) <= 80
    shown.encode("latin-1")


# Bad answers


def test_a_bad_answer_is_refused_with_the_reason_and_asked_again(tmp_path: Path) -> None:
    bad = {
        "36,5": "write 36.5",
        "thirty-six": "whole number",
        "-36": "is not a count",
        "3600": "sensible is 6 to 144",
        "36 mm": "not a count",
    }
    answers = ["", "", "", *bad, "", "\udcff\udcfe", "36", CTRL_D]
    shown, status = everything(["start", "wheel.toml"], answers, tmp_path)
    flat = " ".join(shown.split())
    for reason in bad.values():
        assert reason in flat
    assert "there is no order without it" in flat
    assert "could not be read as text" in flat
    assert flat.count("How many spoke holes has the rim?") >= 6
    assert status == 0
    assert tomllib.loads((tmp_path / "wheel.toml").read_text())["rim"] == {"holes": 36}


def test_no_leaves_out_what_need_not_be_there(tmp_path: Path) -> None:
    answers = [*RIM_ONLY, "no", "aluminium", "double", "yes", "None", CTRL_C]
    shown, _ = everything(["start", "wheel.toml"], answers, tmp_path)
    assert "number" not in shown[shown.index("What is the rim made of") :]
    rim = tomllib.loads((tmp_path / "wheel.toml").read_text())["rim"]
    assert not {"hole_offset", "tension_limit"} & rim.keys()
    assert rim["eyelets"] is True


def test_a_refusal_ends_in_one_mark(tmp_path: Path) -> None:
    shown, _ = everything(["start", "wheel.toml"], ["Errand bike", "", "", "36", "24.5", CTRL_C], tmp_path)
    assert "that is the tyre's name; write the second number of the mark" in " ".join(shown.split())
    assert "?." not in shown
    assert ".." not in shown


def test_a_slip_is_shown_at_once_and_can_be_mended(tmp_path: Path) -> None:
    start = ["start", "wheel.toml", *options(rim_erd=None, rim_erd_to=None), "--rim-bead-seat-diameter", "622"]
    shown, _ = everything(start, ["", "", "", "4", "1", "632", "602.4", CTRL_D], tmp_path)
    assert "outside the bead seat diameter of 622 mm" in " ".join(shown.split())
    assert read_build(tmp_path / "wheel.toml").build.number("rim.erd") == 602.4
    assert "632" not in (tmp_path / "wheel.toml").read_text()


def test_each_way_says_what_it_costs_with_the_tool_at_hand(tmp_path: Path) -> None:
    shown, _ = everything(["start", "wheel.toml"], ["Errand bike", "", "tape", "36", "622", CTRL_C], tmp_path)
    # D: a length counted twice and a gap once, tape 1 mm: 1.96 sqrt(5) = 4.4
    assert "between them (+-4.4 mm)" in " ".join(shown.split())


def test_both_flanges_counted_as_one_is_doubted_at_once(tmp_path: Path) -> None:
    answers = [*RIM_ONLY, "", "", "", "", "", "", "no", "130", "cassette", "no", "36", "18", CTRL_C]
    shown, _ = everything(["start", "wheel.toml"], answers, tmp_path)
    assert "The left flange alone has as many holes as the rim (36)" in " ".join(shown.split())
    assert tomllib.loads((tmp_path / "wheel.toml").read_text())["hub"]["left"]["holes"] == 18


def test_a_slip_may_be_kept(tmp_path: Path) -> None:
    start = ["start", "wheel.toml", *options(rim_erd=None, rim_erd_to=None), "--rim-bead-seat-diameter", "622"]
    everything(start, ["", "", "", "4", "1", "632", "", CTRL_D], tmp_path)
    assert read_build(tmp_path / "wheel.toml").build.number("rim.erd") == 632


def test_a_nipple_seat_asks_for_the_nipple(tmp_path: Path) -> None:
    start = ["start", "wheel.toml", *options(rim_erd=None, rim_erd_to=None)]
    shown, _ = everything(start, ["", "", "", "", "4", "nipple seat", "2.4", "596", CTRL_D], tmp_path)
    assert "bearing face" in shown
    known = read_build(tmp_path / "wheel.toml").build
    assert (known.value("rim.erd_to"), known.number("nipple.seat_to_end"), known.number("rim.erd")) == (
        "nipple seat",
        2.4,
        596,
    )


# ? skip back


def test_a_question_mark_explains_with_the_drawing_and_asks_again(tmp_path: Path) -> None:
    shown, _ = everything(["start", "wheel.toml"], [*RIM_ONLY[:5], "?", "1", "?", CTRL_C], tmp_path)
    assert "the reading that matters most" in " ".join(shown.split())
    assert shown.count("<-- gap ->") == 2


def test_every_question_can_be_explained_within_80_columns() -> None:
    from wheelcalc.cli.asking import asked, explained
    from wheelcalc.files.draft import Draft

    draft, count = Draft(Path("no such file.toml")), 0
    for section in OUTLINE:
        for item in (section, *section.items, *section.questions()):
            lines = [*explained(item), *asked(item, draft)]
            assert max(map(len, lines), default=0) <= 80
            assert explained(item)
            count += 1
    assert count > 80


def test_skip_leaves_a_needed_answer_for_later(tmp_path: Path) -> None:
    answers = ["skip"] * 40
    shown, status = everything(["start", "wheel.toml", "--title", "Later"], answers, tmp_path)
    assert status == 0
    assert "lacks rim.holes" in " ".join(shown.split())
    assert "`wheelcalc start wheel.toml` again" in " ".join(shown.split())
    assert set(tomllib.loads((tmp_path / "wheel.toml").read_text())) == {"title"}


def test_back_takes_the_last_answer_out_of_the_file(tmp_path: Path) -> None:
    everything(["start", "wheel.toml"], [*RIM_ONLY[:3], "32", "back", "36", CTRL_D], tmp_path)
    text = (tmp_path / "wheel.toml").read_text()
    assert tomllib.loads(text)["rim"]["holes"] == 36
    assert "32" not in text.replace("32-622", "")


def test_back_at_the_first_question(tmp_path: Path) -> None:
    shown, _ = everything(["start", "wheel.toml"], ["back", CTRL_D], tmp_path)
    assert "first question" in shown
    assert list(tmp_path.iterdir()) == []


# Interrupted


@pytest.mark.parametrize("end", [CTRL_C, CTRL_D, HANG_UP, "stop"])
def test_an_interrupted_session_loses_nothing_and_goes_on(tmp_path: Path, end: str) -> None:
    shown, status = everything(["start", "wheel.toml"], [*RIM_ONLY, end], tmp_path)
    if end != HANG_UP:
        assert status == 0
        assert "Error" not in shown
        assert "Stopped. Every answer is kept in wheel.toml" in shown
        assert "`wheelcalc start wheel.toml` goes on" in " ".join(shown.split())
    assert [path.name for path in tmp_path.iterdir()] == ["wheel.toml"]
    before = (tmp_path / "wheel.toml").read_text()
    assert read_build(tmp_path / "wheel.toml").build.number("rim.erd") == pytest.approx(2 * 260 + 82.5)
    shown, _ = everything(["start", "wheel.toml"], ["", "", "", "", "", "520 g", CTRL_D], tmp_path)
    assert "How many spoke holes has the rim" not in shown
    assert "two old spokes" not in shown
    after = (tmp_path / "wheel.toml").read_text()
    assert tomllib.loads(after)["rim"]["section"]["mass"] == "520 g"
    lines = iter(after.splitlines())
    assert all(any(line == other for other in lines) for line in before.splitlines())


def test_half_a_reading_is_gone_on_with(tmp_path: Path) -> None:
    everything(["start", "wheel.toml"], [*RIM_ONLY[:7], CTRL_C], tmp_path)
    shown, _ = everything(["start", "wheel.toml"], ["82.4", CTRL_C], tmp_path)
    assert "How will you find the rim" not in shown
    assert read_build(tmp_path / "wheel.toml").build.number("rim.erd") == pytest.approx(602.4)


def test_nothing_answered_nothing_written(tmp_path: Path) -> None:
    for answers in ([CTRL_D], ["wheel.toml", CTRL_C]):
        shown, status = dialogue(["start"], answers, tmp_path)
        assert status == 0
        assert "Error" not in shown
        assert "nothing was written" in shown
    assert list(tmp_path.iterdir()) == []


# An existing file


OWN = """\
# mine, and it stays
[rim]
holes = 36   # twice counted
erd = 602.4
[stock]
spares = 4
[limits]
low_chance = 0.8

[[jar.spokes]]
wire = "2.0"
on_hand = { "288" = 20 }
"""


def test_an_existing_file_is_completed_not_rewritten(tmp_path: Path) -> None:
    (tmp_path / "wheel.toml").write_text(OWN)
    shown, _ = everything(["start", "wheel.toml"], ["Mine", "", "", "", "spoke end", CTRL_D], tmp_path)
    assert "How many spoke holes has the rim" not in shown
    text = (tmp_path / "wheel.toml").read_text()
    lines = iter(text.splitlines())
    assert all(any(line == other for other in lines) for line in OWN.splitlines())
    build = read_build(tmp_path / "wheel.toml")
    assert (build.title, build.build.value("rim.erd_to")) == ("Mine", "spoke end")
    assert len(build.jar["jar.spokes"]) == 1


def test_an_option_does_not_change_what_stands_there(tmp_path: Path) -> None:
    (tmp_path / "wheel.toml").write_text(OWN)
    assert "--rim-holes: stands in the file already" in refused(unattended(tmp_path, "wheel.toml", "--rim-holes", "32"))
    assert (tmp_path / "wheel.toml").read_text() == OWN


def test_a_broken_file_is_left_alone(tmp_path: Path) -> None:
    for text, words in (("[rim\n", "wheel.toml: is not TOML"), ("[rim]\nhols = 3\n", "nearest known is rim.holes")):
        (tmp_path / "wheel.toml").write_text(text)
        assert words in refused(unattended(tmp_path, "-o", "wheel.toml", *options()))
        assert (tmp_path / "wheel.toml").read_text() == text


def test_a_file_changed_meanwhile_by_an_editor_keeps_both(tmp_path: Path) -> None:
    def answers() -> object:
        yield from RIM_ONLY[:4]
        path = tmp_path / "wheel.toml"
        path.write_text(path.read_text() + "\n[stock]\nspares = 7\n")
        yield from ("622", CTRL_D)

    everything(["start", "wheel.toml"], answers(), tmp_path)
    tree = tomllib.loads((tmp_path / "wheel.toml").read_text())
    assert (tree["stock"]["spares"], tree["rim"]["bead_seat_diameter"]) == (7, 622)


# Unattended


def test_unattended(tmp_path: Path) -> None:
    done = unattended(tmp_path, "-o", "wheel.toml", *options(title='A "b" \\ <i>'))
    assert (done.returncode, done.stderr) == (0, "")
    assert "Next: wheelcalc order wheel.toml" in done.stdout
    build = read_build(tmp_path / "wheel.toml")
    assert build.title == 'A "b" \\ <i>'
    assert build.build.number("rim.erd") == pytest.approx(602.4)
    assert build.build.value("lacing.crosses.left") == 2
    before = (tmp_path / "wheel.toml").read_text()
    assert unattended(tmp_path, "wheel.toml", *options()).returncode == 0
    assert (tmp_path / "wheel.toml").read_text() == before


@pytest.mark.parametrize("option", NEEDED)
def test_one_error_line_names_the_missing_option(tmp_path: Path, option: str) -> None:
    name = option.removeprefix("--").replace("-", "_")
    error = refused(unattended(tmp_path, "-o", "wheel.toml", *options(**{name: None})))
    assert option in error
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (options(), "-o: is missing"),
        (["-o", "wheel.txt", *options()], "ends in .toml"),
        (["-o", "no/wheel.toml", *options()], "cannot be written"),
        (["a.toml", "-o", "b.toml", *options()], "name the build file once"),
        (["-o", "w.toml", *options(rim_holes="36,5")], '--rim-holes: "36,5" has a comma'),
        (["-o", "w.toml", *options(rim_erd="602.1, 6")], "--rim-erd: found 6 mm"),
        (["-o", "w.toml", *options(rim_walls="triple")], "--rim-walls"),
        (["-o", "w.toml", *options(rim_erd_to="nipple seat")], "nipple.seat_to_end"),
    ],
)
def test_refused_unattended(tmp_path: Path, arguments: list[str], words: str) -> None:
    assert words in refused(unattended(tmp_path, *arguments))
    assert list(tmp_path.iterdir()) == []


def test_raw_readings_do_unattended(tmp_path: Path) -> None:
    raw = ["--readings-rim-two-spokes-length", "260", "--readings-rim-two-spokes-gap", "82.4, 82.8"]
    done = unattended(tmp_path, "-o", "wheel.toml", *options(rim_erd=None, rim_erd_to=None), *raw)
    assert done.returncode == 0, done.stderr
    assert read_build(tmp_path / "wheel.toml").build.number("rim.erd") == pytest.approx(602.6)


def test_a_stop_is_said_at_the_end(tmp_path: Path) -> None:
    done = unattended(tmp_path, "-o", "wheel.toml", *options(nipple_for_wire="1.8"))
    assert done.returncode == 1
    assert "STOP" in done.stdout
    assert "Next: see to what stops it before you order" in done.stdout


def test_a_cracked_rim_ends_in_a_stop(tmp_path: Path) -> None:
    done = unattended(tmp_path, "-o", "wheel.toml", *options(old_rim_cracks="yes"))
    assert done.returncode == 1
    assert "STOP     The rim is cracked" in done.stdout


def test_a_drawer_is_no_build_file_to_go_on_with(tmp_path: Path) -> None:
    drawer = tmp_path / "shed.toml"
    drawer.write_text('[[rims]]\nname = "black"\nholes = 36\n')
    text = refused(unattended(tmp_path, "shed.toml", "--rim-holes", "36"))
    assert "shed.toml: is a drawer of parts, not a build file; name another file for the wheel" in text
    assert "`wheelcalc start wheel.toml --parts shed.toml`" in text
    assert drawer.read_text().count("holes") == 1


def test_every_question_has_an_option_and_a_known_key() -> None:
    from wheelcalc.cli.start import command

    names = {option for parameter in command.params for option in parameter.opts}
    questions = [question for section in OUTLINE for question in section.questions()]
    assert len(questions) > 50
    assert {question.option for question in questions} <= names
    assert {question.key for question in questions} <= set(keys())


def test_back_offers_the_earlier_answer_and_enter_takes_it(tmp_path: Path) -> None:
    shown, status = everything(["start", "wheel.toml"], ["Errand bike", "back", "", "stop"], tmp_path)
    assert status == 0
    assert "[Errand bike] > " in shown
    assert tomllib.loads((tmp_path / "wheel.toml").read_text())["title"] == "Errand bike"


# What an order needs, then the rest


PLAINEST = ["36", "602.4 spoke end", "130.2", "18", "44.7", "30.6", "18", "45.1", "46.3", "3x"]


def test_a_very_long_dimension_is_refused_at_once(tmp_path: Path) -> None:
    start = time.process_time()
    dialogue(["start", "wheel.toml"], ["36", f"602{' ' * 900}x", "stop"], tmp_path)
    assert time.process_time() - start < 5


def test_ten_readings_are_ten_questions(tmp_path: Path) -> None:
    assert len(PLAINEST) == 10
    shown, _ = dialogue(["start", "wheel.toml"], [*PLAINEST, "no"], tmp_path)
    assert shown[: shown.index("That was what an order needs.")].count("> ") == 10


@pytest.mark.parametrize(
    ("answers", "table", "keys"),
    [
        (["36", "602.4", "nipple seat", "2.5", ""], "rim", {"erd": 602.4, "erd_to": "nipple seat"}),
        (["36", "602.4", "2", ""], "rim", {"erd": 602.4, "erd_to": "nipple top"}),
        (["36", "602.1, 602.6 to the seats", "2.5"], "rim", {"erd": [602.1, 602.6], "erd_to": "nipple seat"}),
        (["36", "602 +- 1 mm spoke end"], "rim", {"erd": "602 +- 1 mm", "erd_to": "spoke end"}),
        (["36", "a bit", "602,4 end", "602.4 end"], "rim", {"erd": 602.4, "erd_to": "spoke end"}),
        (["36", "260 gap 82.4, 82.8"], "readings", {"rim": {"two_spokes": {"length": 260, "gap": [82.4, 82.8]}}}),
        (["36", "260 + 82.4"], "readings", {"rim": {"two_spokes": {"length": 260, "gap": 82.4}}}),
        (["36", "how", "1", "260", "-3.5"], "readings", {"rim": {"two_spokes": {"length": 260, "gap": -3.5}}}),
        (
            ["36", "602 end", "130", "18", "near 42.4 far 47.3", "offset 34.4"],
            "readings",
            {"hub": {"left": {"near_edges": 42.4, "far_edges": 47.3}}},
        ),
        (
            ["36", "602 end", "130", "18", "44.7", "offset 34.4"],
            "hub",
            {"over_locknut": 130, "left": {"holes": 18, "pcd": 44.7, "offset": 34.4}},
        ),
    ],
)
def test_a_dimension_is_typed_with_its_way(
    answers: list[str], table: str, keys: dict[str, Any], tmp_path: Path
) -> None:
    dialogue(["start", "wheel.toml"], [*answers, "stop"], tmp_path)
    found = tomllib.loads((tmp_path / "wheel.toml").read_text())[table]
    assert {key: found.get(key) for key in keys} == keys


def test_back_takes_a_dimension_and_its_way_out_together(tmp_path: Path) -> None:
    shown, _ = dialogue(["start", "wheel.toml"], ["36", "602.4 spoke end", "back", "", "stop"], tmp_path)
    assert "[602.4 spoke end] > " in shown
    assert tomllib.loads((tmp_path / "wheel.toml").read_text())["rim"]["erd"] == 602.4


def test_what_an_order_needs_comes_first_and_the_rest_is_offered(tmp_path: Path) -> None:
    shown, status = dialogue(["start", "wheel.toml"], [*PLAINEST, "no"], tmp_path)
    assert (status, "ten readings" in shown) == (0, True)
    asked = [line for line in shown.splitlines() if line.endswith("?")]
    assert "How many spoke holes has the rim?" in asked[0]
    assert not any("What do you call" in line or "made of" in line for line in asked)
    assert "That was what an order needs." in shown
    assert "Next: wheelcalc order wheel.toml" in shown
    build = read_build(tmp_path / "wheel.toml").build
    assert (build.number("rim.erd"), build.number("hub.right.locknut_to_flange")) == (602.4, 46.3)
    assert (build.value("lacing.crosses.left"), build.value("lacing.crosses.right")) == (3, 3)


def test_the_rest_is_asked_where_it_is_wanted(tmp_path: Path) -> None:
    shown, _ = dialogue(["start", "wheel.toml"], [*PLAINEST, "", "Errand bike", "", "", "37-622", CTRL_D], tmp_path)
    assert shown.index("That was what an order needs.") < shown.index("What do you call this wheel?")
    tree = tomllib.loads((tmp_path / "wheel.toml").read_text())
    assert (tree["title"], tree["rim"]["bead_seat_diameter"]) == ("Errand bike", "37-622")


def test_a_later_session_offers_what_was_answered(tmp_path: Path) -> None:
    dialogue(["start", "wheel.toml"], [*PLAINEST, "no"], tmp_path)
    before = (tmp_path / "wheel.toml").read_text()
    shown, _ = dialogue(["start", "wheel.toml"], ["again", "", "", "602.8", "", CTRL_C], tmp_path)
    assert "again goes through them" in " ".join(shown.split())
    assert all(offer in shown for offer in ("[36] > ", "[spoke end] > ", "[602.4] > ", "[130.2] > "))
    after = (tmp_path / "wheel.toml").read_text()
    assert after == before.replace("erd = 602.4 ", "erd = 602.8 ")


def test_going_through_again_goes_on_with_what_is_missing(tmp_path: Path) -> None:
    dialogue(["start", "wheel.toml"], ["36", "stop"], tmp_path)
    shown, _ = dialogue(["start", "wheel.toml"], ["again", "32", "4", "back", "back", "", CTRL_C], tmp_path)
    assert tomllib.loads((tmp_path / "wheel.toml").read_text())["rim"]["holes"] == 32
    assert shown.count("[36] > ") == 1
    assert "[32] > " in shown


def test_one_of_three_old_lengths_is_doubted_as_it_is_typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from wheelcalc.cli.asking import Dialogue, StoppedError
    from wheelcalc.files.draft import Draft
    from wheelcalc.files.outline.more import OLD_WHEEL

    wrong, right = "left 291, 291.5, 291, right 290.5, 280, 290.5", "left 291, 291.5, 291, right 290.5, 290, 290.5"
    answers = iter(["all", "yes", "3", wrong, right, "stop"])
    with pytest.raises(StoppedError):
        Dialogue(Draft(tmp_path / "wheel.toml"), (OLD_WHEEL,), lambda _mark: next(answers)).run()
    said = "old_wheel.lengths.right: 280 mm is 10.5 mm off the mean of the other 2 (290.5 mm); was 290 meant?"
    assert said in " ".join(capsys.readouterr().out.split())
    assert tomllib.loads((tmp_path / "wheel.toml").read_text())["old_wheel"]["lengths"]["right"] == [290.5, 290, 290.5]
