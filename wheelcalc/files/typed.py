"""What a person types as an answer becomes the value that the build file holds."""

from __future__ import annotations

import re
from typing import Any

from wheelcalc.build.section import Key
from wheelcalc.files import values
from wheelcalc.files.words import meant
from wheelcalc.files.writing import Literal
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

LONGEST = 1000  # letters; ours: twenty readings, or all sizes of a drawer
_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")  # what TOML takes as it stands
_BETWEEN = re.compile(
    r"\s*;\s*|\s*,\s+|\s+and\s+"
)  # between repeats; a comma inside a number is the reader's to refuse
_BARE_REPEATS = re.compile(r"-?[0-9.]+(\s+-?[0-9.]+)+")
_SIDES = re.compile(r"left\s*[=:]?\s*(?P<left>.+?)\s*[,;]?\s+right\s*[=:]?\s*(?P<right>.+)", re.IGNORECASE)
_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def value_of(path: str, key: Key, text: str, tool: str = "rule") -> Any:
    """Return the value for the build file that a typed answer means.

    Parameters
    ----------
    path : the dotted key, for the message
    key : what it takes
    text : as typed: a number, a number with its unit, repeats between commas, yes or no, a word or its number in the
        list of choices, "left 2, right 3"
    tool : what bare readings were taken with

    Raises
    ------
    InputError
        If it cannot be used; the text says what would do.
    """
    text = text.strip()
    if len(text) > LONGEST:
        raise InputError(path, f"found {len(text)} letters; write the reading, the word or the list alone")
    text = re.sub(r"\s{2,}", "  ", text)
    sides = _SIDES.fullmatch(text) if key.per_side else None
    if sides:
        return {side: _single(path, key, sides[side], tool) for side in SIDES}
    return _single(path, key, text, tool)


def _single(path: str, key: Key, text: str, tool: str) -> Any:
    value = _shaped(path, key, text)
    for each in value if isinstance(value, list) and key.kind != "lengths" else [value]:
        values.read(path, key, _read(each), tool)
    values.read(path, key, [_read(each) for each in value] if isinstance(value, list) else _read(value), tool)
    return value


def _shaped(path: str, key: Key, text: str) -> Any:
    if key.kind == "flag":
        return _flag(path, text)
    if key.kind == "text":
        return _choice(path, key, text) if key.choices else text
    if key.kind == "stock":
        return _stock(path, text)
    if key.kind == "number" and not _NUMBER.fullmatch(text):
        raise InputError(path, f'found "{values.shown(text)}"; write a plain number')
    pieces = _pieces(text) if key.reading or key.raw or key.kind == "lengths" else [text]
    sizes = [piece if key.kind == "wire" else _number(piece) for piece in pieces]
    return sizes if len(sizes) > 1 else sizes[0]


def _pieces(text: str) -> list[str]:
    if _BARE_REPEATS.fullmatch(text):
        return text.split()
    return [piece for piece in _BETWEEN.split(text) if piece] or [text]


def _number(text: str) -> Any:
    return Literal(text) if _NUMBER.fullmatch(text) else text


def _read(value: Any) -> Any:
    """Return the value as TOML would give it back."""
    if isinstance(value, Literal):
        return float(value) if "." in value else int(value)
    return value


def _flag(path: str, text: str) -> bool:
    if text.lower() not in _YES:
        raise InputError(path, f'found "{values.shown(text)}"; answer yes or no')
    return _YES[text.lower()]


def _choice(path: str, key: Key, text: str) -> str:
    """Return the choice meant by its number, its word, or the beginning of its word."""
    if text.isdecimal() and 1 <= int(text) <= len(key.choices):
        return key.choices[int(text) - 1]
    word = meant(key.choices, text)
    if word is None:
        listed = ", ".join(key.choices)
        raise InputError(path, f'found "{values.shown(text)}"; answer one of: {listed}')
    return word


def _stock(path: str, text: str) -> dict[str, Any]:
    """Return size -> count from "288 = 20, 290 = 18"."""
    out: dict[str, Any] = {}
    for piece in re.split(r"\s*[,;]\s*", text):
        size, equals, count = piece.partition("=")
        if not equals or not count.strip().isdecimal():
            raise InputError(path, f'found "{values.shown(text)}"; write size = count, such as 288 = 20, 290 = 18')
        out[size.strip()] = int(count)
    return out
