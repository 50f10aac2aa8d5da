"""A pattern becomes a table: which spoke runs from which hub hole to which rim hole, which way, head in or out.

Angles are seen from the right, grow in the direction of forward rotation and are 0 at the valve hole. Rim hole i of N
sits at (i - 1/2) 360/N; the flange that `first_hole` names is served by rim holes 1, 3, 5 ... Hub holes are numbered so
that a radial wheel joins hub hole j of a flange to the j-th rim hole that serves it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.parts import SIDES, one_of

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
BySide = int | Mapping[str, int]
Words = str | Mapping[str, str]

T = TypeVar("T", int, str)

TRAILING, RADIAL, LEADING = 1, 0, -1
HEADS = ("leading", "trailing", "alternate", "all", "none")

# D: seen in the wheel's plane a k-cross spoke crosses exactly k others of its own flange while 360 k / n is at most
# 108 degrees (segments intersected by a polygon library); from 112.5 up the count no longer holds.
WIDEST_CROSSING_DEG = 108.0


@dataclass(frozen=True, eq=False)
class Lacing:
    """Spokes in rim-hole order, one array entry each.

    Parameters
    ----------
    pattern : the pattern's name
    rim_holes, left_holes, right_holes : holes drilled in the rim and in each flange
    first_hole : side of the flange that rim hole 1 serves
    rim_hole, hub_hole : numbered from 1
    is_right : whether the spoke belongs to the right flange
    crosses : spokes of its own flange that it passes
    lean : 1 trailing, -1 leading, 0 radial
    head_in : whether the head sits on the face toward the other flange
    rim_angle_deg, hub_angle_deg : where its two ends sit
    """

    pattern: str
    rim_holes: int
    left_holes: int
    right_holes: int
    first_hole: str
    rim_hole: Ints
    is_right: Bools
    hub_hole: Ints
    crosses: Ints
    lean: Ints
    head_in: Bools
    rim_angle_deg: Floats
    hub_angle_deg: Floats

    def __len__(self) -> int:
        return len(self.rim_hole)

    def on(self, side: str) -> Bools:
        """Mask of the spokes of a side."""
        return self.is_right if side == "right" else ~self.is_right

    def holes_of(self, side: str) -> int:
        """Holes drilled in a flange."""
        return self.right_holes if side == "right" else self.left_holes

    @property
    def sides(self) -> list[str]:
        """Side of each spoke."""
        return ["right" if right else "left" for right in self.is_right]

    @property
    def directions(self) -> list[str]:
        """Direction of each spoke: trailing, leading or radial."""
        return [{TRAILING: "trailing", LEADING: "leading"}.get(int(lean), "radial") for lean in self.lean]

    @property
    def heads(self) -> list[str]:
        """Where each head sits: in or out."""
        return ["in" if head else "out" for head in self.head_in]

    @property
    def angle_deg(self) -> Floats:
        """Hub hole ahead of rim hole, per spoke."""
        return self.hub_angle_deg - self.rim_angle_deg


def crossed(
    holes: int, crosses: BySide, first_hole: str = "right", phase: str = "staggered", heads_in: Words = "leading"
) -> Lacing:
    """Lace a rim of `holes` holes with leading and trailing spokes by turns, half of them to each flange.

    Parameters
    ----------
    holes : spoke holes in the rim; each flange has half of them
    crosses : spokes of its own flange that each spoke passes, one number or {"left": k, "right": k}; 0 is radial
    first_hole : side of the flange that rim hole 1 serves
    phase : of the hub, "staggered" or "aligned"
    heads_in : which heads sit on the face toward the other flange, one word or one per side

    Raises
    ------
    InputError
        If the counts do not allow the pattern; the message names what would.
    """
    return _both_sides("crossed", holes, _per_side(crosses), first_hole, phase, _per_side(heads_in))


def radial(holes: int, first_hole: str = "right", phase: str = "staggered", heads_in: Words = "alternate") -> Lacing:
    """Lace a rim of `holes` holes with radial spokes, half of them to each flange; see `crossed`."""
    return _both_sides("radial", holes, _per_side(0), first_hole, phase, _per_side(heads_in))


def most_crosses(flange_holes: int) -> int:
    """Most crosses that a flange of so many holes can be laced with."""
    return int(WIDEST_CROSSING_DEG * flange_holes / 360 + 1e-9)


def heads_on_a_side(rule: str, lean: Ints) -> Bools:
    """Which heads of one flange sit in, from the rule's word and the spokes' directions in rim-hole order."""
    one_of("heads_in", rule, HEADS)
    if rule in ("all", "none"):
        return np.full(len(lean), rule == "all")
    if rule == "alternate" or not lean.any():
        return np.asarray(np.arange(len(lean)) % 2 == 0)
    return np.asarray(lean == (LEADING if rule == "leading" else TRAILING))


def _per_side(value: T | Mapping[str, T]) -> dict[str, T]:
    if isinstance(value, Mapping):
        return {side: value[side] for side in SIDES}
    return dict.fromkeys(SIDES, value)


def _both_sides(
    pattern: str, holes: int, crosses: dict[str, int], first_hole: str, phase: str, heads_in: dict[str, str]
) -> Lacing:
    one_of("first_hole", first_hole, SIDES)
    one_of("phase", phase, ("staggered", "aligned"))
    _check_counts(holes, crosses)
    number = np.arange(1, holes + 1)
    is_right = (number % 2 == 1) == (first_hole == "right")
    turn = (number + 1) // 2  # the spoke's place among those of its own flange, from 1
    flange = holes // 2
    k = np.where(is_right, crosses["right"], crosses["left"])
    ahead = np.where(number % 2 == 1, 180 / holes, -180 / holes) if phase == "aligned" else np.zeros(holes)
    lean = _widest_at_valve(number, k, ahead, flange)
    head_in = np.empty(holes, dtype=bool)
    for side in SIDES:
        mask = is_right == (side == "right")
        head_in[mask] = heads_on_a_side(heads_in[side], lean[mask])
    rim_angle = (number - 0.5) * 360 / holes
    return Lacing(
        pattern=pattern,
        rim_holes=holes,
        left_holes=flange,
        right_holes=flange,
        first_hole=first_hole,
        rim_hole=number,
        is_right=is_right,
        hub_hole=(turn + lean * k - 1) % flange + 1,
        crosses=k,
        lean=lean,
        head_in=head_in,
        rim_angle_deg=rim_angle,
        hub_angle_deg=rim_angle + lean * k * 360 / flange + ahead,
    )


def _check_counts(holes: int, crosses: dict[str, int]) -> None:
    if holes < 6 or holes % 2:
        raise InputError("holes", f"found {holes}; the rim needs an even count of 6 or more, half for each flange")
    flange = holes // 2
    for side, k in crosses.items():
        with under(f"crosses.{side}"):
            check_crosses(k, flange)


def check_crosses(k: int, flange_holes: int) -> None:
    """Refuse crosses that a flange of so many holes cannot have."""
    if k < 0:
        raise InputError("", f"found {k}; 0 is radial, the least there is")
    if k > 0 and flange_holes % 2:
        text = f"found {k} on a flange of {flange_holes} holes"
        raise InputError("", f"{text}; crossed spokes go in pairs and need an even count, 0 (radial) would do")
    most = most_crosses(flange_holes)
    if k > most:
        text = f"found {k}; a spoke would have to pass the far side of the hub"
        raise InputError("", f"{text}, {flange_holes} holes on a flange allow {most} at most")


def _widest_at_valve(number: Ints, k: Ints, ahead: Floats, flange: int) -> Ints:
    """Choose trailing or leading first on each flange so that the two spokes beside the valve open most."""
    best: Ints | None = None
    widest = -np.inf
    odd = number % 2 == 1
    turn = (number + 1) // 2
    for first, second in product((TRAILING, LEADING), repeat=2):
        start = np.where(odd, first, second)
        lean = np.where(k > 0, np.where(turn % 2 == 1, start, -start), RADIAL)
        angle = lean * k * 360 / flange + ahead
        opening = angle[0] - angle[-1]
        if opening > widest + 1e-9:
            best, widest = lean, opening
    assert best is not None
    return best
