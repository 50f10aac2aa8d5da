"""Bars, saddle and top tube turn with the frame: by hand, and by limit cases."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from wheelcalc import answers
from wheelcalc.bike.frame_points import moves, turned
from wheelcalc.bike.geometry import Bike, changed

BIKE = Bike(71.5, 1034.0, 52.0, 690.0, 690.0, 72.5, 381.0, 281.0, 170.0, 438.0)


def test_a_point_turns_round_the_bracket() -> None:
    """D: 1.3 degrees front up, a point 470 ahead and 690 above; the chord by the rotation's own matrix."""
    c, s = math.cos(math.radians(1.3)), math.sin(math.radians(1.3))
    found = turned(470.0, 690.0, 1.3, -4.0)
    assert found.forward_mm == pytest.approx(470 * c - 690 * s - 470)
    assert found.above_bracket_mm == pytest.approx(470 * s + 690 * c - 690)
    assert found.above_ground_mm == pytest.approx(found.above_bracket_mm - 4.0)
    assert math.hypot(470 + found.forward_mm, 690 + found.above_bracket_mm) == pytest.approx(math.hypot(470, 690))


def test_both_wheels_smaller_only_lower_everything() -> None:
    after = changed(BIKE, front_diameter=664.0, rear_diameter=664.0)
    found = moves(BIKE, after, (480.0, 700.0), 690.0)
    assert found is not None
    assert found.turn_deg == pytest.approx(0, abs=1e-9)
    assert found.standover_mm == pytest.approx(-13.0)
    assert found.bars.above_ground_mm == pytest.approx(-13.0)
    assert (found.bars.forward_mm, found.saddle.forward_mm) == pytest.approx((0, 0), abs=1e-6)


def test_a_longer_fork_raises_the_bars_and_sets_them_back() -> None:
    after = changed(BIKE, fork_length=411.0)
    found = moves(BIKE, after, (480.0, 700.0), 690.0)
    assert found is not None
    # D: 30 mm along 71.5 degrees turn the frame by about 30 sin(71.5) / wheelbase
    assert found.turn_deg == pytest.approx(math.degrees(30 * math.sin(math.radians(71.5)) / 1034), rel=0.05)
    assert found.bars.above_bracket_mm == pytest.approx(480 * math.radians(found.turn_deg), rel=0.05)
    assert found.bars.forward_mm == pytest.approx(-700 * math.radians(found.turn_deg), rel=0.05)
    assert found.saddle.forward_mm < 0
    assert found.standover_mm == pytest.approx(1034 / 2 * math.radians(found.turn_deg), rel=0.01)


def test_without_the_bracket_s_height_nothing_is_said() -> None:
    assert moves(replace(BIKE, bracket_height=None, chainstay=None), BIKE, (480.0, 700.0), 690.0) is None


GEOMETRY: dict[str, Any] = {
    "head_angle": 71.5, "seat_angle": 72.5, "wheelbase": 1034, "bracket_height": 281, "fork_length": 381, "fork_offset": 52,
    "wheel_diameter": {"front": 690, "rear": 690},
}  # fmt: skip


def test_what_to_do_says_it() -> None:
    found = answers.fit({"geometry": {**GEOMETRY, "new": {"fork_length": 411}}})
    said = " ".join(found.steps())
    assert "Saddle: its tip points 1.6 degrees further up" in said
    assert "Bars: 13 mm higher over the bracket" in said
    assert "Standing over the bike: the top tube is 14 mm higher in the middle" in said
    assert found.as_json()["geometry"]["moves"]["turn_deg"] == pytest.approx(1.6, abs=0.05)


def test_crank_spacers_are_a_step() -> None:
    tree = {"frame": {"shell_width": 68}, "crank": {"shell_width": 73, "bearings": "external cups"}}
    assert any(step.startswith("Crank bearings in this shell: ") for step in answers.fit(tree).steps())
