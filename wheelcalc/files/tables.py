"""The tables of the trade: reads reference/*.toml."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from wheelcalc.wheel.errors import InputError

Row = dict[str, Any]

_SOURCES = "sources"
_NOT_TABLES = (_SOURCES, "readings")
_LONGEST_QUOTE = 60  # letters of what was asked for, ours: fits one line


def folder() -> Path:
    """Where the tables lie: inside the installed package, else beside it in a source checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "reference"
    return installed if installed.is_dir() else package.parent / "reference"


@cache
def _read(name: str) -> dict[str, Any]:
    with (folder() / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


def words(name: str) -> dict[str, Any]:
    """All of a file of words, which is no table: `readings`."""
    return _read(name)


@cache
def names() -> tuple[str, ...]:
    """Names of the tables, sorted; the list of sources is not one of them."""
    stems = sorted(path.stem for path in folder().glob("*.toml"))
    return tuple(name for name in stems if name not in _NOT_TABLES)


def full_name(name: str) -> str:
    """The table that a name means: written out, in the singular, or begun so far that no other table begins so.

    Raises
    ------
    InputError
        If no table or more than one begins so; the text names the nearest.
    """
    wanted = name.strip().lower().replace(" ", "_").replace("-", "_")
    for exact in (wanted, f"{wanted}s"):
        if exact in names():
            return exact
    starting = [known for known in names() if wanted and known.startswith(wanted)]
    if len(starting) == 1:
        return starting[0]
    if starting:
        raise InputError("table", f"{_quoted(name)} begins more than one: {', '.join(starting)}; write one of them")
    raise InputError("table", f"there is no {_quoted(name)}; {_nearest(wanted, names())}")


def _quoted(text: str) -> str:
    return f'"{" ".join(text[:_LONGEST_QUOTE].split())}"'


def _nearest(wanted: str, known: tuple[str, ...]) -> str:
    from difflib import get_close_matches  # noqa: PLC0415 - only an error needs it

    wanted = wanted[:_LONGEST_QUOTE]
    near = get_close_matches(wanted, known, n=1, cutoff=0.5)
    return f'the nearest is "{near[0]}"' if near else f"there are: {', '.join(known)}"


def title(name: str) -> str:
    """One line that says what the table holds."""
    return str(_read(full_name(name))["title"])


def units(name: str) -> str:
    """The units of the table's numbers, in words."""
    return str(_read(full_name(name)).get("units", "mm"))


def about(name: str) -> str:
    """What to know before using the table, where there is something to say."""
    return str(_read(full_name(name)).get("about", ""))


def load(name: str) -> list[Row]:
    """Rows of a table, in the file's order.

    Every row has `label` (P, D, C or M) and `source`; a C may have `agree`, the number of sources that agree. Numbers
    are in the units that `units` tells (mm), a range is [low, high].

    Raises
    ------
    InputError
        If there is no such table.
    """
    return [dict(row) for row in _read(full_name(name))["rows"]]


def shown(value: object) -> str:
    """A cell as text: a range as "low-high", a number without needless digits."""
    if isinstance(value, list):
        return "-".join(shown(part) for part in value)
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def find(name: str, text: str) -> list[Row]:
    """Rows that hold every word of a text somewhere, in small or capital letters.

    Raises
    ------
    InputError
        If there is no such table.
    """
    words = text.lower().split()
    return [row for row in load(name) if all(word in _haystack(row) for word in words)]


def _haystack(row: Row) -> str:
    return " ".join(shown(value) for value in row.values()).lower()


def row(name: str, key: str, value: object) -> Row:
    """The first row whose `key` is `value`; capitals and spaces round a text do not matter.

    Raises
    ------
    InputError
        If no row has it; the text names the nearest.
    """
    wanted = shown(value).strip().lower()
    rows = [each for each in load(name) if key in each]
    for each in rows:
        if shown(each[key]).lower() == wanted:
            return each
    known = tuple(dict.fromkeys(shown(each[key]) for each in rows))
    raise InputError("", f"the table {full_name(name)} has no {key} {_quoted(shown(value))}; {_nearest(wanted, known)}")


@cache
def _limits() -> dict[str, float]:
    return {each["name"]: float(each["value"]) for each in load("limits")}


def limits() -> dict[str, float]:
    """Thresholds of the table limits by name, in the unit of their row: what a build file's [limits] may override."""
    return dict(_limits())


def sources() -> list[Row]:
    """The sources that the tables name: `id`, `author`, `text`, where known `year`."""
    return [dict(each) for each in _read(_SOURCES)["rows"]]


def labels() -> dict[str, str]:
    """What the labels P, D, C and M mean."""
    return {each["label"]: each["meaning"] for each in _read(_SOURCES)["labels"]}


def cited(source: str) -> list[str]:
    """Ids of the sources that a row's `source` names, in its order.

    Raises
    ------
    InputError
        If a part of it is none of the list of sources.
    """
    known = sorted((each["id"] for each in sources()), key=len, reverse=True)
    return [_id_of(part.strip(), known) for part in source.split(";")]


def _id_of(part: str, known: list[str]) -> str:
    for each in known:
        if part == each or part.startswith(each + " "):
            return each
    raise InputError("", f'the source "{part}" begins with no id of reference/sources.toml; write one, then the page')
