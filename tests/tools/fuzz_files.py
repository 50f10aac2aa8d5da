"""Files for the fuzzers: build files, readings and recordings, by grammar and by mutation of the examples."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from tests.tools.fuzz_values import Draw, holes, toml, value_for
from wheelcalc.files.keys import keys, lists

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def examples(pattern: str) -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted(EXAMPLES.glob(pattern)))


@cache
def trees() -> tuple[str, ...]:
    builds = (tomllib.loads(text.decode()) for text in examples("*.toml"))
    return tuple(json.dumps(tree) for tree in builds if "rims" not in tree)  # a drawer is no build


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
        hole = lambda n: n // 2 + 1 if draw.gentle else draw.choice((n // 2 + 1, n // 2 + 1, holes(draw)))  # noqa: E731
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
    out: dict[str, Any] = json.loads(draw.choice(trees())) if draw.random() < 0.93 else {}
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
    out: dict[str, Any] = _nudged(json.loads(draw.choice(trees())), draw)
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
        lines.append(",".join([str(hole if draw.gentle or draw.random() < 0.99 else holes(draw)), *cells]))
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
