"""What can be built from what is there: every rim, hub, crosses per side and spokes at once, as arrays."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.spokes.ordering import EDGE, Window
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.lacing import most_crosses
from wheelcalc.wheel.parts import SIDES, Hub, Rim, Wire
from wheelcalc.wheel.wheel import span

# Ours: so many builds get their chance worked out; beyond them only their number is told.
MOST_BUILDS = 4000
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
    """A hub that could be used, with the standard uncertainties of each side's pcd and offset [mm]."""

    name: str
    hub: Hub
    sigma: Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class SpokeChoice:
    """Spokes of one length and wire: how many, and the side they were on ("new", or empty where unknown)."""

    wire: Wire
    length: float
    count: int
    taken_from: str = ""


class Combination(NamedTuple):
    """A wheel that could be built: places in the lists of choices, crosses, where the ends would sit, and the chance.

    `end_left` and `end_right` are means [mm], + beyond the intended end, with the tension on.
    """

    rim: int
    hub: int
    cross_left: int
    cross_right: int
    spoke_left: int
    spoke_right: int
    end_left: float
    end_right: float
    chance: float


@dataclass(frozen=True)
class Found:
    """What a search gave: the builds, the best chance first, how many land in the window, and how many were tried."""

    builds: Sequence[Combination]
    landing: int
    tried: int


@dataclass(frozen=True, eq=False)
class _Side:
    """One side of all wheels; axes: rim, hub, own crosses.

    Parameters
    ----------
    spans : of the spokes that turn less and more than the others, hub hole to rim point (2, rim, hub, crosses) [mm]
    less : taken off a span: half the hole, where heads have an elbow (hub) [mm]
    sideways, inward : direction cosines, mean of both kinds
    allowed : whether the pattern can be laced
    by_erd : what the length gains per mm of erd
    own : standard uncertainty from this flange's readings alone [mm]
    """

    spans: Floats
    less: Floats
    sideways: Floats
    inward: Floats
    allowed: Bools
    by_erd: Floats
    own: Floats


def search(
    rims: Sequence[RimChoice],
    hubs: Sequence[HubChoice],
    spokes: Sequence[SpokeChoice],
    window: Window,
    widest_deg: float,
) -> Found:
    """Return every wheel whose spoke ends would sit in the window on both sides.

    Parameters
    ----------
    rims, hubs, spokes : what there is
    window : where an end may sit
    widest_deg : widest angle between hub hole and rim hole that is looked at

    Notes
    -----
    One length on each side, half of the rim's holes to each flange, crossed or radial. All combinations are one set of
    arrays with the axes rim, hub, crosses left, crosses right, spokes left, spokes right.
    """
    crosses = np.arange(1 + max(most_crosses(each.hub.flange(side).holes) for each in hubs for side in SIDES))
    left, right = (_side(rims, hubs, crosses, side, widest_deg) for side in SIDES)
    ends = _ends(rims, spokes, left, right)
    fits = [_in_window(end, window) for end in ends]
    together = _together(left, right) & _counts_agree(rims, hubs)[:, :, None, None]
    enough = _enough(rims, spokes)
    combinations = together.size * len(spokes) ** 2
    if combinations > LARGEST_SEARCH:
        text = f"found {combinations:.0e} combinations; leave out rims, hubs or lengths that are out of the question"
        raise InputError("jar", text)
    landing = (
        together[..., None, None] & fits[0][..., :, None] & fits[1][..., None, :] & enough[:, None, None, None, :, :]
    )
    places = np.argwhere(landing)
    builds = _with_chances(places, rims, ends, left, right, window)
    return Found(builds, len(places), int(together.sum()) * len(spokes) ** 2)


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
    by_pcd = ((hub_radius - radius * cosine[:, None]) / spans).mean(axis=0) / 2
    sideways = (offset / spans).mean(axis=0)
    errors = np.array([each.sigma[side] for each in hubs])
    return _Side(
        spans=spans,
        less=np.array([f.hole_diameter / 2 if f.spoke_head == "elbow" else 0.0 for f in flanges])[:, None],
        sideways=sideways,
        inward=inward,
        allowed=(np.degrees(angle) <= widest_deg + EDGE) & ((crosses == 0) | (count % 2 == 0)) & (mean > 0),
        by_erd=inward / 2,
        own=np.hypot(by_pcd * errors[:, 0, None], sideways * errors[:, 1, None]),
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
    stretch = tension[..., None] * (fixed + per_mm * spans[..., None])
    return np.asarray(lengths - geometric[..., None] + stretch + shrink[..., None])


def _stretches(wire: Wire) -> tuple[float, float]:
    """Stretch per newton of a spoke: per mm of length, and a constant for its thick ends."""
    # D: stretch grows in a straight line with length, so any two lengths beyond the thick ends give that line.
    long, short = sum(wire.butts) + 400.0, sum(wire.butts) + 100.0
    per_mm = (wire.flexibility(long) - wire.flexibility(short)) / (long - short)
    return per_mm, wire.flexibility(long) - per_mm * long


def _in_window(ends: tuple[Floats, Floats], window: Window) -> Bools:
    return np.asarray((ends[0] >= -window.short - EDGE) & (ends[1] <= window.beyond + EDGE))


def _enough(rims: Sequence[RimChoice], spokes: Sequence[SpokeChoice]) -> Bools:
    """Whether there are enough spokes for both sides, (rim, spokes left, spokes right)."""
    needs = np.array([each.rim.holes // 2 for each in rims])[:, None, None]
    counts = np.array([each.count for each in spokes])
    same = np.eye(len(spokes), dtype=bool)
    one = counts[None, :, None] >= needs * (1 + same)
    return np.asarray(one & (counts[None, None, :] >= needs * (1 + same)))


def _with_chances(
    places: Ints,
    rims: Sequence[RimChoice],
    ends: tuple[tuple[Floats, Floats], tuple[Floats, Floats]],
    left: _Side,
    right: _Side,
    window: Window,
) -> list[Combination]:
    """Rank the builds that land in the window; where there are too many, those nearest to its edges are left out."""
    r, h, kl, kr, sl, sr = places.T
    least = [ends[0][0][r, h, kl, kr, sl], ends[1][0][r, h, kl, kr, sr]]
    most = [ends[0][1][r, h, kl, kr, sl], ends[1][1][r, h, kl, kr, sr]]
    room = np.min([*(each + window.short for each in least), *(window.beyond - each for each in most)], axis=0)
    kept = np.argsort(-room, kind="stable")[:MOST_BUILDS]
    sigma = np.array([each.sigma for each in rims])[r]
    shared = [left.by_erd[r, h, kl] * sigma, right.by_erd[r, h, kr] * sigma]
    own = [left.own[r, h, kl], right.own[r, h, kr]]
    least, most, shared, own = ([each[kept] for each in pair] for pair in (least, most, shared, own))
    chance = chance_of_both(least, most, shared, own, window)
    order = np.argsort(-chance, kind="stable")
    means = [(low + high) / 2 for low, high in zip(least, most, strict=True)]
    return [_build(places[kept[i]], means[0][i], means[1][i], chance[i]) for i in order]


def _build(place: Ints, left: float, right: float, chance: float) -> Combination:
    r, h, kl, kr, sl, sr = (int(each) for each in place)
    return Combination(r, h, kl, kr, sl, sr, float(left), float(right), float(chance))


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


def normal_share(z: Floats) -> Floats:
    """Share of a normal distribution below z standard deviations, to 1e-7.

    Notes
    -----
    M. Abramowitz & I. A. Stegun, Handbook of Mathematical Functions (1964), 26.2.17 (M); held against scipy.
    """
    t = 1 / (1 + 0.2316419 * np.abs(z))
    poly = t * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
    tail = np.exp(-np.minimum(z**2, 1400.0) / 2) / math.sqrt(2 * math.pi) * poly
    return np.asarray(np.where(z >= 0, 1 - tail, tail))
