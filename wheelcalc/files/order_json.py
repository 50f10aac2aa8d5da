"""An order that was kept: the JSON of `wheelcalc order`."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wheelcalc.files.bytes import bytes_of
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

LARGEST_FILE = 1_000_000  # bytes; ours: an order has a few thousand
SCHEMA = "wheelcalc/order/"
MOST = 1000  # ours: more spokes than this of one length are a slip


@dataclass(frozen=True)
class BoughtLine:
    """Spokes of one length that were bought for a side, spares besides."""

    side: str
    length: float
    count: int
    spares: int


def read_order(path: str | Path) -> list[BoughtLine]:
    """Read the lines of an order.

    Raises
    ------
    InputError
        If the file is not the JSON that `order` prints.
    """
    name = str(path).encode(errors="replace").decode()
    try:
        data = bytes_of(path, LARGEST_FILE, "an order", " (`wheelcalc order BUILDFILE -o order.json` writes one)")
        if len(data) > LARGEST_FILE:
            raise InputError("", "is larger than 1 MB; an order has a few thousand characters")
        tree = json.loads(data)
    except InputError as error:
        raise error.in_file(name) from None
    except (ValueError, RecursionError):
        raise InputError("bought", "is not JSON; `wheelcalc order BUILDFILE -o order.json` writes one", name) from None
    if not isinstance(tree, Mapping) or not str(tree.get("schema", "")).startswith(SCHEMA):
        raise InputError(
            "bought", f"has no schema {SCHEMA}...; `wheelcalc order BUILDFILE -o order.json` writes one", name
        )
    lines = tree.get("lines")
    if not isinstance(lines, list) or not lines:
        raise InputError("lines", "is missing or empty; an order has one for each side at least", name)
    return [_line(each, number, name) for number, each in enumerate(lines, start=1)]


def _line(row: Any, number: int, name: str) -> BoughtLine:
    if not isinstance(row, Mapping):
        raise InputError("lines", f"found no table as line {number}", name)
    side, length = row.get("side"), row.get("length_mm")
    count, spares = row.get("count"), row.get("spares", 0)
    if side not in SIDES:
        raise InputError("lines.side", f"found {side!r} in line {number}; left or right", name)
    if not isinstance(length, int | float) or isinstance(length, bool) or not 0 < length < MOST:
        raise InputError("lines.length_mm", f"found {length!r} in line {number}; a length in mm", name)
    if any(not isinstance(each, int) or isinstance(each, bool) or not 0 <= each <= MOST for each in (count, spares)):
        raise InputError("lines.count", f"found {count!r} and {spares!r} spares in line {number}; whole numbers", name)
    return BoughtLine(str(side), float(length), int(count), int(spares))  # type: ignore[arg-type]
