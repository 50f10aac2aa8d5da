"""The command true: what it prints, writes, refuses; the examples' session; a broken spoke and its stops."""

from __future__ import annotations

import csv
import io
import json
import re
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from click.testing import CliRunner, Result
from numpy.testing import assert_allclose

from tests.making import errand_session
from tests.making.builds import as_toml, with_keys
from wheelcalc import answers
from wheelcalc.answers.broken_spoke import goals
from wheelcalc.answers.truing.page import sides, turn
from wheelcalc.cli.true import command
from wheelcalc.files.buildfile import build_of
from wheelcalc.joined.at_tensions import at_tensions
from wheelcalc.measuring import assemble
from wheelcalc.page.text import Screen, to_text
from wheelcalc.truing.model import Model
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.wheel import Wheel

EXAMPLES = errand_session.EXAMPLES

FACTS = {"material": "aluminium", "mass": 497, "width": 23.6, "depth": 18.7}
SVG = "{http://www.w3.org/2000/svg}"
HEAD = "rim_hole,lateral_mm,radial_mm,tension_N\n"


@cache
def untrue(size: float = 1.0) -> list[list[str]]:
    """Cells of an invented wheel of 32 with a few wrong spokes, as its own structure has it; size 0: none wrong."""
    known = build_of(with_keys(rim__section=FACTS), "build").build
    wheel = assemble.wheel(known)
    ready = at_tensions(known, wheel, {"left": 560.0, "right": 905.0})
    model = Model(ready.structure, wheel.lacing.is_right)
    shorter = np.zeros(32)
    shorter[[3, 8, 9, 21, 22]] = -0.11, 0.27, -0.31, 0.19, 0.12
    state = model.true + size * model.by_spoke @ shorter
    lateral, radial, tension = state[model.lateral], state[model.radial] + 4.1, state[model.tension]
    rows = zip(lateral.tolist(), radial.tolist(), tension.tolist(), strict=True)
    return [[f"{hole}", f"{x:.2f}", f"{y:.2f}", f"{t:.0f}"] for hole, (x, y, t) in enumerate(rows, 1)]


def readings(every: int = 1, tension: bool = True, size: float = 1.0, **cells: str) -> str:
    """Readings of that wheel as CSV; some cells may be others: lateral_9="2.5"."""
    rows = [list(row) for row in untrue(size)]
    for name, value in cells.items():
        column, hole = name.split("_")
        rows[int(hole) - 1][["hole", "lateral", "radial", "tension"].index(column)] = value
    return HEAD + "".join(",".join(row if tension else [*row[:3], ""]) + "\n" for row in rows[::every])


def run(tmp_path: Path, text: str | None, *arguments: str, **keys: Any) -> Result:
    build, table = tmp_path / "wheel.toml", tmp_path / "readings.csv"
    build.write_text(as_toml(with_keys(**{"rim__section": FACTS, **keys})))
    table.write_text(text or "")
    given = [str(build), *([str(table)] if text is not None else []), *arguments]
    return CliRunner().invoke(command, given, standalone_mode=False)


def as_json(done: Result) -> dict[str, Any]:
    assert done.exception is None, done.exception
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


@pytest.mark.parametrize(
    ("text", "arguments", "keys"),
    [
        (readings(), [], {}),
        (readings(3, tension=False), ["--own-plane"], {}),
        (readings(), [], {"rim__section": {"mass": 512}}),
        (readings(), [], {"tension__target": "1100 N", "truing__step": 0.1, "truing__prefer": "even"}),
        (readings(tension_6="0", tension_7="1350"), [], {"title": "A long title " * 9}),
        (None, ["--broken", "14"], {}),
        (None, ["--broken", "13,15"], {"position": "front"}),
        (None, ["--broken", "14"], {"clearance__pad_gap": 1.0, "clearance__tyre_gap": 5, "tension__target": "700 N"}),
    ],
)
def test_text_fits_80_columns_and_latin_1(tmp_path: Path, text: str | None, arguments: list[str], keys: Any) -> None:
    done = run(tmp_path, text, *arguments, **keys)
    assert done.exception is None, done.exception
    done.stdout.encode("latin-1")
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "nan" not in done.stdout
    assert done.stdout.count("eye protection") == (text is not None)


def test_the_json_is_the_contracts(tmp_path: Path) -> None:
    answer = as_json(run(tmp_path, readings(), "--json"))
    assert answer["schema"] == "wheelcalc/true/1"
    assert answer["turns"]
    for row in answer["turns"]:
        assert set(row) == {"rim_hole", "side", "turns"}
        assert row["side"] == ("right" if row["rim_hole"] % 2 else "left")
        assert row["turns"] * 8 == int(row["turns"] * 8) != 0
    figures = {"lateral_mm", "radial_mm", "dish_mm", "tension_spread_percent"}
    sigmas = {"lateral_sigma_mm", "radial_sigma_mm", "dish_sigma_mm", "tension_spread_sigma_percent"}
    assert set(answer["before"]) == figures
    for name in ("now", "after", "after_reads"):
        assert set(answer[name]) == figures | sigmas
        assert set(answer[name]["tension_spread_percent"]) == {"left", "right"}
        assert 0 < answer[name]["lateral_sigma_mm"] < 0.3
    assert answer["why"] == "not yet"
    assert (answer["slips"], answer["left_out"], answer["stuck"]) == ([], [], [])
    assert set(answer["learned"]) >= {"noise", "end_give", "stiffness_of_estimate"}
    assert set(answer["learned"]["noise"]) == {"lateral_mm", "radial_mm", "tension_percent"}
    assert answer["learned"]["end_give"] == pytest.approx(0.2)
    assert answer["learned"]["stiffness_of_estimate"] == 1.0
    rows = list(csv.DictReader(io.StringIO(readings())))
    lateral, radial, force = (np.array([float(row[name]) for row in rows]) for name in HEAD.strip().split(",")[1:])
    before = answer["before"]
    # D: the contract's own words, from the file's numbers
    assert before["lateral_mm"] == pytest.approx(np.ptp(lateral))
    assert before["radial_mm"] == pytest.approx(np.ptp(radial))
    assert before["dish_mm"] == pytest.approx(lateral.mean(), abs=1e-6)  # six digits are written
    assert before["tension_spread_percent"]["right"] == pytest.approx(100 * force[::2].std() / force[::2].mean())
    assert answer["after"]["lateral_mm"] < 0.5 * before["lateral_mm"]


def test_what_was_not_read_is_null_and_its_absence_said(tmp_path: Path) -> None:
    text = "\n".join(",".join(line.split(",")[:2]) for line in readings(2).splitlines())
    answer = as_json(run(tmp_path, text, "--json", "--own-plane"))
    assert answer["before"]["radial_mm"] is None
    assert answer["before"]["dish_mm"] is None
    assert answer["after"]["tension_spread_percent"] == {"left": None, "right": None}
    assert answer["dish"] is None
    assert "tension-not-read" in [finding["name"] for finding in answer["findings"]]
    assert answer["read_next"]["what"] in ("lateral", "radial", "tension")


def test_turning_what_it_says_brings_what_it_says(tmp_path: Path) -> None:
    answer = answers.true(with_keys(rim__section=FACTS), _written(tmp_path, readings()))
    model = answer.planner.model
    assert_allclose(answer.state_after, answer.state + model.by_spoke @ answer.turns * 25.4 / 56, atol=1e-9)
    rows = answer.spoke_rows()
    assert [row["turns"] for row in rows] == answer.turns.tolist()
    assert answer.turn_rows() == answer.as_json()["turns"]


def _written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(text)
    return path


def test_the_list_has_each_nipples_whole_turn(tmp_path: Path) -> None:
    shifted = HEAD + "\n".join(
        f"{hole},{1.3 + 0.3 * (hole == 8)},0,{900 if hole % 2 else 600}" for hole in range(1, 33)
    )
    done = run(tmp_path, shifted)
    assert "In each for dish: left +" in done.stdout.replace("\n", " ")
    answer = as_json(run(tmp_path, shifted, "--json"))
    both = answer["all_nipples"]
    assert both["right_turns"] < 0 < both["left_turns"]
    assert answer["dish"]["move_mm"] == pytest.approx(-1.3, abs=0.1)
    listed = {
        int(hole): float(f"{sign}{sum(map(_value, amount.split()))}")
        for hole, sign, amount in re.findall(r"(\d+) +([+-])(\d[\d/ ]*?)(?:   |\n|$)", done.stdout.split("----\n")[1])
    }
    assert {row["rim_hole"]: row["turns"] for row in answer["turns"]} == listed


@pytest.mark.parametrize(("readings", "lines"), [(["-readings"], 30), (["-readings", "-readings-after"], 27)])
def test_the_example_is_read_on_one_screen(readings: list[str], lines: int) -> None:
    """67 lines before; 36 nipples turned need six lines more than 20. On a narrow screen nothing is wider than 40."""
    files = [str(EXAMPLES / f"errand-rear{each}.csv") for each in readings]
    done = CliRunner().invoke(command, [str(EXAMPLES / "errand-rear.toml"), *files], standalone_mode=False)
    assert len(done.stdout.splitlines()) <= lines
    page = answers.true(EXAMPLES / "errand-rear.toml", files).page()
    assert max(map(len, to_text(page, Screen(width=40)).splitlines())) <= 40


def _value(text: str) -> float:
    top, _, bottom = text.partition("/")
    return float(top) / float(bottom or 1)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0.125, "1/8 turn tighter"),
        (-0.75, "3/4 turn looser"),
        (1.0, "1 turn tighter"),
        (-1.5, "1 1/2 turns looser"),
        (0.3, "3/10 turn tighter"),
        (0.33, "0.33 turn tighter"),
    ],
)
def test_a_turn_in_words(value: float, words: str) -> None:
    assert turn(value) == words


def test_both_sides_in_words() -> None:
    assert sides(0.25, 0.25) == "all nipples 1/4 turn tighter"
    assert sides(0.5, -0.25) == "all right nipples 1/4 turn looser, all left nipples 1/2 turn tighter"
    assert sides(0.0, 0.0) == ""


def test_a_true_wheel_needs_no_turns(tmp_path: Path) -> None:
    done = run(tmp_path, readings(size=0.0))
    assert "Done: the wheel is as true and even as you asked. Nothing to turn." in done.stdout
    answer = as_json(run(tmp_path, readings(size=0.0), "--json"))
    assert (answer["done"], answer["turns"]) == (True, [])


def names(answer: dict[str, Any]) -> set[str]:
    return {finding["name"] for finding in answer["findings"]}


def test_findings_of_readings(tmp_path: Path) -> None:
    assert "slack-spoke" in names(as_json(run(tmp_path, readings(tension_5="0"), "--json")))
    assert "over-limit" in names(as_json(run(tmp_path, readings(tension_7="1305"), "--json")))
    answer = as_json(run(tmp_path, readings(lateral_20="2.9"), "--json"))
    assert "misread" in names(answer)
    assert [(each["rim_hole"], each["column"], each["value"]) for each in answer["left_out"]] == [(20, "lateral", 2.9)]
    assert answer["left_out"][0]["likely"] == pytest.approx(float(untrue()[19][1]), abs=0.25)
    kept = run(tmp_path, readings(lateral_20="2.9"), "--json", truing__keep=[{"rim_hole": 20, "column": "lateral"}])
    assert as_json(kept)["left_out"] == []
    kgf = HEAD + "\n".join(f"{hole},0.1,0,{92 if hole % 2 else 61}" for hole in range(1, 33))
    assert "may-be-kgf" in names(as_json(run(tmp_path, kgf, "--json")))
    few = HEAD + "3,0.6,0,900\n11,-0.2,0,880\n19,0.3,0,910\n27,0.1,0,870\n"
    answer = as_json(run(tmp_path, few, "--json", rim__section={"mass": 512}))
    assert {"too-few-readings", "rim-section-unknown"} <= names(answer)


def test_one_or_two_readings_that_no_wheel_has_are_to_be_made_again(tmp_path: Path) -> None:
    """The turns are those without them; a whole column so large is in another unit."""
    without = as_json(run(tmp_path, readings(lateral_20="", radial_9=""), "--json"))
    answer = as_json(run(tmp_path, readings(lateral_20="30", radial_9="-14"), "--json"))
    left_out = [(each["rim_hole"], each["column"], each["value"]) for each in answer["left_out"]]
    assert left_out == [(9, "radial", -14.0), (20, "lateral", 30.0)]
    assert answer["left_out"][1]["likely"] == pytest.approx(float(untrue()[19][1]), abs=0.1)
    assert answer["left_out"][0]["likely"] == pytest.approx(float(untrue()[8][2]), abs=0.1)
    assert (answer["turns"], answer["slips"]) == (without["turns"], [])
    assert "misread" in names(answer)
    tight = as_json(run(tmp_path, readings(tension_4="3900", tension_8="3500"), "--json"))["left_out"]
    assert [(each["rim_hole"], each["value"]) for each in tight] == [(4, 3900.0), (8, 3500.0)]
    assert tight[1]["likely"] == pytest.approx(float(untrue()[7][3]), rel=0.1)
    text = run(tmp_path, readings(lateral_20="30")).stdout
    assert "lateral at 20: 30.00 mm, expected" in text
    tenths = {f"lateral_{hole}": str(10 * float(untrue(1.5)[hole - 1][1])) for hole in range(1, 33)}
    slipped = as_json(run(tmp_path, readings(size=1.5, **tenths), "--json"))
    assert [each["what"] for each in slipped["slips"]][:1] == ["units"]


@pytest.mark.parametrize("size", [0.5, 2.0, 9.0])
@pytest.mark.parametrize("tension", [True, False])
def test_readings_that_are_scatter_are_no_wheels(tmp_path: Path, size: float, tension: bool) -> None:
    draw = np.random.default_rng(3)
    text = HEAD + "".join(
        f"{hole},{draw.normal(0, size):.2f},{draw.normal(0, size):.2f},{900 * tension or ''}\n" for hole in range(1, 33)
    )
    done = run(tmp_path, text, "--json")
    answer = as_json(done)
    assert done.return_value == 1
    assert (answer["why"], answer["turns"], answer["done"]) == ("read again", [], False)
    assert "readings-disagree" in names(answer)
    assert "these readings do not agree with one another. Read again." in run(tmp_path, text).stdout


def test_a_large_wheel_of_nonsense_is_read_again(tmp_path: Path) -> None:
    """144 holes."""
    draw = np.random.default_rng(3)
    lines = [f"{hole},{draw.normal(0, 3):.2f},{draw.normal(0, 3):.2f}," for hole in range(1, 145)]
    sides = {f"hub__{side}__{name}": n for side in ("left", "right") for name, n in (("holes", 72), ("pcd", 130))}
    done = run(tmp_path, HEAD + "\n".join(lines), rim__holes=144, lacing__crosses=6, **sides)
    assert "do not agree with one another" in done.stdout


def test_a_bent_rim_is_said_and_the_compromise_asked(tmp_path: Path) -> None:
    # A stiff rim: one that is soft sideways lies so far off, evenly tight, by spokes of a little unlike length alone.
    stiff = {**FACTS, "bending_out_of_plane": 600, "torsion": 90}
    lines = []
    for hole in range(1, 33):
        angle = 2 * np.pi * (hole - 0.5) / 32
        lines.append(f"{hole},{1.2 * np.cos(2 * angle):.2f},0,{905 if hole % 2 else 610}")
    answer = as_json(run(tmp_path, HEAD + "\n".join(lines), "--json", rim__section=stiff))
    assert "rim-bent" in names(answer)
    ends = answer["bent_rim"]["compromises"]
    assert ends["straight"]["lateral_mm"] < ends["even"]["lateral_mm"]
    assert ends["straight"]["tension_spread_percent"]["left"] > ends["even"]["tension_spread_percent"]["left"]
    assert answer["bent_rim"]["lateral_mm"] > 0.8
    turns = {
        prefer: as_json(run(tmp_path, HEAD + "\n".join(lines), "--json", truing__prefer=prefer, rim__section=stiff))[
            "after"
        ]
        for prefer in ("straight", "even")
    }
    assert turns["straight"]["lateral_mm"] < turns["even"]["lateral_mm"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            HEAD + "3,0.2,,\n",
            "readings at 1 rim hole; 4 are the least: read lateral and radial at rim holes 11, 19, 27",
        ),
        (HEAD, "readings at 0 rim holes"),
        (HEAD + "".join(f"{hole},0,0,{20 + hole}\n" for hole in range(1, 33)), "too loose to say"),
        (HEAD + "1,a,,\n", 'line 2, lateral_mm: found "a"'),
    ],
)
def test_readings_that_cannot_be_used(tmp_path: Path, text: str, words: str) -> None:
    found = run(tmp_path, text).exception
    assert isinstance(found, InputError)
    assert words in str(found)
    assert str(found).startswith(str(tmp_path / "readings.csv"))


def test_a_tension_where_there_is_no_spoke(tmp_path: Path) -> None:
    uneven = {
        "rim__holes": 36,
        "lacing__pattern": "uneven counts",
        "lacing__crosses": 3,
    }
    text = HEAD + "".join(f"{hole},0.1,0,800\n" for hole in range(1, 37))
    found = run(tmp_path, text, **uneven).exception
    assert isinstance(found, InputError)
    assert re.search(r"line \d+, tension_N: rim hole \d+ has no spoke", str(found))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "true: found neither"),
        (["--broken", "x"], '--broken: found "x"'),
        (["--broken", "3,,4"], '--broken: found "3,,4"'),
        (["--broken", "33"], "rim_holes: found 33; rim holes with a spoke are in 1 to 32"),
        (["--broken", "4,4"], "rim_holes: found 4, 4; name each broken spoke once"),
        (["--broken", "4", "--own-plane"], "--own-plane"),
        (["--broken", ",".join(map(str, range(1, 31)))], "do not hold the rim"),
    ],
)
def test_refused(tmp_path: Path, arguments: list[str], words: str) -> None:
    found = run(tmp_path, None, *arguments).exception
    assert isinstance(found, InputError)
    assert words in str(found)


def test_both_readings_and_broken(tmp_path: Path) -> None:
    found = run(tmp_path, readings(), "--broken", "3").exception
    assert isinstance(found, InputError)
    assert "found both" in str(found)


GAPS = {"clearance__pad_gap": 2.4, "clearance__tyre_gap": 6.5, "tension__target": "700 N", "position": "rear"}


def test_a_broken_spoke_as_the_contract_has_it(tmp_path: Path) -> None:
    done = run(tmp_path, None, "--broken", "14", "--json", **GAPS)
    answer = as_json(done)
    assert done.return_value == 0
    found = answer["broken"]
    assert found["lateral_mm"] > 0.5
    assert found["radial_mm"] > 0.1
    assert [row["rim_hole"] for row in found["neighbours"]] == [12, 13, 15, 16]
    assert all(row["tension_N"] > 300 for row in found["neighbours"])
    assert set(found) >= {"turns", "after"}
    assert set(found["after"]) >= {"lateral_mm", "radial_mm"}


def test_a_narrow_gap_needs_turns_and_they_are_undone_later(tmp_path: Path) -> None:
    narrow = GAPS | {"clearance__pad_gap": 1.0}
    answer = as_json(run(tmp_path, None, "--broken", "15", "--json", **narrow))
    turns, undo = answer["broken"]["turns"], answer["broken"]["undo"]
    assert 1 <= len(turns) <= 6
    assert [-row["turns"] for row in undo] == [row["turns"] for row in turns]
    lateral = [row["lateral_mm_after"] for row in answer["spokes"]]
    assert max(map(abs, lateral)) <= 0.5
    text = run(tmp_path, None, "--broken", "15", **narrow).stdout
    assert "With the new spoke in, undo it" in text


@pytest.mark.parametrize(
    ("holes", "keys", "stop"),
    [
        ("14", {"position": "front"}, "front-wheel"),
        ("14", {"rim__section": {**FACTS, "material": "carbon", "mass": 430, "depth": 30}}, "carbon-rim"),
        ("14,16", {}, "two-broken"),
        ("13", {"tension__target": "1050 N"}, "neighbour-over-limit"),
        ("14", {"clearance__tyre_gap": 2.05}, "tyre-too-near"),
        ("14", {"limits__broken_spokes_stop": 32}, "few-spokes"),
    ],
)
def test_what_must_not_roll(tmp_path: Path, holes: str, keys: Any, stop: str) -> None:
    done = run(tmp_path, None, "--broken", holes, "--json", **(GAPS | keys))
    answer = as_json(done)
    stops = [finding["name"] for finding in answer["findings"] if finding["level"] == "stop"]
    assert stops == [stop]
    assert done.return_value == 1
    assert (
        "Do not ride on it: walk, or put in a spoke." in run(tmp_path, None, "--broken", holes, **(GAPS | keys)).stdout
    )


def test_unknown_gaps_are_asked_for(tmp_path: Path) -> None:
    found = names(as_json(run(tmp_path, None, "--broken", "14", "--json", tension__target="700 N")))
    assert {"pad-gap-unknown", "tyre-gap-unknown"} <= found
    disc = names(as_json(run(tmp_path, None, "--broken", "14", "--json", tension__target="700 N", frame__brake="disc")))
    assert "pad-gap-unknown" not in disc


@pytest.mark.parametrize(("text", "arguments"), [(readings(), []), (None, ["--broken", "14"])])
def test_files_written(tmp_path: Path, text: str | None, arguments: list[str]) -> None:
    for suffix in ("txt", "json", "csv", "svg"):
        out = tmp_path / f"out.{suffix}"
        done = run(tmp_path, text, *arguments, "-o", str(out))
        assert done.exception is None, done.exception
    written = (tmp_path / "out.csv").read_text()
    lines = [line for line in written.splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    assert len(rows) == 32
    broken = {"side", "turns", "tension_N_after"}
    assert set(rows[0]) >= {"rim_hole", "lateral_mm", "tension_N", *(broken if text is None else {"pass", "turned"})}
    root = ElementTree.fromstring((tmp_path / "out.svg").read_text())
    words = [str(each.text) for each in root.iter(f"{SVG}text")]
    assert {
        "lateral",
        "mm, + right",
        "radial",
        "mm, + out",
        "tension",
        "limit 1265",
        "floor 400",
    } <= set(words)
    assert words.count("valve") == 2
    answer = json.loads((tmp_path / "out.json").read_text())
    turns = [each["turns"] for each in (answer if text is not None else answer["broken"])["turns"]]
    shown = [word for word in words if re.fullmatch(r"[+-][0-9 /]+", word) and re.search(r"/|[+]", word)]
    assert [sum(map(Fraction, word[1:].split())) * (-1 if word[0] == "-" else 1) for word in shown] == turns
    assert ("after the turns" in words) == bool(turns)


def test_labels_of_the_strip_do_not_touch() -> None:
    from wheelcalc.paper.truing_strip import truing_strip

    for answer in (
        answers.true(errand_session.BUILD, errand_session.READINGS),
        answers.broken(errand_session.BUILD, [15]),
    ):
        drawing = truing_strip(answer)
        assert drawing.overlapping() == []
        assert all(0 <= label.left and label.right <= drawing.width for label in drawing.labels)
        assert all(0 <= label.top and label.bottom <= drawing.height for label in drawing.labels)


def test_the_examples_session_trues_the_wheel() -> None:
    """The example's readings are those of the tests' wheel, and the turns true it."""
    before, after, case = errand_session.session()
    for text, path in ((before, errand_session.READINGS), (after, errand_session.AFTER)):
        stored = path.read_text(encoding="utf-8")
        assert text.splitlines()[1] == stored.splitlines()[1]
        tables = [np.genfromtxt(io.StringIO(each), delimiter=",", skip_header=2) for each in (text, stored)]
        assert_allclose(*tables, atol=1.01)
        assert_allclose(tables[0][:, :3], tables[1][:, :3], atol=0.011)
    assert case.figures()[0] < 0.4
    second = answers.true(errand_session.BUILD, [errand_session.READINGS, errand_session.AFTER])
    assert len(second.turn_rows()) < 30
    if second.turns.any():
        case.turn(second.turns, np.random.default_rng(1))
    lateral, radial, dish, left, right = case.figures()
    assert max(lateral, radial) < 0.35
    assert abs(dish) < 0.3
    assert max(left, right) < 8


def test_pitches_are_read_as_tensions(tmp_path: Path) -> None:
    target = answers.tension(with_keys(rim__section=FACTS, tension__target="900 N"))
    hz = {side: target.sides[side].pitch_hz for side in ("left", "right")}
    text = "rim_hole,lateral_mm,pitch_hz\n" + "\n".join(
        f"{hole},0.1,{hz['right' if hole % 2 else 'left']:.1f}" for hole in range(1, 33)
    )
    found = answers.true(with_keys(rim__section=FACTS), _written(tmp_path, text))
    for side in ("left", "right"):
        tensions = found.newest.tensions[found.wheel.lacing.on(side)]
        assert tensions.mean() == pytest.approx(target.sides[side].target_N, rel=0.01)
    assert "pitch-uncalibrated" in [finding.name for finding in found.findings]
    known = '[{ rim_hole = 1, tension = "900 N" }, { rim_hole = 2, tension = "640 N" }]'
    found = answers.true(with_keys(rim__section=FACTS), _written(tmp_path, text), [f"pluck.known={known}"])
    assert "pitch-uncalibrated" not in [finding.name for finding in found.findings]
    assert found.newest.tensions[1] == pytest.approx(640, rel=0.01)


PATTERNS: list[dict[str, Any]] = [
    {"lacing__crosses": 0},
    {"lacing__pattern": "uneven counts", "lacing__crosses": 2, "rim__holes": 36},
    {
        "lacing__pattern": "two to one",
        "lacing__crosses": {"left": 1, "right": 2},
        "rim__holes": 24,
        "hub__left__holes": 8,
        "hub__right__holes": 16,
    },
    {"frame": {"wheel_offset": 4.0}},
    {"rim__section": {"material": "steel"}},
]


def text_of(wheel: Wheel, model: Model, state: np.ndarray) -> str:
    """A state as readings."""
    rows = [f"{i},{state[i - 1]:.2f},{state[model.radial][i - 1]:.2f}," for i in range(1, wheel.rim.holes + 1)]
    for hole, force in zip(wheel.lacing.rim_hole.tolist(), state[model.tension].tolist(), strict=True):
        rows[hole - 1] += f"{max(force, 0):.0f}"
    return HEAD + "\n".join(rows) + "\n"


@pytest.mark.parametrize("keys", PATTERNS)
def test_other_wheels_come_out_truer(tmp_path: Path, keys: dict[str, Any]) -> None:
    """Each made untrue by its own structure: three spokes too long or short, the rim away from its place."""
    tree = with_keys(**{"rim__section": FACTS, **keys})
    known = build_of(tree, "build").build
    wheel = assemble.wheel(known)
    ready = at_tensions(known, wheel)
    model = Model(ready.structure, wheel.lacing.is_right)
    shorter = 1.2 * model.dish_and_level[0]
    shorter[[1, 6, 11]] += 0.3, -0.25, 0.2
    state = model.true + model.by_spoke @ shorter
    first = as_json(run(tmp_path, text_of(wheel, model, state), "--json", **{"rim__section": FACTS, **keys}))
    before, last = first["before"], first
    for _ in range(3):
        spoke = {int(hole): i for i, hole in enumerate(wheel.lacing.rim_hole)}
        for row in last["turns"]:
            state = state + model.by_spoke[:, spoke[row["rim_hole"]]] * row["turns"] * 25.4 / 56
        last = as_json(run(tmp_path, text_of(wheel, model, state), "--json", **{"rim__section": FACTS, **keys}))
    last, answer = last["before"], first
    middle = keys.get("frame", {}).get("wheel_offset", 0.0)
    assert before["dish_mm"] - middle == pytest.approx(1.2, abs=0.3)
    assert answer["dish"]["move_mm"] == pytest.approx(middle - before["dish_mm"], abs=0.1)
    assert abs(last["dish_mm"] - middle) < 0.5
    assert last["lateral_mm"] < 0.45 * before["lateral_mm"]


def test_one_sides_tensions_say_what_the_others_must_be(tmp_path: Path) -> None:
    rows = [line if i % 2 == 0 else line.rsplit(",", 1)[0] + "," for i, line in enumerate(readings().splitlines())]
    found = answers.true(with_keys(rim__section=FACTS), _written(tmp_path, "\n".join(rows)))
    means = [found.at_tensions.structure.tensions[found.wheel.lacing.on(side)].mean() for side in ("left", "right")]
    # D: the sideways pulls of the two sides are equal, as in answers.tension
    ratio = answers.tension(with_keys(rim__section=FACTS)).ratio
    assert means[0] / means[1] == pytest.approx(ratio, rel=0.01)
    left = [float(row[3]) for row in untrue(1.0)[1::2]]
    assert means[0] == pytest.approx(np.mean(left), rel=0.01)
    assert found.as_json()["before"]["tension_spread_percent"]["right"] is None


def test_a_few_radial_readings_from_any_zero(tmp_path: Path) -> None:
    rows = [
        line if i % 4 else ",".join([*line.split(",")[:2], "", line.split(",")[3]])
        for i, line in enumerate(readings().splitlines())
    ]
    rows[0] = HEAD.strip()
    before = answers.true(with_keys(rim__section=FACTS), _written(tmp_path, "\n".join(rows))).before
    every = answers.true(with_keys(rim__section=FACTS), _written(tmp_path, readings())).before
    assert before.radial == pytest.approx(every.radial, abs=0.05)


@pytest.mark.parametrize(
    ("keys", "lateral", "radial"),
    [
        ({"clearance__pad_gap": 2.4, "clearance__tyre_gap": 6.5}, 1.9, 4.5),
        ({"clearance__pad_gap": 2.4, "clearance__tyre_gap": 3.5}, 1.5, 1.5),
        ({"clearance__tyre_gap": 6.5, "frame__brake": "disc"}, 4.5, 4.5),
        ({"clearance__tyre_gap": 6.5}, 1.5, 4.5),
        ({"clearance__pad_gap": 0.7, "clearance__tyre_gap": 1.0}, 0.0, 0.0),
    ],
)
def test_the_way_home_clears_the_narrowest_gap(keys: dict[str, Any], lateral: float, radial: float) -> None:
    """Tyre: 2 mm must stay; pads: half a millimetre, 2 mm where unknown."""
    answer = answers.broken(with_keys(rim__section=FACTS, tension__target="700 N", **keys), [14])
    assert goals(answer) == pytest.approx((lateral, radial))


def test_a_thread_without_a_known_pitch_is_said():
    for wire, said in (("2.0", False), ("2.3", False), ("2.6", True)):
        answer = answers.broken(with_keys(spokes__wire=wire), [5])
        assert any("No pitch is known" in each for each in answer.assumptions) is said
