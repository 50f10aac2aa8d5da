"""The patterns: crossed, radial, crow's foot, two to one; and those of modules of their own, uneven counts and listed.

Each becomes a `Lacing`, the table of `joining`. Where there is a choice of the first spoke's direction, the two spokes
beside the valve open as wide as the pattern allows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib import import_module
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelcalc.arrays import Bools
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.given import count
from wheelcalc.wheel.joining import (
    LEADING,
    RADIAL,
    TRAILING,
    WIDEST_CROWS_FOOT_DEG,
    BySide,
    Counts,
    Lacing,
    Words,
    check_crosses,
    gap_between,
    heads,
    joined,
    own_turn,
    per_side,
    side_mask,
    widest_at_valve,
)
from wheelcalc.wheel.parts import SIDES, one_of

if TYPE_CHECKING:
    from wheelcalc.wheel.listed import listed
    from wheelcalc.wheel.uneven import uneven_counts

__all__ = ["Counts", "Lacing", "crossed", "crows_foot", "listed", "radial", "two_to_one", "uneven_counts"]

_HOMES = {"listed": "wheelcalc.wheel.listed", "uneven_counts": "wheelcalc.wheel.uneven"}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


BY_TURNS = [(TRAILING, LEADING), (LEADING, TRAILING)]


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

    Examples
    --------
    >>> from wheelcalc import lacing
    >>> pattern = lacing.crossed(holes=32, crosses={"left": 2, "right": 3})
    >>> list(zip(pattern.sides, pattern.hub_hole.tolist(), pattern.directions))[:2]
    [('right', 4, 'trailing'), ('left', 3, 'trailing')]
    """
    counts, k = _halves(holes, first_hole, phase), _counted(crosses)
    holes = counts.rim
    _check_both(k, counts)
    cycles = {side: BY_TURNS if k[side] else [(RADIAL,)] for side in SIDES}
    return _best_start("crossed", counts, side_mask(holes, first_hole), k, per_side(heads_in, "heads_in"), cycles)


def radial(holes: int, first_hole: str = "right", phase: str = "staggered", heads_in: Words = "alternate") -> Lacing:
    """Lace a rim of `holes` holes with radial spokes, half of them to each flange; see `crossed`."""
    counts, straight = _halves(holes, first_hole, phase), {side: [(RADIAL,)] for side in SIDES}
    holes = counts.rim
    return _best_start(
        "radial", counts, side_mask(holes, first_hole), per_side(0), per_side(heads_in, "heads_in"), straight
    )


def crows_foot(
    holes: int, crosses: BySide, first_hole: str = "right", phase: str = "staggered", heads_in: Words = "leading"
) -> Lacing:
    """Lace groups of three: one radial spoke between two crossed ones; see `crossed`.

    Parameters
    ----------
    crosses : of the crossed spokes, the radial ones counted; 0 makes that side radial

    Notes
    -----
    The radial spoke of a group keeps its own hub hole, so the crossed ones reach over it, a trailing one behind and a
    leading one ahead of it at the rim, for 2, 3, 5, 6 ... crosses. For 1, 4 ... those hub holes are taken by the
    radial ones, and the crossed ones lean away from the radial between them (D, counting holes modulo three).
    """
    counts, k = _halves(holes, first_hole, phase), _counted(crosses)
    holes = counts.rim
    if counts.left % 3:
        near = [6 * n for n in range(max(holes // 6 - 1, 1), holes // 6 + 3)]
        text = f"found {holes} holes, {counts.left} on a flange; crow's foot wants a count on each flange that three divides"
        raise InputError(
            "pattern", f'{text} (a rim of {", ".join(map(str, near))} ... holes); "crossed" would work here'
        )
    for side in SIDES:
        with under(f"crosses.{side}"):
            check_crosses(k[side], counts.left, in_pairs=False, widest_deg=WIDEST_CROWS_FOOT_DEG)
    return _best_start(
        "crow's foot",
        counts,
        side_mask(holes, first_hole),
        k,
        per_side(heads_in, "heads_in"),
        {side: _feet(k[side]) for side in SIDES},
    )


def _feet(k: int) -> list[tuple[int, ...]]:
    if k == 0:
        return [(RADIAL,)]
    foot = (LEADING, RADIAL, TRAILING) if k % 3 == 1 else (TRAILING, RADIAL, LEADING)
    return [foot[start:] + foot[:start] for start in range(3)]


def two_to_one(
    holes: int, crosses: BySide, sides: str = "RLR", phase: str = "staggered", heads_in: Words = "leading"
) -> Lacing:
    """Lace twice as many spokes to one flange as to the other, leading and trailing by turns on each.

    Parameters
    ----------
    holes : spoke holes in the rim, two thirds of them for the fuller flange
    crosses, phase, heads_in : as in `crossed`
    sides : how the rim is drilled from rim hole 1 on, such as "RLR", repeated round the rim

    Raises
    ------
    InputError
        If the counts do not allow the pattern; the message names what would.
    """
    holes = count("holes", holes)
    served = drilled(sides, holes)
    right = int(served.sum())
    left = holes - right
    if max(left, right) != 2 * min(left, right):
        text = f'found "{sides}" on {holes} holes, {left} left and {right} right'
        raise InputError("sides", f'{text}; one flange must have twice the other\'s, such as "RLR" on a rim of 24')
    first = "right" if served[0] else "left"
    plain = Counts(holes, left, right, first, phase)
    counts = Counts(holes, left, right, first, phase, gap_between(served, plain))
    k = _counted(crosses)
    _check_both(k, counts)
    cycles = {side: BY_TURNS if k[side] else [(RADIAL,)] for side in SIDES}
    return _best_start("two to one", counts, served, k, per_side(heads_in, "heads_in"), cycles)


def drilled(sides: str, holes: int) -> Bools:
    """Whether each rim hole serves the right flange, from a word such as "RLR" repeated round the rim.

    Raises
    ------
    InputError
        If the word holds other letters than R and L or does not go round evenly.
    """
    if not sides or set(sides) - {"R", "L"}:
        raise InputError("sides", f'found "{sides}"; write the letters R and L in rim-hole order, such as "RLR"')
    if holes % len(sides):
        text = f'found "{sides}", {len(sides)} letters, on a rim of {holes} holes'
        raise InputError("sides", f"{text}; it must go round the rim a whole number of times")
    return np.array([letter == "R" for letter in sides * (holes // len(sides))])


def _halves(holes: int, first_hole: str, phase: str) -> Counts:
    holes = count("holes", holes)
    one_of("first_hole", first_hole, SIDES)
    one_of("phase", phase, ("staggered", "aligned"))
    if holes < 6 or holes % 2:  # as parts.Rim: fewer are no bicycle wheel
        raise InputError("holes", f"found {holes}; the rim needs an even count of 6 or more, half for each flange")
    return Counts(holes, holes // 2, holes // 2, first_hole, phase)


def _counted(crosses: BySide) -> dict[str, int]:
    return {side: count(f"crosses.{side}", k) for side, k in per_side(crosses).items()}


def _check_both(crosses: dict[str, int], counts: Counts) -> None:
    for side, k in crosses.items():
        with under(f"crosses.{side}"):
            check_crosses(k, counts.of(side))


def _best_start(
    pattern: str,
    counts: Counts,
    is_right: Bools,
    crosses: dict[str, int],
    heads_in: dict[str, str],
    cycles: Mapping[str, Sequence[tuple[int, ...]]],
) -> Lacing:
    """Directions of a flange repeat a cycle; of the cycles allowed take those that open the valve most."""
    rim_hole, turn = np.arange(1, counts.rim + 1), own_turn(is_right)
    holes = np.where(is_right, counts.right, counts.left)
    first, second = (counts.first_hole, "left" if counts.first_hole == "right" else "right")

    def way(one: tuple[int, ...], other: tuple[int, ...]) -> Lacing:
        by_side = {first: np.array(one), second: np.array(other)}
        lean = np.empty(counts.rim, dtype=np.int64)
        for side, cycle in by_side.items():
            mask = is_right == (side == "right")
            lean[mask] = np.resize(cycle, int(mask.sum()))
        k = np.abs(lean) * np.where(is_right, crosses["right"], crosses["left"])
        hub_hole = (turn + lean * k - 1) % holes + 1
        head_in = heads(heads_in, is_right, lean)
        columns = {"lean": lean, "crosses": k, "head_in": head_in, "about_deg": lean * k * 360 / holes}
        return joined(pattern, counts, rim_hole, is_right, hub_hole, **columns)

    return widest_at_valve(way(one, other) for one, other in product(cycles[first], cycles[second]))
