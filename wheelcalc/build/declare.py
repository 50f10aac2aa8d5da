"""How keys of the build file are declared; each returns Any, so that the annotation beside it is the type of what is read."""

from __future__ import annotations

from typing import Any

from wheelcalc.build.section import Inside, Key, Section


def section(kind: type[Section]) -> Any:
    """Declare a section inside of another."""
    return Inside(kind)


def key(
    kind: str, how: str, low: float | None = None, high: float | None = None, default: Any = None, **more: Any
) -> Any:
    """Declare a key of any kind."""
    return Key(kind, how, low, high, default, **more)


def length(how: str, low: float, high: float, default: float | None = None, **more: Any) -> Any:
    """Declare a key that takes a length [mm]."""
    return Key("length", how, low, high, default, **more)


def raw(how: str, low: float, high: float, tool: str = "") -> Any:
    """Declare a raw reading [mm]."""
    return Key("length", how, low, high, raw=True, tool=tool)


def choice(how: str, *choices: str, default: str | None = None, **more: Any) -> Any:
    """Declare a key that takes one of some words."""
    return Key("text", how, choices=choices, default=default, **more)


def flag(how: str, default: bool | None = None, **more: Any) -> Any:
    """Declare a key that takes yes or no."""
    return Key("flag", how, default=default, **more)


def number(how: str, low: float, high: float, default: float | None = None, **more: Any) -> Any:
    """Declare a key that takes a plain number."""
    return Key("number", how, low, high, default, **more)


def count(how: str, low: int, high: int, default: int | None = None, **more: Any) -> Any:
    """Declare a key that takes a count."""
    return Key("count", how, low, high, default, **more)
