"""What hubs and rims of the trade are like: how likely the dimensions are that a slip would put in place of the readings.

Shapes only, wide and with heavy tails, so that an unusual part is never called a slip by itself; they weigh one
explanation against another.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.salvage.cases import BELOW_BEAD_SEAT
from wheelcalc.wheel.parts import SIDES

# Numbers here: C, common practice, read off the families of hubs and rims in the reference tables; the shares are ours.
FLOOR = 2e-4  # per mm: density that any part has, however odd
EQUAL_FLANGES, ALIKE = 0.5, 0.7  # share of hubs whose flanges are alike, and how much alike they are read [mm]
WIDTHS = (
    90,
    96,
    100,
    110,
    112,
    114,
    116,
    119,
    120,
    125,
    126,
    130,
    132.5,
    135,
    140,
    142,
    145,
    148,
    150,
    157,
    170,
    177,
    190,
    197,
)
USUAL_WIDTH, WIDTH_SIGMA, ANY_WIDTH = (
    0.85,
    0.8,
    100.0,
)  # share that has one of them, to so many mm; the rest over so many
ODD, ODD_CIRCLE, ODD_OFFSET = 0.25, (52.0, 15.0), (27.5, 7.5)  # share of odd wheels; mean and spread of theirs [mm]
# C: hub centre to flange: share of such hubs, mean and spread on the left, the same on the right, or how much alike both
# are [mm]. Rear: with cogs on the right; fixed, coaster and gear hubs. Front: plain; with a rotor on the left.
REAR_HUBS = ((0.8, (34.5, 3.0), (19.0, 2.5)), (0.2, (31.0, 4.0), 1.5))
FRONT_HUBS = ((0.7, (34.0, 3.0), 1.0), (0.3, (23.0, 3.0), (34.0, 3.0)))
ANY_HUB, ANY_OFFSET = 0.1, (28.5, 8.0)  # share of hubs of no such kind, and theirs
# C: where a spoke's end may sit, short of and beyond the slot's bottom [mm]; how blurred, and the share of any place.
OLD_WINDOW, END_BLUR, ANY_END = (2.0, 1.0), 0.5, 0.1
CROSSES = {0: 0.04, 1: 0.06, 2: 0.2, 3: 0.62, 4: 0.08}


def log_density(values: Mapping[str, Floats], *, rear: bool, bead_seat: float | None) -> Floats:
    """Logarithm of how dense the parts of the trade lie at these dimensions.

    Parameters
    ----------
    values : "pcd.left", "pcd.right", "offset.left", "offset.right" [mm]; and, where they tell, "crosses.left",
        "crosses.right", "over", "erd" [mm]
    rear, bead_seat : of the wheel; the bead seat diameter where it is known [mm]

    Notes
    -----
    A mixture of two kinds of wheels: those like most, and odd ones. A wheel odd in one dimension may be so in all: then
    no dimension speaks for or against a slip.
    """
    like_most, odd = np.log(1 - ODD) + _like_most(values, rear=rear), np.log(ODD) + _odd(values)
    total = np.logaddexp(like_most, odd)
    if "erd" in values and bead_seat is not None:
        below, sigma = BELOW_BEAD_SEAT
        total = total + np.log(_normal(values["erd"], bead_seat - below, sigma) + FLOOR / 10)
    return np.asarray(total)


def log_end(end: Floats) -> Floats:
    """Logarithm of how often a spoke of an old wheel ends there, + beyond the intended end [mm].

    Notes
    -----
    Old wheels were built by the same rule as new ones: evenly over the window, its edges blurred; a few anywhere.
    """
    short, beyond = OLD_WINDOW
    rise = np.tanh((end + short) / END_BLUR) - np.tanh((end - beyond) / END_BLUR)
    return np.asarray(np.log((1 - ANY_END) * rise / 2 / (short + beyond) + ANY_END * _normal(end, 0.0, 4.0)))


def _like_most(values: Mapping[str, Floats], *, rear: bool) -> Floats:
    total = _flanges(values) + _offsets(values, rear=rear)
    if "crosses.left" in values:
        total = total + _crosses(values)
    if "over" in values:
        near = sum(_normal(values["over"], width, WIDTH_SIGMA) for width in WIDTHS) / len(WIDTHS)
        total = total + np.log(USUAL_WIDTH * near + (1 - USUAL_WIDTH) / ANY_WIDTH)
    return np.asarray(total)


def _odd(values: Mapping[str, Floats]) -> Floats:
    """Every dimension by itself."""
    total = np.zeros(())
    for side in SIDES:
        total = total + np.log(_normal(values[f"pcd.{side}"], *ODD_CIRCLE) + FLOOR / 10)
        total = total + np.log(_normal(values[f"offset.{side}"], *ODD_OFFSET) + FLOOR / 10)
        if "crosses.left" in values:
            crosses = np.round(np.asarray(values[f"crosses.{side}"], dtype=float))
            total = total + np.log(np.where((crosses >= 0) & (crosses <= 4), 0.2, 0.005))
    return np.asarray(total - np.log(ANY_WIDTH) if "over" in values else total)


def _flanges(values: Mapping[str, Floats]) -> Floats:
    left, right = values["pcd.left"], values["pcd.right"]
    alike = EQUAL_FLANGES * _normal(left, right, ALIKE)
    return np.asarray(np.log(_hole_circle(right)) + np.log(alike + (1 - EQUAL_FLANGES) * _hole_circle(left)))


def _hole_circle(pcd: Floats) -> Floats:
    return np.asarray(0.8 * _normal(pcd, 47, 9) + 0.18 * _normal(pcd, 66, 16) + FLOOR)


def _offsets(values: Mapping[str, Floats], *, rear: bool) -> Floats:
    left, right = values["offset.left"], values["offset.right"]
    usual = sum(
        share
        * _normal(left, *one)
        * (_normal(right, left, other) if isinstance(other, float) else _normal(right, *other))
        for share, one, other in (REAR_HUBS if rear else FRONT_HUBS)
    )
    any_hub = _normal(left, *ANY_OFFSET) * _normal(right, *ANY_OFFSET)
    return np.asarray(np.log((1 - ANY_HUB) * usual + ANY_HUB * any_hub + FLOOR**2))


def _crosses(values: Mapping[str, Floats]) -> Floats:
    left, right = (np.round(np.asarray(values[f"crosses.{side}"], dtype=float)) for side in ("left", "right"))
    share = [sum(np.where(each == k, p, 0.0) for k, p in CROSSES.items()) + 0.005 for each in (left, right)]
    return np.asarray(np.log(np.where(left == right, share[1], 0.3 * share[0] * share[1])))


def _normal(value: Floats | float, mean: Floats | float, sigma: float) -> Floats:
    return np.asarray(np.exp(-(((np.asarray(value) - mean) / sigma) ** 2) / 2) / (sigma * np.sqrt(2 * np.pi)))
