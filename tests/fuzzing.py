"""Inputs for every command, by grammar and by mutation, and the one place that says what must hold for any of them.

A case is made from a `random.Random` alone, so that a seed brings it back. `tests/benchmarks/fuzz.py` makes many,
`tests/benchmarks/fuzz_coverage.py` lets a coverage-guided fuzzer choose.
"""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import math
import os
import random
import resource
import signal
import sys
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from wheelcalc.cli import main
from wheelcalc.files.buildfile import raw_values
from wheelcalc.files.keys import keys, lists
from wheelcalc.files.kinds import Key

EXAMPLES = Path(__file__).parent.parent / "examples"
SECONDS = 2.0
MEGABYTES = 500
COLUMNS = 80


@dataclass(frozen=True)
class Case:
    """One call: the arguments, the files that lie in its folder, and standard input."""

    arguments: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)
    stdin: bytes = b""


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


class Hang(BaseException):
    """A call took longer than it may; no `Exception`, so that nothing in between catches it."""


class BrokenError(AssertionError):
    """A call broke what must hold for any input."""


# --- values ---------------------------------------------------------------------------------------------------------

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


def _holes(draw: Draw) -> int:
    return draw.choice((0, 1, 2, 3, 7, 9, 14, 18, 20, 28, 32, 36, 37, 48, 144, -1, 10**9))


def _table(draw: Draw, key: Key) -> Any:
    rows = draw.choice((0, 1, 2, 5, 8, 16, 36))
    if draw.random() < 0.5:
        return [[draw.choice((n + 1, _holes(draw))), round(draw.uniform(-1, 3), 2)] for n in range(rows)]
    side = draw.choice(("left", "right", "alternate"))
    both = ("left", "right")
    return [
        [
            n + 1,
            both[n % 2] if side == "alternate" else side,
            draw.choice((n // 2 + 1, _holes(draw))),
            draw.choice(("in", "out")),
        ]
        for n in range(rows)
    ]


def _known(draw: Draw, key: Key) -> Any:
    return [
        {"rim_hole": _holes(draw), "tension": draw.choice(("980 N", "0 N", 900, "90 kgf", "-1 N"))}
        for _ in range(draw.randint(0, 3))
    ]


def _loosened(draw: Draw, key: Key) -> Any:
    turns = draw.choice(([0, 0.5, 1], [0, 1], [0], [], [1, 0.5, 0], [0, 0, 0], [0, 0.25, 0.5, 0.75]))
    pitches = draw.choice(([388, 352, 311], [388, 352], [388], [0, 0, 0], [311, 352, 388], [388, 388, 388]))
    return [{"rim_hole": _holes(draw), "turns": turns, "pitch_hz": pitches} for _ in range(draw.randint(0, 2))]


def _pairs(draw: Draw, key: Key) -> Any:
    each = lambda: [draw.choice((0.5, 1, 2.5, 2.5, 0, 41)) for _ in range(draw.randint(0, 6))]  # noqa: E731
    return {side: each() for side in draw.choice((("left", "right"), ("left",), ("right",), ()))}


KINDS: dict[str, Callable[[Draw, Key], Any]] = {
    **dict.fromkeys(("length", "force", "mass", "angle", "stress", "area", "inertia", "number"), _measure),
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


# --- build files ----------------------------------------------------------------------------------------------------


def toml(tree: dict[str, Any]) -> str:
    """Any tree of plain values as TOML, each top key on one line: sections as tables in braces."""
    return "".join(f"{_quoted(name)} = {_toml(value)}\n" for name, value in tree.items())


def _quoted(text: str) -> str:
    return json.dumps(text).replace("\x7f", "\\u007f")


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_quoted(name)} = {_toml(each)}" for name, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False) if value.isprintable() else _quoted(value)
    if isinstance(value, bool):
        return str(value).lower()
    return value.isoformat() if isinstance(value, datetime.date | datetime.time) else repr(value)


@cache
def examples(pattern: str) -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted(EXAMPLES.glob(pattern)))


@cache
def _trees() -> tuple[str, ...]:
    return tuple(json.dumps(tomllib.loads(text.decode())) for text in examples("*.toml"))


def _put(tree: dict[str, Any], path: str, value: Any) -> None:
    *sections, name = path.split(".")
    for section in sections:
        below = tree.setdefault(section, {})
        if not isinstance(below, dict):
            return
        tree = below
    tree[name] = value


def _drop(tree: dict[str, Any], draw: Draw) -> None:
    while tree:
        name = draw.choice(list(tree))
        if isinstance(tree[name], dict) and tree[name] and draw.random() < 0.85:
            tree = tree[name]
        else:
            del tree[name]
            return


def _another_wheel(tree: dict[str, Any], draw: Draw) -> None:
    """Other counts and another pattern that may well go together."""
    left = draw.choice((3, 4, 6, 8, 10, 12, 14, 16, 18, 18, 20, 24, 36, 72))
    right = draw.choice((left, left, left, 2 * left, left + 1, max(3, left // 2)))
    rim = left + right + (0 if draw.gentle else draw.choice((0, 0, 0, 0, 4, -4, 1)))
    even = ("crossed", "crossed", "radial", "crow's foot", "listed")
    double = ("two to one", "uneven counts") if right == 2 * left else ("uneven counts",)
    fitting = even if left == right else double
    pattern = draw.choice(fitting if draw.gentle else (*even, *double))
    crosses: Any = draw.choice((0, 1, 2, 3, 4, 5, {"left": 0, "right": 3}, {"left": 2, "right": 3}))
    for path, value in {
        "rim.holes": rim,
        "hub.left.holes": left,
        "hub.right.holes": right,
        "lacing.pattern": pattern,
        "lacing.crosses": crosses,
        "lacing.heads_in": draw.choice(
            ("leading", "trailing", "all", "none", "alternate", {"left": "all", "right": "none"})
        ),
        "hub.phase": draw.choice(("staggered", "aligned")),
        "rim.first_hole": draw.choice(("left", "right")),
        "rim.erd": draw.uniform(250, 640),
    }.items():
        if draw.gentle or draw.random() < 0.8:
            _put(tree, path, value)
    if pattern == "listed" and draw.random() < 0.7:
        hole = lambda n: n // 2 + 1 if draw.gentle else draw.choice((n // 2 + 1, n // 2 + 1, _holes(draw)))  # noqa: E731
        _put(
            tree,
            "lacing.spokes",
            [[n + 1, ("left", "right")[n % 2], hole(n), ("in", "out")[n // 2 % 2]] for n in range(max(rim, 0))],
        )


def _nudged(value: Any, draw: Draw, path: str = "") -> Any:
    """A tree with some of its numbers moved a little, or a lot."""
    if isinstance(value, dict):
        return {name: _nudged(each, draw, f"{path}.{name}") for name, each in value.items()}
    if isinstance(value, list) and draw.random() < 0.5:
        return [_nudged(each, draw, path) for each in value]
    if (
        isinstance(value, float | int)
        and not isinstance(value, bool)
        and not path.endswith("holes")
        and draw.random() < 0.1
    ):
        moved = value * draw.choice(
            (*3 * (draw.gauss(1, 0.01), draw.uniform(0.7, 1.4), 1), 0 if draw.random() < 0.5 else -1)
        ) + draw.choice((0, 0, draw.gauss(0, 1)))
        return round(moved) if isinstance(value, int) and draw.random() < 0.8 else round(moved, 3)
    return value


def tree(draw: Draw) -> dict[str, Any]:
    """A build file as a tree: an example or next to nothing, some keys put in, changed or taken out."""
    if draw.gentle:
        return _gentle_tree(draw)
    out: dict[str, Any] = json.loads(draw.choice(_trees())) if draw.random() < 0.93 else {}
    if draw.random() < 0.25:
        _another_wheel(out, draw)
    oddness = draw.choice((0.0, 0.0, 0.0, 0.05, 0.5))
    for _ in range(draw.choice((0, 1, 1, 2, 3, 5, 12, 60 if draw.random() < 0.1 else 2))):
        name = draw.choice(list(keys()))
        _put(out, name, value_for(draw, keys()[name], oddness))
    for _ in range(draw.choice((0, 0, 0, 0, 1, 1, 2))):
        _drop(out, draw)
    if draw.random() < 0.1:
        section = draw.choice(list(lists()))
        entries = [
            {
                name: value_for(draw, key, oddness)
                for name, key in draw.sample(list(lists()[section].items()), 3)
                if "." not in name
            }
            for _ in range(draw.randint(0, 3))
        ]
        _put(out, section, entries)
    return out


def _gentle_tree(draw: Draw) -> dict[str, Any]:
    out: dict[str, Any] = _nudged(json.loads(draw.choice(_trees())), draw)
    if draw.random() < 0.35:
        _another_wheel(out, draw)
    for _ in range(draw.choice((0, 0, 1, 1, 2, 3))):
        section = draw.choice(sorted({name.partition(".")[0] for name in keys()}))
        name = draw.choice([name for name in keys() if name.partition(".")[0] == section])
        _put(out, name, value_for(draw, keys()[name], 0.0))
    return out


def _cut(draw: Draw, data: bytes) -> tuple[int, int]:
    start = draw.randint(0, len(data))
    return start, min(len(data), start + draw.choice((1, 1, 2, 5, 20, 100)))


def mutated(draw: Draw, data: bytes, words: tuple[bytes, ...]) -> bytes:
    """Bytes with a few places changed: bits, pieces taken out, doubled, moved, words put in, the end cut off."""
    for _ in range(draw.choice((1, 1, 2, 4, 10))):
        start, stop = _cut(draw, data)
        piece = data[start:stop]
        kind = draw.randrange(6)
        if kind == 0:
            piece = bytes(byte ^ (1 << draw.randrange(8)) for byte in piece[:1]) + piece[1:]
        elif kind == 1:
            piece = b""
        elif kind == 2:
            piece *= draw.choice((2, 2, 50))
        elif kind == 3:
            piece = draw.choice(words)
        elif kind == 4:
            other, end = _cut(draw, data)
            piece += data[other:end]
        elif draw.random() < 0.2:
            return data[:start]
        data = data[:start] + piece + data[stop:]
    return data


TOML_WORDS = (
    *(b"\n", b"=", b'"', b"'''", b'"""', b"[", b"]", b"[[", b"{", b"}", b".", b",", b"#", b"\\", b"\r", b"\t", b"\x00"),
    *(
        b"nan",
        b"inf",
        b"-",
        b"1e999",
        b"9" * 5000,
        b"[" * 2000,
        b"true",
        b"left",
        b"\xff\xfe",
        b"\xef\xbb\xbf",
        b"1979-05-27",
    ),
    *(b"\xe2\x80\xaf", b"\xc3\xa9", b"rim.erd = 1\n", b"[rim]\n", b"[[jar.rims]]\n", b"mm", b"+-", b"/"),
)


def build_file(draw: Draw) -> bytes:
    """A build file: mostly from a tree, sometimes an example's text with bytes changed."""
    if not draw.gentle and draw.random() < 0.2:
        return mutated(draw, draw.choice(examples("*.toml")), TOML_WORDS)
    text = toml(tree(draw))
    if not draw.gentle and draw.random() < 0.03:
        return mutated(draw, text.encode(errors="replace"), TOML_WORDS)
    return text.encode(errors="replace")


# --- readings and recordings ----------------------------------------------------------------------------------------

CSV_WORDS = (
    *(b",", b"\n", b'"', b";", b"\r\n", b"nan", b"inf", b"1e400", b"-", b"-0", b"\x00", b"\xff", b"\xef\xbb\xbf", b" "),
    *(b"0", b"37", b"1", b"99999999", b"tension_N", b"pitch_hz", b"rim_hole", b"x" * 2000, b"1,2,3,4,5,6", b"\t", b"="),
)


def readings(draw: Draw) -> bytes:
    """A readings file."""
    if draw.gentle and draw.random() < 0.3:
        return draw.choice(examples("*.csv"))
    if draw.random() < (0.1 if draw.gentle else 0.5):
        return mutated(draw, draw.choice(examples("*.csv")), CSV_WORDS)
    columns = draw.sample(("lateral_mm", "radial_mm", "tension_N", "pitch_hz", "note"), draw.randint(0, 4))
    count = draw.choice((0, 1, 5, 18, 32, 36, 36, 36, 36, 144, 2000))
    if draw.gentle:
        columns = ["lateral_mm", "radial_mm", *draw.choice(((), ("tension_N",), ("pitch_hz",)))]
        count = draw.choice((36, 36, 36, 18, 24))
    size = {"lateral_mm": 0.5, "radial_mm": 0.4, "tension_N": 1000, "pitch_hz": 400, "note": 1}
    scale = draw.choice((1, 1, 1, 1, 0, 30, 1e6, 1e300))
    lines = [",".join(["rim_hole", *columns])]
    for hole in range(1, count + 1):
        cells = [
            f"{scale * size[c] * (draw.gauss(0, 1) if size[c] < 1 else draw.uniform(0, 1.3)):.3g}" for c in columns
        ]
        if not draw.gentle and draw.random() < 0.05:
            cells = [draw.choice(("", "nan", "0", "-5", "1,5", "x", "1e999")) for _ in cells]
        lines.append(",".join([str(hole if draw.gentle or draw.random() < 0.99 else _holes(draw)), *cells]))
    return ("\n".join(lines) + "\n").encode()


@cache
def _short_recording() -> bytes:
    """The first second and a half of the example's recording, with its head made to fit."""
    data = examples("*.wav")[0][: 44 + 2 * 66_150]
    size = len(data) - 44
    return data[:4] + (size + 36).to_bytes(4, "little") + data[8:40] + size.to_bytes(4, "little") + data[44:]


WAV_WORDS = (
    *(b"RIFF", b"WAVE", b"fmt ", b"data", b"LIST", b"\x00" * 4, b"\xff" * 4, b"\x01\x00", b"\x03\x00", b"\xfe\xff"),
    *(
        b"\xff\xff\xff\x7f",
        b"\x00\x00\x00\x80",
        b"\x18\x00",
        b"\x20\x00",
        b"\x40\x00",
        b"\x00" * 40_000,
        b"\x7f" * 9_000,
    ),
)


def recording(draw: Draw) -> bytes:
    """A recording: a short one, its head or its sound changed."""
    data = _short_recording()
    if draw.gentle and draw.random() < 0.2:
        return examples("*.wav")[0]
    if draw.random() < 0.5:
        return mutated(draw, data[:64], WAV_WORDS) + data[64 : 64 + draw.choice((0, 1, 1000, 60_000, 132_000))]
    return mutated(draw, data, WAV_WORDS)


# --- calls ----------------------------------------------------------------------------------------------------------

HOLES = (
    "1",
    "3,9",
    "1,2",
    "36",
    "37",
    "0",
    "-3",
    "x",
    "",
    ",",
    "1,1",
    "1-5",
    "1e3",
    "\u0663",
    "9" * 30,
    "1, 2 ,3",
    "nan",
    "2.5",
)
SEEN = (
    "1-R4, 2-L9",
    "1-R4",
    "1-L4",
    "",
    ",",
    "1-R",
    "R4-1",
    "1-R4, 1-R5",
    "99-R99",
    "1-R4 2-L9 3-R1",
    "0-L0",
    "1-r4",
    "--",
    "x" * 200,
)
SUFFIXES = (".txt", ".json", ".csv", ".svg", ".html", ".toml", ".xyz", "")
OWN_OPTIONS: dict[str, tuple[tuple[str, ...], ...]] = {
    "lengths": (("--working",),),
    "order": (("--working",),),
    "fit": (("--working",),),
    "tension": (("--working",), ("--structure",)),
    "lace": (("--seen", "SEEN"),),
    "true": (("--broken", "HOLES"), ("--own-plane",)),
    "pluck": (("--from", "HOLES"), ("--side", "SIDE"), ("--skip", "HOLES"), ("--before", "old.csv")),
    "sheet": (("--only", "SECTIONS"), ("--without", "SECTIONS"), ("--paper", "PAPER")),
    "measure": (("--how", "KEY"),),
    "tables": (("--find", "WORDS"), ("--sources",)),
}
SECTIONS = (
    "order",
    "lace",
    "fit",
    "tension",
    "measure,order",
    "nothing",
    "",
    ",",
    "gate",
    "record",
    "labels",
    "ride",
    "ORDER",
    "true",
)
WEIGHTS = {"sheet": 0.5, "pluck": 0.25, "salvage": 0.7, "tables": 0.3, "start": 0.6, "measure": 0.7}


def _filled(draw: Draw, word: str) -> str:
    choices: dict[str, Callable[[], str]] = {
        "SEEN": lambda: draw.choice(SEEN),
        "HOLES": lambda: draw.choice(HOLES),
        "SIDE": lambda: draw.choice(("left", "right", "both", "middle", "")),
        "SECTIONS": lambda: draw.choice(SECTIONS),
        "PAPER": lambda: draw.choice(("any", "a4", "letter", "a5", "")),
        "KEY": lambda: draw.choice((*keys(), "rim", "", "rim.erdd", "x" * 300, "hub.left", "erd")),
        "WORDS": lambda: draw.choice(("622", "thread", "", "zzz", "%", "[", "road double", "\u00e9", "a " * 90)),
    }
    return choices[word]() if word in choices else word


def override(draw: Draw) -> str:
    """A value for --set."""
    if draw.random() < 0.1:
        return draw.choice(
            (
                "",
                "=",
                "rim.erd",
                "=5",
                "rim.erd=",
                "rim=5",
                "rim.erd=5=6",
                "rim.erd=[",
                "RIM.ERD=600",
                "a" * 500,
                "rim.erd='",
                "x=\n",
            )
        )
    name = draw.choice(list(keys()))
    if draw.random() < 0.1 and keys()[name].per_side:
        return f"{name}.{draw.choice(('left', 'right'))}={_toml(KINDS[keys()[name].kind](draw, keys()[name]))}"
    return f"{name}={_toml(value_for(draw, keys()[name], 0.15))}"


def _start(draw: Draw) -> Case:
    from wheelcalc.cli.start import command

    names = [
        name
        for option in command.params
        for name in option.opts
        if name.startswith("--") and name not in ("--help", "--output")
    ]
    by_option = {"--" + name.replace(".", "-").replace("_", "-"): key for name, key in keys().items()}
    arguments = []
    for name in draw.sample(names, draw.choice((0, 1, 3, 10, 30, len(names)))):
        key = by_option.get(name)
        value = value_for(draw, key, 0.1) if key else strange(draw)
        arguments += [name, value if isinstance(value, str) else _toml(value)]
    files = {}
    if draw.gentle:
        return Case(("start", "new.toml", *_clean(_answers(draw, by_option, names))), {}, b"")
    target = draw.choice(
        (["new.toml"], ["-o", "new.toml"], ["-o", "none/new.toml"], [], ["wheel.toml"], ["-o", "new.txt"])
    )
    if "wheel.toml" in target:
        files["wheel.toml"] = build_file(draw)
    stdin = draw.choice((b"", b"\n" * 60, b"36\n602\nx\n", b"\xff\n", b"?\n" * 5, b"-\n" * 80))
    return Case(("start", *target, *_clean(arguments)), files, stdin)


def _answers(draw: Draw, by_option: dict[str, Key], names: list[str]) -> list[str]:
    """Options as a user may answer: what an example holds, a few answers changed, and one or two left out."""
    held = raw_values(json.loads(draw.choice(_trees())))
    held |= {name.removesuffix(".left"): value for name, value in held.items() if name == "lacing.crosses.left"}
    held = {"--" + name.replace(".", "-").replace("_", "-"): value for name, value in held.items()}
    for name in draw.sample(sorted(by_option), 2):
        held[name] = value_for(draw, by_option[name], 0.0)
    out = []
    for name in names:
        if name in held and draw.random() < 0.99:
            value = held[name]
            out += [name, value if isinstance(value, str) else _toml(value).strip("[]{}")]
    return out


def _clean(arguments: list[str]) -> list[str]:
    return [argument.replace("\0", "") for argument in arguments]


def case(draw: Draw) -> Case:
    """A call of some command."""
    draw.gentle = draw.random() < 0.65
    names = list(main.COMMANDS)
    command = draw.choices(names, [WEIGHTS.get(name, 1.0) for name in names])[0]
    if command == "start":
        return _start(draw)
    files: dict[str, bytes] = {}
    arguments = [command]
    if command == "tables":
        if draw.random() < 0.8:
            arguments.append(
                draw.choice(
                    ("keys", "limits", "sources", "rims", "cranks", "", "nothing", "threads", "..", "limits.toml")
                )
            )
    elif not (command == "measure" and draw.random() < 0.3):
        arguments.append(
            "wheel.toml" if draw.gentle else draw.choices(("wheel.toml", "-", "none.toml", "."), (90, 5, 1, 1))[0]
        )
        files["wheel.toml"] = build_file(draw)
    if command == "compare" and draw.random() < 0.9:
        arguments.append("other.toml")
        files["other.toml"] = build_file(draw)
    if command == "true" and draw.gentle:
        files["readings.csv"] = readings(draw)
        arguments += draw.choice(
            (
                ["readings.csv"],
                ["readings.csv"],
                ["readings.csv", "--own-plane"],
                ["--broken", str(draw.randint(1, 18))],
            )
        )
    elif command == "true" and draw.random() < 0.75:
        arguments.append(draw.choices(("readings.csv", "none.csv", "-", "."), (90, 1, 1, 1))[0])
        files["readings.csv"] = readings(draw)
    if command == "pluck":
        arguments.append(draw.choices(("plucks.wav", "none.wav", "."), (90, 1, 1))[0])
        files["plucks.wav"] = recording(draw)
        files["old.csv"] = readings(draw)
    arguments += _options(draw, command, files)
    return Case(tuple(_clean(arguments)), files, files.get("wheel.toml", b""))


def _options(draw: Draw, command: str, files: dict[str, bytes]) -> list[str]:
    out: list[str] = []
    for option in OWN_OPTIONS.get(command, ()):
        if draw.gentle and command in ("true", "pluck", "sheet") and draw.random() < 0.8:
            continue
        if draw.random() < (0.5 if command == "tension" else 0.25):
            out += [_filled(draw, word) for word in option]
    if command != "tables":
        for _ in range(draw.choice((0, 0, 0, 0, 0, 0, 1) if draw.gentle else (0, 0, 0, 0, 1, 1, 2))):
            out += ["--set", override(draw)]
    if draw.random() < 0.3:
        out.append("--json")
    if draw.random() < 0.2:
        name = "out" + draw.choice(SUFFIXES[:5] if draw.gentle else SUFFIXES)
        out += ["-o", draw.choices((name, "none/" + name, "wheel.toml"), (90, 5, 5))[0]]
        if draw.random() < 0.2:
            files[name] = b"old"
        if draw.random() < 0.3:
            out.append("--force")
    if draw.random() < 0.01:
        out.append(draw.choice(("--nothing", "-x", "--help", "--version", "--json=1", "--", "")))
    return out


# --- what must hold -------------------------------------------------------------------------------------------------


def run(one: Case, folder: Path) -> tuple[int, str, str]:
    """Run a case in a folder and return status, output and errors; `Hang` after two seconds of our own work."""
    for name, data in one.files.items():
        (folder / name).write_bytes(data)
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="") for _ in range(2))
    before, streams = Path.cwd(), (sys.stdin, sys.stdout, sys.stderr)
    os.chdir(folder)
    sys.stdin, sys.stdout, sys.stderr = io.TextIOWrapper(io.BytesIO(one.stdin), encoding="utf-8"), out, err
    try:
        with _at_most(SECONDS):
            status = main.run(list(one.arguments))
    finally:
        sys.stdin, sys.stdout, sys.stderr = streams
        os.chdir(before)
    return status, _text(out), _text(err)


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    return stream.buffer.getvalue().decode()  # type: ignore[attr-defined]


@contextlib.contextmanager
def _at_most(seconds: float) -> Iterator[None]:
    """Raise `Hang` after some seconds of processor time (others may use the machine)."""

    def ring(signum: int, frame: object) -> None:
        raise Hang(f"more than {seconds} s")

    old = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, old)


def check(one: Case, folder: Path) -> int:
    """Run a case in an empty folder, check what must hold for every input, and return the status."""
    status, out, err = run(one, folder)
    if status not in (0, 1, 2):
        raise BrokenError(f"status {status}")
    changed = {path.name: path for path in folder.iterdir() if one.files.get(path.name) != path.read_bytes()}
    if status == main.UNUSABLE:
        _refused(out, err, changed)
    else:
        _computed(one, out, err, changed)
    return status


def memory() -> None:
    """Check what this process ever held; for a process that does nothing else."""
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if used > MEGABYTES:
        raise BrokenError(f"memory {used:.0f} MB")


def _refused(out: str, err: str, changed: dict[str, Path]) -> None:
    if out:
        raise BrokenError(f"output on a refusal: {out[:100]!r}")
    if not err.startswith("Error: ") or err.count("\n") != 1 or not err.endswith("\n") or len(err) > 1200:
        raise BrokenError(f"not one line of error: {err[:1500]!r}")
    if not err[:-1].isprintable():
        raise BrokenError(f"control characters in an error: {err!r}")
    if "output cannot be written" in err or err == "Error: \n":
        raise BrokenError(f"an error that says nothing of use: {err!r}")
    if changed:
        raise BrokenError(f"written on a refusal: {sorted(changed)}")


def _computed(one: Case, out: str, err: str, changed: dict[str, Path]) -> None:
    expected = {one.arguments[at + 1] for at, word in enumerate(one.arguments[:-1]) if word in ("-o", "--output")}
    if one.arguments[0] == "start":
        expected |= {"new.toml", "wheel.toml"}
    elif err and not err.startswith("Written: "):
        raise BrokenError(f"words on standard error: {err[:300]!r}")
    if not set(changed) <= expected:
        raise BrokenError(f"files that nobody asked for: {sorted(changed)}")
    for name, path in changed.items():
        if name.endswith((".json", ".txt")):
            _readable(path.read_text(encoding="utf-8"), name.endswith(".json"), one)
        elif "nan" in path.read_text(encoding="utf-8").lower().replace(",", " ").split():
            raise BrokenError(f"nan in {name}")
    if out:
        _readable(out, "--json" in one.arguments, one)


def _readable(text: str, as_json: bool, one: Case) -> None:
    if {"--help", "-h", "--version"} & set(one.arguments):
        return
    if as_json:
        json.loads(text, parse_constant=_no_constant)
        return
    if one.arguments[0] == "start":
        return
    wide = [line for line in text.splitlines() if len(line) > COLUMNS]
    if wide:
        raise BrokenError(f"wider than {COLUMNS} columns: {wide[0]!r}")
    given = b"".join((*one.files.values(), one.stdin, *(a.encode(errors="replace") for a in one.arguments)))
    foreign = {
        letter
        for letter in text
        if ord(letter) > 255 and letter.encode() not in given and f"\\u{ord(letter):04x}".encode() not in given
    }
    if foreign:
        raise BrokenError(f"not Latin-1: {foreign}")
    controls = {letter for letter in text if ord(letter) < 32 and letter not in "\n\t"}
    if controls:
        raise BrokenError(f"control characters: {controls}")
    for word in text.split():
        if (bare := word.strip("+-,.;:()%")) in ("nan", "inf", "NaN") and bare.encode() not in given:
            raise BrokenError(f"{word} in the output")


def _no_constant(name: str) -> float:
    raise BrokenError(f"{name} in JSON")
