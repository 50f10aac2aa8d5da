"""The lists in [truing]: nipples that do not turn, readings that were doubted and are right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wheelcalc.wheel.errors import InputError

MOST_HOLES = 144  # C: no rim has more, see rim.holes
COLUMNS = ("lateral", "radial", "tension")
STUCK_EXAMPLE = "[10]"
KEEP_EXAMPLE = '[{ rim_hole = 11, column = "lateral" }]'


def stuck_holes(path: str, raw: Any) -> tuple[int, ...]:
    """Read `truing.stuck`: rim holes, each once.

    Raises
    ------
    InputError
        If it is no list of rim holes.
    """
    if not isinstance(raw, Sequence) or isinstance(raw, str) or not all(map(_is_hole, raw)) or len(set(raw)) < len(raw):
        raise InputError(path, f"is no list of rim holes, each once; write {STUCK_EXAMPLE}")
    return tuple(raw)


def kept_readings(path: str, raw: Any) -> tuple[dict[str, Any], ...]:
    """Read `truing.keep`: rim_hole and column (lateral, radial or tension).

    Raises
    ------
    InputError
        If an entry is not a rim hole and a column.
    """
    if not isinstance(raw, Sequence) or isinstance(raw, str):
        raise InputError(path, f"is not a list of tables; write {KEEP_EXAMPLE}")
    for entry in raw:
        if not isinstance(entry, Mapping) or set(entry) != {"rim_hole", "column"} or not _is_hole(entry["rim_hole"]):
            raise InputError(path, f"needs rim_hole and column in each table and nothing else; write {KEEP_EXAMPLE}")
        if entry["column"] not in COLUMNS:
            raise InputError(path, f"found a column that is none of {', '.join(COLUMNS)}; write {KEEP_EXAMPLE}")
    return tuple(dict(entry) for entry in raw)


def _is_hole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_HOLES
