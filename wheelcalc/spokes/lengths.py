"""Cut lengths: what to buy before rounding, and how sure it is."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.wheel.lacing import LEADING, TRAILING
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel, crossing_angle_rad, span

DIRECTIONS = (("trailing", TRAILING), ("leading", LEADING))


def geometric_length(erd: Floats, pcd: Floats, offset: Floats, crosses: Floats, holes: Floats, hole: Floats) -> Floats:
    """Geometric length of a spoke of a wheel with half-pitch flanges [mm]; arrays broadcast.

    Parameters
    ----------
    erd : effective rim diameter, to the spoke end [mm]
    pcd : pitch circle diameter [mm]
    offset : flange to rim hole, along the axle [mm]
    crosses, holes : of one flange
    hole : diameter of the spoke hole, 0 for straight heads [mm]
    """
    angle = crossing_angle_rad(crosses, holes)
    return np.asarray(span(erd / 2, pcd / 2, angle, offset) - hole / 2)


def stretch(wheel: Wheel, tensions: Floats) -> Floats:
    """How much longer each spoke is under its tension [mm]: its wire over the whole span (Hooke, by segments), its ends."""
    return wheel.stretches(tensions)


def cut_lengths(wheel: Wheel, tensions: Floats, shrink: float) -> Floats:
    """Length to buy of every spoke before rounding [mm]: geometric, less its stretch, less the rim's shrinking."""
    return np.asarray(wheel.lengths - stretch(wheel, tensions) - shrink)


@dataclass(frozen=True)
class Share:
    """What one reading does to one side's length.

    Parameters
    ----------
    reading : the build file's key
    side : whose length it moves
    sigma : standard uncertainty of the reading [mm]
    effect : of the length, from it alone, always positive [mm]
    """

    reading: str
    side: str
    sigma: float
    effect: float


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
    return sorted((share for share in shares if share.effect > 1e-9), key=lambda share: -share.effect)


def side_means(wheel: Wheel) -> dict[str, float]:
    """Mean geometric length of each side [mm]."""
    return {side: float(wheel.lengths[wheel.lacing.on(side)].mean()) for side in SIDES}


def combined(shares: Iterable[Share], side: str) -> float:
    """Standard uncertainty of a side's length [mm]: the shares are independent (JCGM 100:2008, 5.1.2)."""
    return float(np.sqrt(sum(share.effect**2 for share in shares if share.side == side)))


def worst_share(shares: Iterable[Share]) -> tuple[str, float] | None:
    """Return the reading to repeat, and how much of the larger side's uncertainty would go if it were exact [mm]."""
    shares = list(shares)
    if not shares:
        return None
    side = max(SIDES, key=lambda side: combined(shares, side))
    own = [share for share in shares if share.side == side]
    rest = [share for share in own if share.reading != own[0].reading]
    return own[0].reading, combined(own, side) - combined(rest, side)
