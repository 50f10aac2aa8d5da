"""Cut lengths: what to buy before rounding, and how sure it is."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.wheel import give
from wheelcalc.wheel.given import numbers
from wheelcalc.wheel.joining import LEADING, TRAILING
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel, crossing_angle_rad, span

LEAST_EFFECT = 1e-9  # mm: less is round-off
DIRECTIONS = (("trailing", TRAILING), ("leading", LEADING))


def geometric_length(erd: Any, pcd: Any, offset: Any, crosses: Any, holes: Any, hole: Any) -> Floats:
    """Geometric length of a spoke of a wheel with half-pitch flanges [mm]; arrays broadcast.

    Parameters
    ----------
    erd : effective rim diameter, to the spoke end [mm]
    pcd : pitch circle diameter [mm]
    offset : flange to rim hole, along the axle [mm]
    crosses, holes : of one flange
    hole : diameter of the spoke hole, 0 for straight heads [mm]

    Raises
    ------
    InputError
        If a value is no number or a quantity of another kind.

    Examples
    --------
    >>> from wheelcalc import geometric_length
    >>> geometric_length(602.4, [44.7, 45.1], 18.7, crosses=3, holes=16, hole=2.5).round(2).tolist()
    [292.72, 292.66]
    """
    angle = crossing_angle_rad(crosses, holes)
    radii = numbers("erd", erd, "mm") / 2, numbers("pcd", pcd, "mm") / 2
    return np.asarray(span(*radii, angle, offset) - numbers("hole", hole, "mm") / 2)


def stretch(wheel: Wheel, tensions: Floats) -> Floats:
    """How much longer each spoke is under its tension [mm]: its wire over the whole span (Hooke, by segments), its ends."""
    return wheel.stretches(tensions)


def cut_lengths(wheel: Wheel, tensions: Floats, shrink: float) -> Floats:
    """Length to buy of every spoke before rounding [mm]: geometric, less its stretch, less the rim's shrinking."""
    return np.asarray(wheel.lengths - stretch(wheel, tensions) - shrink)


NOT_READ = ("spokes.", "tension.", "rim.section")  # keys of the budget that no reading makes surer


class Share(NamedTuple):
    """What one reading, or something that nobody reads, does to one side's length.

    Parameters
    ----------
    reading : the build file's key
    side : whose length it moves
    sigma_mm : standard uncertainty of the reading [mm]; of the tension and the rim's section, what it comes to in length
    effect_mm : of the length, from it alone, always positive [mm]
    """

    reading: str
    side: str
    sigma_mm: float
    effect_mm: float


def error_budget(build: Build, build_wheel: Callable[[Build], Wheel]) -> list[Share]:
    """How much of each side's uncertainty comes from which reading, largest first.

    Notes
    -----
    First-order propagation: each uncertain reading is moved by its standard uncertainty either way and the mean length
    of the side recomputed; half the difference is its share (JCGM 100:2008, 5.1.2 and the note of 5.1.3).
    """
    shares = []
    for key in build:
        sigma = build.sigma(key)
        if sigma <= 0 or not key.startswith(("rim.", "hub.", "nipple.", "frame.wheel_offset", "spacers.")):
            continue
        value = build.number(key)
        above, below = (side_means(build_wheel(build.having({key: value + step}))) for step in (sigma, -sigma))
        shares += [Share(key, side, sigma, abs(above[side] - below[side]) / 2) for side in SIDES]
    return sorted((share for share in shares if share.effect_mm > LEAST_EFFECT), key=lambda share: -share.effect_mm)


def unread_shares(build: Build, wheel: Wheel, tensions: Floats, shrink: float, shrink_sigma: float) -> list[Share]:
    """What spokes' ends, target and rim's section leave open of each side's length, by key.

    Parameters
    ----------
    build, wheel : the build and its spokes in space
    tensions : target of every spoke, (n,) [N]
    shrink, shrink_sigma : of the rim's radius under it, and what the section leaves open of that [mm]

    Notes
    -----
    All nearly straight: the ends give in proportion to `spokes.end_give`; a tension off by a share takes stretch and
    shrinking with it, from half the difference either way (JCGM 100:2008, 5.1.3, note).
    """
    off = build.sigma("tension.target") / build.tension.target if build.given("tension.target") else 0.0
    off = min(off, 1.0)
    taken = (stretch(wheel, (1 + off) * tensions) - stretch(wheel, (1 - off) * tensions)) / 2 + off * shrink
    shares = []
    for side in SIDES:
        mask = wheel.lacing.on(side)
        key, by_target = f"spokes.end_give.{side}", float(taken[mask].mean())
        sigma = build.sigma(key)
        by_ends = sigma * float(give.given(1.0, tensions[mask]).mean())
        shares += [Share("spokes.end_give", side, sigma, by_ends), Share("tension.target", side, by_target, by_target)]
        shares.append(Share("rim.section", side, shrink_sigma, shrink_sigma))
    return [share for share in shares if share.effect_mm > LEAST_EFFECT]


def side_means(wheel: Wheel) -> dict[str, float]:
    """Mean geometric length of each side [mm]."""
    return {side: float(wheel.lengths[wheel.lacing.on(side)].mean()) for side in SIDES}


def combined(shares: Iterable[Share], side: str) -> float:
    """Standard uncertainty of a side's length [mm]: the shares are independent (JCGM 100:2008, 5.1.2)."""
    return float(np.sqrt(sum(share.effect_mm**2 for share in shares if share.side == side)))


def worst_share(shares: Iterable[Share]) -> tuple[str, float] | None:
    """Return the reading to repeat, and how much of the larger side's uncertainty would go if it were exact [mm]."""
    shares = list(shares)
    if all(share.reading.startswith(NOT_READ) for share in shares):
        return None
    side = max(SIDES, key=lambda side: combined(shares, side))
    own = [share for share in shares if share.side == side]
    worst = max((s for s in own if not s.reading.startswith(NOT_READ)), key=lambda share: share.effect_mm, default=None)
    if worst is None:
        return None
    rest = [share for share in own if share.reading != worst.reading]
    return worst.reading, combined(own, side) - combined(rest, side)
