"""What can be built from what is there: every rim, hub, crosses per side and spokes at once, as arrays."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.spokes.ordering import EDGE, Line, Stock, Window, normal_share
from wheelcalc.wheel import give
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import most_crosses
from wheelcalc.wheel.parts import SIDES, Hub, Rim, Wire
from wheelcalc.wheel.wheel import Wheel, span

# Nodes over the error of erd, which both sides share, in standard uncertainties (trapezoids).
SHARED = np.linspace(-5.0, 5.0, 161)
# A side whose own error is far smaller than the shared one would fall between two nodes: blurred by a node's width.
STEP = float(SHARED[1] - SHARED[0])
LEAST_SIGMA = 1e-10  # mm: an exact side still needs a width
LARGEST_SEARCH = 2e8  # combinations; ours: they are held in memory at once


@dataclass(frozen=True)
class RimChoice:
    """A rim that could be used.

    Parameters
    ----------
    name : what it is called
    rim : the part
    sigma : standard uncertainty of its erd [mm]
    tension : that its tighter side is to have [N]
    give : what its radius shrinks per newton of hoop force [mm/N]
    """

    name: str
    rim: Rim
    sigma: float
    tension: float
    give: float


@dataclass(frozen=True)
class HubChoice:
    """A hub that could be used, with the standard uncertainties of each side's pcd and offset [mm], and what the ends of
    its spokes give for 1000 N more [mm]; a side left out: by its kind of head.
    """

    name: str
    hub: Hub
    sigma: Mapping[str, tuple[float, float]]
    end_give: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class SpokeChoice:
    """Spokes of one length and wire: how many, the side they were on ("new", or empty where unknown), and their kind of
    head ("elbow", "straight", or empty where nobody said).
    """

    wire: Wire
    length: float
    count: int
    taken_from: str = ""
    head: str = ""


class Candidate(NamedTuple):
    """A wheel that the jar might build: places in the lists of rims, hubs and wires, and crosses.

    `missing` is the least number of spokes that would have to be bought, `room` how far its worse side's nearest length
    lies from the window's middle [mm].
    """

    rim: int
    hub: int
    cross_left: int
    cross_right: int
    wire_left: int
    wire_right: int
    missing: int
    room: float


@dataclass(frozen=True, eq=False)
class Pool:
    """Spokes on hand of one wire and kind of head, lots of one length thrown together: lengths [mm], counts, and the
    sides they were on.
    """

    wire: Wire
    head: str
    stock: Stock
    sides: Mapping[float, Mapping[str, int]]

    def near(self, cut: Floats, window: Window) -> Stock:
        """The part of it that could serve one of these spokes."""
        low, high = float(cut.min()) - window.short - EDGE, float(cut.max()) + window.beyond + EDGE
        pairs = zip(self.stock.lengths, self.stock.counts or (), strict=True)
        return Stock.on_hand({length: count for length, count in pairs if low <= length <= high})


def pooled(spokes: Sequence[SpokeChoice]) -> list[Pool]:
    """Throw lots of one length and wire together, whichever bundle they lie in."""
    sides: dict[tuple[Wire, str], dict[float, Counter[str]]] = {}
    for each in spokes:
        lots = sides.setdefault((each.wire, each.head), {})
        lots.setdefault(each.length, Counter())[each.taken_from] += each.count
    return [
        Pool(wire, head, Stock.on_hand({length: sum(by.values()) for length, by in lots.items()}), lots)
        for (wire, head), lots in sides.items()
    ]


@dataclass(frozen=True)
class JarMatches:
    """What a search gave: wheels for which the spokes seem to do, the likeliest first; those nearest to it; how many
    patterns were looked at.
    """

    enough: Sequence[Candidate]
    short: Sequence[Candidate]
    tried: int


@dataclass(frozen=True, eq=False)
class _Side:
    """One side of all wheels; axes: rim, hub, own crosses.

    Parameters
    ----------
    spans : of the spokes that turn less and more than the others, hub hole to rim point (2, rim, hub, crosses) [mm]
    less : taken off a span: half the hole, where heads have an elbow (hub) [mm]
    end_give : what the ends of a spoke give for 1000 N more, by the kind of head (hub) [mm]
    sideways, inward : direction cosines, mean of both kinds
    allowed : whether the pattern can be laced
    """

    spans: Floats
    less: Floats
    end_give: Floats
    sideways: Floats
    inward: Floats
    allowed: Bools


def search(
    rims: Sequence[RimChoice],
    hubs: Sequence[HubChoice],
    pools: Sequence[Pool],
    window: Window,
    widest_deg: float,
) -> JarMatches:
    """Sift every wheel of half the rim's holes to each flange, crossed or radial, for those that the jar might build.

    Parameters
    ----------
    rims, hubs, pools : what there is
    window : where an end may sit
    widest_deg : widest angle between hub hole and rim hole that is looked at

    Returns
    -------
    Every candidate with enough spokes in reach of each side; of rims and hubs without one, that which lacks fewest.

    Notes
    -----
    All combinations are one set of arrays with the axes rim, hub, crosses left, crosses right, wire left, wire right.
    A side's spokes in reach are those whose ends would sit in the window; that there are enough of them is necessary,
    `spokes.ordering.plan` then says whether it suffices.
    """
    crosses = np.arange(1 + max(most_crosses(each.hub.flange(side).holes) for each in hubs for side in SIDES))
    left, right = (_side(rims, hubs, crosses, side, widest_deg) for side in SIDES)
    plain = [SpokeChoice(pool.wire, 0.0, 0) for pool in pools]  # ends of a spoke of no length: what it would have to be
    cuts = [(-most, -least) for least, most in _ends(rims, plain, left, right)]
    together = _together(left, right) & _counts_agree(rims, hubs)[:, :, None, None]
    size = together.size * len(pools) ** 2
    if size > LARGEST_SEARCH:
        text = f"found {size:.0e} combinations; leave out rims, hubs or lengths that are out of the question"
        raise InputError("jar", text)
    needs = np.array([each.rim.holes // 2 for each in rims])[:, None, None, None]
    (lacks_left, off_left), (lacks_right, off_right) = (_reach(cut, needs, pools, window) for cut in cuts)
    missing = lacks_left[..., :, None] + lacks_right[..., None, :]
    missing = np.maximum(missing, _shared_lack(cuts, needs, pools, window))
    off = np.maximum(off_left[..., :, None], off_right[..., None, :])
    able = together[..., None, None] & _heads_agree(hubs, pools)[None, :, None, None]
    enough = _candidates(np.argwhere(able & (missing == 0)), missing, off)
    served = {(each.rim, each.hub) for each in enough}
    short = [each for each in _nearest(able, missing, off, needs) if (each.rim, each.hub) not in served]
    return JarMatches(enough, short, int(together.sum()) * len(pools) ** 2)


def _heads_agree(hubs: Sequence[HubChoice], pools: Sequence[Pool]) -> Bools:
    """Whether the spokes' heads go with both flanges, (hub, wire left, wire right)."""
    both = [[dict(zip(SIDES, (one, other), strict=True)) for other in pools] for one in pools]
    return np.array([[[heads_agree(each.hub, pair) for pair in row] for row in both] for each in hubs])


def _within(pool: Pool, low: Floats, high: Floats) -> Ints:
    """How many spokes of a pool lie between two lengths; arrays broadcast."""
    lengths = np.asarray(pool.stock.lengths)
    total = np.concatenate([[0], np.cumsum(pool.stock.counts or ())])
    first, last = np.searchsorted(lengths, low - EDGE), np.searchsorted(lengths, high + EDGE, side="right")
    return np.asarray(np.maximum(total[last] - total[first], 0))


def _reach(cut: tuple[Floats, Floats], needs: Ints, pools: Sequence[Pool], window: Window) -> tuple[Ints, Floats]:
    """Spokes that a side lacks, and how far the nearest length lies from the window's middle; last axis the wire."""
    lacks, off = [], []
    middle = (window.beyond - window.short) / 2
    for index, pool in enumerate(pools):
        least, most = cut[0][..., index], cut[1][..., index]
        short, long = (_within(pool, each - window.short, each + window.beyond) for each in (least, most))
        apart = most - least > EDGE
        both = short + long - _within(pool, most - window.short, least + window.beyond)
        half = np.where(apart, needs // 2, needs)
        lack = np.maximum(needs - np.where(apart, both, short), 0)
        lacks.append(np.maximum(lack, np.maximum(half - short, 0) + np.maximum(half - long, 0) * apart))
        lengths = np.asarray(pool.stock.lengths)
        wanted = (least + most) / 2 + middle
        at = (
            np.clip(np.searchsorted(lengths, wanted), 1, len(lengths) - 1)
            if len(lengths) > 1
            else np.zeros(wanted.shape, int)
        )
        near = np.minimum(np.abs(lengths[at] - wanted), np.abs(lengths[np.maximum(at - 1, 0)] - wanted))
        off.append(np.maximum(near - (most - least) / 2, 0.0))
    return np.stack(lacks, axis=-1), np.stack(off, axis=-1)


def _shared_lack(cuts: Sequence[tuple[Floats, Floats]], needs: Ints, pools: Sequence[Pool], window: Window) -> Ints:
    """Spokes that both sides together lack of one wire, 0 where they have different ones; axes as in `search`."""
    low = np.minimum(*np.broadcast_arrays(cuts[0][0], cuts[1][0])) - window.short
    high = np.maximum(*np.broadcast_arrays(cuts[0][1], cuts[1][1])) + window.beyond
    lacks = [np.maximum(2 * needs - _within(pool, low[..., i], high[..., i]), 0) for i, pool in enumerate(pools)]
    return np.stack(lacks, axis=-1)[..., :, None] * np.eye(len(pools), dtype=np.int64)


def _candidates(places: Ints, missing: Ints, off: Floats) -> list[Candidate]:
    at = tuple(places.T)
    order = np.argsort(off[at], kind="stable")
    rows = zip(places[order].tolist(), missing[at][order].tolist(), off[at][order].tolist(), strict=True)
    return [Candidate._make([*place, lack, away]) for place, lack, away in rows]


def _nearest(able: Bools, missing: Ints, off: Floats, needs: Ints) -> list[Candidate]:
    """Of each rim and hub the wheel that lacks fewest spokes, where it lacks half of them or less."""
    rims, hubs = able.shape[:2]
    price = np.where(able, missing + np.minimum(off, 50.0) / 100, np.inf).reshape(rims, hubs, -1)
    best = price.argmin(axis=2)
    out = []
    for rim in range(rims):
        for hub in range(hubs):
            place = (rim, hub, *(int(each) for each in np.unravel_index(int(best[rim, hub]), able.shape[2:])))
            if np.isfinite(price[rim, hub, best[rim, hub]]) and missing[place] <= needs.flat[rim]:
                out.append(Candidate._make([*place, int(missing[place]), float(off[place])]))
    return sorted(out, key=lambda each: (each.missing, each.room))


def unserved(cut: Floats, pool: Pool, window: Window) -> int:
    """How many spokes of one side a pool cannot serve: each in turn, shortest first, takes the shortest that does (D)."""
    lengths, left = pool.stock.lengths, list(pool.stock.counts or ())
    lacking = at = 0
    for each in np.sort(cut).tolist():
        # what is too short for this spoke, or used up, is so for every longer one
        while at < len(lengths) and (not left[at] or lengths[at] < each - window.short - EDGE):
            at += 1
        if at < len(lengths) and lengths[at] <= each + window.beyond + EDGE:
            left[at] -= 1
        else:
            lacking += 1
    return lacking


def heads_agree(hub: Hub, pools: Mapping[str, Pool]) -> bool:
    """Whether each side's spokes have heads that its flange takes."""
    return all(pools[side].head in ("", hub.flange(side).spoke_head) for side in SIDES)


def _side(rims: Sequence[RimChoice], hubs: Sequence[HubChoice], crosses: Ints, side: str, widest_deg: float) -> _Side:
    sign = 1.0 if side == "right" else -1.0
    flanges = [each.hub.flange(side) for each in hubs]
    radius = np.array([each.rim.erd / 2 for each in rims])[:, None, None]
    holes_at = np.array([sign * each.rim.hole_offset + each.rim.hole_stagger for each in rims])[:, None, None]
    hub_radius = np.array([flange.pcd / 2 for flange in flanges])[:, None]
    offset = np.array([flange.offset for flange in flanges])[:, None] - holes_at
    count = np.array([flange.holes for flange in flanges])[:, None]
    angle = 2 * np.pi * crosses / count
    # D: with facing holes each flange stands a quarter of its pitch off: trailing and leading spokes differ.
    aside = np.array(
        [np.pi / (2 * f.holes) * (each.hub.phase == "aligned") for f, each in zip(flanges, hubs, strict=True)]
    )
    angles = np.stack([angle - aside[:, None], angle + aside[:, None]])
    spans = np.stack([span(radius, hub_radius, each, offset) for each in angles])
    mean = spans.mean(axis=0)
    cosine = np.cos(angles)
    inward = ((radius - hub_radius * cosine[:, None]) / spans).mean(axis=0)
    sideways = (offset / spans).mean(axis=0)
    return _Side(
        spans=spans,
        less=np.array([f.hole_diameter / 2 if f.spoke_head == "elbow" else 0.0 for f in flanges])[:, None],
        end_give=np.array(
            [each.end_give.get(side, give.BY_HEAD[f.spoke_head].value) for f, each in zip(flanges, hubs, strict=True)]
        )[:, None],
        sideways=sideways,
        inward=inward,
        allowed=(np.degrees(angle) <= widest_deg + EDGE) & ((crosses == 0) | (count % 2 == 0)) & (mean > 0),
    )


def _together(left: _Side, right: _Side) -> Bools:
    """Which pairs of crosses can be laced, (rim, hub, crosses left, crosses right)."""
    return np.asarray(left.allowed[:, :, :, None] & right.allowed[:, :, None, :])


def _counts_agree(rims: Sequence[RimChoice], hubs: Sequence[HubChoice]) -> Bools:
    holes = np.array([each.rim.holes for each in rims])[:, None]
    flanges = np.array([[each.hub.left.holes, each.hub.right.holes] for each in hubs])
    return np.asarray((2 * flanges[:, 0] == holes) & (2 * flanges[:, 1] == holes))


def _ends(
    rims: Sequence[RimChoice], spokes: Sequence[SpokeChoice], left: _Side, right: _Side
) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Least and most end position of each side [mm], axes rim, hub, crosses left, crosses right, spokes of that side."""
    pulls = left.sideways[:, :, :, None], right.sideways[:, :, None, :]
    tight = np.array([each.tension for each in rims])[:, None, None, None]
    # D: equal sideways pulls; the side with the smaller share of it is the tighter one. None without pull: both alike.
    both = (pulls[0] > 0) & (pulls[1] > 0)
    least = np.minimum(*pulls)
    tensions = [np.where(both, tight * least / np.where(both, pull, 1.0), tight) for pull in pulls]
    holes = np.array([each.rim.holes for each in rims])[:, None, None, None]
    give = np.array([each.give for each in rims])[:, None, None, None]
    hoop = (tensions[0] * left.inward[:, :, :, None] + tensions[1] * right.inward[:, :, None, :]) * holes / (4 * np.pi)
    out = []
    for side, tension, axis in ((left, tensions[0], 4), (right, tensions[1], 3)):
        longest = np.expand_dims(side.spans, axis)
        kinds = [_end(each, side, axis, tension, hoop * give, spokes) for each in longest]
        out.append((np.minimum(*kinds), np.maximum(*kinds)))
    return out[0], out[1]


def _end(
    spans: Floats, side: _Side, axis: int, tension: Floats, shrink: Floats, spokes: Sequence[SpokeChoice]
) -> Floats:
    """End positions of one kind of spoke; the stretch of a butted one is a constant and a part that grows with length."""
    per_mm, fixed = np.array([_stretches(each.wire) for each in spokes]).T
    lengths = np.array([each.length for each in spokes])
    less = np.expand_dims(side.less[None], axis - 1)
    geometric = spans - less
    ends = give.given(np.expand_dims(side.end_give[None], axis - 1), tension)
    stretch = tension[..., None] * (fixed + per_mm * spans[..., None]) + ends[..., None]
    return np.asarray(lengths - geometric[..., None] + stretch + shrink[..., None])


def _stretches(wire: Wire) -> tuple[float, float]:
    """Stretch per newton of a spoke: per mm of length, and a constant for its thick ends."""
    # D: stretch grows in a straight line with length, so any two lengths beyond the thick ends give that line.
    long, short = sum(wire.butts) + 400.0, sum(wire.butts) + 100.0
    per_mm = (wire.flexibility(long) - wire.flexibility(short)) / (long - short)
    return per_mm, wire.flexibility(long) - per_mm * long


def errors_of(
    wheel: Wheel, erd_sigma: float, flanges: Mapping[str, tuple[float, float]]
) -> dict[str, tuple[float, float]]:
    """What the readings' errors do to each side's lengths: what erd does to both, what the flange's own do [mm].

    Parameters
    ----------
    wheel : as it would stand
    erd_sigma, flanges : standard uncertainty of erd, and of each side's pcd and offset [mm]

    Notes
    -----
    First-order propagation (JCGM 100:2008, 5.1.2) by the direction cosines of the spokes.
    """
    out = {}
    for side in SIDES:
        mask, hub_radius = wheel.lacing.on(side), wheel.hub.flange(side).pcd / 2
        turned = np.cos(np.radians(wheel.lacing.angle_deg[mask]))
        by_pcd = float(((hub_radius - wheel.rim.erd / 2 * turned) / wheel.spans[mask]).mean()) / 2
        by_offset = float(wheel.sideways[mask].mean())
        pcd, offset = flanges[side]
        out[side] = (
            float(wheel.inward[mask].mean()) / 2 * erd_sigma,
            float(np.hypot(by_pcd * pcd, by_offset * offset)),
        )
    return out


def chance_of_lines(lines: Sequence[Line], errors: Mapping[str, tuple[float, float]], window: Window) -> float:
    """Chance that the ends of all lines of both sides sit in the window."""
    least, most, shared, own = [], [], [], []
    for side in SIDES:
        ends = [(line.least_end, line.most_end) for line in lines if line.side == side]
        least.append(np.array([min(low for low, _ in ends)]))
        most.append(np.array([max(high for _, high in ends)]))
        shared.append(np.array([errors[side][0]]))
        own.append(np.array([errors[side][1]]))
    return float(chance_of_both(least, most, shared, own, window)[0])


def chance_of_both(
    least: Sequence[Floats], most: Sequence[Floats], shared: Sequence[Floats], own: Sequence[Floats], window: Window
) -> Floats:
    """Chance that the ends of both sides sit in the window.

    Parameters
    ----------
    least, most : extreme end positions of the left and of the right side, (n,) each [mm]
    shared : what one standard uncertainty of the shared reading (erd) does to the length of each side [mm]
    own : standard uncertainty of each side from its own readings [mm]
    window : where an end may sit

    Notes
    -----
    Given the shared error the sides are independent: the product of their chances is integrated over it (D).
    """
    weights = np.exp(-(SHARED**2) / 2)
    weights /= weights.sum()
    both = np.ones((len(least[0]), len(SHARED)))
    for low, high, part, sigma in zip(least, most, shared, own, strict=True):
        moved = part[:, None] * SHARED
        scale = np.maximum(np.maximum(sigma, STEP * part), LEAST_SIGMA)[:, None]
        top = normal_share((window.beyond + EDGE - high[:, None] + moved) / scale)
        both *= np.maximum(top - normal_share((-window.short - EDGE - low[:, None] + moved) / scale), 0.0)
    return np.asarray(both @ weights)
