"""What a key of the build file takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, eq=False)
class Key:
    """What a key takes.

    Parameters
    ----------
    kind : "length", "force", "mass", "angle", "stress", "area", "inertia", "number", "count", "flag", "text", or a
        shape with a reader of its own: "wire", "stock", "lengths", "pairs", "table", "known", "loosened"
    how : what to measure or write, for the message when it is missing
    low, high : the sensible range [base unit]; outside it the reading is refused and the unit asked after
    default : what is taken where it is absent (and stated); None: nothing
    choices : words allowed
    reading : a bare number has the uncertainty of the tool
    per_side : may be { left = ..., right = ... }
    sided : a length may say "2.5 mm left" (negative)
    with_unit : a bare number is refused
    raw : a reading of [readings]: scatter of repeats and tool count together
    tool : what it takes, where that is not the tool of [measuring]
    """

    kind: str
    how: str
    low: float | None = None
    high: float | None = None
    default: Any = None
    choices: tuple[str, ...] = ()
    reading: bool = False
    per_side: bool = False
    sided: bool = False
    with_unit: bool = False
    raw: bool = False
    tool: str = ""


def length(how: str, low: float, high: float, default: float | None = None, **more: Any) -> Key:
    """Return a key that takes a length [mm]."""
    return Key("length", how, low, high, default, **more)


def choice(how: str, *choices: str, default: str | None = None, **more: Any) -> Key:
    """Return a key that takes one of some words."""
    return Key("text", how, choices=choices, default=default, **more)


def flag(how: str, default: bool | None = None) -> Key:
    """Return a key that takes yes or no."""
    return Key("flag", how, default=default)


def number(how: str, low: float, high: float, default: Any = None, **more: Any) -> Key:
    """Return a key that takes a plain number."""
    return Key("number", how, low, high, default, **more)


def count(how: str, low: int, high: int, default: int | None = None, **more: Any) -> Key:
    """Return a key that takes a count."""
    return Key("count", how, low, high, default, **more)
