"""The command lace: what it prints, writes, refuses."""

from __future__ import annotations

import csv
import io
import json
import re
import time
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.making.builds import as_toml, with_keys
from wheelcalc import answers
from wheelcalc.cli.lace import command
from wheelcalc.cli.lengths import command as lengths_command
from wheelcalc.wheel.errors import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"
COUNTS = {"hub__left__holes": 18, "hub__right__holes": 18}
PAIRED = {"holes": 12, "pcd": 54.6, "spoke_head": "straight", "pair_spacing": 9.8}
BUILDS: dict[str, dict[str, Any]] = {
    "crossed": {},
    "left first": {"rim__first_hole": "left"},
    "aligned": {"hub__phase": "aligned"},
    "mixed": {"lacing__crosses": {"left": 0, "right": 3}},
    "radial": {"lacing": {"pattern": "radial"}},
    "radial, one face": {"lacing": {"pattern": "radial", "heads_in": "all"}},
    "trailing in": {"lacing__heads_in": "trailing"},
    "crow's foot": {"rim__holes": 36, **COUNTS, "lacing": {"pattern": "crow's foot", "crosses": 2}},
    "uneven": {**COUNTS, "lacing": {"pattern": "uneven counts", "crosses": 2}},
    "uneven, empty rim holes": {"rim__holes": 36, "lacing": {"pattern": "uneven counts", "crosses": 2}},
    "two to one": {
        "rim__holes": 24,
        "hub__left__holes": 8,
        "lacing": {"pattern": "two to one", "crosses": {"left": 0, "right": 2}},
    },
    "two to one, left": {
        "rim__holes": 24,
        "hub__right__holes": 8,
        "lacing": {"pattern": "two to one", "crosses": {"left": 2, "right": 0}},
    },
    "straight heads": {"hub__left__spoke_head": "straight", "hub__right__spoke_head": "straight"},
    "seats in pairs": {
        "rim__holes": 24,
        "hub__left": {**PAIRED, "locknut_to_flange": 29.8, "pair_spokes": "apart"},
        "hub__right": {**PAIRED, "locknut_to_flange": 46.1, "pair_spokes": "crossing"},
        "lacing__crosses": 2,
    },
    "20 holes": {"rim__holes": 20, "hub__left__holes": 10, "hub__right__holes": 10, "lacing__crosses": 2},
    "48 holes": {"rim__holes": 48, "hub__left__holes": 24, "hub__right__holes": 24, "lacing__crosses": 4},
}


def run(tmp_path: Path, *arguments: str, **keys: Any) -> Result:
    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys(**keys)))
    return CliRunner().invoke(command, [str(path), *arguments], standalone_mode=False)


def words(result: Result) -> str:
    assert result.exception is None
    return " ".join(result.output.split())


@pytest.mark.parametrize("name", BUILDS)
def test_it_fits_80_columns_of_plain_text(tmp_path: Path, name: str) -> None:
    result = run(tmp_path, **BUILDS[name])
    assert result.exception is None
    assert max(len(line) for line in result.output.splitlines()) <= 80
    result.output.encode("latin-1")
    assert not re.search(r"\b(nan|inf|None)\b", result.output)


@pytest.mark.parametrize("name", BUILDS)
def test_the_table_has_every_rim_hole_once_in_order(tmp_path: Path, name: str) -> None:
    output = run(tmp_path, **BUILDS[name]).output
    rows = output.split("in rim-hole order")[1].split("mm: length")[0].splitlines()
    left = [int(row.split()[0]) for row in rows if re.match(r" +\d+  ", row)]
    right = [int(m[1]) for row in rows if (m := re.match(r" +\d+  .{20,40}?   (\d+)  (?:[RL]\d|-)", row))]
    answer = answers.lace(with_keys(**BUILDS[name]))
    holes = answer.wheel.rim.holes
    assert left == list(range(1, (holes + 1) // 2 + 1))
    assert right == list(range((holes + 1) // 2 + 1, holes + 1))
    for hole, label in zip(answer.wheel.lacing.rim_hole, answer.wheel.lacing.hub_labels, strict=True):
        assert re.search(rf"(?<!\S){hole}  {label}  ", output)


@pytest.mark.parametrize("name", BUILDS)
def test_json_keeps_the_contract(tmp_path: Path, name: str) -> None:
    answer = json.loads(run(tmp_path, "--json", **BUILDS[name]).output)
    assert answer["schema"] == "wheelcalc/lace/1"
    assert {"build", "findings", "assumptions", "spokes", "steps", "valve_opening_mm"} <= set(answer)
    holes = [hole for step in answer["steps"] for hole in step["rim_holes"]]
    assert sorted(holes) == [spoke["rim_hole"] for spoke in answer["spokes"]]
    assert all(step["text"] and step["checkpoint"] for step in answer["steps"])
    lengths = json.loads(json.dumps(answers.lengths(with_keys(**BUILDS[name])).as_json()))
    assert answer["spokes"] == lengths["spokes"]


def test_a_straight_spoke_is_measured_from_under_its_head(tmp_path: Path) -> None:
    path = tmp_path / "wheel.toml"
    for keys, words in (({}, "the elbow"), (BUILDS["straight heads"], "under the head")):
        path.write_text(as_toml(with_keys(**keys)))
        shown = CliRunner().invoke(lengths_command, [str(path)]).output
        assert f"geometric mm: slack, from {words} to the spoke's end. order mm" in " ".join(shown.split())


def test_what_follows_is_said_of_the_heads_that_are_there(tmp_path: Path) -> None:
    assert "Elbows pressed flat" in run(tmp_path).output
    shown = " ".join(run(tmp_path, **BUILDS["straight heads"]).output.split())
    assert "Heads pulled fully into their seats" in shown
    assert "lbows" not in shown
    assert "straight heads pulled into" in " ".join(run(tmp_path, hub__left__spoke_head="straight").output.split())


def test_where_the_schools_disagree_is_said_until_the_file_decides(tmp_path: Path) -> None:
    said = " ".join(run(tmp_path).output.split())
    assert "lacing.heads_in" in said
    assert "keep the crossing off the derailleur" in said
    assert "lacing.interlaced" in said
    decided = " ".join(run(tmp_path, lacing__heads_in="trailing", lacing__interlaced=True).output.split())
    assert "derailleur" not in decided
    assert "lacing.interlaced" not in decided
    radial = " ".join(run(tmp_path, **BUILDS["radial"]).output.split())
    assert "derailleur" not in radial
    assert "trailing, from the hub backward" in said
    assert "trailing, from the hub backward" not in radial
    assert "derailleur" not in " ".join(run(tmp_path, **BUILDS["straight heads"]).output.split())


def test_csv_has_a_row_a_spoke(tmp_path: Path) -> None:
    out = tmp_path / "spokes.csv"
    assert run(tmp_path, "-o", str(out)).return_value == 0
    rows = list(csv.DictReader(io.StringIO(out.read_text())))
    assert [int(row["rim_hole"]) for row in rows] == list(range(1, 33))


@pytest.mark.parametrize("name", BUILDS)
def test_svg_is_xml_with_both_views(tmp_path: Path, name: str) -> None:
    out = tmp_path / "map.svg"
    assert run(tmp_path, "-o", str(out), **BUILDS[name]).exception is None
    root = ET.fromstring(out.read_text())
    assert {"from-right", "turned-over"} <= {each.get("id") for each in root.iter() if each.get("id")}


def test_a_title_with_marks_stays_xml(tmp_path: Path) -> None:
    out = tmp_path / "map.svg"
    run(tmp_path, "-o", str(out), title="Tom & Ann's <rear> 'wheel'")
    assert "Tom & Ann's <rear>" in "".join(ET.fromstring(out.read_text()).itertext())


def test_nothing_is_written_over_unasked(tmp_path: Path) -> None:
    out = tmp_path / "map.svg"
    out.write_text("mine")
    assert isinstance(run(tmp_path, "-o", str(out)).exception, InputError)
    assert out.read_text() == "mine"
    assert run(tmp_path, "-o", str(out), "--force").exception is None


def test_seen_says_what_it_is_and_which_to_move(tmp_path: Path) -> None:
    result = run(tmp_path, "--seen", "1-4, 5-6, 3-R1, 7-R3, 2-L3", rim__holes=36, **COUNTS)
    text = words(result)
    assert "3-R1, 7-R3: these right leading spokes all sit 2 hub holes too far forward" in text
    assert "leading, 2 crosses instead of leading, 3 crosses" in text
    assert "3 to R17, 7 to R1" in text
    assert "Put them right before you tighten anything" in text
    assert result.return_value == 0


def test_seen_in_json(tmp_path: Path) -> None:
    answer = json.loads(run(tmp_path, "--json", "--seen", "1-R5", rim__holes=36, **COUNTS).output)
    (spoke,) = answer["seen"]["spokes"]
    assert spoke == {
        "rim_hole": 1,
        "side": "right",
        "hub_hole": 5,
        "planned": "R4",
        "holes_out": 1,
        "what": spoke["what"],
        "move": True,
    }
    assert answer["seen"]["as_planned"] is False
    good = json.loads(run(tmp_path, "--json", "--seen", "1-R4", rim__holes=36, **COUNTS).output)
    assert good["seen"]["as_planned"] is True


@pytest.mark.parametrize(
    ("seen", "said"),
    [
        ("1-4,5-6,3-17,2-L3", "As planned: 1-R4, 5-R6, 3-R17, 2-L3"),
        ("1-9,5-11", "add a spoke of another direction or flange to tell"),
        ("1-9,5-11,3-4", "Your hub numbers begin elsewhere than the plan's (R 5 higher)"),
        ("3-R4,5-R17,7-R6,9-R1", "2 rim holes too far forward: beside the valve"),
        ("2-R4,4-R17,6-R6,8-R1", "1 rim hole too far forward: every rim hole carries a spoke of the other flange"),
        ("2-R4", "Rim hole 2 serves the other flange: you have R4, the plan has L3. Move it to L3."),
        (
            "2-R4,6-R6,10-R8",
            "They sit 1 rim hole too far forward, with the hub ends right. Move the rim ends: 2 to 1, 6",
        ),
        ("36-R9,4-R11,8-R13,2-L8,6-L10", "too far back, with the hub ends right. Move the rim ends: 36 to 1, 4 to 5"),
        ("1-R4,2-L4,3-R17,4-L1,5-R6,6-L6", "If the dot of L1 sits so far beside the hole that `wheelcalc lace` names"),
        ("1-5", "It sits 1 hub hole too far forward"),
        ("5-3", "really is radial instead of trailing, 3 crosses"),
    ],
)
def test_mistakes_in_words(tmp_path: Path, seen: str, said: str) -> None:
    assert said in words(run(tmp_path, "--seen", seen, rim__holes=36, **COUNTS))


@pytest.mark.parametrize(
    ("keys", "arguments", "message"),
    [
        ({"rim__holes": 36}, [], 'hub.left.holes: found 16; "crossed" wants .* 18, .*"uneven counts" would work'),
        ({"rim__holes": 33}, [], "rim.holes: found 33; .*even count"),
        ({"lacing__crosses": 5}, [], "lacing.crosses.left: found 5; .* allow 4 at most"),
        (
            {"lacing": {"pattern": "crow's foot", "crosses": 2}},
            [],
            "lacing.pattern: found 32 holes, 16 on a flange; .*three",
        ),
        ({"lacing": {"pattern": "two to one", "crosses": 2}}, [], "lacing.pattern: .*twice .*16 left and 16 right"),
        ({"lacing": {"pattern": "uneven counts", "crosses": 2}, "rim__holes": 33}, [], "lacing.pattern: found 33"),
        (
            {"lacing": {"pattern": "uneven counts", "crosses": 7}, "rim__holes": 36},
            [],
            "16 spokes on this flange allow 4",
        ),
        ({"lacing": {"pattern": "listed"}}, [], "lacing.spokes: is missing and `lengths` needs it|lacing.spokes"),
        (
            {"lacing": {"pattern": "listed", "spokes": [[1, "right", 1, "in"], [1, "left", 1, "in"]]}},
            [],
            "row 2: rim hole 1",
        ),
        (
            {"lacing": {"pattern": "listed", "spokes": [[1, "right", 40, "in"]]}},
            [],
            "row 1: found hub hole 40; the right",
        ),
        (
            BUILDS["two to one"] | {"rim__first_hole": "left"},
            [],
            ': rim.first_hole: found "left", but lacing.sides is "RLR"',
        ),
        (
            {"lacing": {"pattern": "radial"}, "hub__left__pair_spacing": 9},
            [],
            'hub.left.pair_spacing: .*"crossed" or "listed" only',
        ),
        ({"hub__left__pair_spacing": 9}, [], "hub.left.pair_spokes: is missing"),
        ({"hub__left__pair_spacing": 40, "hub__left__pair_spokes": "apart"}, [], "left.pair_spacing: found 40 mm"),
        ({}, ["--seen", "1-99"], "seen: found hub hole R99"),
        ({}, ["--seen", ""], "seen: found no spoke"),
        ({}, ["-o", "map.png"], "the suffix says what to write: .txt, .json, .html, .csv, .svg"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(
    tmp_path: Path, keys: dict[str, Any], arguments: list[str], message: str
) -> None:
    error = run(tmp_path, *arguments, **keys).exception
    assert isinstance(error, InputError)
    assert re.search(message, str(error))
    assert "\n" not in str(error)


def test_two_to_one_follows_the_drilling_stated(tmp_path: Path) -> None:
    keys = {
        **BUILDS["two to one"],
        "lacing": {"pattern": "two to one", "crosses": {"left": 0, "right": 2}, "sides": "LRR"},
    }
    spokes = json.loads(run(tmp_path, "--json", **keys).output)["spokes"]
    assert "".join(spoke["side"][0] for spoke in spokes) == "lrr" * 8


def test_listed_table_round_trip(tmp_path: Path) -> None:
    plan = answers.lace(with_keys()).as_json()["spokes"]
    table = [[s["rim_hole"], s["side"], s["hub_hole"], s["heads"]] for s in plan]
    listed = json.loads(run(tmp_path, "--json", lacing={"pattern": "listed", "spokes": table}).output)["spokes"]
    words = ("rim_hole", "side", "hub_hole", "crosses", "direction", "heads")
    for one, other in zip(plan, listed, strict=True):
        assert [one[name] for name in words] == [other[name] for name in words]
        assert one["geometric_length_mm"] == pytest.approx(other["geometric_length_mm"], abs=1e-5)


@pytest.mark.parametrize("example", ["errand-rear.toml", "errand-uneven.toml", "trailer-two-to-one.toml"])
def test_examples_are_laced_and_ordered_without_a_stop(example: str) -> None:
    laced, ordered = answers.lace(EXAMPLES / example), answers.order(EXAMPLES / example)
    assert not laced.stops
    assert not ordered.stops
    assert not ordered.left_out
    assert sum(line.count for line in ordered.lines) == len(laced.wheel.lacing)
    assert max(sum(line.side == side for line in ordered.lines) for side in ("left", "right")) <= 2


def test_empty_rim_holes_are_a_caution_of_every_command(tmp_path: Path) -> None:
    build = with_keys(**BUILDS["uneven, empty rim holes"])
    for answer in (answers.lace(build), answers.lengths(build), answers.order(build)):
        assert [each.level for each in answer.findings if each.name == "empty-rim-holes"] == ["caution"]


def test_seats_in_pairs_move_the_hub_holes(tmp_path: Path) -> None:
    """D: chord 9.8 on 54.6 is 20.68 degrees, 9.32 closer than 30; each seat moves 4.66, apart on the left, back on the right."""
    spokes = json.loads(run(tmp_path, "--json", **BUILDS["seats in pairs"]).output)["spokes"]
    for spoke in spokes:
        angle = abs(spoke["hub_angle_deg"] - spoke["rim_angle_deg"])
        assert angle == pytest.approx(60 + {"left": 4.66, "right": -4.66}[spoke["side"]], abs=0.005)


def test_straight_heads_say_which_seat_is_the_first(tmp_path: Path) -> None:
    text = words(run(tmp_path, **BUILDS["straight heads"]))
    first = {
        spoke["hub_hole"]: spoke for spoke in answers.lace(with_keys()).as_json()["spokes"] if spoke["side"] == "right"
    }[1]
    way = {"trailing": "backward, for a trailing", "leading": "forward, for a leading"}[first["direction"]]
    assert f"R1 must be a seat that points {way} spoke" in text
    assert "Lay each spoke in its seat" in text
    assert "heads out" not in text


def test_uneven_counts_are_quick() -> None:
    begin = time.process_time()
    answers.lace(with_keys(**BUILDS["uneven"]))
    assert time.process_time() - begin < 2.0


def test_what_is_missing_is_missed_by_lace_itself(tmp_path: Path) -> None:
    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys(lacing={"pattern": "listed"})))
    with pytest.raises(InputError, match=r"lacing\.spokes: is missing and `lace` needs it"):
        answers.lace(path)
