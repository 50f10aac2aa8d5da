"""Every finding of fit: said where it must be, with its level, millimetres and remedy, and not said of a sound build."""

from __future__ import annotations

from typing import Any

import pytest

from tests.making.builds import with_keys
from wheelcalc import answers
from wheelcalc.wheel.errors import InputError

# A steel slot frame that takes the plain hub (131.3 mm) as it is; unequal and not round.
SOUND: dict[str, Any] = {
    "measuring__tool": "calliper",
    "frame__dropout_spacing": 131.6,
    "frame__dropout": "slot",
    "frame__axle_diameter": 10,
    "frame__dropout_thickness": 6.2,
    "frame__material": "steel",
    "frame__brake": "rim",
    "frame__chainstay": 431,
    "hub__axle": "quick release",
    "hub__axle_diameter": 10,
    "hub__axle_protrusion": 5.4,
    "hub__drive": "cassette",
    "rim__brake_track": True,
    "crank__chainline": 44.3,
    "crank__rings": 2,
    "crank__ring_pitch": 5.3,
    "cogs__count": 7,
    "cogs__pitch": 4.9,
    "cogs__locknut_to_smallest": 6.1,
    "cogs__largest_to_spokes": 3.4,
    "clearance__tyre_gap": 6.2,
    "clearance__pad_gap": 2.1,
}
THROUGH = {
    "frame__dropout": "through",
    "frame__axle_diameter": 12,
    "frame__material": "carbon",
    "hub__axle": "through",
    "hub__axle_diameter": 12,
    "frame__dropout_thickness": None,
    "hub__axle_protrusion": None,
}
DISC = {
    "frame__brake": "disc",
    "hub__rotor": True,
    "hub__rotor_face": 15.1,
    "frame__rotor_to_dropout": 15.6,
    "clearance__rotor_gap": 2.6,
    "clearance__pad_gap": None,
}
RECESSED = {"frame__dropout_spacing": 124.4, "frame__recess_depth": 3.5, "cogs__locknut_to_smallest": 9.3}
FIXED = {"hub__drive": "fixed", "cogs__count": 1, "hub__lockring": True, "crank__chainline": 59.7, "crank__rings": 1}
NUTTED = {"hub__axle": "nutted", "hub__axle_protrusion": 14.9, "hub__nut_length": 8.4}


def tree_of(**changed: Any) -> dict[str, Any]:
    """The sound build with some keys changed; None takes one out."""
    keys = {**SOUND, **changed}
    return with_keys(**{key: value for key, value in keys.items() if value is not None or key not in SOUND})


def fitted(**changed: Any) -> Any:
    return answers.fit(tree_of(**changed))


def test_a_sound_build_has_nothing_but_the_limit_screws() -> None:
    answer = fitted()
    assert [(finding.level, finding.name) for finding in answer.findings] == [("note", "limit-screws")]
    assert answer.verdict == "fits"
    assert answer.not_checked == []
    assert answer.next_reading() is None


@pytest.mark.parametrize(
    ("changed", "name", "level", "words"),
    [
        # the width
        ({"frame__dropout_spacing": 129.1}, "frame-sprung", "caution", "2.2 mm wider"),
        ({"frame__dropout_spacing": 126.9}, "frame-respace", "caution", "4.4 mm wider"),
        ({"frame__dropout_spacing": 121.1}, "width-differs", "stop", "10.2 mm wider"),
        ({"frame__dropout_spacing": 129.1, "frame__material": "aluminium"}, "width-differs", "stop", "aluminium is never"),
        ({"frame__dropout_spacing": 129.1, "frame__material": "carbon"}, "width-differs", "stop", "carbon is never"),
        ({**THROUGH, "frame__dropout_spacing": 130.8}, "width-differs", "stop", "0.5 mm wider"),
        ({"frame__dropout_spacing": 160.1}, "width-differs", "stop", "28.8 mm narrower"),
        (
            {"frame__dropout_spacing": 134.6, "spacers__fitted": {"left": 0, "right": 1}},
            "frame-sprung",
            "caution",
            "2.3 mm narrower",
        ),
        ({"measuring__tool": "rule"}, "width-unsure", "note", "+-1.4 mm"),
        ({"frame__dropout_spacing": 135.2, "spacers__on_hand": {"1": 2}}, "spacers-lacking", "note", "leave 1.9 mm of the 3.9"),
        ({**THROUGH, "frame__dropout_spacing": 124.3}, "recess-forgotten", "caution", "7.0 mm wider"),
        (
            {"hub__over_locknut": 148, "hub__left__locknut_to_flange": 38.1, "hub__right__locknut_to_flange": 54.4,
             "frame__dropout_spacing": 135},
            "148-into-narrower",
            "stop",
            "3 mm further out",
        ),
        # the axle
        ({"hub__axle": "through"}, "through-axle-in-slots", "stop", "nothing holds"),
        ({**THROUGH, "hub__axle": "nutted"}, "slot-axle-in-through-ends", "stop", "through axle only"),
        ({"hub__axle_diameter": 10.4}, "axle-too-thick", "stop", "0.4 mm too thick"),
        ({"hub__axle_diameter": 9}, "axle-too-thin", "caution", "1.0 mm of play"),
        ({**THROUGH, "frame__axle_diameter": 15}, "axle-too-thin", "stop", "3.0 mm of play"),
        ({"hub__axle_protrusion": 3.0}, "stub-short", "stop", "3.0 mm beyond either locknut"),
        ({"hub__axle_protrusion": 6.4}, "stub-long", "stop", "beyond either locknut, 0.2 mm more"),
        (
            {"frame__dropout_spacing": 134.6, "spacers__fitted": {"left": 0.4, "right": 2.9}},
            "stub-short",
            "stop",
            "2.5 mm beyond the right",
        ),
        ({**NUTTED, "hub__nut_length": 9.2}, "stub-short", "stop", "need 15.4 mm"),
        ({"hub__left__locknut_to_flange": None, "hub__left__offset": 66.0}, "flange-outside-locknut", "stop", "65.7 mm"),
        ({"hub__right__locknut_to_flange": 132.4}, "flange-outside-locknut", "stop", "hub.right.locknut_to_flange is 132.4 mm"),
        ({"hub__right__locknut_to_flange": 66.4}, "flange-past-middle", "stop", "hub.right.locknut_to_flange"),
        ({"hub__right__locknut_to_flange": 60.1}, "sides-uneven", "caution", "% of the tight side's tension"),
        (
            {**THROUGH, "frame__dropout_spacing": 137.3, "frame__spacing_to": "recess floors"},
            "spacers-on-through-axle",
            "caution",
            "no locknuts",
        ),
        # brakes, drive, threads
        ({**DISC, "hub__rotor": False}, "no-rotor-mount", "stop", "no mount for a rotor"),
        ({"rim__brake_track": False}, "no-brake-track", "stop", "no brake track"),
        ({"rim__brake_track": False, "frame__other_brake": True}, "no-brake-track", "caution", "other brake"),
        ({"frame__brake": "hub", "hub__brake": "none"}, "no-hub-brake", "stop", "no brake in it"),
        ({"hub__brake": "drum", "hub__brake_arm_anchored": False}, "arm-not-anchored", "stop", "drum brake"),
        ({"hub__drive": "internal gear", "hub__brake_arm_anchored": False}, "arm-not-anchored", "stop", "hub gear"),
        ({**FIXED, "hub__lockring": False}, "no-lockring", "stop", "unscrews"),
        ({"cogs__drive": "freewheel"}, "drive-differs", "stop", "freewheel hub"),
        ({"hub__drive": "freewheel", "hub__thread": "French", "cogs__thread": "ISO"}, "thread-differs", "stop", "strips"),
        ({"hub__drive": "freewheel", "hub__thread": "italian", "cogs__thread": "ISO"}, "thread-differs", "caution", "tandem"),
        # gaps
        ({"cogs__chain_to_dropout": 0.9}, "chain-near-dropout", "stop", "0.9 mm from the right"),
        ({"cogs__locknut_to_smallest": 4.6}, "chain-near-dropout", "stop", "0.9 mm from the right"),
        # D: the hub's end sits 3.5 outward of the end's inner face, so cog and rotor are 3.5 nearer to it.
        ({**THROUGH, **RECESSED, "cogs__locknut_to_smallest": 8.1}, "chain-near-dropout", "stop", "0.9 mm from the right"),
        ({**THROUGH, **DISC, **RECESSED}, "rotor-misplaced", "caution", "4.0 mm further out"),
        ({"cogs__largest_to_spokes": 0.9}, "cog-near-spokes", "stop", "0.9 mm from the spokes"),
        ({"cogs__largest_to_spokes": 2.9}, "cog-near-spokes", "caution", "2.9 mm from the spokes"),
        ({**DISC, "clearance__rotor_gap": 0.9}, "rotor-near", "stop", "0.9 mm left"),
        ({**DISC, "clearance__rotor_gap": 1.9}, "rotor-near", "caution", "1.9 mm left"),
        ({**DISC, "frame__rotor_to_dropout": 16.6}, "rotor-misplaced", "caution", "1.5 mm further out"),
        ({"clearance__tyre_gap": 1.5}, "tyre-near", "stop", "1.5 mm to frame or fork"),
        ({"clearance__tyre_gap": 3.6}, "tyre-near", "caution", "3.6 mm to frame or fork"),
        ({"clearance__suspension": True}, "gap-when-compressed", "note", "fully compressed"),
        ({"clearance__pad_gap": 0.4}, "pad-near-tyre", "stop", "0.4 mm from the tyre"),
        # chain and shell
        ({"crank__chainline": 49.25}, "chainline-error", "caution", "4.4 mm out of line"),
        ({**FIXED, "crank__chainline": 65.0}, "chainline-error", "stop", "5.4 mm out of line"),
        ({**FIXED, "crank__chainline": 61.9}, "chainline-error", "caution", "2.3 mm out of line"),
        ({**FIXED, "crank__chainline": 61.0}, "chainline-error", "note", "1.4 mm out of line"),
        # D: 135.2 / 2 - 7.75 - 14.7 = 45.15 behind; on a hub that the trade pairs with this crank it is no alarm
        ({"crank__chainline": 49.25, "hub__over_locknut": 135.2, "frame__dropout_spacing": 135.2,
          "cogs__locknut_to_smallest": 7.75}, "chainline-error", "note", "4.1 mm out of line"),
        ({"frame__dropout_spacing": 140.0, "spacers__fitted": {"left": 0, "right": 0}}, "frame-set-far", "stop", "8.7 mm narrower"),
        ({"frame__dropout_spacing": 124.0}, "frame-set-far", "stop", "7.3 mm wider"),
        ({"frame__shell_width": 68, "crank__shell_width": 83}, "shell-too-narrow", "stop", "7.5 mm of spacers left"),
        ({"frame__shell_width": 73, "crank__shell_width": 68}, "shell-too-wide", "stop", "5 mm too wide"),
        ({"frame__shell_width": 75, "crank__shell_width": 73}, "shell-off-middle", "caution", "On the left"),
        ({"frame__shell_width": 68, "crank__shell_width": 73, "crank__bearings": "pressed"}, "shell-pressed", "stop", "73 mm"),
    ],
)  # fmt: skip
def test_each_finding(changed: dict[str, Any], name: str, level: str, words: str) -> None:
    answer = fitted(**changed)
    found = {finding.name: finding for finding in answer.findings if words in finding.text}
    assert name in found, [f"{f.name}: {f.text}" for f in answer.findings]
    assert found[name].level == level
    assert found[name].remedy
    assert answer.stops == any(finding.level == "stop" for finding in answer.findings)


@pytest.mark.parametrize(
    "changed",
    [
        {"frame__dropout_spacing": 132.3},
        {"frame__dropout_spacing": 130.3},
        {"frame__dropout_spacing": 134.9, "hub__axle_protrusion": 6.0},
        {"frame__dropout_spacing": 134.6, "spacers__fitted": {"left": 1.6, "right": 1.7}},
        {"frame__dropout_spacing": 134.6, "spacers__fitted": {"left": 0.4, "right": 2.9}, "hub__axle_moved": 1.2},
        THROUGH,
        {**THROUGH, "frame__dropout_spacing": 124.4, "frame__recess_depth": 3.5, "cogs__locknut_to_smallest": 9.3},
        {**THROUGH, "frame__spacing_to": "recess floors"},
        {**THROUGH, **DISC, **RECESSED, "hub__rotor_face": 18.9},
        DISC,
        FIXED,
        NUTTED,
        {"hub__axle_protrusion": 6.2},
        {"hub__axle_protrusion": 3.1},
        {"hub__axle_diameter": 9.525},
        {"hub__drive": "freewheel", "hub__thread": "ISO", "cogs__thread": "iso 34.92"},
        {"hub__brake": "roller", "hub__brake_arm_anchored": True},
        {"cogs__chain_to_dropout": 1.0, "cogs__locknut_to_smallest": 4.6},
        {"frame__shell_width": 70, "crank__shell_width": 73},
        {"crank__bearings": "pressed", "frame__shell_width": 73, "crank__shell_width": 73},
    ],
)
def test_no_false_alarm(changed: dict[str, Any]) -> None:
    # At a limit a calliper's 0.2 mm may turn the verdict, and says so: that is no alarm.
    always = ("limit-screws", "width-unsure")
    found = [finding.text for finding in fitted(**changed).findings if finding.name not in always]
    assert found == []


@pytest.mark.parametrize(
    ("changed", "verdict"),
    [
        ({}, "fits"),
        ({"frame__dropout_spacing": 129.1}, "fits"),
        ({"frame__dropout_spacing": 134.9}, "fits with spacers"),
        ({"frame__dropout_spacing": 134.9, "frame__material": "carbon"}, "fits with spacers"),
        ({"frame__dropout_spacing": 128.8, "hub__loose_spacers": {"left": [2.5]}}, "fits with spacers"),
        ({"frame__dropout_spacing": 126.9}, "needs respacing"),
        ({"frame__dropout_spacing": 126.9, "frame__material": None}, "needs respacing"),
        ({"frame__dropout_spacing": 126.9, "frame__spring_at_most": 5}, "fits"),
        ({"frame__dropout_spacing": 126.9, "frame__material": "titanium"}, "does not fit"),
        ({"frame__dropout_spacing": 121.1}, "does not fit"),
        ({"frame__dropout_spacing": 121.1, "limits__spread_stop": 11}, "needs respacing"),
        ({"hub__axle": "through"}, "does not fit"),
        ({"hub__axle_diameter": 12}, "does not fit"),
        ({"frame__dropout_spacing": 137.9, "spacers__fitted": {"left": 0, "right": 0}}, "needs respacing"),
        ({"frame__dropout_spacing": 137.9, "spacers__fitted": {"left": 4, "right": 2}}, "fits with spacers"),
        (
            {"frame__dropout_spacing": 137.9, "spacers__on_hand": {"1": 1}, "frame__material": "aluminium"},
            "does not fit",
        ),
    ],
)
def test_verdicts(changed: dict[str, Any], verdict: str) -> None:
    assert fitted(**changed).verdict == verdict


@pytest.mark.parametrize(
    ("gone", "what", "key"),
    [
        ("frame__brake", "keeps its brake", "frame.brake"),
        ("hub__axle_protrusion", "how much axle", "hub.axle_protrusion"),
        ("frame__axle_diameter", "axle goes into the ends", "frame.axle_diameter"),
        ("rim__brake_track", "rim brake of the frame", "rim.brake_track"),
        ("cogs__largest_to_spokes", "largest cog", "cogs.largest_to_spokes"),
        ("clearance__tyre_gap", "tyre", "clearance.tyre_gap"),
        ("clearance__pad_gap", "pads", "clearance.pad_gap"),
        ("crank__chainline", "straight", "crank.chainline"),
        ("crank__ring_pitch", "every gear", "crank.ring_pitch"),
        ("rim__erd", "side balance", "rim.erd"),
    ],
)
def test_what_is_missing_is_named_and_not_taken_as_bad(gone: str, what: str, key: str) -> None:
    answer = fitted(**{gone: None, **({"rim__erd_to": None} if gone == "rim__erd" else {})})
    [check] = answer.not_checked
    assert what in check.what
    assert key in check.keys
    assert not answer.stops
    assert answer.next_reading()["key"] in check.keys
    assert answer.next_reading()["how"]


def test_the_next_reading_settles_most() -> None:
    answer = answers.fit({"frame": {"dropout_spacing": 130}, "hub": {"over_locknut": 126}})
    following = answer.next_reading()
    counts = {
        key: sum(key in each.keys for each in answer.not_checked) for each in answer.not_checked for key in each.keys
    }
    assert len(following["settles"]) == counts[following["key"]] >= 2


@pytest.mark.parametrize(
    ("changed", "key", "other"),
    [
        ({"frame__axle_diameter": 12}, "frame.axle_diameter", "frame.dropout"),
        ({"frame__recess_depth": 3.5}, "frame.recess_depth", "frame.dropout"),
        ({"cogs__count": 11}, "cogs.count", "hub.right.locknut_to_flange"),
        (
            {"cogs__locknut_to_smallest": 50, "hub__right__locknut_to_flange": None, "hub__right__offset": 19},
            "cogs.count",
            "hub.over_locknut",
        ),
        ({"spacers__fitted": {"left": -2, "right": 2}}, "spacers.fitted.left", "hub.loose_spacers"),
        ({"crank__chainline": 450}, "crank.chainline", "20 to 100"),
        ({"crank__chainline": None, "crank__standard": "road dubble"}, "crank.standard", "road double"),
        ({"hub__drive": "freewheel", "hub__thread": "ISO", "cogs__thread": "M10"}, "cogs.thread", "italian"),
        ({"geometry__new": {"head_angle": 70}}, "geometry.new.head_angle", "follows"),
    ],
)
def test_what_cannot_be_true_is_refused(changed: dict[str, Any], key: str, other: str) -> None:
    with pytest.raises(InputError) as caught:
        fitted(**changed)
    assert caught.value.key == key
    assert other in caught.value.text


def test_without_frame_and_hub_it_says_what_it_needs() -> None:
    with pytest.raises(InputError, match=r"frame\.dropout_spacing: is missing and `fit` needs it"):
        answers.fit({"rim": {"holes": 32}})


def test_the_step_that_moves_the_axle_says_what_to_write() -> None:
    """D: 5.4 - 3.4 = 2.0 left and 5.4 right; the middle 3.7 is 1.7 to the left, and then nothing stops."""
    plan = {"frame__dropout_spacing": 134.7, "hub__loose_spacers": {"left": [], "right": []}}
    fitted_so = {**plan, "spacers__fitted": {"left": 3.4, "right": 0}}
    [step] = [each for each in fitted(**fitted_so).steps() if "Screw the axle" in each]
    assert "1.7 mm to the left" in step
    assert "axle_moved = -1.7 below [hub]" in step
    assert fitted(**fitted_so).stops
    assert not fitted(**fitted_so, hub__axle_moved=-1.7).stops


def test_a_flange_that_cannot_be_there_is_said_once() -> None:
    found = [finding.name for finding in fitted(hub__right__locknut_to_flange=132.4).findings]
    assert found.count("flange-outside-locknut") == 1
    assert "flange-past-middle" not in found


def test_a_through_axle_has_no_stubs() -> None:
    """A reading left over from another axle counts for nothing: a through axle is the frame's."""
    through = {**THROUGH, "hub__axle_protrusion": 5.5, "frame__dropout_thickness": 6}
    answer = fitted(**through, frame__dropout_spacing=137.3, frame__spacing_to="recess floors")
    assert answer.as_json()["plans"][0]["stub_left_mm"] is None
    assert not any("Screw the axle" in step or "bearings" in step for step in answer.steps())


def test_recesses_read_to_their_floors_leave_the_chain_s_gap_open() -> None:
    answer = fitted(**{**THROUGH, **DISC}, frame__spacing_to="recess floors")
    lacking = [each.what for each in answer.not_checked if each.keys == ("frame.recess_depth",)]
    assert len(lacking) == 2
    assert "smallest cog" in lacking[0]
    assert "rotor" in lacking[1]


def test_without_a_verdict_the_width_is_read_next() -> None:
    answer = answers.fit({"hub": {"over_locknut": 130}, "frame": {"shell_width": 68}, "crank": {"shell_width": 73}})
    assert answer.verdict is None
    assert answer.next_reading()["key"] == "frame.dropout_spacing"
    assert not any("Slot ends" in each or "frame: spacing_to" in each for each in answer.assumptions)


def test_part_of_a_file_is_used_for_what_it_serves() -> None:
    answer = answers.fit({"frame": {"shell_width": 68}, "crank": {"shell_width": 73}})
    assert answer.verdict is None
    assert answer.as_json()["shell"] == {"left_mm": 2.5, "right_mm": 5.0}
    assert ("frame.dropout_spacing", "hub.over_locknut") in [each.keys for each in answer.not_checked]


def test_order_and_fit_judge_a_width_alike() -> None:
    for spacing in (126.9, 129.1, 131.6, 134.9):
        tree = tree_of(frame__dropout_spacing=spacing)
        ordered = {finding.name for finding in answers.order(tree).findings} & {"width-differs", "width-still-differs"}
        fits_as_it_is = not any(answers.fit(tree).spacers) and answers.fit(tree).verdict == "fits"
        assert ("width-differs" not in ordered) == fits_as_it_is


def test_the_remedy_of_a_short_stub_cures_it() -> None:
    plan = {"frame__dropout_spacing": 134.6, "spacers__fitted": {"left": 2.9, "right": 0.3}}
    [short] = [finding for finding in fitted(**plan).findings if finding.name == "stub-short"]
    assert "1.3 mm to the left" in short.remedy
    moved = float(short.remedy.partition("hub.axle_moved = ")[2].rstrip("."))
    assert not fitted(**plan, hub__axle_moved=moved).stops


@pytest.mark.parametrize(
    ("changed", "left", "right", "name", "said"),
    [
        # D: the chain's gap grows by the right spacer alone, the rotor's place by the left one alone.
        ({"cogs__chain_to_dropout": 0.4}, 2.4, 0.5, "chain-near-dropout", "0.9 mm from the right"),
        ({"cogs__chain_to_dropout": 0.4}, 0.5, 2.4, "chain-near-dropout", None),
        ({**DISC, "frame__rotor_to_dropout": 15.6}, 2.4, 0.5, "rotor-misplaced", "1.9 mm further in"),
        ({**DISC, "frame__rotor_to_dropout": 15.6}, 0.5, 2.4, "rotor-misplaced", None),
        ({**DISC, "hub__loose_spacers": {"left": [1.2]}}, -1.2, 2.4, "rotor-near", "1.4 mm left"),
        ({**DISC, "hub__loose_spacers": {"left": [1.2]}}, 1.2, 2.4, "rotor-near", None),
    ],
)
def test_which_spacer_moves_what(
    changed: dict[str, Any], left: float, right: float, name: str, said: str | None
) -> None:
    plan = {"frame__dropout_spacing": 131.3 + left + right, "spacers__fitted": {"left": left, "right": right}}
    found = [finding.text for finding in fitted(**plan, **changed).findings if finding.name == name]
    assert len(found) == (said is not None)
    assert said is None or said in found[0]
