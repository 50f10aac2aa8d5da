"""Every finding of lengths and order: said where it must be, with its level, and not said of a sound build."""

from __future__ import annotations

import math

import pytest

from tests.making.builds import with_keys
from wheelcalc import answers

SOUND = answers.order(with_keys(position="rear", hub__drive="cassette"))


def test_a_sound_build_has_no_findings() -> None:
    assert [finding.name for finding in SOUND.findings] == []
    assert not SOUND.stops


def test_a_cracked_rim_stops_all_that_builds_on_it_and_is_said_once() -> None:
    build = with_keys(old_rim={"cracks": True}, frame={"brake": "rim"})
    for command in (answers.lengths, answers.order, answers.lace, answers.tension, answers.salvage):
        assert [each.name for each in command(build).findings].count("rim-cracks") == 1, command
    assert [each.name for each in answers.broken(build, [5]).findings].count("rim-cracks") == 1
    worn = with_keys(old_rim={"cracks": False, "bulges": False, "brake_wall": 0.9}, frame={"brake": "rim"})
    assert not answers.order(worn).findings
    assert "brake-wall-thin" in [each.name for each in answers.salvage(worn).findings]


@pytest.mark.parametrize(
    ("changed", "name", "level", "words"),
    [
        ({"hub__left__outside_diameter": 42.0}, "pcd-is-flange-edge", "stop", "hub.left.pcd is 41.9 mm"),
        ({"hub__right__outside_diameter": 49.6}, "pcd-is-flange-edge", "stop", "47.3"),
        (
            {"hub__left__locknut_to_flange": None, "hub__left__offset": 66.0},
            "flange-outside-locknut",
            "stop",
            "hub.over_locknut (65.7 mm)",
        ),
        ({"hub__drive": "cassette", "hub__left__locknut_to_flange": 48.0}, "sides-swapped", "caution", "17.7 mm"),
        ({"hub__drive": "cassette", "hub__left__locknut_to_flange": 53.0}, "sides-swapped", "stop", "12.7 mm"),
        ({"hub__drive": "freewheel", "hub__left__locknut_to_flange": 48.0}, "sides-swapped", "caution", "17.7 mm"),
        ({"hub__flange_distance": 57.3}, "flange-distance-differs", "caution", "55.4 mm"),
        ({"hub__left__offset": 37.2}, "offsets-differ", "caution", "35.9 mm"),
        ({"rim__bead_seat_diameter": 593.0}, "erd-over-bead-seat", "stop", "593.7 mm"),
        ({"old_rim__cracks": True}, "rim-cracks", "stop", "The rim is cracked"),
        ({"old_rim__bulges": True}, "rim-bulges", "stop", "The rim bulges"),
        ({"old_rim__brake_wall": 0.7}, "brake-wall-thin", "stop", "worn to 0.7 mm"),
        ({"rim__erd": [593.1, 593.5, 594.2]}, "erd-readings-differ", "caution", "1.1 mm"),
        (
            {"lacing__pattern": "radial"},
            "lacing-not-used",
            "caution",
            'lacing.crosses is given, but "radial" does not use it',
        ),
        ({"lacing__sides": "RL"}, "lacing-not-used", "caution", "lacing.sides"),
        ({"lacing__spokes": [[1, "right", 2, "in"]]}, "lacing-not-used", "caution", "lacing.spokes"),
        ({"lacing__crosses": 4}, "many-crosses", "caution", "holes over 9"),
        ({"lacing__crosses": 4}, "spoke-angle", "caution", "90 degrees"),
        ({"lacing__crosses": 4}, "spoke-over-head", "caution", "lies across the head"),
        ({"rim__erd": 280.0, "rim__bead_seat_diameter": 305, "hub__right__pcd": 98.0}, "nipple-tilt", "stop", "nipple"),
        ({"rim__erd": 330.0, "hub__right__pcd": 88.0}, "nipple-tilt", "caution", "nipple"),
        (
            {"hub__drive": "cassette", "lacing__crosses": {"left": 2, "right": 0}},
            "radial-flange",
            "caution",
            "right flange is radial",
        ),
        ({"hub__drive": "cassette", "lacing__crosses": 0}, "radial-turns-hub", "stop", "radial"),
        (
            {"hub__rotor": True, "lacing__crosses": {"left": 0, "right": 3}},
            "radial-flange",
            "caution",
            "left flange is radial",
        ),
        ({"rim__hole_offset": 2.5}, "rim-wrong-way-round", "caution", "turned round it would be"),
        ({"lacing__heads_in": "all"}, "flange-thickness-unknown", "caution", "hub.left.thickness"),
        ({"hub__left__spoke_head": "straight"}, "straight-heads", "note", "dictates the crosses"),
        ({"hub__phase": "aligned"}, "unequal-lengths", "note", "left spokes"),
        # D: 131.3 wide, left flange 35.85 off the middle, span 285: a spacer of 3.7 moves it 1.85, its spokes 0.23 mm;
        # one of 6.7 moves them 0.42, more than limits.width_moves_length
        ({"frame__dropout_spacing": 135}, "width-differs", "caution", "no spoke changes by more than 0.2 mm"),
        ({"frame__dropout_spacing": 138}, "width-differs", "stop", "could come out 0.4 mm wrong"),
        ({"frame__dropout_spacing": 128}, "width-differs", "caution", "3.3 mm too wide"),
        (
            {"frame__dropout_spacing": 128, "frame__material": "aluminium"},
            "width-differs",
            "stop",
            "3.3 mm too wide",
        ),
        # D: a rule is good to 0.5, two readings to 0.71, 19 times in 20 to 1.39 mm
        ({"frame__dropout_spacing": 132.6}, "width-differs", "caution", "no more than the readings err (1.4 mm)"),
        (
            {"frame__dropout_spacing": 135, "spacers__fitted": {"left": 1, "right": 0}},
            "width-still-differs",
            "stop",
            "2.7 mm",
        ),
        ({"nipple__for_wire": 1.8}, "nipple-thread", "stop", "does not go on"),
        ({"nipple__for_wire": 2.0, "spokes__wire": "1.8"}, "nipple-thread", "stop", "strips"),
        ({"hub__left__hole_diameter": 2.9}, "flange-hole-wide", "caution", "0.9 mm wider"),
        ({"hub__left__hole_diameter": 1.9}, "flange-hole-narrow", "stop", "does not go through"),
        ({"rim__hole_diameter": 4.9}, "rim-hole-wide", "caution", "0.9 mm wider"),
        ({"rim__hole_diameter": 3.8}, "rim-hole-narrow", "stop", "narrower"),
        ({"nipple__washer": 0.7}, "washers", "caution", "0.7 mm"),
        ({"nipple__length": 16}, "long-nipples", "caution", "16 mm"),
        ({"stock__lengths": [250]}, "cannot-be-filled", "stop", "No spoke that can be had fits"),
        ({"measuring__tool": "tape", "nipple__material": "aluminium"}, "low-chance", "caution", "under 80"),
        ({"stock__short_at_most": 4, "stock__lengths": [280, 287]}, "end-short", "stop", "short of the slot"),
        (
            {"nipple__material": "aluminium", "stock__short_at_most": 2, "stock__lengths": [281.5, 287]},
            "end-short",
            "stop",
            "1 mm",
        ),
        ({"spokes__thread_length": 6}, "thread-runs-out", "stop", "runs out at -1.0 mm"),
        (
            {"rim__walls": "single", "stock__beyond_at_most": 3, "stock__lengths": [282, 289]},
            "end-proud",
            "stop",
            "proud",
        ),
    ],
)
def test_each_finding(changed: dict[str, object], name: str, level: str, words: str) -> None:
    found = {finding.name: finding for finding in answers.order(with_keys(**changed)).findings if words in finding.text}
    assert name in found, [f"{f.name}: {f.text}" for f in answers.order(with_keys(**changed)).findings]
    assert found[name].level == level
    assert found[name].remedy


def remedy_for_want_of_spokes(**changed: object) -> str:
    (found,) = (f for f in answers.order(with_keys(**changed)).findings if f.name == "cannot-be-filled")
    return f"{found.text} {found.remedy}"


def test_lengths_that_would_do_are_told_by_side() -> None:
    said = remedy_for_want_of_spokes(stock__lengths=[250], spokes__wire="2.0")
    cut = answers.lengths(with_keys(spokes__wire="2.0")).sides
    for side in ("left", "right"):  # D: the window of brass, 2 short to 1 beyond, about the cut length
        assert f"{cut[side].cut - 2:.1f} to {cut[side].cut + 1:.1f} mm on the {side}" in said


def test_a_side_that_no_one_length_serves_is_told_so() -> None:
    said = remedy_for_want_of_spokes(stock__lengths=[250], hub__phase="aligned")
    cut = answers.lengths(with_keys(hub__phase="aligned")).cut
    assert f"to {cut.max():.1f} mm" in said
    assert "several lengths" in said


def test_a_jar_that_runs_out_is_told_so() -> None:
    cut = answers.lengths(with_keys()).sides["left"].cut
    jar = {f"{cut:.1f}": 5}
    said = remedy_for_want_of_spokes(stock__on_hand=jar)
    assert "The spokes on hand do not suffice: none is left that fits left rim holes" in said
    assert "No spoke that can be had fits" in remedy_for_want_of_spokes(stock__on_hand={"188": 30})


@pytest.mark.parametrize(
    "changed",
    [
        {"hub__left__outside_diameter": 53.0},
        {"hub__flange_distance": 55.9},
        {"hub__left__offset": 36.4},
        {"rim__erd": [593.4, 593.7, 594.0]},
        {"rim__hole_offset": -2.5},
        {"frame__dropout_spacing": 131.9},
        {"frame__dropout_spacing": 135, "spacers__fitted": {"left": 1.5, "right": 2}},
        {"frame__dropout_spacing": 124, "frame__spacing_to": "faces", "frame__recess_depth": 3.5},
        {"nipple__for_wire": 2.0},
        {"hub__drive": "cassette", "lacing__crosses": {"left": 0, "right": 3}},
        {"hub__left__thickness": 3.1, "hub__right__thickness": 3.3, "lacing__heads_in": "all"},
        {"lacing": {"pattern": "radial"}},
        {"lacing": {"pattern": "radial", "crosses": 0}},
        {"hub__drive": "freewheel", "cogs__count": 1, "hub__left__locknut_to_flange": 48.0},
    ],
)
def test_no_false_alarm(changed: dict[str, object]) -> None:
    assert [finding.text for finding in answers.order(with_keys(**changed)).findings] == []


def test_a_limit_is_a_setting() -> None:
    assert "many-crosses" not in names(lacing__crosses=4, limits__crosses_per_hole=8)
    assert "rim-hole-wide" in names(rim__hole_diameter=4.5, limits__rim_hole_over_nipple=0.4)


def names(**changed: object) -> list[str]:
    return [finding.name for finding in answers.order(with_keys(**changed)).findings]


def test_stops_come_first() -> None:
    levels = [finding.level for finding in answers.order(with_keys(nipple__for_wire=1.8, nipple__washer=0.7)).findings]
    assert levels == sorted(levels, key=["stop", "caution", "note"].index)
    assert levels[0] == "stop"


@pytest.mark.parametrize("command", [answers.lengths, answers.lace, answers.order, answers.tension])
def test_a_flange_that_pulls_the_wrong_way_stops_every_command_that_builds_on_it(command) -> None:
    """D: 79.8 mm from the locknut of a hub of 131.3 lies 14.15 mm past its middle: nothing pulls the rim to the left."""
    found = [finding.name for finding in command(with_keys(hub__left__locknut_to_flange=79.8)).findings]
    assert found.count("no-sideways-pull") == 1


@pytest.mark.parametrize(("torque", "cautions"), [(60, []), (600, ["few-crosses-turn-hub"])])
def test_one_cross_is_judged_by_how_far_the_hub_turns_in_the_rim(torque, cautions):
    tree = with_keys(hub__drive="motor", lacing__crosses=1, limits__motor_torque=torque)
    findings = answers.lengths(tree).findings
    assert [each.name for each in findings if each.level == "caution"] == cautions
    assert not any(each.level == "stop" for each in findings)


def test_the_angle_at_the_nipple_after_bending():
    # D: pcd 212, erd 531, 18 holes a flange, two crosses: the hub hole stands 40 degrees on.
    flange = {"holes": 18, "pcd": 212, "offset": 27}
    tree = {
        "rim": {"holes": 36, "erd": 531, "erd_to": "spoke end"},
        "hub": {"left": flange, "right": {**flange, "offset": 19}},
        "lacing": {"crosses": 2},
    }
    tilt = math.degrees(math.atan2(106 * math.sin(math.radians(40)), 265.5 - 106 * math.cos(math.radians(40))))
    side = answers.lace(tree).as_json()["sides"]["left"]
    assert side["nipple_tilt_deg"] == pytest.approx(tilt, abs=0.2)  # the hub is turned to the mean of both sides
    assert side["nipple_tilt_left_deg"] == pytest.approx(side["nipple_tilt_deg"] - 15)
    less = answers.lace(tree, {"limits.nipple_bend": 8}).as_json()["sides"]["left"]
    assert less["nipple_tilt_left_deg"] == pytest.approx(side["nipple_tilt_deg"] - 8)
    tree["lacing"]["crosses"] = 1
    assert answers.lace(tree).as_json()["sides"]["left"]["nipple_tilt_left_deg"] == 0
