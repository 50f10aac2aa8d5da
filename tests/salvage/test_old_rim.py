"""Is the old rim worth it: each rule at its limit, the forecast wired to the build file, bad readings."""

import pytest

from tests.making.builds import as_toml, with_keys
from wheelcalc import answers
from wheelcalc.answers.salvaging.rim import Outcome, RimForecast, longer_from_jar
from wheelcalc.cli.main import run
from wheelcalc.files import tables
from wheelcalc.salvage.old_rim import OldRim, gaps_of, sort, verdict
from wheelcalc.wheel.errors import InputError

SOUND = {"cracks": False, "bulges": False, "brake_wall": 1.3}
SECTION = {"material": "aluminium", "mass": "510 g", "width": 23, "depth": 18}


def sorted_as(**readings):
    found = sort(OldRim(**{**SOUND, **readings}), tables.limits())
    return verdict(found), [finding.name for finding in found]


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        ({}, ("use", [])),
        ({"cracks": True}, ("do not use", ["rim-cracks"])),
        ({"bulges": True}, ("do not use", ["rim-bulges"])),
        # C (issue): under 0.8 stop, under 1.0 caution
        ({"brake_wall": 0.79}, ("do not use", ["brake-wall-thin"])),
        ({"brake_wall": 0.8}, ("use with care", ["brake-wall-thin"])),
        ({"brake_wall": 0.99}, ("use with care", ["brake-wall-thin"])),
        ({"brake_wall": 1.0}, ("use", [])),
        ({"brake_wall": 0.5, "braked": False}, ("use", [])),
        ({"diameters": (632.1, 632.9)}, ("use", [])),
        ({"diameters": (632.1, 631.0, 632.2)}, ("use with care", ["rim-out-of-round"])),
        ({"diameters": (635.1, 631.0)}, ("do not use", ["rim-out-of-round"])),
        ({"flat_gap": 1.4}, ("use", [])),
        ({"flat_gap": 1.6}, ("use with care", ["rim-flat-gap"])),
        ({"gaps": {1: 0.0, 9: 6.5}}, ("do not use", ["rim-flat-gap"])),
        ({"cracks": None}, ("use with care", ["rim-not-looked-at"])),
        ({"brake_wall": None}, ("use with care", ["rim-not-looked-at"])),
        ({"brake_wall": None, "braked": False}, ("use", [])),
    ],
)
def test_each_rule(readings, expected):
    assert sorted_as(**readings) == expected


def rim_tree(old_rim, **keys):
    tree = with_keys(rim__section=SECTION, **keys)
    tree["old_rim"] = {**SOUND, **old_rim}
    return tree


def test_forecast_of_a_rim_slightly_bent():
    answer = answers.salvage(rim_tree({"diameters": [632.0, 632.5, 632.2], "flat_gap": 0.5}))
    told = answer.old_rim.forecast
    assert told.straight.lateral < 0.05 < told.even.lateral
    assert told.even.uneven < 0.02 < told.straight.uneven
    assert told.even.lateral > 0.3  # compression opens an initial bend, it never closes it
    assert answer.as_json()["old_rim"]["verdict"] in ("use", "use with care")


def test_twice_as_bent_takes_twice_as_uneven_a_tension():
    # Linear by construction of the physics: tension is proportional to the bend that is pulled out.
    once, twice = (answers.salvage(rim_tree({"flat_gap": gap})).old_rim.forecast for gap in (0.2, 0.4))
    target = once.straight.highest["right"] - once.straight.lowest["right"]
    assert twice.straight.highest["right"] - twice.straight.lowest["right"] == pytest.approx(2 * target, rel=1e-6)


def test_a_rim_too_bent_to_pull_true_is_refused():
    answer = answers.salvage(rim_tree({"flat_gap": 9.5}, tension={"target": 450}))
    assert "rim-too-bent" in [finding.name for finding in answer.findings]
    assert answer.stops
    assert answer.old_rim.verdict == "do not use"


def test_the_table_side_turns_the_shape_over():
    gaps = [[1, 0.0], [5, 0.5], [9, 0.9], [13, 0.4], [17, 0.0], [21, 0.6], [25, 0.7], [29, 0.1]]
    right, left = (
        answers.salvage(rim_tree({"flat": gaps, "table_side": side})).old_rim.forecast for side in ("right", "left")
    )
    assert max(right.longer.values()) > 0.05
    for (
        hole,
        value,
    ) in right.longer.items():  # what bulges to the right lengthens the left spokes there, and the reverse
        assert left.longer[hole] == pytest.approx(-value, abs=1e-6)


def test_without_a_section_the_forecast_says_what_it_needs():
    tree = with_keys()
    tree["old_rim"] = {**SOUND, "flat_gap": 0.4}
    answer = answers.salvage(tree)
    assert answer.old_rim.forecast is None
    assert "rim.section.mass" in answer.old_rim.lacking or "rim.section" in answer.old_rim.lacking


def forecast(longer):
    outcome = Outcome(0.0, 0.0, {}, {}, 0.0)
    return RimForecast(outcome, outcome, longer, tuple(hole for hole, value in longer.items() if value >= 0.5), "")


def test_longer_spokes_of_the_jar_go_to_the_high_spots_of_their_side():
    told = forecast({1: 1.1, 2: 0.9, 3: 0.0, 4: -0.9, 5: 0.8, 6: 0.1})
    is_right = {hole: hole % 2 == 1 for hole in range(1, 7)}
    lengths = {"left": 290.0, "right": 288.0}
    found = longer_from_jar(told, is_right, lengths, {289.0: 2, 291.0: 1, 290.0: 9, 295.0: 9})
    assert [(each.side, each.length_mm, each.rim_holes) for each in found] == [
        ("left", 291.0, (2,)),
        ("right", 289.0, (1, 5)),
    ]
    assert longer_from_jar(told, is_right, lengths, {289.0: 1, 290.0: 0}) == ()
    assert longer_from_jar(None, is_right, lengths, {289.0: 5}) == ()


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ([[1, 0.1], [1, 0.2]], "twice"),
        ([[0, 0.1]], "rim hole 0"),
        ([[33, 0.1]], "1 to 32"),
        ([[2.5, 0.1]], "2.5"),
        ([[3, -0.1]], "gap of -0.1"),
        ([[3]], "pairs"),
        ([3, 0.2], "pairs"),
        ([["3", 0.2]], "pairs"),
        ([[True, 0.2]], "pairs"),
    ],
)
def test_gaps_that_cannot_be(pairs, words):
    with pytest.raises(InputError, match=words):
        gaps_of(pairs, 32)


@pytest.mark.parametrize("diameters", [[632.0], [632, 631, 632, 633, 632]])
def test_diameters_that_cannot_be(diameters):
    with pytest.raises(InputError) as caught:
        answers.salvage(rim_tree({"diameters": diameters}))
    assert caught.value.key == "old_rim.diameters"


def test_text(tmp_path, capsys):
    path = tmp_path / "build.toml"
    path.write_text(as_toml(rim_tree({"flat_gap": 0.3, "diameters": [634.5, 632.0, 632.2]}, frame={"brake": "disc"})))
    run(["salvage", str(path)])
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    assert text.startswith("The old rim: use with care.")
    assert text.count("The old rim: use with care.") == 2
    assert "longer spokes belong at its high spots" in text
