"""What a person types as an answer becomes the value that the build file holds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from wheelcalc.build.section import Key
from wheelcalc.files import values
from wheelcalc.files.words import NUMBERS, meant
from wheelcalc.files.writing import Literal
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

OF_EITHER_SIDE = ("lacing.crosses", "old_wheel.crosses")
LONGEST = 1000  # letters; ours: twenty readings, or all sizes of a drawer
_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")  # what TOML takes as it stands
_BETWEEN = re.compile(
    r"\s*;\s*|\s*,\s+|\s+and\s+"
)  # between repeats; a comma inside a number is the reader's to refuse
_BARE_REPEATS = re.compile(r"-?[0-9.]+(\s+-?[0-9.]+)+")
_SIDES = re.compile(r"left\s*[=:]?\s*(?P<left>.+?)\s*[,;]?\s+right\s*[=:]?\s*(?P<right>.+)", re.IGNORECASE)
_YES = {"yes": True, "y": True, "yeah": True, "yep": True, "true": True}
_NO = {"no": False, "n": False, "nope": False, "none": False, "false": False}
# C: what stands beside a count: "36h", "36 holes", "3x", "x3", "3 crosses".
_COUNT = re.compile(
    r"x?\s*(?P<count>[0-9]+)\s*-?\s*(?:x|h|holes?|cross|crosses|crossed|spokes?|cogs?|rings?|speed)?", re.IGNORECASE
)
_NUMBER_THEN_SIDE = re.compile(
    r"(?P<one>[^ ]+)\s+(?P<first>left|right)[,;]?\s+(?P<other>[^ ]+)\s+(?P<second>left|right)", re.IGNORECASE
)
_LETTERED_SIDES = re.compile(r"l\s*(?P<left>[0-9.]+)\s*[,;/]?\s*r\s*(?P<right>[0-9.]+)", re.IGNORECASE)
_UNSURE = re.compile(
    r"(?:about|ca\.?|approx\.?|around|~)\s*(?P<behind>[0-9.]+).*|(?P<asked>[0-9.]+)\s*(?:mm)?\s*\?", re.IGNORECASE
)
_SIZE_AND_COUNT = re.compile(r"(?P<size>[0-9.]+)\s*(?:mm)?\s*[=:]\s*(?P<count>[0-9]+)")


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
    sides = _of_sides(text) if key.per_side else {}
    if sides:
        return {side: _single(path, key, sides[side], tool) for side in SIDES}
    return _single(path, key, text, tool)


def _of_sides(text: str) -> dict[str, str]:
    """Return what is typed for each side; empty where one answer is for both."""
    if by_side := _SIDES.fullmatch(text) or _LETTERED_SIDES.fullmatch(text):
        return {side: by_side[side] for side in SIDES}
    behind = _NUMBER_THEN_SIDE.fullmatch(text)
    if behind and behind["first"].lower() != behind["second"].lower():
        return {behind["first"].lower(): behind["one"], behind["second"].lower(): behind["other"]}
    return {}


def answer_of(value: Any) -> str:
    """Return a value of a build file as one would type it: what `value_of` reads back."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(answer_of(each) for each in value)
    if isinstance(value, Mapping) and set(value) == set(SIDES):
        left, right = (answer_of(value[side]) for side in SIDES)
        return left if left == right else f"left {left}, right {right}"
    if isinstance(value, Mapping):
        return ", ".join(f"{name} = {answer_of(each)}" for name, each in value.items())
    return str(value)


def _single(path: str, key: Key, text: str, tool: str) -> Any:
    value = _shaped(path, key, text)
    for each in value if isinstance(value, list) and key.kind != "lengths" else [value]:
        values.read(path, key, _read(each), tool)
    values.read(path, key, [_read(each) for each in value] if isinstance(value, list) else _read(value), tool)
    return value


def _shaped(path: str, key: Key, text: str) -> Any:
    if key.kind == "flag":
        return _flag(path, text)
    if key.kind == "count":
        return _count(path, text)
    if key.kind == "text":
        return _choice(path, key, text) if key.choices else text
    if key.kind == "stock":
        return _stock(path, text)
    if key.kind == "number" and not _NUMBER.fullmatch(text):
        raise InputError(path, f'found "{values.shown(text)}"; write a plain number')
    if unsure := _UNSURE.fullmatch(text):
        number = unsure["behind"] or unsure["asked"]
        raise InputError(path, f'found "{values.shown(text)}"; write the number and how sure it is: {number} +- 1 mm')
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


def _count(path: str, text: str) -> Any:
    """Return a count from "36", "36h", "3x" or "three"; what is none is refused with the form of an answer."""
    words = text.lower().split()
    if words and words[0] in NUMBERS:
        text = " ".join([str(NUMBERS.index(words[0])), *words[1:]])
    if digits := _COUNT.fullmatch(text):
        return Literal(str(int(digits["count"])))
    if path.startswith(OF_EITHER_SIDE) and text.lower() in ("radial", "straight"):
        return Literal("0")
    if path.startswith(OF_EITHER_SIDE):
        raise InputError(path, f'found "{values.shown(text)}"; write one number, or one for each side: left 2, right 3')
    return _number(text)


def _flag(path: str, text: str) -> bool:
    word = re.split(r"[\s,.;!]", text.lower(), maxsplit=1)[0]
    if word not in {**_YES, **_NO}:
        raise InputError(path, f'found "{values.shown(text)}"; answer yes or no')
    return word in _YES


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
    sizes = list(_SIZE_AND_COUNT.finditer(text))
    if not sizes or _SIZE_AND_COUNT.sub("", text).strip(" ,;"):
        raise InputError(path, f'found "{values.shown(text)}"; write size = count, such as 288 = 20, 290 = 18')
    out = {each["size"]: int(each["count"]) for each in sizes}
    if len(out) < len(sizes):
        raise InputError(path, f'found "{values.shown(text)}"; write each size once')
    return out
