"""Rim and hub of different counts: the plan against exhaustive search, and what it must hold for the usual pairs."""

from __future__ import annotations

import time
from itertools import permutations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.oracles.uneven_plans import joined_with, squared_gaps, squares_of
from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import Counts, Lacing


def departures(pattern: Lacing) -> float:
    """The stated measure: squared departures from each flange's mean angle (radial: from zero)."""
    total = 0.0
    for side in ("left", "right"):
        angle = pattern.angle_deg[pattern.on(side)]
        if pattern.lean[pattern.on(side)].any():
            angle = np.abs(angle) - np.abs(angle).mean()
        total += float((angle**2).sum())
    return total


def flange_ways(rim_deg: np.ndarray, hub: int, k: int) -> list[tuple[np.ndarray, np.ndarray, float, float]]:
    """Every way to join one flange's rim holes (all, or as many as the hub has) with k crosses each, one per measure.

    Returns rim places taken, hub holes, sum of squares at the flange's own best turn, and mean of hub ahead of rim.
    """
    found: dict[tuple[bytes, float, float], tuple[np.ndarray, np.ndarray, float, float]] = {}
    spokes = min(len(rim_deg), hub)
    chosen = [np.array(each) for each in subsets(len(rim_deg), spokes)]
    for holes in permutations(range(hub), spokes):
        hub_deg = np.array(holes) * 360 / hub
        for places in chosen:
            for first in (1, -1) if k else (0,):
                lean = np.resize([first, -first], spokes)
                way = one_way(rim_deg[places], hub_deg, lean, k)
                if way is not None:
                    key = (places.tobytes(), round(way[0], 6), round(way[1] % (360 / hub), 6))
                    found.setdefault(key, (places, np.array(holes), *way))
    return list(found.values())


def subsets(of: int, count: int) -> list[tuple[int, ...]]:
    from itertools import combinations

    return list(combinations(range(of), count))


def one_way(rim_deg: np.ndarray, hub_deg: np.ndarray, lean: np.ndarray, k: int) -> tuple[float, float] | None:
    """Sum of squares and mean of one joining, if it has k crosses everywhere; else None."""
    ahead = joined_with(k, rim_deg, hub_deg - rim_deg, lean)
    return None if ahead is None else (squares_of(ahead, lean), float(ahead.mean()))


def exhaustive(counts: Counts, k: int) -> float:
    """Least measure of any plan, the empty rim holes as evenly round as they can be."""
    ways = []
    for number in range(2):
        rim_deg = (np.arange(counts.rim // 2) * 2 + number + 0.5) * 360 / counts.rim
        ways.append(flange_ways(rim_deg, counts.right, k))
    start, pitch = counts.second_start_deg, 360 / counts.left
    best: tuple[float, float] = (np.inf, np.inf)
    for one in ways[0]:
        for other in ways[1]:
            empty = [
                np.setdiff1d(np.arange(counts.rim // 2), way[0]) * 720 / counts.rim + number * 360 / counts.rim
                for number, way in enumerate((one, other))
            ]
            gaps = squared_gaps(np.concatenate(empty))
            apart = (other[3] + start - one[3] + pitch / 2) % pitch - pitch / 2
            spokes = len(one[0])
            # Both means fall on the common one: half the distance each, for all spokes (D).
            measure = one[2] + other[2] + 2 * spokes * (apart / 2) ** 2
            best = min(best, (round(gaps, 6), measure))
    return best[1]


@pytest.mark.parametrize(
    ("rim", "hub", "k", "phase"),
    [
        (8, 10, 1, "staggered"),
        (8, 10, 1, "aligned"),
        (8, 10, 0, "staggered"),
        (12, 14, 1, "staggered"),
        (10, 8, 1, "staggered"),
        (10, 8, 1, "aligned"),
        (14, 12, 1, "staggered"),
        (10, 12, 0, "staggered"),
    ],
)
def test_no_other_plan_is_better_by_the_measure(rim: int, hub: int, k: int, phase: str) -> None:
    counts = Counts(rim, hub // 2, hub // 2, "right", phase)
    assert departures(lacing.uneven_counts(counts, k)) == pytest.approx(exhaustive(counts, k), abs=1e-6)


USUAL = [(32, 36, 3), (36, 32, 3), (28, 36, 2), (24, 32, 2), (36, 48, 3), (48, 36, 3), (20, 36, 2), (32, 40, 3)]


@pytest.mark.parametrize(("rim", "hub", "k"), USUAL)
def test_usual_pairs(rim: int, hub: int, k: int) -> None:
    pattern = lacing.uneven_counts(Counts(rim, hub // 2, hub // 2), k)
    spokes = min(rim, hub)
    assert len(pattern) == spokes
    assert pattern.is_right.sum() == spokes // 2
    pitch = 360 / max(hub, rim) * 2
    for side in ("left", "right"):
        angle = np.abs(pattern.angle_deg[pattern.on(side)])
        evenly_spaced = 360 / np.lcm(hub // 2, rim // 2)
        # Nobody more than half a pitch, and what the flanges' mismatch adds, from the flange's mean.
        assert np.abs(angle - angle.mean()).max() < 0.55 * pitch + abs(pattern.angle_deg[pattern.on(side)].mean())
        assert len(np.unique(angle.round(6))) <= 2 * pitch / evenly_spaced


@pytest.mark.parametrize(("rim", "hub", "k"), USUAL)
def test_tangential_pulls_of_each_flange_are_in_balance(rim: int, hub: int, k: int) -> None:
    """By statics: the turning moments of leading and trailing spokes at equal tension."""
    pattern = lacing.uneven_counts(Counts(rim, hub // 2, hub // 2), k)
    turning = np.sin(np.radians(pattern.angle_deg))
    # A rim with more holes than the hub keeps its empty holes apart, at the cost of some balance.
    tolerance = 0.02 if hub > rim else 0.05
    for side in ("left", "right"):
        mine = turning[pattern.on(side)]
        assert abs(mine.sum()) < tolerance * np.abs(mine).sum()
    assert abs(turning.sum()) < 1e-9 * len(pattern) + 1e-3 * np.abs(turning).sum()


@pytest.mark.parametrize(("rim", "hub", "k"), [each for each in USUAL if each[1] > each[0]])
def test_unused_hub_holes_are_spread_evenly(rim: int, hub: int, k: int) -> None:
    pattern = lacing.uneven_counts(Counts(rim, hub // 2, hub // 2), k)
    for side in ("left", "right"):
        unused = np.array(pattern.unused_hub_holes(side))
        assert len(unused) == (hub - rim) // 2
        gaps = np.diff(unused, append=unused[0] + hub // 2)
        assert gaps.max() - gaps.min() <= 1


@pytest.mark.parametrize(
    ("rim", "hub", "apart"), [(36, 32, [9]), (48, 36, [3, 5]), (32, 24, [3, 5]), (40, 36, [9, 11])]
)
def test_empty_rim_holes_are_spread_evenly_and_not_beside_the_valve(rim: int, hub: int, apart: list[int]) -> None:
    pattern = lacing.uneven_counts(Counts(rim, hub // 2, hub // 2), 2)
    empty = np.array(pattern.empty_rim_holes)
    assert len(empty) == rim - hub
    assert sorted(set(np.diff(empty, append=empty[0] + rim))) == apart
    assert not {1, rim} & set(empty.tolist())
    assert not pattern.unused_hub_holes("left") + pattern.unused_hub_holes("right")


def test_flanges_of_different_counts_take_what_each_can() -> None:
    pattern = lacing.uneven_counts(Counts(36, 16, 20), {"left": 2, "right": 3})
    assert pattern.is_right.sum() == 18
    assert (~pattern.is_right).sum() == 16
    assert len(pattern.unused_hub_holes("right")) == 2
    assert len(pattern.empty_rim_holes) == 2


@pytest.mark.parametrize("many", ["left", "right"])
def test_angles_where_one_flange_has_few_spokes(many: str) -> None:
    """D: the hub hole of a k-cross spoke lies about 360 k/n ahead or behind, n the spokes of its own flange."""
    counts = Counts(32, **{"left": 6, "right": 6, many: 16})
    pattern = lacing.uneven_counts(counts, {"left": 0, "right": 0, many: 4})
    angle = pattern.angle_deg[pattern.on(many)]
    assert_allclose(angle * pattern.lean[pattern.on(many)], 90, atol=20)


def test_equal_counts_give_the_crossed_pattern() -> None:
    one, other = lacing.uneven_counts(Counts(32, 16, 16), 3), lacing.crossed(32, 3)
    assert_allclose(one.hub_angle_deg, other.hub_angle_deg, atol=1e-9)
    assert (one.lean == other.lean).all()


def test_each_length_against_plain_vector_geometry() -> None:
    """32 holes on a hub of 36: every spoke as the distance of two points, from the table's hole numbers alone."""
    hub = Hub(Flange(18, 44.7, 34.4, hole_diameter=2.6), Flange(18, 48.1, 18.7, hole_diameter=2.4))
    pattern = lacing.uneven_counts(Counts(32, 18, 18), {"left": 2, "right": 3})
    wheel = Wheel(Rim(32, 598.3, hole_offset=1.4), hub, pattern)
    turn = pattern.hub_angle_deg[0] - (pattern.hub_hole[0] - 1) * 20
    for i in range(32):
        right = bool(pattern.is_right[i])
        flange = hub.right if right else hub.left
        at_rim = np.radians((pattern.rim_hole[i] - 0.5) * 11.25)
        at_hub = np.radians(turn + (pattern.hub_hole[i] - 1) * 20 + (0 if right else 10))
        rim = np.array([1.4, 598.3 / 2 * np.cos(at_rim), 598.3 / 2 * np.sin(at_rim)])
        sign = 1 if right else -1
        hole = np.array([sign * flange.offset, flange.pcd / 2 * np.cos(at_hub), flange.pcd / 2 * np.sin(at_hub)])
        expected = np.linalg.norm(rim - hole) - flange.hole_diameter / 2
        assert wheel.lengths[i] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("rim", "hub"), [(32, 36), (36, 48), (48, 36), (40, 42), (140, 142)])
def test_is_quick(rim: int, hub: int) -> None:
    begin = time.process_time()
    lacing.uneven_counts(Counts(rim, hub // 2, hub // 2), 2 if rim % 4 == 0 and hub > rim else 0)
    assert time.process_time() - begin < 1.0


def test_odd_spokes_on_a_flange_can_only_be_radial() -> None:
    with pytest.raises(InputError, match=r"15 spokes on a flange.*0 .radial."):
        lacing.uneven_counts(Counts(30, 18, 18), 3)
    assert not lacing.uneven_counts(Counts(30, 18, 18), 0).lean.any()
