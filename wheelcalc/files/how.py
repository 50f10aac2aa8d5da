"""The words of every reading, from reference/readings.toml: how it is asked for, taken and written, and what its error does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from wheelcalc.files import tables
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES


@dataclass(frozen=True)
class How:
    """How to come by one dimension.

    Parameters
    ----------
    what : the dimension in one sentence
    steps : what to do, in order
    drawing : plain characters, at most 78 a line
    write : lines for the build file
    matters : what an error of it does
    """

    what: str
    steps: tuple[str, ...]
    drawing: str
    write: str
    matters: str


@dataclass(frozen=True)
class Wording:
    """How a key is asked for.

    Parameters
    ----------
    ask : as one asks it
    explain : what the words mean, for "?"
    ways : of a dimension that can be had in several, one a line
    between : what the reading lies between, for the sheet
    direct : of a dimension that can be had in several ways: as one asks for it itself, its way typed beside it
    """

    ask: str = ""
    explain: str = ""
    ways: tuple[str, ...] = ()
    between: str = ""
    direct: str = ""


def _topics() -> Mapping[str, Mapping[str, Any]]:
    return tables.words("readings")["topics"]  # type: ignore[no-any-return]


def topics() -> list[str]:
    """Return the topics in the order of the job."""
    return list(_topics())


@cache
def how(name: str) -> How:
    """Return a topic; it must be one of `topics`."""
    row = _topics()[name]
    return How(row["what"], tuple(row["steps"]), row["drawing"], row["write"], row["matters"])


def reading(key: str) -> Wording:
    """Return how a key or reading is asked for."""
    return _wording("readings", key)


def choice(key: str) -> Wording:
    """Return how it is asked in which of several ways a dimension will be found."""
    return _wording("choices", key)


def _wording(kind: str, key: str) -> Wording:
    rows = tables.words("readings")[kind]
    side = next((side for side in SIDES if side in key.split(".")), "")
    row = rows.get(key) or rows[key.replace(f".{side}", ".SIDE")]
    ways = tuple(_of_side(each, side) for each in row.get("ways", ()))
    ask, explain = (_of_side(row.get(name, ""), side) for name in ("ask", "explain"))
    return Wording(ask, explain, ways, row.get("between", ""), _of_side(row.get("direct", ""), side))


def _of_side(text: str, side: str) -> str:
    return text.replace("{side}", side).replace("{Side}", side.capitalize())


@cache
def _names() -> dict[str, str]:
    """Last word of a key, or reading, to the topic that explains it; what comes later goes before."""
    rows = _topics()
    last = {name.rsplit(".", 1)[-1]: name for name in rows}
    for field in ("explains", "by_reading"):
        last |= {word: name for name, row in rows.items() for word in row.get(field, ())}
    return last


def topic(key: str) -> str | None:
    """Return the topic that explains a key of the build file or of [readings], None where there is none."""
    parts = [part for part in key.strip().split(".") if part not in (*SIDES, "readings", "new")]
    plain = ".".join(parts)
    if plain in _topics():
        return plain
    if parts and parts[0] in ("old_wheel", "old_rim"):
        return parts[0]
    names = _names()
    if plain in names:
        return names[plain]
    return next((names[part] for part in reversed(parts[1:]) if _is_for(parts[0], names.get(part, ""))), None)


def _is_for(section: str, name: str) -> bool:
    return name.partition(".")[0] == section or (name == "straight heads" and section == "hub")


def explained(key: str) -> How:
    """Return how to come by a dimension or reading.

    Raises
    ------
    InputError
        If there is no method for it; the text lists what there is.
    """
    if not key.strip():
        raise InputError("how", f"needs a key; it can explain: {', '.join(topics())}")
    reading = topic(key)
    if reading is None:
        raise InputError("how", f'there is no method for "{key[:60]}"; there is one for: {", ".join(topics())}')
    return how(reading)
