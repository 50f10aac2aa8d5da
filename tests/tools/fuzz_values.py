"""Values for every kind of key, sensible and strange, drawn from a `random.Random`; and their text in TOML."""

from __future__ import annotations

import datetime
import json
import math
import random
from collections.abc import Callable
from typing import Any

from wheelcalc.build.section import Key


class Draw(random.Random):
    """Where a case comes from: its numbers, and whether it keeps to what a careful user may write."""

    gentle = False


class Chosen(Draw):
    """Draws from bytes that somebody else chose, and evenly once they are used up."""

    def __init__(self, data: bytes) -> None:
        super().__init__(0)
        self._left = memoryview(data)

    def _take(self, count: int) -> int | None:
        if len(self._left) < count:
            return None
        taken, self._left = self._left[:count], self._left[count:]
        return int.from_bytes(taken, "little")

    def random(self) -> float:
        taken = self._take(2)
        return super().random() if taken is None else taken / 65536

    def getrandbits(self, k: int) -> int:
        taken = self._take((k + 7) // 8)
        return super().getrandbits(k) if taken is None else taken & ((1 << k) - 1)


STRANGE_TEXTS = (
    *(
        "",
        " ",
        "nan",
        "nan mm",
        "inf",
        "-inf mm",
        "1e400 mm",
        "9**9**9 mm",
        "1,5 mm",
        "1 000 mm",
        "0x10 mm",
        "1_000 mm",
    ),
    *("5 1/2 in", "5 1/0 in", "1/3 in", '22 "', "602.4 +- 0.5 mm", "602.4 +- mm", "602.4 +- -1 mm", "602 +- nan mm"),
    *("-0 mm", "2.5 mm left", "2.5 mm right", "left", "120 kgf", "120 kg", "85 kg", "14 lb", "1e308 N", "1e-320 mm"),
    *("\u0663 mm", "6\u00bd in", "602\u00a0mm", "602 \u00b5m", "mm", "mm 602", "602mm", "602 mm mm", "602 furlong"),
    *("\x00", "\x1b[31m", "a\nb", "\u200f", "\U0001f6b2", "\ud7ff", "x" * 300, "9" * 400, "%s %d {}", "../..", "true"),
    *("2.0/1.8/2.0", "2.3/2.0", "2.0/", "/", "2.0/1.8/2.0/1.5", "RLR", "R" * 40, "1e3", "+5", "--5", "5-", "none"),
)
STRANGE_NUMBERS = (
    *(0, -0.0, 1, -1, 2, 3, 7, 1e-9, -1e-9, 1e-320, 1e9, 1e15, 1e308, -1e308, 2**31, 2**63 - 1, 10**30, 0.1 + 0.2),
    *(math.inf, -math.inf, math.nan),
)
STRANGE = (
    *STRANGE_TEXTS,
    *STRANGE_NUMBERS,
    *(True, False, [], {}, [[]], [{}], [1, "a"], {"left": 1}, {"middle": 1}, {"left": 1, "right": {}}, [0] * 1200),
    *(datetime.date(2020, 2, 29), datetime.time(12, 0), {"1": 1}, {"a": "b"}, [math.nan, 1.0], [1e308, 1e308]),
)
UNITS = {
    "length": ("mm", "mm", "mm", "cm", "in"),
    "force": ("N", "N", "kgf", "lbf"),
    "mass": ("g", "kg", "lb"),
    "angle": ("degrees",),
    "stress": ("N/mm2", "GPa"),
    "area": ("mm2",),
    "inertia": ("mm4",),
    "stiffness": ("N m2", "Nm2"),
}
IN_BASE = {
    "mm": 1,
    "cm": 10,
    "in": 25.4,
    "N": 1,
    "kgf": 9.80665,
    "lbf": 4.448,
    "g": 1,
    "kg": 1000,
    "lb": 453.6,
    "GPa": 1000,
}


def strange(draw: Draw) -> Any:
    return draw.choice(STRANGE)


def _inside(draw: Draw, key: Key) -> float:
    low = -1e3 if key.low is None else key.low
    high = 1e3 if key.high is None else key.high
    if key.default and isinstance(key.default, float | int) and draw.random() < 0.5:
        return min(max(key.default * draw.uniform(0.3, 2), low), high)
    if draw.random() < 0.15:
        return draw.choice(
            (low, high, math.nextafter(low, math.inf), math.nextafter(high, -math.inf), (low + high) / 2)
        )
    if not draw.gentle and draw.random() < 0.15:
        return draw.choice((low - 1e-6, high + 1e-6, low - 1, high + 1, high * 10, 0.0))
    if low > 0 and draw.random() < 0.5:
        return math.exp(draw.uniform(math.log(low), math.log(high)))
    return draw.uniform(low, high)


def _measure(draw: Draw, key: Key) -> Any:
    value = round(_inside(draw, key), draw.randint(0, 4)) if draw.random() < 0.8 else _inside(draw, key)
    form = draw.random()
    if form < 0.12 and key.kind in UNITS:
        return [round(value + draw.gauss(0, 0.2), 2) for _ in range(draw.randint(1, 5))]
    if (form < 0.5 or key.with_unit) and key.kind in UNITS:
        unit = draw.choice(UNITS[key.kind])
        sigma = draw.choice(("", "", "", " +- 0.3", " +- 0", " +- 40"))
        side = draw.choice((" left", " right")) if key.sided and draw.random() < 0.5 else ""
        return f"{value / IN_BASE.get(unit, 1):g}{sigma} {unit}{side}"
    return value


def _lengths(draw: Draw, key: Key) -> Any:
    many = [round(_inside(draw, key), 1) for _ in range(draw.choice((0, 1, 2, 3, 8)))]
    return many if draw.random() < 0.7 or not many else many[0]


def _stock(draw: Draw, key: Key) -> Any:
    around = 290 if (key.high or 0) > 100 or key.high is None else 2
    return {
        f"{around + draw.choice((-12, -4, -2, -1, 0, 0.5, 1, 2, 3, 9))}": draw.choice(
            (0, 1, 5, 18, 20, 10_000, 10_001, -1)
        )
        for _ in range(draw.randint(0, 12))
    }


def _wire(draw: Draw, key: Key) -> Any:
    each = lambda: draw.choice(("2.0", "1.8", "2.34", "1.5", "1.6", "2", "0.9", "3.3", "14 g", "0"))  # noqa: E731
    return "/".join(each() for _ in range(draw.choice((1, 1, 2, 3, 3, 4))))


def holes(draw: Draw) -> int:
    return draw.choice((0, 1, 2, 3, 7, 9, 14, 18, 20, 28, 32, 36, 37, 48, 144, -1, 10**9))


def _table(draw: Draw, key: Key) -> Any:
    rows = draw.choice((0, 1, 2, 5, 8, 16, 36))
    if draw.random() < 0.5:
        return [[draw.choice((n + 1, holes(draw))), round(draw.uniform(-1, 3), 2)] for n in range(rows)]
    side = draw.choice(("left", "right", "alternate"))
    both = ("left", "right")
    return [
        [
            n + 1,
            both[n % 2] if side == "alternate" else side,
            draw.choice((n // 2 + 1, holes(draw))),
            draw.choice(("in", "out")),
        ]
        for n in range(rows)
    ]


def _known(draw: Draw, key: Key) -> Any:
    return [
        {"rim_hole": holes(draw), "tension": draw.choice(("980 N", "0 N", 900, "90 kgf", "-1 N"))}
        for _ in range(draw.randint(0, 3))
    ]


def _loosened(draw: Draw, key: Key) -> Any:
    turns = draw.choice(([0, 0.5, 1], [0, 1], [0], [], [1, 0.5, 0], [0, 0, 0], [0, 0.25, 0.5, 0.75]))
    pitches = draw.choice(([388, 352, 311], [388, 352], [388], [0, 0, 0], [311, 352, 388], [388, 388, 388]))
    return [{"rim_hole": holes(draw), "turns": turns, "pitch_hz": pitches} for _ in range(draw.randint(0, 2))]


def _holes(draw: Draw, key: Key) -> Any:
    return [holes(draw) for _ in range(draw.randint(0, 3))]


def _kept(draw: Draw, key: Key) -> Any:
    columns = ("lateral", "radial", "tension", "dish", "")
    return [{"rim_hole": holes(draw), "column": draw.choice(columns)} for _ in range(draw.randint(0, 3))]


def _pairs(draw: Draw, key: Key) -> Any:
    each = lambda: [draw.choice((0.5, 1, 2.5, 2.5, 0, 41)) for _ in range(draw.randint(0, 6))]  # noqa: E731
    return {side: each() for side in draw.choice((("left", "right"), ("left",), ("right",), ()))}


KINDS: dict[str, Callable[[Draw, Key], Any]] = {
    **dict.fromkeys(
        ("length", "force", "mass", "angle", "stress", "area", "inertia", "stiffness", "number", "give"), _measure
    ),
    "count": lambda draw, key: int(_inside(draw, key)),
    "flag": lambda draw, key: draw.random() < 0.5,
    "text": lambda draw, key: (
        draw.choice(key.choices) if key.choices else draw.choice(("black", "R\u00fcckrad \u00d8", "small"))
    ),
    "wire": _wire,
    "stock": _stock,
    "lengths": _lengths,
    "pairs": _pairs,
    "table": _table,
    "known": _known,
    "loosened": _loosened,
    "holes": _holes,
    "kept": _kept,
}


def value_for(draw: Draw, key: Key, oddness: float) -> Any:
    """A value for a key: mostly of its kind, sometimes anything."""
    if draw.random() < oddness and not draw.gentle:
        return strange(draw)
    one = KINDS[key.kind](draw, key)
    if not key.per_side or draw.random() < 0.5:
        return one
    sides = {"left": one, "right": KINDS[key.kind](draw, key)}
    if draw.random() < 0.1:
        del sides[draw.choice(("left", "right"))]
    return sides


def toml(tree: dict[str, Any]) -> str:
    """Any tree of plain values as TOML, each top key on one line: sections as tables in braces."""
    return "".join(f"{_quoted(name)} = {value_in_toml(value)}\n" for name, value in tree.items())


def _quoted(text: str) -> str:
    return json.dumps(text).replace("\x7f", "\\u007f")


def value_in_toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_quoted(name)} = {value_in_toml(each)}" for name, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(value_in_toml, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False) if value.isprintable() else _quoted(value)
    if isinstance(value, bool):
        return str(value).lower()
    return value.isoformat() if isinstance(value, datetime.date | datetime.time) else repr(value)
