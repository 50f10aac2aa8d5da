"""What holds for every pattern and count: holes, crossings, directions, mirror, numbering."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from tests.making.lacing_builds import crossed_by_lines, crows_feet, patterns, two_to_ones, unevens
from wheelcalc.wheel import lacing
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import Counts, Lacing, crossings_in_order, hole_one_deg, in_pairs


@given(patterns)
def test_each_hole_takes_one_spoke_at_most_and_none_is_left_without_need(pattern: Lacing) -> None:
    assert (np.diff(pattern.rim_hole) > 0).all()
    assert pattern.rim_hole[0] >= 1
    assert pattern.rim_hole[-1] <= pattern.rim_holes
    for side in ("left", "right"):
        used = pattern.hub_hole[pattern.on(side)]
        assert len(set(used.tolist())) == len(used)
        assert set(used.tolist()) <= set(range(1, pattern.holes_of(side) + 1))
        drilled_for_it = pattern.rim_holes // 2 if pattern.pattern == "uneven counts" else len(used)
        assert len(used) == min(drilled_for_it, pattern.holes_of(side))


@given(patterns)
@settings(max_examples=60)
def test_every_spoke_crosses_as_many_as_it_says(pattern: Lacing) -> None:
    """Up to 90 degrees, the most that is not a stop; beyond, spokes dip into the hub's circle and cross others there."""
    if np.abs(pattern.angle_deg).max() > 90:
        return
    counted = crossed_by_lines(pattern)
    crossing = pattern.lean != 0
    assert_allclose(counted[crossing], pattern.crosses[crossing])
    assert (pattern.crosses[~crossing] == 0).all()


@given(patterns)
def test_order_of_ends_counts_crossings_as_lines_do(pattern: Lacing) -> None:
    if np.abs(pattern.angle_deg).max() > 85:
        return
    counted = crossings_in_order(pattern.is_right, pattern.rim_angle_deg, pattern.angle_deg)
    assert_allclose(counted, crossed_by_lines(pattern))


@given(patterns)
def test_directions_follow_the_angles(pattern: Lacing) -> None:
    leaning = pattern.lean != 0
    assert (np.sign(pattern.angle_deg[leaning]) == pattern.lean[leaning]).all()


@given(st.one_of(two_to_ones(), unevens()))
def test_leading_and_trailing_alternate_at_the_rim_and_at_the_hub(pattern: Lacing) -> None:
    for side in ("left", "right"):
        lean = pattern.lean[pattern.on(side)]
        at_hub = lean[np.argsort(pattern.hub_hole[pattern.on(side)])]
        for order in (lean, at_hub):
            assert (order == -np.roll(order, 1)).all()


@given(crows_feet())
def test_one_radial_between_two_crossed(pattern: Lacing) -> None:
    for side in ("left", "right"):
        lean = pattern.lean[pattern.on(side)]
        if not lean.any():
            continue
        (radial,) = {tuple(np.roll(lean, -i)[[-1, 0, 1]]) for i in np.flatnonzero(lean == 0)}
        assert sorted(radial) == [-1, 0, 1]
        assert radial[1] == 0
        assert (lean == 0).sum() * 3 == len(lean)


@given(patterns)
def test_the_hub_is_turned_to_a_mean_difference_of_zero(pattern: Lacing) -> None:
    assert pattern.angle_deg.mean() == pytest.approx(0, abs=1e-9)


@given(patterns)
def test_hub_holes_sit_where_a_rigid_hub_has_them(pattern: Lacing) -> None:
    for side in ("left", "right"):
        mask = pattern.on(side)
        start = pattern.hub_angle_deg[mask] - (pattern.hub_hole[mask] - 1) * 360 / pattern.holes_of(side)
        assert_allclose(np.exp(1j * np.radians(start - start[0])), 1, atol=1e-9)


@given(patterns)
def test_holes_of_staggered_flanges_lie_half_a_pitch_apart(pattern: Lacing) -> None:
    pitch = 360 / max(pattern.left_holes, pattern.right_holes)
    if pattern.left_holes != pattern.right_holes:
        return
    left, right = (pattern.hub_angle_deg[pattern.on(side)] for side in ("left", "right"))
    apart = (left[:, None] - right[None]) % pitch / pitch
    phase = np.exp(2j * np.pi * apart)
    assert_allclose(phase, phase[0, 0], atol=1e-9)
    assert abs(phase[0, 0].imag) == pytest.approx(0, abs=1e-9)


@given(flange=st.sampled_from([8, 12, 16, 18]), k=st.integers(1, 2), phase=st.sampled_from(["staggered", "aligned"]))
def test_first_hole_on_the_left_is_the_same_wheel_with_its_sides_changed(flange: int, k: int, phase: str) -> None:
    one = lacing.crossed(2 * flange, {"left": k, "right": k + 1 if flange > 8 else k}, "right", phase)
    other = lacing.crossed(2 * flange, {"right": k, "left": k + 1 if flange > 8 else k}, "left", phase)
    assert (one.is_right == ~other.is_right).all()
    assert_allclose(one.hub_hole, other.hub_hole)
    assert_allclose(one.hub_angle_deg, other.hub_angle_deg, atol=1e-9)
    assert (one.lean == other.lean).all()


def test_staggered_radial_wheel_faces_hole_by_hole() -> None:
    pattern = lacing.radial(20, first_hole="left")
    assert_allclose(pattern.angle_deg, 0, atol=1e-9)
    assert pattern.hub_labels[:5] == ["L1", "R1", "L2", "R2", "L3"]


def test_aligned_flanges_put_the_first_ahead_and_the_other_as_far_behind() -> None:
    pattern = lacing.radial(20, phase="aligned")
    assert_allclose(pattern.angle_deg, np.resize([9, -9], 20), atol=1e-9)
    assert pattern.hub_labels[:4] == ["R1", "L1", "R2", "L2"]


@pytest.mark.parametrize("first", ["left", "right"])
def test_trailing_spoke_runs_to_k_holes_ahead_and_leading_to_k_behind(first: str) -> None:
    pattern = lacing.crossed(28, {"left": 1, "right": 3}, first)
    turn = np.repeat(np.arange(1, 15), 2)
    assert_allclose(pattern.hub_hole, (turn + pattern.lean * pattern.crosses - 1) % 14 + 1)
    assert_allclose(pattern.angle_deg, pattern.lean * pattern.crosses * 360 / 14, atol=1e-9)


@given(patterns)
@example(lacing.crossed(36, 3))
@example(lacing.crossed(32, {"left": 0, "right": 3}, "left"))
def test_no_other_start_opens_the_valve_wider(pattern: Lacing) -> None:
    """The spoke ahead of the valve leans forward and the one behind it backward wherever they cross others."""
    if pattern.pattern not in ("crossed", "crow's foot", "two to one"):
        return
    ahead, behind = pattern.lean[0], pattern.lean[-1]
    if pattern.is_right[0] != pattern.is_right[-1]:
        assert ahead in (1, 0)
        assert (ahead == 1) == bool(pattern.crosses[pattern.is_right == pattern.is_right[0]].any())
        assert behind in (-1, 0)
        assert (behind == -1) == bool(pattern.crosses[pattern.is_right == pattern.is_right[-1]].any())


def test_two_to_one_is_drilled_right_left_right() -> None:
    pattern = lacing.two_to_one(24, {"left": 0, "right": 2})
    assert "".join(side[0].upper() for side in pattern.sides) == "RLR" * 8
    assert set(pattern.hub_hole[pattern.on("left")]) == set(range(1, 9))
    # D: right rim holes lie 15 and 30 degrees apart by turns, hub holes 22.5: each is a quarter of the difference off.
    assert_allclose(np.abs(pattern.angle_deg[pattern.on("right")]), 2 * 22.5 + 3.75, atol=1e-9)
    assert_allclose(pattern.angle_deg[pattern.on("left")], 0, atol=1e-9)


@pytest.mark.parametrize("sides", ["RLR", "LRL", "RRL", "LLR", "LRR", "RLL"])
@pytest.mark.parametrize(("phase", "share"), [("staggered", 0.5), ("aligned", 0.0)])
def test_two_to_one_from_any_drilling(sides: str, phase: str, share: float) -> None:
    pattern = lacing.two_to_one(24, {"left": 1, "right": 1}, sides, phase)
    assert pattern.first_hole == {"R": "right", "L": "left"}[sides[0]]
    between = hole_one_deg(pattern, "right") - hole_one_deg(pattern, "left")
    assert between / 22.5 % 1 == pytest.approx(share, abs=1e-9)  # D: 16 holes on the fuller flange


@pytest.mark.parametrize("sides", ["RLR", "LRL", "RRL", "LLR", "LRR", "RLL"])
@pytest.mark.parametrize("phase", ["staggered", "aligned"])
def test_no_other_hole_to_begin_with_makes_two_to_one_more_radial(sides: str, phase: str) -> None:
    pattern = lacing.two_to_one(24, 0, sides, phase)
    second = pattern.on("left" if sides[0] == "R" else "right")
    least = float((pattern.angle_deg**2).sum())
    for more in range(1, 16):
        angle = (pattern.angle_deg + np.where(second, more * 22.5, 0.0) + 180) % 360 - 180
        assert float(((angle - angle.mean()) ** 2).sum()) > least - 1e-6


def test_numbering_the_left_from_another_drilling_starts_at_the_next_hole_forward() -> None:
    pattern = lacing.two_to_one(24, {"left": 0, "right": 0}, "RRL")
    right, left = (pattern.hub_angle_deg[pattern.on(side)] for side in ("right", "left"))
    assert right[0] < right[1] < left[0] < right[2]
    assert_allclose(pattern.hub_hole[:6], [1, 2, 1, 3, 4, 2])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: lacing.crossed(36, 6), "6; .*allow 5 at most"),
        (lambda: lacing.crossed(30, 2), "15 spokes.*even count, 0"),
        (lambda: lacing.crossed(36, {"left": 3, "right": -1}), "crosses.right: found -1"),
        (lambda: lacing.crossed(7, 0), "even count of 6 or more"),
        (lambda: lacing.crossed(32, {"left": 3}), "crosses.right: is missing; one value would do for both"),
        (lambda: lacing.crossed(32, 3, heads_in={"right": "all"}), "heads_in.left: is missing"),
        (lambda: lacing.crows_foot(32, 2), "three divides .a rim of 24, 30, 36"),
        (lambda: lacing.crows_foot(36, 5), "allow 4 at most"),
        (lambda: lacing.two_to_one(24, 1, "RL"), "12 left and 12 right; one flange must have twice"),
        (lambda: lacing.two_to_one(25, 1), "whole number of times"),
        (lambda: lacing.two_to_one(24, 3), "crosses.left: found 3.*allow 2 at most"),
        (lambda: lacing.uneven_counts(Counts(33, 18, 18), 3), "even count"),
        (lambda: lacing.uneven_counts(Counts(30, 18, 18), 3), "15 spokes on a flange.*even count, 0"),
        (lambda: lacing.uneven_counts(Counts(32, 18, 18), 5), "16 spokes on this flange allow 4 at most"),
    ],
)
def test_counts_that_cannot_be_name_those_that_can(call: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        call()  # type: ignore[operator]


@pytest.mark.parametrize(("closer", "sign"), [(7.5, 1), (-7.5, -1)])
def test_seats_in_pairs_move_half_of_what_they_come_closer(closer: float, sign: int) -> None:
    """D: 12 seats a flange, 30 degrees apart if even; pairs of 22.5: each seat 3.75 off, apart further from its rim hole."""
    even = lacing.crossed(24, 2)
    paired = in_pairs(even, {"left": 0.0, "right": closer})
    right = even.is_right
    assert_allclose(np.abs(paired.angle_deg[right]), 60 + sign * 3.75, atol=1e-9)
    assert_allclose(paired.angle_deg[~right], even.angle_deg[~right], atol=1e-9)
    seats = np.sort(paired.hub_angle_deg[right] % 360)
    assert_allclose(np.sort(np.diff(seats, append=seats[0] + 360)), np.repeat([22.5, 37.5], 6), atol=1e-9)
    # The spokes of the pairs run apart where the rear seat of each is the trailing spoke's.
    order = np.argsort(paired.hub_angle_deg[right] % 360)
    gaps = np.diff(np.append(seats, seats[0] + 360))
    rear = paired.lean[right][order][np.isclose(gaps, 22.5)]
    assert (rear == sign).all()
    assert hole_one_deg(paired, "right") == pytest.approx(hole_one_deg(even, "right"), abs=1e-9)
