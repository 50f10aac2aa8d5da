"""Toe room of the steered wheel against a torus turned point by point, and by hand where the axis stands upright."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from wheelcalc import answers
from wheelcalc.bike.geometry import Bike
from wheelcalc.bike.toe import swept_toe_room
from wheelcalc.wheel.errors import InputError

ROAD = Bike(
    head_angle_deg=72.3, wheelbase=983.0, fork_offset=46.0, front_diameter=671.0, rear_diameter=668.0,
    bracket_height=268.0, crank_length=171.0, chainstay=413.0,
)  # fmt: skip


def turned_point_by_point(bike: Bike, pedal: float, width: float) -> float:
    """Rearmost of every tyre point that comes as far out as the pedal, for steering angles in steps of 0.1 degree."""
    head, half = math.radians(bike.head_angle_deg), width / 2
    axle = np.array([bike.wheelbase, bike.front_diameter / 2, 0.0])
    axis = np.array([-math.cos(head), math.sin(head), 0.0])
    on_axis = axle - bike.fork_offset * np.array([math.sin(head), math.cos(head), 0.0])
    round_, across = np.meshgrid(np.radians(np.arange(120, 260, 0.5)), np.radians(np.arange(0, 360, 3.0)))
    radius = bike.front_diameter / 2 - half + half * np.cos(across)
    points = np.stack([radius * np.cos(round_), radius * np.sin(round_), half * np.sin(across)], axis=-1).reshape(-1, 3)
    rearmost = math.inf
    for turn in np.radians(np.arange(0, 60, 0.1)):
        there = Rotation.from_rotvec(-turn * axis).apply(points + axle - on_axis) + on_axis
        near = np.abs(np.abs(there[:, 2]) - pedal) < 0.5
        if near.any():
            rearmost = min(rearmost, float(there[near, 0].min()))
    assert bike.bracket_ahead is not None
    assert bike.crank_length is not None
    return rearmost - bike.bracket_ahead - bike.crank_length


@pytest.mark.parametrize(("pedal", "width"), [(118.0, 31.0), (131.0, 54.0)])
def test_against_a_tyre_turned_point_by_point(pedal: float, width: float) -> None:
    # D: rigid rotation by scipy; its points lie half a millimetre beside the pedal's line, which moves them by 0.25
    assert swept_toe_room(ROAD, pedal, width) == pytest.approx(turned_point_by_point(ROAD, pedal, width), abs=0.4)


def test_an_upright_axis_by_hand() -> None:
    """D: a circle of 300 about an upright axis through the axle: turned it is a ball, 300^2 = 150^2 + 259.808^2."""
    upright = Bike(
        head_angle_deg=90.0, wheelbase=1000.0, fork_offset=0.0, front_diameter=600.0, rear_diameter=600.0,
        bracket_height=300.0, crank_length=170.0, chainstay=430.0,
    )  # fmt: skip
    assert swept_toe_room(upright, 150.0, 0.0) == pytest.approx(1000 - 430 - 170 - 259.808, abs=0.001)


def test_a_pedal_beyond_the_tyre_is_refused() -> None:
    with pytest.raises(InputError, match="pedal_middle: found 500 mm"):
        swept_toe_room(ROAD, 500.0, 30.0)


GEOMETRY = {
    "head_angle": 72, "seat_angle": 73, "wheelbase": 985, "bracket_height": 270, "crank_length": 170,
    "fork_length": 372, "fork_offset": 45, "pedal_reach": 165, "wheel_diameter": {"front": 690, "rear": 672},
}  # fmt: skip


def test_fit_judges_the_arc_where_the_pedal_is_known() -> None:
    bike = {"geometry": GEOMETRY, "frame": {"chainstay": 420}, "clearance": {"tyre_width": 37}}
    straight = {each["name"]: each for each in answers.fit(bike).as_json()["findings"]}["toe-overlap"]
    assert "geometry.pedal_middle gives that" in straight["text"]
    found = answers.fit({**bike, "geometry": {**GEOMETRY, "pedal_middle": 118}}).as_json()
    room = found["geometry"]["before"]["swept_toe_room_mm"]
    assert room > found["geometry"]["before"]["toe_room_mm"]
    assert ("toe-overlap" in [each["name"] for each in found["findings"]]) is (room < 89)


def test_the_new_tyre_stays_outside_the_rotor() -> None:
    # D: bead seat 507 and a rotor of 223: (507 - 223)/2 = 142
    marks = {"bead_seat_diameter": {"front": 559, "rear": 559}, "tyre_width": {"front": 47, "rear": 47}}
    plain = {key: value for key, value in GEOMETRY.items() if key != "wheel_diameter"}
    bike = {**plain, **marks, "new": {"bead_seat_diameter": {"front": 507, "rear": 507}}}
    for brake, said in (("disc", True), ("rim", False)):
        found = answers.fit({"geometry": bike, "frame": {"brake": brake}, "position": "front"})
        assert any("142 mm stay" in each for each in found.assumptions) is said
