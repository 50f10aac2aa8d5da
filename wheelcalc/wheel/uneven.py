"""Rim and hub of different counts: the plan that is best by a stated measure.

Each flange gets as many spokes as its rim holes and its own holes allow. Which side has holes left over leaves them
out evenly; the holes used are then laced as if there were no others, so that leading and trailing spokes alternate and
every spoke crosses k others, and what remains is how far each spoke's hub hole sits from where it should.

The measure, in square degrees: the sum over all spokes of (angle between hub and rim hole less that flange's mean
angle) squared; of a radial flange, of the angle squared. It holds everything that is wanted: few lengths and no outlier
(each spoke's own departure), leading and trailing of each flange in balance (their means agree), and the hub turned to
where the mean difference over the wheel is zero (the turn with the least sum, D: a parabola).

Why the plan is the best (D): on a flange the trailing spokes sit evenly round, so their departures from the nearest
hole fall on evenly spaced values, each equally often, and the least sum takes any run of these values one hole pitch
long; leaving holes out by the rule of whole numbers (v n + c) // m takes such a run for trailing and leading spokes at
once, whatever c. What is left is to match the two flanges, and every c of both is tried for that.

Order of choice: what each flange leaves out evenly round, the empty rim holes of both together as evenly as that allows
(two side by side would leave the rim without support), then the measure, no empty rim hole beside the valve, the widest
opening there. No plan of equal measure has the unused hub holes of both flanges more evenly round (D, by exhaustion).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import product
from math import gcd

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.joining import (
    LEADING,
    RADIAL,
    TRAILING,
    BySide,
    Counts,
    Lacing,
    Words,
    check_crosses,
    heads,
    joined,
    opening,
    per_side,
)
from wheelcalc.wheel.parts import SIDES, opposite

SAME_DEG = 1e-6  # angles closer than this are one


@dataclass(frozen=True, eq=False)
class _Flange:
    """One way to lace one flange, its holes counted from 0, the hub's going on beyond a turn.

    Parameters
    ----------
    rim_place : place of each spoke's rim hole among those that serve this flange
    hub_place : of its hub hole
    lean : 1 trailing, -1 leading, 0 radial
    rim_deg, hub_deg : angles, before the hub is turned
    """

    rim_place: Ints
    hub_place: Ints
    lean: Ints
    rim_deg: Floats
    hub_deg: Floats

    @property
    def mean_deg(self) -> float:
        """Mean of hub hole ahead of rim hole."""
        return float((self.hub_deg - self.rim_deg).mean())


def uneven_counts(counts: Counts, crosses: BySide, heads_in: Words = "leading") -> Lacing:
    """Lace a rim and a hub whose counts differ.

    Parameters
    ----------
    counts : holes of rim and flanges; the rim's serve the flanges by turns
    crosses : spokes of its own flange that each spoke passes, one number or {"left": k, "right": k}; 0 is radial
    heads_in : which heads sit on the face toward the other flange, one word or one per side

    Raises
    ------
    InputError
        If the counts do not allow it; the message names what would.
    """
    if counts.rim < 6 or counts.rim % 2:  # as parts.Rim: fewer are no bicycle wheel
        text = f"found {counts.rim}; the rim needs an even count of 6 or more, whose holes serve the flanges by turns"
        raise InputError("pattern", f'{text}; a rim drilled otherwise wants "listed"')
    k = per_side(crosses)
    for side in SIDES:
        with under(f"crosses.{side}"):
            check_crosses(k[side], spokes_on(counts, side))
    return _laced(_Key(counts, k["left"], k["right"]), per_side(heads_in, "heads_in"))


def spokes_on(counts: Counts, side: str) -> int:
    """Spokes of a flange: as many as its rim holes and its own holes allow."""
    return min(counts.rim // 2, counts.of(side))


@dataclass(frozen=True)
class _Key:
    counts: Counts
    left: int
    right: int


def _laced(key: _Key, heads_in: dict[str, str]) -> Lacing:
    counts = key.counts
    first, second = _best(key)
    sides = [counts.first_hole, opposite(counts.first_hole)]
    columns = [
        _columns(way, counts, side, number)
        for number, (way, side) in enumerate(zip((first, second), sides, strict=True))
    ]
    order = np.argsort(np.concatenate([column[0] for column in columns]))
    rim_hole, is_right, hub_hole, lean = (np.concatenate(each)[order] for each in zip(*columns, strict=True))
    crosses = np.abs(lean) * np.where(is_right, key.right, key.left)
    head_in = heads(heads_in, is_right, lean)
    spokes = np.where(is_right, spokes_on(counts, "right"), spokes_on(counts, "left"))
    about = lean * crosses * 360 / spokes
    named = {"lean": lean, "crosses": crosses, "head_in": head_in, "about_deg": about}
    return joined("uneven counts", counts, rim_hole, is_right, hub_hole, **named)


def _columns(way: _Flange, counts: Counts, side: str, number: int) -> tuple[Ints, ...]:
    rim_hole = way.rim_place * 2 + 1 + number
    is_right = np.full(len(rim_hole), side == "right")
    return rim_hole, is_right, way.hub_place % counts.of(side) + 1, way.lean


@cache
def _best(key: _Key) -> tuple[_Flange, _Flange]:
    """Both flanges' ways that fit each other best."""
    counts = key.counts
    one, other = counts.first_hole, opposite(counts.first_hole)
    k = {"left": key.left, "right": key.right}
    firsts, seconds = _turned_ways(counts, one, k[one], number=0), _turned_ways(counts, other, k[other], number=1)
    pitch = 360 / counts.of(other)
    apart = np.array([way.mean_deg for way in seconds])[None] - np.array([way.mean_deg for way in firsts])[:, None]
    # The second flange's holes may be counted on by any number: bring its mean nearest to the first one's.
    shift = -np.round(apart / pitch)
    apart = np.abs(apart + shift * pitch)
    uneven = _rim_unevenness(firsts, seconds, counts)
    apart = np.where(uneven <= uneven.min() + SAME_DEG, apart, np.inf)
    close = np.argwhere(apart <= apart.min() + SAME_DEG)
    pairs = [(firsts[i], _counted_on(seconds[j], int(shift[i, j]), pitch)) for i, j in close]
    return min(pairs, key=lambda pair: _rank(pair, counts))


def _rim_unevenness(firsts: list[_Flange], seconds: list[_Flange], counts: Counts) -> Floats:
    """Sum of squared gaps between empty rim holes, for every pair of ways."""
    empties = [[_left_over(way.rim_place, counts.rim // 2) for way in ways] for ways in (firsts, seconds)]
    gaps: dict[tuple[bytes, bytes], float] = {}
    out = np.empty((len(firsts), len(seconds)))
    for (i, one), (j, other) in product(enumerate(empties[0]), enumerate(empties[1])):
        pair = (one.tobytes(), other.tobytes())
        if pair not in gaps:
            gaps[pair] = _squared_gaps(np.concatenate([2 * one, 2 * other + 1]) * 360 / counts.rim)
        out[i, j] = gaps[pair]
    return out


def _left_over(places: Ints, holes: int) -> Ints:
    """Places from 0 that are not taken."""
    return np.setdiff1d(np.arange(holes), places % holes)


def _counted_on(way: _Flange, holes: int, pitch: float) -> _Flange:
    return _Flange(way.rim_place, way.hub_place + holes, way.lean, way.rim_deg, way.hub_deg + holes * pitch)


def _turned_ways(counts: Counts, side: str, k: int, number: int) -> list[_Flange]:
    """All ways of a flange; the first one's holes are also counted on where the flanges' pitches differ."""
    ways = _ways(counts, side, k, number)
    if number or counts.left == counts.right:
        return ways
    pitch = 360 / counts.of(side)
    return [_counted_on(way, holes, pitch) for way in ways for holes in range(counts.of(side))]


def _ways(counts: Counts, side: str, k: int, number: int) -> list[_Flange]:
    """Every place to begin leaving out holes, and either direction first."""
    rim, hub, spokes = counts.rim // 2, counts.of(side), spokes_on(counts, side)
    more = max(rim, hub)
    starts = range(0, more, gcd(more, spokes))
    leans = ((TRAILING, LEADING), (LEADING, TRAILING)) if k else ((RADIAL,),)
    return [_way(counts, side, start, np.resize(lean, spokes), k, number) for start, lean in product(starts, leans)]


def _way(counts: Counts, side: str, start: int, lean: Ints, k: int, number: int) -> _Flange:
    rim, hub, spokes = counts.rim // 2, counts.of(side), spokes_on(counts, side)
    spoke = np.arange(spokes)
    rim_place = (spoke * rim + (start if rim > spokes else 0)) // spokes
    hub_place = ((spoke + lean * k) * hub + (start if hub > spokes else 0)) // spokes
    rim_deg = (rim_place * 2 + number + 0.5) * 360 / counts.rim
    hub_deg = hub_place * 360 / hub + (counts.second_start_deg if number else 0.0)
    return _Flange(rim_place, hub_place, lean, rim_deg, hub_deg)


def _rank(both: tuple[_Flange, _Flange], counts: Counts) -> tuple[int, float]:
    """Order among plans of equal measure; less is better."""
    rim_deg, hub_deg = (np.concatenate([getattr(way, name) for way in both]) for name in ("rim_deg", "hub_deg"))
    hub_deg = hub_deg - (hub_deg - rim_deg).mean()
    least, most = int(rim_deg.argmin()), int(rim_deg.argmax())
    width = opening(rim_deg[least], hub_deg[least], rim_deg[most], hub_deg[most])
    pitch = 360 / counts.rim
    empty_at_valve = int(rim_deg[least] > pitch) + int(rim_deg[most] < 360 - pitch)
    return (empty_at_valve, -round(float(width), 9))


def _squared_gaps(angles_deg: Floats) -> float:
    if not len(angles_deg):
        return 0.0
    places = np.sort(angles_deg % 360)
    return float((np.diff(places, append=places[0] + 360) ** 2).sum())
