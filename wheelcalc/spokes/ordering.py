"""Which stock length serves which rim holes, how many, where the ends will sit, and the chance that they fit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.build.whole import Build
from wheelcalc.wheel.parts import SIDES

# Weights that put first things first: no hole left out, then few lengths, then the best chance. A line of low chance
# counts a little more than one more length, so that it is split where, and only where, both parts come out over the
# limit. Ours; they only have to lie further apart than the sums below them (a chance of 1e-300 costs 691, a length for
# each hole 1e4 times the holes), and near enough that a sum of all still holds the smallest.
LEFT_OUT, LOW_CHANCE, ONE_MORE_LENGTH = 1e7, 1.2e4, 1e4
SMALLEST_CHANCE = 1e-300
BETWEEN_EQUAL_ONES = 1e-6  # per spoke and mm2 off the window's middle: decides where the chances are the same
EDGE = 1e-9  # mm: an end on the window's edge is inside, whatever the rounding


class Window(NamedTuple):
    """Where a spoke's end may sit: `short` of the intended end at most, `beyond` it at most [mm]."""

    short: float
    beyond: float

    @staticmethod
    def of(build: Build) -> Window:
        """As a build allows it."""
        return Window(build.stock.short_at_most, build.stock.beyond_at_most)


class Stock(NamedTuple):
    """Spoke lengths that can be had [mm], and how many of each (None: any number)."""

    lengths: tuple[float, ...]
    counts: tuple[int, ...] | None = None

    @staticmethod
    def by_step(step: float, cut: Floats, window: Window) -> Stock:
        """Every multiple of a step that could serve one of the spokes."""
        first = math.floor((float(cut.min()) - window.short) / step)
        last = math.ceil((float(cut.max()) + window.beyond) / step)
        return Stock(tuple(round(step * n, 6) for n in range(max(first, 1), last + 1)))

    @staticmethod
    def on_hand(counts: Mapping[float, int]) -> Stock:
        """Return a jar of spokes, length -> count."""
        return Stock(tuple(sorted(counts)), tuple(counts[length] for length in sorted(counts)))


@dataclass(frozen=True)
class Line:
    """One line of an order: some spokes of one side, all of one length.

    Parameters
    ----------
    side, length : which, and how long [mm]
    rim_holes : that they serve
    end_position : mean over the spokes, + beyond the intended end, with the tension on [mm]
    least_end, most_end : the extremes over its spokes [mm]
    chance : that all its ends fit the window
    also : other lengths that can be had whose ends would sit in the window too [mm]
    spares : spokes besides those that the rim holes take
    """

    side: str
    length: float
    rim_holes: tuple[int, ...]
    end_position: float
    least_end: float
    most_end: float
    chance: float
    also: tuple[float, ...] = ()
    spares: int = 0

    def as_json(self) -> dict[str, Any]:
        """Return the contract's keys of a line."""
        return {
            "side": self.side,
            "length_mm": self.length,
            "rim_holes": list(self.rim_holes),
            "count": self.count,
            "spares": self.spares,
            "end_position_mm": self.end_position,
            "chance_that_it_fits": self.chance,
        }

    @property
    def count(self) -> int:
        """Spokes without the spares."""
        return len(self.rim_holes)


_erf = np.frompyfunc(math.erf, 1, 1)


def normal_share(z: Floats) -> Floats:
    """Share of a normal distribution below z standard deviations."""
    return np.asarray(_erf(z / math.sqrt(2)), dtype=float) / 2 + 0.5


def chance_inside(least: Floats | float, most: Floats | float, sigma: Floats | float, window: Window) -> Floats:
    """Chance that ends from `least` to `most` [mm] all sit in the window, if all share one normal error.

    The readings err for all spokes of a side together, so one deviation moves them all (D). Arrays broadcast.
    """
    low, high = -window.short - np.asarray(least), window.beyond - np.asarray(most)
    inside = ((low <= EDGE) & (high >= -EDGE)).astype(float)
    exact = np.asarray(sigma) <= 0
    if exact.all():
        return np.asarray(inside)
    wide = np.where(exact, 1.0, sigma)
    shared = np.maximum(normal_share(high / wide) - normal_share(low / wide), 0.0)
    return np.where(exact, inside, shared)


@cache
def _runs(count: int) -> tuple[Ints, Ints]:
    """First and last of every run among so many."""
    first, last = np.triu_indices(count)
    return first, last


class _Spokes(NamedTuple):
    """Spokes of one side, shortest first."""

    side: str
    cut: Floats
    rim_hole: Ints
    sigma: float
    low: float

    def costs(self, length: float, window: Window) -> Floats:
        """Cost of serving the run of spokes a to b-1 with a length, at [a, b]: 0 for no spoke, infinite where an end
        would leave the window.
        """
        count = len(self.cut)
        costs = np.full((count + 1, count + 1), np.inf)
        np.fill_diagonal(costs, 0.0)
        ends = length - self.cut
        fits = np.flatnonzero((ends >= -window.short - EDGE) & (ends <= window.beyond + EDGE))
        first, last = (fits[each] for each in _runs(len(fits)))
        chance = chance_inside(ends[last], ends[first], self.sigma, window)
        off_middle = np.append(0.0, np.cumsum((ends - (window.beyond - window.short) / 2) ** 2))
        aside = off_middle[last + 1] - off_middle[first]
        cost = ONE_MORE_LENGTH + LOW_CHANCE * (chance < self.low)
        cost += BETWEEN_EQUAL_ONES * aside - np.log(np.maximum(chance, SMALLEST_CHANCE))
        costs[first, last + 1] = cost
        return costs

    def left_out(self) -> Floats:
        """Cost of serving the run of spokes a to b-1 with nothing, at [a, b]."""
        count = np.arange(len(self.cut) + 1)
        return np.where(count[:, None] <= count, (count - count[:, None]) * LEFT_OUT, np.inf)


NOBODY = _Spokes("", np.empty(0), np.empty(0, dtype=np.int64), 0.0, 0.0)


def plan(
    cut: Mapping[str, Floats],
    rim_holes: Mapping[str, Ints],
    sigma: Mapping[str, float],
    stock: Stock,
    window: Window,
    spares: int,
    low: float,
) -> tuple[list[Line], list[int]]:
    """Choose lengths: no hole left out, then the fewest lengths that are sure enough, then the best chance.

    Parameters
    ----------
    cut, rim_holes : per side, cut length of each spoke [mm] and the rim hole that it serves
    sigma : per side, standard uncertainty of its lengths [mm]
    stock, window, spares : what can be had, where ends may sit, spares of each length
    low : chance of a line under which one more length is worth it, if every part comes over it

    Returns
    -------
    The lines, left before right and short before long, and the rim holes that nothing serves.

    Notes
    -----
    Sorted spokes go with sorted lengths (an exchange never helps), so a line is a run of spokes, and dynamic
    programming over the lengths finds the best split, of both sides at once where they need the same of a jar.
    """
    spokes = [_sorted(side, cut[side], rim_holes[side], sigma[side], low) for side in SIDES]
    lines = [line for one in spokes for line in _best_lines((one, NOBODY), stock, window)]
    if not _suffices(lines, stock):
        lines = _best_lines((spokes[0], spokes[1]), stock, window)
    lines.sort(key=lambda line: (line.side, line.length))
    served = {hole for line in lines for hole in line.rim_holes}
    left_out = sorted(int(hole) for one in spokes for hole in one.rim_hole if hole not in served)
    return _with_spares(lines, stock, spares), left_out


def _sorted(side: str, cut: Floats, rim_hole: Ints, sigma: float, low: float) -> _Spokes:
    order = np.argsort(cut.round(6), kind="stable")
    return _Spokes(side, cut[order], rim_hole[order], sigma, low)


def _suffices(lines: list[Line], stock: Stock) -> bool:
    """Whether a jar has enough for lines that were chosen for each side as if it had the jar for itself."""
    counts = dict(zip(stock.lengths, stock.counts or (), strict=False))
    return not counts or all(
        sum(line.count for line in lines if line.length == length) <= count for length, count in counts.items()
    )


def _best_lines(pair: tuple[_Spokes, _Spokes], stock: Stock, window: Window) -> list[Line]:
    """Forward over the lengths, then back along the best way; between two lengths spokes may be left out."""
    left, right = pair
    everyone = len(left.cut) + len(right.cut)
    skip = (left.left_out(), right.left_out(), everyone)
    stages = [skip]
    for index, length in enumerate(stock.lengths):
        most = stock.counts[index] if stock.counts else everyone
        stages += [(left.costs(length, window), right.costs(length, window), most), skip]
    start = np.full((len(left.cut) + 1, len(right.cut) + 1), np.inf)
    start[0, 0] = 0.0
    tables = [start]
    for stage in stages:
        tables.append(_cheapest(tables[-1], *stage))
    lines: list[Line] = []
    end = (len(left.cut), len(right.cut))
    for number in reversed(range(len(stages))):
        begin = _origin(tables[number], *stages[number], end)
        if number % 2:
            length = stock.lengths[number // 2]
            for spokes, first, last in ((left, begin[0], end[0]), (right, begin[1], end[1])):
                if last > first:
                    lines.append(_line(spokes, first, last, length, stock, window))
        end = begin
    return lines


def _cheapest(before: Floats, left: Floats, right: Floats, most: int) -> Floats:
    """Cheapest way to each (spokes done left, spokes done right) if one length serves at most so many of them."""
    if len(right) == 1:  # one side alone
        count = np.arange(len(left))
        return np.asarray((before + np.where(count - count[:, None] <= most, left, np.inf)).min(axis=0)[:, None])
    after = np.full_like(before, np.inf)
    count = np.arange(len(right))
    size = count - count[:, None]
    for served in range(min(most, len(left) - 1) + 1):
        rows = before[: len(before) - served] + np.diagonal(left, served)[:, None]
        allowed = np.where(size <= most - served, right, np.inf)
        reached = (rows[:, :, None] + allowed[None]).min(axis=1)
        after[served:] = np.minimum(after[served:], reached)
    return after


def _origin(before: Floats, left: Floats, right: Floats, most: int, end: tuple[int, int]) -> tuple[int, int]:
    """Where the cheapest way to `end` came from; the same sums as in `_cheapest`."""
    b, d = end
    total = before[: b + 1, : d + 1] + left[: b + 1, b][:, None] + right[: d + 1, d][None]
    served = (b - np.arange(b + 1))[:, None] + (d - np.arange(d + 1))
    a, c = np.unravel_index(int(np.argmin(np.where(served <= most, total, np.inf))), total.shape)
    return int(a), int(c)


def _line(spokes: _Spokes, first: int, last: int, length: float, stock: Stock, window: Window) -> Line:
    ends = length - spokes.cut[first:last]
    least, most = float(ends.min()), float(ends.max())
    shortest, longest = length - least - window.short - EDGE, length - most + window.beyond + EDGE
    return Line(
        side=spokes.side,
        length=length,
        rim_holes=tuple(int(hole) for hole in np.sort(spokes.rim_hole[first:last])),
        end_position=float(ends.mean()),
        least_end=least,
        most_end=most,
        chance=float(chance_inside(least, most, spokes.sigma, window)),
        also=tuple(each for each in stock.lengths if shortest <= each <= longest and each != length),
    )


def _with_spares(lines: list[Line], stock: Stock, spares: int) -> list[Line]:
    """Add the spares that are wanted, or what the jar has left of each length."""
    if stock.counts is None:
        return [replace(line, spares=spares) for line in lines]
    left = dict(zip(stock.lengths, stock.counts, strict=True))
    for line in lines:
        left[line.length] -= line.count
    out = []
    for line in lines:
        taken = min(spares, left[line.length])
        left[line.length] -= taken
        out.append(replace(line, spares=taken))
    return out
