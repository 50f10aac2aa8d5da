"""What a lacing does, by statics and plain geometry: crossings, opening at the valve, balance, waves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from shapely.geometry import LineString

from tests.making.lacing_builds import lines, patterns
from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.wheel import facts, lacing_findings
from wheelcalc.wheel.joining import Counts, Lacing


def wheel_of(pattern: Lacing, erd: float = 580.0, pcd: float = 46.0, **flange: float) -> Wheel:
    left = Flange(pattern.left_holes, pcd, 33.4, hole_diameter=1.0, **flange)
    right = Flange(pattern.right_holes, pcd, 18.9, hole_diameter=1.0, **flange)
    return Wheel(Rim(pattern.rim_holes, erd, first_hole=pattern.first_hole), Hub(left, right), pattern)


@given(patterns)
def test_crossings_are_those_of_a_polygon_library(pattern: Lacing) -> None:
    wheel = wheel_of(pattern)
    each = lines(pattern, rim=290.0, hub=23.0)
    found = facts.crossings(wheel)
    pairs = {(int(one), int(other)): i for i, (one, other) in enumerate(zip(found.one, found.other, strict=True))}
    for i, one in enumerate(each):
        for j in range(i + 1, len(each)):
            if pattern.is_right[i] != pattern.is_right[j]:
                assert (i, j) not in pairs
            elif (i, j) in pairs:
                place = one.intersection(each[j])
                assert np.hypot(place.x, place.y) == pytest.approx(found.radius[pairs[i, j]], abs=1e-6)
                assert one.project(place) == pytest.approx(found.along_one[pairs[i, j]], abs=1e-6)
            else:
                assert not one.crosses(each[j])


def test_gap_at_a_crossing_by_hand() -> None:
    """D: at the crossing a share s of the way out, wires that start (t + d) apart stand (t + d)(1 - s) - d apart."""
    flange = {"thickness": 3.4}
    wheel = wheel_of(lacing.crossed(28, 2), **flange)
    found = facts.crossings(wheel)
    in_plane = np.linalg.norm((wheel.rim_points - wheel.hub_points)[:, 1:], axis=1)
    share = found.along_one / in_plane[found.one]
    assert_allclose(found.gap, (3.4 + 2.0) * (1 - share) - 2.0, atol=1e-9)


@pytest.mark.parametrize("heads", ["all", "none"])
def test_wires_on_one_face_press_on_each_other(heads: str) -> None:
    wheel = wheel_of(lacing.crossed(28, 2, heads_in=heads))
    assert_allclose(facts.crossings(wheel).gap, -2.0, atol=1e-9)


@given(patterns, st.floats(10, 120), st.integers(0, 3))
def test_opening_at_the_valve_by_a_polygon_library(pattern: Lacing, depth: float, turn: int) -> None:
    wheel = wheel_of(pattern)
    ahead = (pattern.rim_angle_deg - turn * 360 / pattern.rim_holes) % 360
    first, last = int(ahead.argmin()), int(ahead.argmax())
    across = []
    for spoke in (first, last):
        angle = np.radians(turn * 360 / pattern.rim_holes)
        ends = [point[1:] for point in (wheel.hub_points[spoke], wheel.rim_points[spoke])]
        turned = [(y * np.cos(angle) - z * np.sin(angle), y * np.sin(angle) + z * np.cos(angle)) for y, z in ends]
        level = turned[1][1] - depth
        place = LineString(turned).intersection(LineString([(-400, level), (400, level)]))
        across.append(place.x)
    expected = across[0] - across[1] - 2.0
    assert facts.valve_opening(wheel, depth, turn) == pytest.approx(expected, abs=1e-6)


def test_opening_of_a_radial_wheel_by_hand() -> None:
    """D: both spokes point at the axle; 50 below rim holes at height R cos a the width is 2 (R cos a - 50) tan a."""
    wheel = wheel_of(lacing.radial(20), erd=587.0)
    height = 293.5 * np.cos(np.radians(9)) - 50
    assert facts.valve_opening(wheel) == pytest.approx(2 * height * np.tan(np.radians(9)) - 2.0, abs=1e-9)


def test_start_is_wider_than_two_rim_holes_on() -> None:
    wheel = wheel_of(lacing.crossed(32, 3))
    assert facts.valve_opening(wheel) > facts.valve_opening(wheel, turn_rim_holes=2) + 10


@given(patterns)
def test_moments_about_the_axle_by_statics(pattern: Lacing) -> None:
    """Lever arm of each spoke's line about the axle, by the area of the triangle axle, hub hole, rim hole."""
    wheel = wheel_of(pattern)
    tensions = np.where(pattern.is_right, 1130.0, 640.0)
    for side in ("left", "right"):
        mask = pattern.on(side)
        hub, rim = wheel.hub_points[mask], wheel.rim_points[mask]
        moment = tensions[mask] * (hub[:, 1] * rim[:, 2] - hub[:, 2] * rim[:, 1]) / np.linalg.norm(rim - hub, axis=1)
        found = facts.turning(wheel, side, tensions)
        assert found.trailing == pytest.approx(np.abs(moment[pattern.angle_deg[mask] > 0].sum()), rel=1e-9, abs=1e-6)
        assert found.leading == pytest.approx(np.abs(moment[pattern.angle_deg[mask] < 0].sum()), rel=1e-9, abs=1e-6)
        if pattern.pattern == "crossed" and abs(pattern.angle_deg.mean()) < 1e-9 and _faces(pattern):
            assert found.left_over < 1e-9


def _faces(pattern: Lacing) -> bool:
    return bool(np.abs(np.abs(pattern.angle_deg) - pattern.crosses * 720 / pattern.rim_holes).max() < 1e-6)


@pytest.mark.parametrize("k", [0, 2, 3])
def test_a_pattern_that_repeats_often_leaves_no_long_wave(k: int) -> None:
    wheel = wheel_of(lacing.crossed(32, {"left": 2, "right": k}))
    waves = facts.sideways_waves(wheel, np.where(wheel.lacing.is_right, 1000.0, 550.0))
    assert max(waves.values()) < 1e-9


def test_empty_rim_holes_leave_a_long_wave() -> None:
    """D: at equal pulls P, 4 of 36 left out at 90 degrees, right and left by turns: two waves of 4 P in 16 P a side."""
    pattern = lacing.uneven_counts(Counts(36, 16, 16), 0)
    flange = Flange(16, 45.0, 30.0)
    wheel = Wheel(Rim(36, 600.0), Hub(flange, flange), pattern)
    waves = facts.sideways_waves(wheel, np.full(32, 1000.0))
    assert waves[2] == pytest.approx(4 / 16, rel=2e-3)
    assert waves[1] == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize(("k", "possible"), [(1, False), (2, True), (3, True)])
def test_a_crossing_at_the_hub_cannot_be_interlaced(k: int, possible: bool) -> None:
    wheel = wheel_of(lacing.crossed(36, k), thickness=3.2)
    found = facts.weave(wheel, "right", facts.crossings(wheel), 8.0)
    assert found is not None
    assert found.possible is possible


def lopsided(one: int, other: int) -> Lacing:
    """Two right spokes have changed hub holes: the pairs that cross are not their own mirror images."""
    even = lacing.crossed(20, 2, heads_in="trailing")
    hub_hole = even.hub_hole.copy()
    hub_hole[[one, other]] = hub_hole[[other, one]]
    columns = (even.rim_hole.tolist(), even.sides, hub_hole.tolist(), even.heads)
    return lacing.listed(Counts(20, 10, 10), [list(row) for row in zip(*columns, strict=True)])


@pytest.mark.parametrize(
    "pattern",
    [
        lacing.crossed(28, 2),
        lacing.crossed(36, {"left": 1, "right": 3}),
        lacing.crows_foot(24, 1),
        lopsided(4, 10),
        lopsided(16, 2),
        lopsided(0, 6),
        lopsided(14, 0),
    ],
)
def test_bend_of_woven_spokes_from_points(pattern: Lacing) -> None:
    """D: at its outermost crossing a spoke gives way by half the distance of the wires' axes and half a wire."""
    wheel = wheel_of(pattern, thickness=3.3)
    spokes = {
        i: LineString([wheel.hub_points[i][1:], wheel.rim_points[i][1:]]) for i in np.flatnonzero(pattern.is_right)
    }
    from_hub, bend = [], []
    for i, spoke in spokes.items():
        met = [(spoke.intersection(other), j) for j, other in spokes.items() if j != i and spoke.crosses(other)]
        if met and pattern.lean[i]:
            place, j = max(met, key=lambda each: np.hypot(each[0].x, each[0].y))
            along = float(np.hypot(*(np.array([place.x, place.y]) - wheel.hub_points[i][1:])))
            apart = np.abs(
                np.subtract(*(sideways_at(wheel, each, spokes[each], (place.x, place.y)) for each in (i, j)))
            )
            from_hub.append(along)
            bend.append(np.degrees(np.arctan2((max(apart - 2.0, 0.0) + 4.0) / 2, along)))
    found = facts.weave(wheel, "right", facts.crossings(wheel), 8.0)
    assert found is not None
    assert found.from_hub == pytest.approx(min(from_hub), abs=1e-6)
    assert found.bend_deg == pytest.approx(max(bend), abs=1e-6)


def sideways_at(wheel: Wheel, i: int, spoke: LineString, place: tuple[float, float]) -> float:
    """Where a right spoke of 2 mm passes a place in the wheel's plane: from its face of the 3.3 mm flange, half a wire out."""
    start = 18.9 + (2.65 if wheel.lacing.head_in[i] else -2.65)
    share = np.hypot(*(np.array(place) - wheel.hub_points[i][1:])) / spoke.length
    return float(start + share * (wheel.rim_points[i][0] - start))


def test_heads_on_one_face_or_no_crossing_cannot_be_interlaced() -> None:
    one_face = wheel_of(lacing.crossed(36, 3, heads_in="all"))
    woven = facts.weave(one_face, "right", facts.crossings(one_face), 8.0)
    assert woven is not None
    assert not woven.possible
    # D: on one face the wires lie on each other; each gives way by half a wire twice, 2 mm at the crossing.
    assert woven.bend_deg == pytest.approx(np.degrees(np.arctan2(2.0, woven.from_hub)), abs=1e-9)
    straight = wheel_of(lacing.radial(36))
    assert facts.weave(straight, "left", facts.crossings(straight), 8.0) is None


def test_holes_left_over_are_named() -> None:
    more_rim = list(lacing_findings.holes_left_over(wheel_of(lacing.uneven_counts(Counts(36, 16, 16), 3))))
    assert [(each.level, each.name) for each in more_rim] == [("caution", "empty-rim-holes")]
    assert "5, 14, 23, 32" in more_rim[0].text
    more_hub = list(lacing_findings.holes_left_over(wheel_of(lacing.uneven_counts(Counts(32, 18, 18), 3))))
    assert [(each.level, each.name) for each in more_hub] == [("note", "unused-hub-holes")]
    assert "R9, R18, L9, L18" in more_hub[0].text
