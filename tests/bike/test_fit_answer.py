"""The answer of fit: chain, shell, geometry, what a chosen plan shows; values derived by plain trigonometry."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wheelcalc import answers
from wheelcalc.answers.fitting.sentences import trade_off

EXAMPLES = Path(__file__).parents[2] / "examples"
DONOR = EXAMPLES / "donor-hub.toml"
SMALLER = EXAMPLES / "smaller-wheels.toml"


def of_json(source: Any, *overrides: str) -> dict[str, Any]:
    return answers.fit(source, overrides).as_json()


CHAIN: dict[str, Any] = {
    "frame": {"dropout_spacing": 134.1, "chainstay": 423},
    "hub": {"over_locknut": 130.2, "drive": "cassette"},
    "crank": {"chainline": 44.7, "rings": 3, "ring_pitch": 7.3},
    "cogs": {"count": 9, "pitch": 4.34, "locknut_to_smallest": 5.9},
}


@settings(deadline=None, max_examples=25)
@given(st.floats(-2, 5), st.floats(-1, 5), st.floats(-6, 6))
def test_chain_angles_by_plain_trigonometry(left: float, right: float, offset: float) -> None:
    """D: each cog and ring as a place on the axle and the bracket, the angle by atan2, spacers by their own layout."""
    tree = {**CHAIN, "spacers": {"fitted": {"left": left, "right": right}}}
    tree["hub"] = {**CHAIN["hub"], "loose_spacers": {"left": [2], "right": [1]}}
    tree["frame"] = {**CHAIN["frame"], "wheel_offset": offset}
    chain = of_json(tree)["chainline"]
    middle = (left + 130.2 + right) / 2
    gears = {(gear["ring"], gear["cog"]): gear["angle_deg"] for gear in chain["with_spacers"]["gears"]}
    assert len(gears) == 27
    for ring in range(1, 4):
        for cog in range(1, 10):
            front = 44.7 + 7.3 * (2 - ring)
            rear = left + 130.2 - 5.9 - 4.34 * (cog - 1) - middle - offset
            assert gears[ring, cog] == pytest.approx(math.degrees(math.atan2(rear - front, 423)), abs=1e-5)
    fifth = left + 130.2 - 5.9 - 4.34 * 4 - middle - offset
    assert chain["with_spacers"]["error_mm"] == pytest.approx(44.7 - fifth, abs=1e-5)


def test_chainline_without_spacers_and_crossed_gears() -> None:
    chain = of_json(CHAIN)["chainline"]
    assert chain["front_mm"] == 44.7
    # D: 65.1 - 5.9 - 4 x 4.34
    assert chain["rear_mm"] == pytest.approx(41.84, abs=1e-6)
    assert chain["error_mm"] == pytest.approx(2.86, abs=1e-6)
    crossed = [(gear["ring"], gear["cog"]) for gear in chain["gears"] if gear["crossed"]]
    assert crossed == [(1, 8), (1, 9), (3, 1), (3, 2)]
    assert all(set(gear) >= {"ring", "cog", "angle_deg"} for gear in chain["gears"])


def test_a_standard_stands_for_a_measured_chainline() -> None:
    tree = {**CHAIN, "crank": {"standard": "road double", "ring_pitch": 5.1}}
    answer = answers.fit(tree)
    assert answer.as_json()["chainline"]["front_mm"] == 43.5
    assert answer.chain.angles_deg.shape == (2, 9)
    assert any("Front chainline of road double: 43.5 mm" in each for each in answer.assumptions)
    measured = {**CHAIN, "crank": {"standard": "road double", "chainline": 44.1, "ring_pitch": 5.1}}
    assert of_json(measured)["chainline"]["front_mm"] == 44.1


def test_a_chainstay_that_is_not_given_is_said() -> None:
    tree = {**CHAIN, "frame": {"dropout_spacing": 134.1}}
    answer = answers.fit(tree)
    assert answer.chain.chainstay == 430.0
    assert any("frame.chainstay is not given: 430 mm" in each for each in answer.assumptions)


@pytest.mark.parametrize(
    ("shell", "made_for", "bearings", "left", "right"),
    [
        # P (magazine), C(2): mountain cups, 73: one 2.5 right; 68: two right, one left. D for 70: 1.5 less than 68 each.
        (73, 73, "external cups", 0.0, 2.5),
        (68, 73, "external cups", 2.5, 5.0),
        (70, 73, "external cups", 1.5, 4.0),
        (68, 68, "external cups", 0.0, 0.0),
        # D: a cartridge has none on its own shell, so half of the difference on each side.
        (68, 73, "cartridge", 2.5, 2.5),
        (70, 73, "cartridge", 1.5, 1.5),
    ],
)
def test_shell_spacers(shell: float, made_for: float, bearings: str, left: float, right: float) -> None:
    tree = {"frame": {"shell_width": shell}, "crank": {"shell_width": made_for, "bearings": bearings}}
    assert of_json(tree)["shell"] == {"left_mm": left, "right_mm": right}


def test_the_plans_of_the_example() -> None:
    """D: from washers of 1, 1.5 and 2.5 nothing makes 5.95; 6.0 is 0.05 too much and the nearest."""
    answer = answers.fit(DONOR)
    assert answer.verdict == "fits with spacers"
    best = answer.as_json()["plans"][0]
    assert best["left_mm"] + best["right_mm"] == 6.0
    assert best["width_left_over_mm"] == pytest.approx(126.2 - 120.25 - 6.0, abs=1e-6)
    # D: half of 120.25 less the reading, and the half difference of the spacers.
    move = (best["left_mm"] - best["right_mm"]) / 2
    assert best["offset_left_mm"] == pytest.approx(60.125 - 27.4 - move, abs=1e-6)
    assert best["offset_right_mm"] == pytest.approx(60.125 - 40.1 + move, abs=1e-6)


def test_contract_keys_of_a_plan() -> None:
    named = {
        "left_mm", "right_mm", "offset_left_mm", "offset_right_mm", "tension_ratio", "rim_shift_mm", "cog_shift_mm",
        "rotor_shift_mm", "cog_to_hanger_mm", "rotor_to_calliper_mm", "chainline_error_mm", "width_left_over_mm",
    }  # fmt: skip
    plans = of_json(DONOR)["plans"]
    assert len(plans) > 20
    assert all(named <= set(plan) for plan in plans)
    assert [len(plan["cautions"]) > 0 for plan in plans] == sorted(len(plan["cautions"]) > 0 for plan in plans)


def test_a_chosen_plan_shows_its_state_and_every_command_uses_it() -> None:
    chosen = "spacers.fitted={ left = 3, right = 3 }"
    answer = answers.fit(DONOR, [chosen])
    assert answer.spacers == (3.0, 3.0)
    assert answer.lines_to_paste() == []
    assert answer.as_json()["fitted"] == {"left_mm": 3.0, "right_mm": 3.0}
    state = answer.as_json()["state"]
    wheel = answers.lengths(DONOR, [chosen]).wheel
    assert state["offset_left_mm"] == pytest.approx(wheel.hub.left.offset, abs=1e-6)
    assert state["offset_right_mm"] == pytest.approx(wheel.hub.right.offset, abs=1e-6)
    uneven = "spacers.fitted={ left = 4, right = 2 }"
    state = answers.fit(DONOR, [uneven]).as_json()["state"]
    pull = answers.lengths(DONOR, [uneven]).wheel.sideways
    right = answers.lengths(DONOR, [uneven]).wheel.lacing.is_right
    assert state["tension_ratio"] == pytest.approx(pull[right].sum() / pull[~right].sum(), rel=1e-6)


def test_lines_to_paste_make_the_plan_the_chosen_one() -> None:
    import tomllib

    answer = answers.fit({**CHAIN, "hub": {"over_locknut": 130.2, "left": {"offset": 35}, "right": {"offset": 19}}})
    pasted = tomllib.loads("\n".join(answer.lines_to_paste()))
    again = answers.fit({**CHAIN, **pasted})
    assert again.chosen == answer.spacers
    assert again.verdict == "fits with spacers"


def test_trade_off_in_words() -> None:
    tree = {
        "frame": {"dropout_spacing": 134.1, "brake": "disc"},
        "hub": {"over_locknut": 130.2, "rotor": True, "left": {"offset": 35}, "right": {"offset": 19}},
    }
    text = trade_off(answers.fit(tree))
    assert "most even spokes come from 4 mm on the left and nothing on the right" in text
    assert "they move the rotor 4.0 mm from the calliper; at least it is 0.0 mm" in text


def test_bead_seats_and_new_wheels() -> None:
    """D: both wheels lose 13 mm of radius (630 + 64 to 584 + 84), so nothing turns and the bracket sinks by 13."""
    answer = answers.fit(SMALLER)
    geometry = answer.as_json()["geometry"]
    before, after = geometry["before"], geometry["after"]
    assert after["head_angle_deg"] == pytest.approx(before["head_angle_deg"], abs=1e-9)
    assert before["bracket_height_mm"] - after["bracket_height_mm"] == pytest.approx(13.0, abs=1e-6)
    # D: (R cos H - offset) / sin H with R 347 and 334.
    head = math.radians(71.5)
    for when, radius in ((before, 347.0), (after, 334.0)):
        assert when["trail_mm"] == pytest.approx((radius * math.cos(head) - 52) / math.sin(head), abs=1e-5)
    # P (CT): half the difference of the bead seats; 51 + 23 is 1 beyond 73.
    [reach] = [finding for finding in answer.findings if finding.name == "brake-reach"]
    assert reach.level == "stop"
    assert "74.0 mm of reach are needed" in reach.text
    assert "1.0 mm too short" in reach.text


BIKE: dict[str, Any] = {
    "head_angle": 72.4, "seat_angle": 73.3, "wheelbase": 1017, "bracket_height": 271, "crank_length": 170, "fork_length": 374,
    "fork_offset": 44, "pedal_reach": 155, "wheel_diameter": {"front": 676, "rear": 672},
}  # fmt: skip


def bike(new: dict[str, Any] | None = None, **changed: Any) -> Any:
    geometry = {**BIKE, **changed, **({"new": new} if new else {})}
    return answers.fit({"frame": {"chainstay": 427}, "geometry": geometry})


def test_geometry_before_alone() -> None:
    geometry = bike().as_json()["geometry"]
    assert geometry["after"] is None
    contract = {"head_angle_deg", "seat_angle_deg", "trail_mm", "wheelbase_mm", "bracket_height_mm"}
    assert contract <= set(geometry["before"])


def test_a_rigid_frame_turns_as_one() -> None:
    geometry = bike({"fork_length": 401, "wheel_diameter": {"front": 651}}).as_json()["geometry"]
    before, after = geometry["before"], geometry["after"]
    turned = after["head_angle_deg"] - before["head_angle_deg"]
    assert turned == pytest.approx(after["seat_angle_deg"] - before["seat_angle_deg"], abs=1e-9)
    assert turned < 0
    assert geometry["stack_change_mm"] is not None


@pytest.mark.parametrize(
    ("new", "changed", "name", "level"),
    [
        ({"fork_length": 404}, {}, "fork-longer", "caution"),
        ({"fork_length": 404}, {}, "steering-changed", "caution"),
        ({"wheel_diameter": {"front": 606, "rear": 602}}, {}, "bracket-lower", "caution"),
        ({"fork_offset": 105}, {}, "trail-negative", "stop"),
        ({"crank_length": 180}, {"bracket_height": 190}, "pedal-on-ground", "stop"),
        ({"crank_length": 180}, {"bracket_height": 262}, "pedal-strikes", "caution"),
        ({"wheel_diameter": {"front": 706}}, {"wheelbase": 985}, "toe-overlap", "caution"),
    ],
)
def test_findings_of_geometry(new: dict[str, Any], changed: dict[str, Any], name: str, level: str) -> None:
    found = {finding.name: finding for finding in bike(new, **changed).findings}
    assert name in found
    assert found[name].level == level
    assert found[name].remedy


def test_a_small_change_is_no_caution() -> None:
    assert bike({"fork_length": 380, "crank_length": 165}).findings == []


def test_a_missing_chainstay_is_taken_and_said() -> None:
    answer = answers.fit({"geometry": {**BIKE, "new": {"wheel_diameter": {"front": 650}}}})
    assert answer.as_json()["geometry"]["after"]["bracket_height_mm"] is not None
    assert any("430 mm taken to turn the bracket" in each for each in answer.assumptions)


def test_a_larger_tyre_takes_from_the_gap() -> None:
    """D: 14 more diameter takes 7 of the 8.1 mm: 1.1, under the 1.6 of the rule."""
    tree = {
        "position": "front",
        "frame": {"chainstay": 427},
        "clearance": {"tyre_gap": 8.1},
        "geometry": {**BIKE, "new": {"wheel_diameter": {"front": 690}}},
    }
    [near] = [finding for finding in answers.fit(tree).findings if finding.name == "tyre-near"]
    assert near.level == "stop"
    assert "With the new wheel the tyre has 1.1 mm" in near.text


def test_a_shorter_fork_takes_from_the_gap_under_its_crown() -> None:
    """D: 4.5 less from axle to crown takes 4.5 of the 8.1; what a longer fork gives is not counted on."""
    tree = {"position": "front", "frame": {"chainstay": 427}, "clearance": {"tyre_gap": 8.1}}
    for new, said in ((BIKE["fork_length"] - 4.5, "3.6 mm"), (BIKE["fork_length"] + 9, None)):
        answer = answers.fit({**tree, "geometry": {**BIKE, "new": {"fork_length": new}}})
        near = [finding.text for finding in answer.findings if finding.name == "tyre-near"]
        assert (said in near[0]) if said else near == []


def test_a_longer_fork_takes_the_brake_s_bolt_away_from_the_rim() -> None:
    """D: bolt in the crown: (630 - 584)/2 = 23 by the rim and 7 by the fork; a fork alone counts as well."""
    rims = {"bead_seat_diameter": {"front": 630, "rear": 630}, "tyre_width": {"front": 32, "rear": 32}}
    clearance = {"brake_reach": [45, 61], "reach_now": 51, "tyre_gap": 20}
    tree = {"position": "front", "frame": {"brake": "rim", "chainstay": 427}, "clearance": clearance}
    fork = BIKE["fork_length"] + 7
    smaller = {"bead_seat_diameter": {"front": 584}, "fork_length": fork}
    for new, needed in ((smaller, "81.0 mm of reach"), ({"fork_length": fork + 4}, "62.0 mm of reach")):
        answer = answers.fit({**tree, "geometry": {**BIKE, **rims, "new": new}})
        [reach] = [finding for finding in answer.findings if finding.name == "brake-reach"]
        assert needed in reach.text


def test_a_brake_s_range_alone_says_what_would_serve() -> None:
    """D: 4 mm more of 45 to 61 leaves 45 to 57 now; 23 mm are more than the whole range of 16."""
    tree = {"position": "front", "frame": {"brake": "rim", "chainstay": 427}, "clearance": {"brake_reach": [45, 61]}}
    rims = {"bead_seat_diameter": {"front": 630}, "tyre_width": {"front": 32}}
    for bead_seat in (622, 584):
        geometry = {**BIKE, **rims, "new": {"bead_seat_diameter": {"front": bead_seat}}}
        answer = answers.fit({**tree, "geometry": geometry})
        open_checks = [each.what for each in answer.not_checked if "brake reaches" in each.what]
        stops = [finding.text for finding in answer.findings if finding.name == "brake-reach"]
        if bead_seat == 622:
            assert stops == []
            assert "45 to 57 mm" in open_checks[0]
        else:
            assert open_checks == []
            assert "23.0 mm further" in stops[0]


def test_incomplete_geometry_names_what_is_missing() -> None:
    answer = answers.fit(
        {"frame": {"dropout_spacing": 130}, "hub": {"over_locknut": 130}, "geometry": {"head_angle": 72}}
    )
    [check] = [each for each in answer.not_checked if "another wheel or fork" in each.what]
    assert "geometry.wheelbase" in check.keys
    assert "geometry.wheel_diameter.rear" in check.keys


def test_a_wider_tyre_of_no_larger_wheel_takes_from_the_sides() -> None:
    """D: 44 for 34 takes 5 on each side though the measured diameter stays: 7.9 - 5 = 2.9."""
    geometry = {
        **BIKE,
        "tyre_width": {"rear": 34},
        "new": {"tyre_width": {"rear": 44}, "wheel_diameter": {"rear": 672}},
    }
    tree = {"frame": {"chainstay": 427}, "clearance": {"tyre_gap": 7.9}, "geometry": geometry}
    [near] = [finding for finding in answers.fit(tree).findings if finding.name == "tyre-near"]
    assert near.level == "caution"
    assert "2.9 mm" in near.text
