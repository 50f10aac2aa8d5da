"""How tight each side is to be: the balance of the sides, the limits, the target."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.wheel.parts import SIDES, opposite
from wheelcalc.wheel.wheel import Floats, Wheel


@dataclass(frozen=True)
class Limit:
    """An upper bound of the tension.

    Parameters
    ----------
    name : short, stable, for scripts
    value : [N]
    side : "left", "right" or "both"
    reason : where it comes from
    """

    name: str
    value: float
    side: str
    reason: str


def sideways_pull(wheel: Wheel) -> dict[str, float]:
    """Pull toward its own flange of a side whose spokes all carry 1 N: the sum of offset over span."""
    return {side: float(wheel.sideways[wheel.lacing.on(side)].sum()) for side in SIDES}


def ratio_left_to_right(wheel: Wheel) -> float | None:
    """Left tension over right at which the rim stays in its plane; None where a flange has no sideways pull.

    Notes
    -----
    The sideways pulls of the sides are equal: T_left sum(w/L)_left = T_right sum(w/L)_right (statics, D).
    """
    pull = sideways_pull(wheel)
    if pull["left"] <= 0 or pull["right"] <= 0:
        return None
    return pull["right"] / pull["left"]


def tighter_side(wheel: Wheel) -> str:
    """Side whose spokes must be tighter: the one with the smaller sideways pull."""
    pull = sideways_pull(wheel)
    return "right" if pull["right"] <= pull["left"] else "left"


def by_side(wheel: Wheel, tighter: float) -> dict[str, float]:
    """Tension of each side [N] when the tighter one has `tighter` and the rim stays in its plane.

    Where a flange has no sideways pull no pair of tensions does that; both sides then get `tighter`.
    """
    side, ratio = tighter_side(wheel), ratio_left_to_right(wheel)
    if ratio is None:
        return dict.fromkeys(SIDES, tighter)
    other = ratio if side == "right" else 1 / ratio
    return {side: tighter, opposite(side): tighter * other}


def per_spoke(wheel: Wheel, tensions: Mapping[str, float]) -> Floats:
    """Tension of every spoke [N], in rim-hole order."""
    return np.where(wheel.lacing.is_right, tensions["right"], tensions["left"])


def lowest(limits: Sequence[Limit]) -> Limit | None:
    """Return the bound that decides, None where there is none."""
    return min(limits, key=lambda limit: limit.value, default=None)


def hoop_force(wheel: Wheel, tensions: Floats) -> float:
    """Compression in the rim [N]: the sum of the radial pulls over 2 pi (statics of a thin ring, D)."""
    return float((tensions * wheel.inward).sum() / (2 * math.pi))


def rim_shrink(hoop: float, radius: float, area: float, youngs_modulus: float) -> float:
    """How much a ring's radius shrinks under a hoop compression [mm]: radius times strain (Hooke, D)."""
    return hoop * radius / (area * youngs_modulus)
