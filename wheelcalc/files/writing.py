"""Writing into a build file: a key goes in, everything that stands there stays, comments too."""

from __future__ import annotations

import json
import re
import textwrap
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Any

from wheelcalc.wheel.errors import InputError

# Sections under which a key is written; the rest of a deeper key is written with its dots.
SECTIONS = (
    *("measuring", "rim", "rim.section", "hub", "hub.left", "hub.right", "lacing", "spokes", "nipple", "stock"),
    *("frame", "crank", "cogs", "spacers", "load", "tension", "clearance", "truing", "pluck", "geometry"),
    *("readings", "readings.rim", "readings.hub", "readings.hub.left", "readings.hub.right"),
    *("readings.crank", "readings.cogs", "old_wheel", "fitted", "old_rim"),
)
WIDTH = 110  # of a line with its comment
LONGEST_VALUE = 30  # lines that one value is looked for on; ours
COLUMN = 32  # where the comments stand

_HEADER = re.compile(r"^\s*\[(?P<name>[A-Za-z0-9_.\- ]+)\]\s*(#.*)?$")
_ANY_HEADER = re.compile(r"^\s*\[\[?[A-Za-z0-9_.\"' -]+\]?\]\s*(#.*)?$")


def insert(text: str, key: str, value: Any, comment: str = "") -> str:
    """Return a build file's text with one more key in it, in the section where it belongs.

    Parameters
    ----------
    text : TOML
    key : dotted, not yet in the text
    value : number, text, flag, list, or mapping; or a `Literal` that is written as it stands
    comment : one sentence, written behind the key or above it

    Raises
    ------
    InputError
        If no place can be found without changing what stands there.
    """
    wanted = _with(tomllib.loads(text), key, _plain(value))
    for candidate in _candidates(text, key, value, comment):
        try:
            if tomllib.loads(candidate) == wanted:
                return candidate
        except tomllib.TOMLDecodeError:
            continue
    raise InputError(
        key, f"cannot be put in without changing what stands there; write it yourself: {write_key(key, value)}"
    )


def replace(text: str, key: str, value: Any) -> str:
    """Return a build file's text with another value for a key that stands there; its comment stays.

    Parameters
    ----------
    text : TOML
    key : dotted, in the text
    value : as `insert` takes it

    Raises
    ------
    InputError
        If the value stands where it cannot be told from what is beside it.
    """
    wanted = _changed(tomllib.loads(text), key.split("."), _plain(value))
    lines = text.split("\n")
    for begin, end, line in _rewritten(lines, key, value):
        candidate = "\n".join([*lines[:begin], line, *lines[end:]])
        with suppress(tomllib.TOMLDecodeError):
            if tomllib.loads(candidate) == wanted:
                return candidate
    raise InputError(
        key, f"cannot be changed without touching what stands beside it; write it yourself: {write_key(key, value)}"
    )


def _changed(tree: dict[str, Any], names: list[str], value: Any) -> dict[str, Any]:
    name, *below = names
    return {**tree, name: _changed(tree[name], below, value) if below else value}


def _rewritten(lines: list[str], key: str, value: Any) -> Iterator[tuple[int, int, str]]:
    """Yield first line, line behind the last, and the line to put there; not all of them are right."""
    parts = key.split(".")
    tails = "|".join(re.escape(".".join(parts[depth:])) for depth in range(len(parts)))
    for number, line in enumerate(lines):
        begun = re.match(rf"\s*(?:{tails})\s*=\s*", line)
        if not begun:
            continue
        for end in range(number, min(number + LONGEST_VALUE, len(lines))):
            last = lines[end]
            comments = [last[match.start() :] for match in re.finditer(r"\s*#|\r?$", last)]
            for comment in comments:
                yield number, end + 1, f"{begun[0]}{_toml(value)}{comment}"


class Literal(str):
    """A number as the user typed it ("602.40"), to be written without quotes."""

    __slots__ = ()


def _plain(value: Any) -> Any:
    if isinstance(value, list):
        return [_plain(each) for each in value]
    if isinstance(value, dict):
        return {name: _plain(each) for name, each in value.items()}
    return tomllib.loads(f"value = {value}")["value"] if isinstance(value, Literal) else value


def write_key(key: str, value: Any) -> str:
    """Return one line of a build file, such as `spacers.fitted = { left = 2, right = 0 }`."""
    return f"{key} = {_toml(value)}"


def _toml(value: Any) -> str:
    if isinstance(value, Literal):
        return str(value)
    if isinstance(value, list):
        return "[" + ", ".join(_toml(each) for each in value) + "]"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_name(name)} = {_toml(each)}" for name, each in value.items()) + " }"
    return f"{value:g}" if isinstance(value, float) else json.dumps(value, ensure_ascii=False)


def _name(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z_][A-Za-z0-9_-]*", name) else f'"{name}"'


def _with(tree: dict[str, Any], key: str, value: Any, inside: str = "") -> dict[str, Any]:
    """Return a tree with one more value; refuse where one stands there."""
    name, _, rest = key.partition(".")
    below = tree.get(name, {})
    if (not rest and name in tree) or not isinstance(below, dict):
        raise InputError(f"{inside}{key}", "stands in the file already; change it there")
    return {**tree, name: _with(below, rest, value, f"{inside}{name}.") if rest else value}


def _candidates(text: str, key: str, value: Any, comment: str) -> Iterator[str]:
    """Return texts with the key put in, best place first; not all of them are right."""
    kept = text.split("\n")  # each with its own end, which stays
    if kept[-1] == "":
        kept.pop()
    lines = [line.removesuffix("\r") for line in kept]
    end = "\r" if sum(line.endswith("\r") for line in kept) * 2 > len(kept) else ""
    for number, written in _places(lines, key, value, comment):
        new = [line + end for line in written]
        yield "\n".join([*kept[:number], *new, *kept[number:]]) + "\n"
    for number, line in _inline(lines, key, value):
        own = "\r" if kept[number].endswith("\r") else ""
        yield "\n".join([*kept[:number], line + own, *kept[number + 1 :]]) + "\n"


def _places(lines: list[str], key: str, value: Any, comment: str) -> Iterator[tuple[int, list[str]]]:
    home = _home(key)
    if home:
        deep = home.count(".") + 1
        yield from _in_section(lines, key, value, comment, range(key.count("."), deep - 1, -1))
        written = [f"[{home}]", *commented(write_key(key.removeprefix(home + "."), value), comment)]
        yield _apart(lines, _after_kin(lines, home), written)
        yield len(lines), ["", *written]
        yield from _in_section(lines, key, value, comment, range(deep - 1, 0, -1))
    written = commented(write_key(key, value), comment)
    if (end := _end_of_block(lines, -1)) > 0:
        yield end, written
    yield _apart(lines, _first_header(lines), written)


def _apart(lines: list[str], number: int, written: list[str]) -> tuple[int, list[str]]:
    """Return a place with an empty line above and below it."""
    above = [""] if number and lines[number - 1].strip() else []
    below = [""] if number < len(lines) and lines[number].strip() else []
    return number, [*above, *written, *below]


def _in_section(lines: list[str], key: str, value: Any, comment: str, depths: range) -> Iterator[tuple[int, list[str]]]:
    """Places below the headers that stand there already: at the end of the section, else right behind its header."""
    parts = key.split(".")
    for depth in depths:
        for start in _headers(lines, ".".join(parts[:depth])):
            written = commented(write_key(".".join(parts[depth:]), value), comment)
            yield _end_of_block(lines, start), written
            yield start + 1, written


def _home(key: str) -> str:
    """Return the longest section that a key is written under, empty for a key of the top."""
    return max((name for name in SECTIONS if key.startswith(name + ".")), key=len, default="")


def _headers(lines: list[str], name: str) -> list[int]:
    headers = [(number, _HEADER.match(line)) for number, line in enumerate(lines)]
    return [number for number, match in headers if match and match["name"].replace(" ", "") == name]


def _end_of_block(lines: list[str], start: int) -> int:
    """Line after the last key of the section whose header is at `start` (-1: the keys of the top)."""
    last = start
    for number in range(start + 1, len(lines)):
        if _ANY_HEADER.match(lines[number]):
            break
        if lines[number].strip() and not lines[number].lstrip().startswith("#"):
            last = number
    return last + 1


def _first_header(lines: list[str]) -> int:
    """Line before the first header and the comment that belongs to it; the end where there is none."""
    number = next((n for n, line in enumerate(lines) if _ANY_HEADER.match(line)), len(lines))
    while 0 < number < len(lines) and lines[number - 1].startswith("#"):
        number -= 1
    return number


def _after_kin(lines: list[str], home: str) -> int:
    """Line after the last section of the same family ([rim.section] goes behind [rim]); else the end."""
    root = home.split(".", maxsplit=1)[0]
    names = [(n, match["name"].strip()) for n, line in enumerate(lines) if (match := _HEADER.match(line))]
    kin = [number for number, name in names if name == root or name.startswith(root + ".")]
    return _end_of_block(lines, kin[-1]) if kin else len(lines)


def _inline(lines: list[str], key: str, value: Any) -> Iterator[tuple[int, str]]:
    """Return lines such as `left = { holes = 18 }` with the key put in before their end."""
    parts = key.split(".")
    for depth in range(len(parts) - 1, 0, -1):
        begins = re.compile(rf"\s*(?:[\w.]+\.)?{re.escape(parts[depth - 1])}\s*=\s*\{{")
        for number, line in enumerate(lines):
            if begins.match(line) and "}" in line:
                inside, _, behind = line.rpartition("}")
                head = inside.rstrip()
                comma = "" if head.endswith("{") else ","
                yield number, f"{head}{comma} {write_key('.'.join(parts[depth:]), value)} }}{behind}"


def commented(line: str, comment: str) -> list[str]:
    """Return a line with its comment behind it, or above it where that would be too long."""
    if not comment:
        return [line]
    beside = f"{line.ljust(COLUMN - 1)} # {comment}"
    if len(beside) <= WIDTH:
        return [beside]
    return [*textwrap.wrap(comment, WIDTH, initial_indent="# ", subsequent_indent="# "), line]
