"""Chainline by its properties; the values from outside are in tests/published/test_chainline_practice.py."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from wheelcalc.bike.chainline import (
    ERROR_PER_MM,
    Cogs,
    Rings,
    ShellSpacers,
    chain_angles_deg,
    chainline_error,
    cog_shift,
    corrections,
    cross_chained,
    positions,
    rear_chainline,
    shell_spacers,
    too_steep,
)
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Level, gravest

EIGHT = Cogs(count=8, pitch=4.8, locknut_to_smallest=6.3)
SPACERS = st.floats(-4.0, 8.0)
PLACES = st.lists(st.floats(20.0, 70.0), min_size=1, max_size=13).map(np.array)


def test_middle_of_the_cogs_is_the_chainline() -> None:
    """D: cog 1 stands half the hub less the reading from the middle, and each further cog one pitch nearer."""
    places = EIGHT.positions(rear_chainline(129.6, EIGHT))
    assert places[0] == pytest.approx(64.8 - 6.3, abs=1e-12)
    assert_allclose(np.diff(places), -4.8, rtol=0, atol=1e-12)


def test_spacers_by_the_width_they_make() -> None:
    """D: measured afresh on the hub with its spacers on, the chainline is the same as with the spacers added."""
    measured = rear_chainline(129.6 + 1.5 + 2.5, Cogs(count=8, pitch=4.8, locknut_to_smallest=6.3 + 2.5))
    assert rear_chainline(129.6, EIGHT, 1.5, 2.5) == pytest.approx(measured, abs=1e-12)


@given(SPACERS, SPACERS)
def test_spacers(left: float, right: float) -> None:
    plain = rear_chainline(129.6, EIGHT)
    assert rear_chainline(129.6, EIGHT, left, left) == pytest.approx(plain, abs=1e-12)
    there = rear_chainline(129.6, EIGHT, left, right) - plain
    assert there == pytest.approx(cog_shift(left, right), abs=1e-9)
    assert rear_chainline(129.6, EIGHT, right, left) - plain == pytest.approx(-there, abs=1e-9)


def test_cog_shift_of_many_plans_at_once() -> None:
    assert_allclose(cog_shift(np.array([0.0, 1.5, 4.0]), np.array([4.0, 2.5, 0.0])), [-2.0, -0.5, 2.0])


def test_frame_off_the_middle() -> None:
    assert rear_chainline(129.6, EIGHT, wheel_offset=3.5) == pytest.approx(rear_chainline(129.6, EIGHT) - 3.5)


@given(PLACES, PLACES, st.floats(380.0, 480.0))
def test_chain_angles(rings: np.ndarray, cogs: np.ndarray, stay: float) -> None:
    angles = chain_angles_deg(rings, cogs, stay)
    assert angles.shape == (len(rings), len(cogs))
    assert_allclose(chain_angles_deg(-rings, -cogs, stay), -angles, rtol=0, atol=1e-12)  # seen in a mirror
    assert_allclose(chain_angles_deg(cogs, rings, stay), -angles.T, rtol=0, atol=1e-12)  # seen from the other end
    assert_allclose(chain_angles_deg(rings[::-1], cogs[::-1], stay), angles[::-1, ::-1], rtol=0, atol=1e-12)
    assert_allclose(chain_angles_deg(1.7 * rings, 1.7 * cogs, 1.7 * stay), angles, rtol=0, atol=1e-12)
    for ring, row in zip(rings, angles, strict=True):
        for cog, angle in zip(cogs, row, strict=True):
            assert angle == pytest.approx(math.degrees(math.atan2(cog - ring, stay)), abs=1e-12)


def test_sign_of_the_angle() -> None:
    angles = chain_angles_deg(np.array([43.5]), np.array([46.0, 41.5]), 425.0)
    assert angles[0, 0] > 0
    assert angles[0, 1] < 0


def test_too_steep() -> None:
    angles = np.array([[1.9, -0.4, -2.6], [2.7, 0.3, -1.8]])
    assert_array_equal(too_steep(angles, 2.0), [[False, False, True], [True, False, False]])
    assert_array_equal(too_steep(np.array([2.0, -2.0]), 2.0), [False, False])  # not more than the limit


def test_cross_chained() -> None:
    expected = [[0, 0, 0, 1, 1], [0, 0, 0, 0, 0], [1, 1, 0, 0, 0]]
    assert_array_equal(cross_chained(3, 5, 2), np.array(expected, dtype=bool))
    assert not cross_chained(1, 11, 3).any()
    assert not cross_chained(2, 8, 0).any()


@pytest.mark.parametrize(("cogs", "crossed"), [(1, []), (2, []), (3, [(0, 2), (1, 0)]), (4, [(0, 3), (1, 0)])])
def test_few_cogs_leave_gears_to_ride(cogs: int, crossed: list[tuple[int, int]]) -> None:
    """By reason: no cog may be crossed with both rings, or a single cog would be no gear at all."""
    assert [tuple(place) for place in np.argwhere(cross_chained(2, cogs, 2)).tolist()] == crossed


def test_crossed_gears_run_steepest() -> None:
    """D: with rings and cogs about the same chainline the crossed corners carry the steepest chain."""
    angles = np.abs(chain_angles_deg(Rings(43.5, 2, 5.0).positions, EIGHT.positions(43.5), 425.0))
    marks = cross_chained(2, 8, 1)
    assert angles[marks].min() > angles[~marks].max()


def test_the_gravest_level_that_an_error_passes() -> None:
    fixed: dict[Level, float] = {"note": 1.0, "caution": 2.0, "stop": 5.0}  # C, reference facts section 6
    found = [gravest(abs(error), fixed) for error in (0.9, -1.1, 2.4, -5.3)]
    assert found == [None, "note", "caution", "stop"]
    assert gravest(3.2, {"caution": 3.0}) == "caution"
    assert gravest(9.0, {}) is None
    assert [gravest(abs(error), fixed) for error in (1.0, -2.0)] == [None, "note"]  # a limit reached is not exceeded
    assert [gravest(gap, {"stop": 1.0, "caution": 3.0}, under=True) for gap in (0.9, 1.0, 2.9, 3.0)] == [
        "stop",
        "caution",
        "caution",
        None,
    ]


@given(st.floats(60.0, 110.0), st.floats(60.0, 110.0), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_shell_spacers_keep_the_seats(shell: float, made_for: float, left: float, right: float) -> None:
    own = ShellSpacers(left, right)
    found = shell_spacers(shell, made_for, own)
    assert shell + found.left_mm + found.right_mm == pytest.approx(made_for + left + right, abs=1e-9)
    # the middle between the bearings stays where it was
    assert found.right_mm - found.left_mm == pytest.approx(right - left, abs=1e-9)


def test_shell_wider_than_the_bearings_were_made_for() -> None:
    found = shell_spacers(83.0, 73.0, ShellSpacers(0.0, 2.5))
    assert found == pytest.approx((-5.0, -2.5))
    assert found.left_mm + found.right_mm < 0


def error_after(move: str, amount: float) -> float:
    """Front less rear of one bike with the move really made, through the functions of the module."""
    rings, cogs, left, right = 43.5, EIGHT, 1.0, 3.0
    if move in ("ring to the right", "crank to the right"):
        rings += amount
    elif move == "cogs to the right":
        cogs = Cogs(8, 4.8, EIGHT.locknut_to_smallest - amount)
    elif move == "hub spacer from left to right":
        left, right = left - amount, right + amount
    elif move == "hub spacer added left":
        left += amount
    else:
        assert move == "hub spacer added right"
        right += amount
    return chainline_error(float(Rings(rings).positions[0]), rear_chainline(129.6, cogs, left, right))


@pytest.mark.parametrize("move", list(ERROR_PER_MM))
def test_what_each_move_buys(move: str) -> None:
    bought = error_after(move, 0.7) - error_after(move, 0.0)
    assert bought == pytest.approx(0.7 * ERROR_PER_MM[move], abs=1e-9)


@pytest.mark.parametrize("move", list(ERROR_PER_MM))
def test_corrections_take_the_error_away(move: str) -> None:
    error = error_after(move, 0.0)
    assert abs(error) > 0.5
    assert error_after(move, corrections(error)[move]) == pytest.approx(0.0, abs=1e-9)


def test_a_single_ring_or_cog_needs_no_pitch() -> None:
    assert_allclose(positions(42.3, 1, 0.0), [42.3])
    single = Cogs(count=1, pitch=0.0, locknut_to_smallest=14.2)
    assert rear_chainline(114.0, single) == pytest.approx(57.0 - 14.2)


def test_a_bike_a_five_hundredth_of_the_size() -> None:
    """D: everything in mm shrinks together, angles stay; what must be more than 0 may be less than 1."""
    k = 1 / 500
    small = Cogs(8, k * 4.8, k * 6.3)
    assert rear_chainline(k * 129.6, small, k * 1.5, k * 2.5, k * 3.5) == pytest.approx(
        k * rear_chainline(129.6, EIGHT, 1.5, 2.5, 3.5), rel=1e-12
    )
    rings, cogs = np.array([46.1, 41.0]), np.array([55.2, 37.9, 24.4])
    assert_allclose(chain_angles_deg(k * rings, k * cogs, k * 431.0), chain_angles_deg(rings, cogs, 431.0), rtol=1e-12)
    found = shell_spacers(k * 68.0, k * 73.0, ShellSpacers(k * 0.5, k * 2.5))
    assert found == pytest.approx((k * 3.0, k * 5.0), rel=1e-9)


def test_the_narrowest_and_the_widest_that_is_said_to_be_a_bicycle() -> None:
    assert [Rings(chainline).positions[0] for chainline in (20.0, 120.0)] == [20.0, 120.0]
    assert rear_chainline(250.0, EIGHT) == pytest.approx(125 - 6.3 - 7 * 4.8 / 2, abs=1e-12)


def test_cogs_that_just_fit_in_half_the_hub() -> None:
    # D: 6.3 + 7 x 4.8 = 39.9 from locknut to the largest cog
    assert rear_chainline(80.0, EIGHT) == pytest.approx(40 - 6.3 - 16.8, abs=1e-12)
    with pytest.raises(InputError, match=r"do not fit in half of hub.over_locknut = 79.6 mm"):
        rear_chainline(79.6, EIGHT)
    # 8 + 8 x 7 = 64: the middle of the largest cog in the hub's middle plane, half its thickness beyond it
    with pytest.raises(InputError, match="9 cogs 7 mm apart, 8 mm from the locknut"):
        rear_chainline(128.0, Cogs(9, 7.0, 8.0))


@pytest.mark.parametrize(
    ("make", "key"),
    [
        (lambda: Rings(450.0), "crank.chainline"),
        (lambda: Rings(math.nan), "crank.chainline"),
        (lambda: Rings(43.5, 0), "crank.rings"),
        (lambda: Rings(43.5, 2), "crank.ring_pitch"),
        (lambda: Cogs(0, 4.8, 6.3), "cogs.count"),
        (lambda: Cogs(8, -4.8, 6.3), "cogs.pitch"),
        (lambda: Cogs(8, math.nan, 6.3), "cogs.pitch"),
        (lambda: Cogs(8, 4.8, -6.3), "cogs.locknut_to_smallest"),
        (lambda: Cogs(8, 4.8, 0.0), "cogs.locknut_to_smallest"),
        (lambda: rear_chainline(0.0, EIGHT), "hub.over_locknut"),
        (lambda: Cogs(8, 4.8, math.inf), "cogs.locknut_to_smallest"),
        (lambda: rear_chainline(1296.0, EIGHT), "hub.over_locknut"),
        (lambda: rear_chainline(math.nan, EIGHT), "hub.over_locknut"),
        (lambda: rear_chainline(129.6, Cogs(8, 48.0, 6.3)), "cogs.count"),
        (lambda: chain_angles_deg(np.array([43.5]), np.array([41.0]), 0.0), "frame.chainstay"),
        (lambda: shell_spacers(0.0, 73.0, ShellSpacers(0.0, 2.5)), "frame.shell_width"),
        (lambda: shell_spacers(68.0, math.nan, ShellSpacers(0.0, 2.5)), "crank.shell_width"),
    ],
)
def test_bad_input_names_the_key(make: object, key: str) -> None:
    assert callable(make)
    with pytest.raises(InputError, match="found") as caught:
        make()
    assert caught.value.key == key
