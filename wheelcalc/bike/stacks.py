"""Which spacers of the drawer, and which of those on the axle, make up a plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations

from wheelcalc.wheel.parts import SIDES

FINE = 10_000  # parts of a mm: sums of spacers are compared to 0.0001 mm, far finer than any is made
Pieces = tuple[float, ...]


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
    Every choice of what comes off is tried; then every share of each thickness between the sides, thickest first.
    """
    found = []
    for off in _taken_off(loose):
        pool = {round(size * FINE): count for size, count in on_hand.items()}
        for size in (*off[0], *off[1]):
            pool[round(size * FINE)] = pool.get(round(size * FINE), 0) + 1
        wanted = [round((plan + sum(pieces)) * FINE) for plan, pieces in zip((left, right), off, strict=True)]
        on = _fewest(tuple(sorted(pool.items(), reverse=True)), *wanted)
        if on is not None:
            found.append(Stacks(on, off))
    return min(found, key=lambda stacks: sum(map(len, (*stacks.on, *stacks.off))), default=None)


def _taken_off(loose: Mapping[str, Sequence[float]]) -> Iterator[tuple[Pieces, Pieces]]:
    """Return every choice of the loose spacers, left and right."""
    choices = []
    for side in SIDES:
        sizes = sorted(loose.get(side, ()), reverse=True)
        choices.append({pick for count in range(len(sizes) + 1) for pick in combinations(sizes, count)})
    return ((left, right) for left in choices[0] for right in choices[1])


def _fewest(pool: tuple[tuple[int, int], ...], left: int, right: int) -> tuple[Pieces, Pieces] | None:
    """Return the fewest pieces of (thickness, count) that make both sides exactly, in parts of a mm."""

    @cache
    def best(first: int, left: int, right: int) -> tuple[Pieces, Pieces] | None:
        if left == right == 0:
            return (), ()
        if first == len(pool) or min(left, right) < 0:
            return None
        size, count = pool[first]
        found = []
        for here in range(min(count, left // size), -1, -1):
            for there in range(min(count - here, right // size) + 1):
                rest = best(first + 1, left - here * size, right - there * size)
                if rest is not None:
                    piece = (size / FINE,)
                    found.append((piece * here + rest[0], piece * there + rest[1]))
        return min(found, key=lambda pair: len(pair[0]) + len(pair[1]), default=None)

    return best(0, left, right)
