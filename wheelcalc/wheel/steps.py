"""The order to lace in: groups of spokes of one flange and one direction, and what each hole does while they go in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Bools, Ints
from wheelcalc.wheel.joining import LEADING, RADIAL, TRAILING, Lacing
from wheelcalc.wheel.parts import opposite


@dataclass(frozen=True, eq=False)
class Group:
    """Spokes that go in together, the key spoke first, then forward round the rim.

    Parameters
    ----------
    side : flange
    lean : 1 trailing, -1 leading, 0 radial
    head_in : whether their heads sit on the face toward the other flange
    spokes : places in rim-hole order, from 0
    turn_hub : 1: turn the hub forward before this group, -1: backward, 0: leave it
    """

    side: str
    lean: int
    head_in: bool
    spokes: Ints
    turn_hub: int = 0


def groups(lacing: Lacing) -> list[Group]:
    """Return the groups in the order to lace in.

    Notes
    -----
    Common practice (C): first the crossed spokes whose heads sit outside, for they run inside the flange and could not
    be reached later, both flanges; then the hub is turned so that they slant, which opens the way for radial ones and
    for the crossed ones of the other direction. The flange that rim hole 1 serves comes first each time.
    """
    first = first_direction(lacing)
    sides = (lacing.first_hole, opposite(lacing.first_hole))
    in_order: list[Group] = []
    for lean in (first, RADIAL, -first):
        for side in sides:
            for head_in in (False, True):
                mask = lacing.on(side) & (lacing.lean == lean) & (lacing.head_in == head_in)
                if mask.any():
                    in_order.append(Group(side, lean, head_in, np.flatnonzero(mask)))
    after = next((i for i, group in enumerate(in_order) if group.lean != first), None)
    if after and lacing.lean.any():
        group = in_order[after]
        in_order[after] = Group(group.side, group.lean, group.head_in, group.spokes, turn_hub=first)
    return in_order


def first_direction(lacing: Lacing) -> int:
    """Direction whose heads sit outside on most spokes; trailing where it makes no difference."""
    outside = {lean: int(((lacing.lean == lean) & ~lacing.head_in).sum()) for lean in (TRAILING, LEADING)}
    if not any((lacing.lean == lean).any() for lean in outside):
        return TRAILING
    return LEADING if outside[LEADING] > outside[TRAILING] else TRAILING


def even_step(holes: Ints, of: int) -> int | None:
    """Step between neighbouring holes where it is the same all round, else None; holes in the order laced."""
    if len(holes) < 2:
        return None
    steps = set((np.diff(holes, append=holes[0]) % of).tolist())
    return int(steps.pop()) if len(steps) == 1 else None


def filled_before(in_order: list[Group], number: int, spokes: int) -> Bools:
    """Which spokes are in before a group (from 0) begins."""
    mask = np.zeros(spokes, dtype=bool)
    for group in in_order[:number]:
        mask[group.spokes] = True
    return mask
