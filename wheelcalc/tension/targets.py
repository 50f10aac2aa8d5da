"""How tight each side is to be: the balance of the sides, the limits, the target."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.wheel.parts import SIDES, Wire, opposite
from wheelcalc.wheel.wheel import Wheel

BOTH = "both"


class Limit(NamedTuple):
    """An upper bound of the tension.

    Parameters
    ----------
    name : short, stable, for scripts
    value_N : [N]
    side : "left", "right" or "both"
    reason : where it comes from
    """

    name: str
    value_N: float
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


def on_tighter(limit: Limit, share: Mapping[str, float]) -> float:
    """Tension of the tighter side at which a limit is reached [N].

    Parameters
    ----------
    limit : of one side or of both
    share : tension of each side over that of the tighter one, as `by_side(wheel, 1.0)` gives it
    """
    most = max(share.values()) if limit.side == BOTH else share[limit.side]
    return limit.value_N / most


def deciding(limits: Sequence[Limit], share: Mapping[str, float]) -> Limit | None:
    """Return the limit that is reached first when both sides are tightened together, None where there is none."""
    return min(limits, key=lambda limit: on_tighter(limit, share), default=None)


def lowest_on(side: str, limits: Sequence[Limit]) -> float:
    """Lowest limit of a side's spokes [N]; infinite where there is none."""
    return min((limit.value_N for limit in limits if limit.side in (side, BOTH)), default=math.inf)


def bounds(target: float, evenness: float, limit: float) -> tuple[float, float]:
    """Lowest and highest tension that a spoke of a side may have [N].

    Parameters
    ----------
    target : of the side [N]
    evenness : per cent either way
    limit : lowest limit of the side [N]; cuts the upper bound
    """
    slack = target * evenness / 100
    return target - slack, min(target + slack, limit)


def breaking_force(wire: Wire, end_strength: float, middle_strength: float) -> float:
    """Tension at which a spoke breaks [N]: at its thinner end, in the thread or elbow, or in a thinner middle.

    Parameters
    ----------
    wire : of the spoke
    end_strength : force that breaks whole spokes at an end, over the wire's area there [N/mm2]
    middle_strength : tensile strength of a middle drawn thinner than the ends [N/mm2]
    """
    end = min(wire.head_end, wire.thread_end)
    at_end = end_strength * math.pi / 4 * end**2
    if wire.middle >= end:
        return at_end
    return min(at_end, middle_strength * math.pi / 4 * wire.middle**2)


def hoop_force(wheel: Wheel, tensions: Floats) -> float:
    """Compression in the rim [N]: the sum of the radial pulls over 2 pi (statics of a thin ring, D)."""
    return float((tensions * wheel.inward).sum() / (2 * math.pi))


def rim_shrink(hoop: float, radius: float, area: float, youngs_modulus: float) -> float:
    """How much a ring's radius shrinks under a hoop compression [mm]: radius times strain (Hooke, D)."""
    return hoop * radius / (area * youngs_modulus)
