"""The user's own table of spokes, checked row by row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import (
    LEADING,
    RADIAL,
    TRAILING,
    Counts,
    Lacing,
    crossings_in_order,
    gap_between,
    joined,
)
from wheelcalc.wheel.parts import SIDES

ROW = '[rim hole, "left" or "right", hub hole, "in" or "out"]'


@dataclass(frozen=True)
class _Row:
    rim_hole: int
    side: str
    hub_hole: int
    head: str


def listed(counts: Counts, rows: Sequence[Any], serves_right: Bools | None = None) -> Lacing:
    """Lace by a table: one row [rim hole, side, hub hole, where the head sits] for each spoke.

    Parameters
    ----------
    counts : holes of rim and flanges
    rows : the table, in any order
    serves_right : whether each rim hole serves the right flange, as the rim is drilled; None: as the table has it

    Raises
    ------
    InputError
        Naming the row that cannot be, or the hole that has no spoke.
    """
    if not isinstance(rows, Sequence) or isinstance(rows, str) or not rows:
        raise InputError("spokes", f"found no rows; write one row {ROW} for each spoke")
    read = [_row(number, row) for number, row in enumerate(rows, start=1)]
    for number, row in enumerate(read, start=1):
        _check_holes(number, row, counts)
        _check_flange(number, row, serves_right)
    _check_once(read)
    _check_all_served(read, counts, serves_right)
    read.sort(key=lambda row: row.rim_hole)
    return _joined(read, counts, serves_right)


def _row(number: int, row: Any) -> _Row:
    if not isinstance(row, Sequence) or isinstance(row, str) or len(row) != 4:
        raise _wrong(number, f"found {str(row)[:60]}; write {ROW}")
    rim_hole, side, hub_hole, head = row
    for value in (rim_hole, hub_hole):
        if isinstance(value, bool) or not isinstance(value, int):
            raise _wrong(number, f"found {str(value)[:40]!r} for a hole; write its number, {ROW}")
    if side not in SIDES:
        raise _wrong(number, f'found {str(side)[:40]!r} for the side; write "left" or "right"')
    if head not in ("in", "out"):
        raise _wrong(number, f'found {str(head)[:40]!r} for the head; write "in" or "out"')
    return _Row(rim_hole, side, hub_hole, head)


def _wrong(number: int, text: str) -> InputError:
    return InputError("spokes", f"row {number}: {text}")


def _check_holes(number: int, row: _Row, counts: Counts) -> None:
    if not 1 <= row.rim_hole <= counts.rim:
        raise _wrong(number, f"found rim hole {row.rim_hole}; the rim has holes 1 to {counts.rim}")
    if not 1 <= row.hub_hole <= counts.of(row.side):
        raise _wrong(
            number, f"found hub hole {row.hub_hole}; the {row.side} flange has holes 1 to {counts.of(row.side)}"
        )


def _check_flange(number: int, row: _Row, serves_right: Bools | None) -> None:
    if serves_right is None:
        return
    wanted = "right" if serves_right[row.rim_hole - 1] else "left"
    if row.side != wanted:
        text = f"rim hole {row.rim_hole} is joined to the {row.side} flange, but serves the {wanted}"
        raise _wrong(number, f"{text}; rim.first_hole or lacing.sides say how the rim is drilled")


def _check_once(rows: Sequence[_Row]) -> None:
    rim: dict[int, int] = {}
    hub: dict[tuple[str, int], int] = {}
    for number, row in enumerate(rows, start=1):
        if row.rim_hole in rim:
            raise _wrong(
                number, f"rim hole {row.rim_hole} is used already, in row {rim[row.rim_hole]}; each takes one spoke"
            )
        place = (row.side, row.hub_hole)
        if place in hub:
            text = f"{row.side} hub hole {row.hub_hole} is used already, in row {hub[place]}"
            raise _wrong(number, f"{text}; each takes one spoke")
        rim[row.rim_hole], hub[place] = number, number


def _check_all_served(rows: Sequence[_Row], counts: Counts, serves_right: Bools | None) -> None:
    """Every rim hole has a spoke, unless the flange that it serves has no hole left."""
    used = {side: sum(row.side == side for row in rows) for side in SIDES}
    spare = {side for side in SIDES if used[side] < counts.of(side)}
    free = sorted(set(range(1, counts.rim + 1)) - {row.rim_hole for row in rows})
    if serves_right is not None:
        free = [hole for hole in free if ("right" if serves_right[hole - 1] else "left") in spare]
    if not free or not spare:
        return
    others = f" (nor have {', '.join(map(str, free[1:6]))}{' ...' if free[6:] else ''})" if free[1:] else ""
    text = f"found {len(rows)} rows; rim hole {free[0]} has no spoke{others}, and the hub has holes left"
    raise InputError("spokes", f"{text}: add its row {ROW}")


def _joined(rows: Sequence[_Row], counts: Counts, serves_right: Bools | None) -> Lacing:
    is_right = np.array([row.side == "right" for row in rows])
    first = counts.first_hole if serves_right is not None else rows[0].side
    counts = Counts(counts.rim, counts.left, counts.right, first, counts.phase)
    if len(rows) == counts.rim and int(is_right.sum()) == counts.right and int((~is_right).sum()) == counts.left:
        gap = gap_between(is_right, counts)
        counts = Counts(counts.rim, counts.left, counts.right, first, counts.phase, gap)
    rim_hole = np.array([row.rim_hole for row in rows])
    hub_hole = np.array([row.hub_hole for row in rows])
    head_in = np.array([row.head == "in" for row in rows])
    none = np.zeros(len(rows), dtype=np.int64)
    plain = joined("listed", counts, rim_hole, is_right, hub_hole, lean=none, crosses=none, head_in=head_in)
    lean = _lean(plain.angle_deg, np.where(is_right, counts.right, counts.left))
    crosses = crossings_in_order(is_right, plain.rim_angle_deg, plain.angle_deg) * np.abs(lean)
    return joined("listed", counts, rim_hole, is_right, hub_hole, lean=lean, crosses=crosses, head_in=head_in)


def _lean(angle_deg: Floats, holes: Ints) -> Ints:
    """A spoke whose hub hole is the one nearest to its rim hole, at most half a pitch away, counts as radial."""
    straight = np.abs(angle_deg) <= 180 / holes + 1e-6
    return np.where(straight, RADIAL, np.where(angle_deg > 0, TRAILING, LEADING))
