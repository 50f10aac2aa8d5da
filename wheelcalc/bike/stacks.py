"""Which spacers of the drawer, and which of those on the axle, make up a plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from wheelcalc.wheel.parts import SIDES

FINE = 10_000  # parts of a mm: sums of spacers are compared to 0.0001 mm, far finer than any is made
Pieces: TypeAlias = tuple[float, ...]
Move: TypeAlias = tuple[int, float]  # side (0 left, 1 right), thickness put on; negative: taken off [mm]
Chain: TypeAlias = "tuple[tuple[Move, ...], Chain] | None"  # the moves of a way, last first
Ways: TypeAlias = dict[tuple[int, int], tuple[int, Chain]]  # left and right [parts of a mm] -> pieces moved, and how


@dataclass(frozen=True)
class Stacks:
    """Spacers of one plan, thickest first [mm].

    Parameters
    ----------
    on : left and right, those to put on
    off : left and right, those to take off first
    """

    on: tuple[Pieces, Pieces]
    off: tuple[Pieces, Pieces]

    def as_json(self) -> dict[str, dict[str, list[float]]]:
        """Return both by side."""
        return {
            what: {side: list(sizes) for side, sizes in zip(SIDES, pieces, strict=True)}
            for what, pieces in (("on", self.on), ("off", self.off))
        }


def made_of(
    left: float, right: float, on_hand: Mapping[float, int], loose: Mapping[str, Sequence[float]]
) -> Stacks | None:
    """Return the fewest spacers that make a plan up; None where they do not.

    Parameters
    ----------
    left, right : spacers of the plan; negative: taken off [mm]
    on_hand : thickness [mm] -> how many
    loose : spacers of each side that could come off; once off, one may go on again elsewhere [mm]

    Notes
    -----
    Piece by piece, those on the axle first, then the drawer's, thickest first: of all ways to one pair of sums only
    that of the fewest pieces is kept.
    """
    goal = (round(left * FINE), round(right * FINE))
    ways: Ways = {(0, 0): (0, None)}
    for own, side in enumerate(SIDES):
        for size in sorted(loose.get(side, ()), reverse=True):
            off, over = (own, -size), (1 - own, size)
            ways = _grown(ways, [(), (off,), (off, over)])
    for size, count in sorted(on_hand.items(), reverse=True):
        room = sum(goal) - min(map(sum, ways), default=sum(goal))
        for _ in range(min(count, max(room, 0) // round(size * FINE))):
            ways = _grown(ways, [((0, size),), ((1, size),), ()], goal)
    return _unfolded(ways[goal][1]) if goal in ways else None


def _grown(ways: Ways, choices: Sequence[tuple[Move, ...]], goal: tuple[int, int] | None = None) -> Ways:
    """Return the ways with one more piece used as one of the choices says; none of them past the goal."""
    grown: Ways = {}
    for sums, (count, chain) in ways.items():
        for moves in choices:
            made = list(sums)
            for side, size in moves:
                made[side] += round(size * FINE)
            if goal is not None and (made[0] > goal[0] or made[1] > goal[1]):
                continue
            key, more = (made[0], made[1]), count + len(moves)
            if key not in grown or more < grown[key][0]:
                grown[key] = (more, (moves, chain) if moves else chain)
    return grown


def _unfolded(chain: Chain) -> Stacks:
    """Return the moves of a way as stacks."""
    on: tuple[list[float], list[float]] = ([], [])
    off: tuple[list[float], list[float]] = ([], [])
    while chain is not None:
        moves, chain = chain
        for side, size in moves:
            (on if size > 0 else off)[side].append(abs(size))
    (on_left, on_right), (off_left, off_right) = (
        [tuple(sorted(pieces, reverse=True)) for pieces in both] for both in (on, off)
    )
    return Stacks((on_left, on_right), (off_left, off_right))
