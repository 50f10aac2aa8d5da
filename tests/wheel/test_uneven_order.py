"""Rim and hub of different counts: of all plans that there are, the first by the stated order of choice.

Every way to join the holes of small rims and hubs is listed from hole numbers alone. No other plan may have the holes
that each flange leaves out, of rim and hub, more evenly round, then the empty rim holes of both together, then a lesser
measure, then the unused hub holes of both, then fewer empty holes beside the valve, then a wider opening there.
"""

from __future__ import annotations

from itertools import combinations, permutations, product
from typing import NamedTuple

import numpy as np
import pytest

from tests.oracles.uneven_plans import joined_with, squared_gaps, squares_of
from wheelcalc import lacing
from wheelcalc.wheel.joining import Counts, Lacing
from wheelcalc.wheel.parts import opposite

# Holes of the rim, of the flange that rim hole 1 serves and of the other, their crosses, phase, side of the first.
PLANS = [
    (8, 5, 5, 1, 1, "staggered", "right"),
    (8, 5, 5, 1, 1, "aligned", "left"),
    (8, 6, 6, 1, 1, "staggered", "left"),
    (8, 5, 5, 0, 0, "staggered", "right"),
    (8, 5, 5, 1, 0, "staggered", "right"),
    (8, 5, 5, 0, 1, "aligned", "right"),
    (8, 7, 4, 1, 1, "staggered", "right"),
    (8, 4, 5, 1, 0, "staggered", "left"),
    (8, 6, 5, 0, 1, "aligned", "right"),
    (8, 4, 4, 1, 1, "staggered", "right"),
    (10, 4, 4, 1, 1, "staggered", "right"),
    (10, 4, 4, 1, 1, "aligned", "right"),
    (12, 4, 4, 1, 0, "staggered", "left"),
    (12, 4, 4, 0, 0, "staggered", "right"),
    (10, 4, 6, 1, 0, "staggered", "right"),
    (10, 6, 4, 0, 1, "staggered", "left"),
    (12, 4, 7, 1, 1, "aligned", "right"),
    (14, 6, 6, 1, 0, "staggered", "right"),
    (14, 5, 6, 0, 1, "staggered", "left"),
    (10, 3, 4, 0, 1, "staggered", "right"),
    (6, 4, 5, 0, 0, "staggered", "right"),
    (6, 3, 5, 0, 0, "staggered", "left"),
    (6, 8, 5, 0, 0, "aligned", "right"),
]


class Way(NamedTuple):
    """One way to join a flange: rim places and hub holes from 0, angles, squares about the mean, mean, gaps left out."""

    places: np.ndarray
    holes: np.ndarray
    rim_deg: np.ndarray
    ahead_deg: np.ndarray
    squares: float
    mean: float
    gaps: float


class Choice(NamedTuple):
    """What is chosen by, the first first."""

    own_gaps: float
    rim_gaps: float
    measure: float
    hub_gaps: float
    empty_at_valve: int
    opening: float


def ways_of(counts: Counts, side: str, k: int) -> list[Way]:
    """Every choice of rim places and hub holes, one spoke each, leading and trailing by turns, k crosses everywhere."""
    serving, hub, second = counts.rim // 2, counts.of(side), int(side != counts.first_hole)
    spokes, pitch = min(serving, hub), 360 / hub
    found: dict[tuple[tuple[int, ...], tuple[float, ...]], Way] = {}
    chosen = product(combinations(range(serving), spokes), permutations(range(1, hub), spokes - 1))
    for (places, others), first in product(chosen, (1, -1) if k else (0,)):
        lean, holes = np.resize([first, -first], spokes), np.array((0, *others))
        rim_deg = (2 * np.array(places) + second + 0.5) * 360 / counts.rim
        for turn in range(hub):
            ahead = joined_with(k, rim_deg, (holes + turn) * pitch - rim_deg, lean)
            if ahead is not None:
                # Any hub hole may be the one called 1: a flange that is turned crosses as much.
                for one in range(hub):
                    moved = ahead + (one - turn) * pitch + second * counts.second_start_deg
                    hub_holes = (holes + one) % hub
                    gaps = gaps_of(np.array(places), serving, hub_holes, hub)
                    way = Way(
                        np.array(places), hub_holes, rim_deg, moved, squares_of(moved, lean), float(moved.mean()), gaps
                    )
                    found[places, tuple(moved.round(6))] = way
    return list(found.values())


def gaps_of(places: np.ndarray, serving: int, holes: np.ndarray, hub: int) -> float:
    """How unevenly a flange leaves out holes, of the rim or of the hub."""
    pairs = ((places, serving), (holes, hub))
    return sum(squared_gaps([hole * 360 / of for hole in set(range(of)) - set(used.tolist())]) for used, of in pairs)


def apart(one: Way, other: Way) -> float:
    """How far the second flange's mean is ahead of the first one's, within half a turn [degrees]."""
    return (other.mean - one.mean + 180) % 360 - 180


def across(rim_deg: float, hub_deg: float) -> float:
    """How far a spoke stands out sideways from the valve, 0.18 of its way down from the rim, the hub 0.075 of it."""
    rim, hub = np.radians([rim_deg, hub_deg])
    return float(np.sin(rim) + 0.18 * (0.075 * np.sin(hub) - np.sin(rim)))


def choice(counts: Counts, one: Way, other: Way) -> Choice:
    """By what a pair of ways is chosen, the hub turned to where the mean difference is zero."""
    first, second = counts.of(counts.first_hole), counts.of(opposite(counts.first_hole))
    empty = sorted(
        set(range(counts.rim)) - {2 * place for place in one.places} - {2 * place + 1 for place in other.places}
    )
    unused = [hole * 360 / first for hole in set(range(first)) - set(one.holes.tolist())]
    unused += [counts.second_start_deg + hole * 360 / second for hole in set(range(second)) - set(other.holes.tolist())]
    rim_deg = np.concatenate([one.rim_deg, other.rim_deg])
    ahead = np.concatenate([one.ahead_deg, other.ahead_deg - other.mean + one.mean + apart(one, other)])
    hub_deg = rim_deg + ahead - ahead.mean()
    after, before = int(rim_deg.argmin()), int(rim_deg.argmax())
    return Choice(
        round(one.gaps + other.gaps, 6),
        round(squared_gaps([hole * 360 / counts.rim for hole in empty]), 6),
        round(one.squares + other.squares + between(one, other), 6),
        round(squared_gaps(unused), 6),
        sum(hole in empty for hole in (0, counts.rim - 1)),
        -round(across(rim_deg[after], hub_deg[after]) - across(rim_deg[before], hub_deg[before]), 9),
    )


def between(one: Way, other: Way) -> float:
    """What the distance of the two means adds to the sum of squares about the common one (D: Huygens, Steiner)."""
    return float(len(one.places) * len(other.places) / (len(one.places) + len(other.places)) * apart(one, other) ** 2)


def best_of_all(counts: Counts, crosses: dict[str, int]) -> Choice:
    """The first of all pairs of ways by the order of choice."""
    ones, others = (
        most_even(ways_of(counts, side, crosses[side])) for side in (counts.first_hole, opposite(counts.first_hole))
    )
    by_places = [{way.places.tobytes(): way for way in ways} for ways in (ones, others)]
    gaps = {
        (one.places.tobytes(), other.places.tobytes()): choice(counts, one, other).rim_gaps
        for one, other in product(*(ways.values() for ways in by_places))
    }
    least = min(gaps.values())
    candidates: dict[float, list[tuple[Way, Way]]] = {}
    for one, other in product(ones, others):
        if gaps[one.places.tobytes(), other.places.tobytes()] == least:
            measure = round(one.squares + other.squares + between(one, other), 6)
            if measure <= min(candidates, default=np.inf):
                candidates.setdefault(measure, []).append((one, other))
    return min(choice(counts, *pair) for pair in candidates[min(candidates)])


def most_even(ways: list[Way]) -> list[Way]:
    """Those that leave holes out most evenly."""
    least = min(way.gaps for way in ways)
    return [way for way in ways if way.gaps < least + 1e-6]


def as_ways(pattern: Lacing, counts: Counts) -> list[Way]:
    """The two flanges of a finished lacing."""
    ways = []
    for side in (counts.first_hole, opposite(counts.first_hole)):
        mask = pattern.on(side)
        ahead, rim_deg = pattern.angle_deg[mask], pattern.rim_angle_deg[mask]
        numbers = (pattern.rim_hole[mask] - 1) // 2, pattern.hub_hole[mask] - 1
        gaps = gaps_of(numbers[0], counts.rim // 2, numbers[1], counts.of(side))
        ways.append(Way(*numbers, rim_deg, ahead, squares_of(ahead, pattern.lean[mask]), float(ahead.mean()), gaps))
    return ways


@pytest.mark.parametrize(("rim", "first", "second", "k_first", "k_second", "phase", "side"), PLANS)
def test_no_plan_comes_before_it(
    rim: int, first: int, second: int, k_first: int, k_second: int, phase: str, side: str
) -> None:
    holes = {side: first, opposite(side): second}
    counts = Counts(rim, holes["left"], holes["right"], side, phase)
    crosses = {side: k_first, opposite(side): k_second}
    pattern = lacing.uneven_counts(counts, crosses)
    chosen, best = choice(counts, *as_ways(pattern, counts)), best_of_all(counts, crosses)
    assert tuple(chosen) == pytest.approx(tuple(best), abs=2e-6)
