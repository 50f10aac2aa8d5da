"""What every answer carries: the build's title, findings, assumptions; and how it shows itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile, Overrides, build_of, read_build
from wheelcalc.files.from_python import as_in_file
from wheelcalc.files.keys import keys
from wheelcalc.files.values import UNIT
from wheelcalc.page.blocks import Brief, Page
from wheelcalc.page.numbers import counted
from wheelcalc.page.text import to_text
from wheelcalc.wheel.constants import NEWTON_PER_KGF, NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, any_stop
from wheelcalc.wheel.parts import SIDES, Wire, opposite

Source = str | Path | Mapping[str, Any] | BuildFile
IN_KILOGRAMS = 2000.0  # g: masses of riders and bikes, not of rims
DIGITS = 6  # of JSON numbers behind the point: far below any reading, so that rounding is never seen


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """Ground of all answers.

    Parameters
    ----------
    title : what the build is called
    findings : what the user must know besides the numbers, stops first
    assumptions : what was taken where the build file is silent, one sentence each
    """

    schema: ClassVar[str] = ""
    records: ClassVar[str] = "findings"  # key of the JSON that `rows` gives where none is asked for
    title: str
    findings: Sequence[Finding]
    assumptions: Sequence[str]

    def __init_subclass__(cls) -> None:
        # A dataclass writes its own unless there is one, and that would be all of its arrays.
        cls.__repr__ = Answer.__repr__  # type: ignore[method-assign]

    def __repr__(self) -> str:
        stops = sum(finding.level == "stop" for finding in self.findings)
        said = f", {counted(stops, 'stop')}" if stops else ""
        return f"<{type(self).__name__} of {self.title!r}{said}: print it, or see .as_json() and .rows()>"

    @property
    def stops(self) -> bool:
        """Whether it says: do not order, do not ride."""
        return any_stop(list(self.findings))

    def within(self, sigma: float) -> float:
        """What a standard uncertainty comes to, 19 times in 20, in its own unit."""
        return NINETEEN_IN_TWENTY * sigma

    def page(self) -> Page:
        """Return the answer laid out as blocks: what both writers write. Where there are formulas, `working` adds them."""
        raise NotImplementedError

    def __str__(self) -> str:
        return to_text(self.page())

    def content(self) -> dict[str, Any]:
        """Return the answer's own keys of the JSON."""
        raise NotImplementedError

    def as_json(self) -> dict[str, Any]:
        """Return the answer as plain values: what `--json` prints."""
        head = {
            "schema": self.schema,
            "build": self.title,
            "findings": [vars(finding) for finding in self.findings],
            "assumptions": list(self.assumptions),
        }
        return {**head, **plain(self.content())}

    def rows(self, name: str | None = None) -> list[dict[str, Any]]:
        """Return one list of the JSON as records: all with the same keys, as pandas and polars take them.

        Parameters
        ----------
        name : key of the JSON that holds a list of objects, or one object for each side; None: the one that the
            command is about

        Returns
        -------
        One dict a row; what lies deeper is named with a point ("now.lateral_mm"), what a row lacks is None, and a
        column that mixes words and numbers is all words.

        Raises
        ------
        InputError
            If the answer has no such list; the message names those that it has.
        """
        content = self.as_json()
        lists = {key: rows for key, value in content.items() if (rows := _records(value)) is not None}
        wanted = name or self.records
        if wanted not in lists:
            raise InputError("rows", f'found "{wanted}"; this answer has {", ".join(sorted(lists))}')
        return as_records(lists[wanted])

    def _repr_html_(self) -> str:
        from wheelcalc.page.html import to_html  # noqa: PLC0415 - only a notebook shows it

        return to_html(self.page())


def _records(value: Any) -> list[Mapping[str, Any]] | None:
    """Return a list of objects, or an object for each side with its side in it; None where it is neither."""
    if isinstance(value, list) and all(isinstance(each, dict) for each in value):
        return value
    if (
        isinstance(value, dict)
        and value
        and all(side in SIDES and isinstance(each, dict) for side, each in value.items())
    ):
        return [{"side": side, **each} for side, each in value.items()]
    return None


def as_records(rows: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return rows that all have the same keys, none of which holds an object; what a row lacks is None.

    A column that holds words in some rows and numbers in others is all words, so that a table has one kind for it.
    """
    level = [_level(each) for each in rows]
    columns = dict.fromkeys(column for row in level for column in row)
    worded = {
        name for name in columns if len({isinstance(row[name], str) for row in level if row.get(name) is not None}) > 1
    }
    return [{name: _in_column(row.get(name), worded=name in worded) for name in columns} for row in level]


def _in_column(value: Any, *, worded: bool) -> Any:
    return str(value) if worded and value is not None else value


def _level(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a record without objects in it: their keys stand beside its own, named with a point."""
    out: dict[str, Any] = {}
    for name, value in row.items():
        if isinstance(value, dict):
            out.update({f"{name}.{key}": each for key, each in _level(value).items()})
        else:
            out[name] = value
    return out


def in_kgf(force: float) -> float:
    """A force [kgf], as tension meters and rim makers state it, from one in [N]."""
    return force / NEWTON_PER_KGF


def plain(value: Any) -> Any:
    """Return numbers rounded far below any reading, tuples as lists, so that json can write it."""
    if isinstance(value, Mapping):
        return {str(name): plain(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    if hasattr(value, "item") and not isinstance(value, str):
        value = value.item()
    return round(value, DIGITS) + 0.0 if isinstance(value, float) else value


def opened(
    source: Source, overrides: Overrides = (), keys: Mapping[str, Any] | None = None, *, inches: bool = False
) -> BuildFile:
    """Return a build from a path, a tree of plain values, or a build already read.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them
    inches : whether a bare length that can be inches but not mm is taken so, its origin "inches"

    Raises
    ------
    InputError
        If it cannot be used.
    """
    file = _read(source, overrides, inches=inches)
    return file.having(keys) if keys else file


def _read(source: Source, overrides: Overrides, *, inches: bool) -> BuildFile:
    if isinstance(source, BuildFile):
        return source.having(overrides)
    if isinstance(source, Mapping):
        return build_of(as_in_file(source), "build", overrides, inches=inches)
    if isinstance(source, str | Path):
        return read_build(source, overrides, inches=inches)
    text = (
        f"found {type(source).__name__}; give the path of a build file, a dict of its keys, or what `read_build` gave"
    )
    raise InputError("source", text)


def defaults_taken(build: Build, prefixes: Sequence[str], skip: Sequence[str] = ()) -> list[str]:
    """Say what was taken where the build file is silent, one sentence per section; what both sides share, once."""
    said: dict[str, dict[str, None]] = {}
    for key, entry in build.items():
        if entry.origin != "default" or not key.startswith(tuple(prefixes)) or key.startswith(tuple(skip)):
            continue
        section, *names = key.split(".")
        side = next((name for name in names if name in SIDES), "")
        twin = ".".join(opposite(name) if name == side else name for name in key.split(".")) if side else key
        shared = twin in build and build[twin] == entry
        words = [name for name in names if not (shared and name == side)]
        said.setdefault(section, {})[f"{'.'.join(words)} {worded(key, entry.value)}"] = None
    taken = [
        Brief(f"Not in the file, so assumed: {section}: {', '.join(each)}.", defaults=len(each))
        for section, each in said.items()
    ]
    return [*from_readings(build, prefixes), *taken]


def from_readings(build: Build, prefixes: Sequence[str]) -> list[str]:
    """Say which dimensions come from [readings], because the file has no value of its own; one sentence or none."""
    said = []
    for key, entry in build.items():
        if entry.origin == "readings" and key.startswith(tuple(prefixes)) and key != "rim.erd_to":
            to = f" to {build.rim.erd_to}" if key == "rim.erd" else ""
            said.append(f"{key}{to} {entry.value:.1f} +-{NINETEEN_IN_TWENTY * entry.sigma:.1f} mm")
    if not said:
        return []
    whole = (
        f"From [readings], as the file has no value of its own: {'; '.join(said)} (19 of 20 such errors are smaller)."
    )
    return [Brief(whole, f"{counted(len(said), 'dimension')} from [readings], as `measure` gives them.")]


def worded(key: str, value: Any) -> str:
    """Return a value of the build file as one reads it, with its unit."""
    return in_words((keys().get(key) or keys()[key.rpartition(".")[0]]).kind, value)


def _of_rim_hole(rim_hole: int, tension: float | None = None, turns: tuple[float, ...] = (), **_more: Any) -> str:
    """Return an entry of pluck.known or pluck.loosened as one reads it."""
    return f"rim hole {rim_hole} {f'loosened {turns[-1]:g} turns' if tension is None else f'at {tension:g} N'}"


LISTS: Mapping[str, Callable[[Any], str]] = {
    "known": lambda each: _of_rim_hole(**each),
    "loosened": lambda each: _of_rim_hole(**each),
    "kept": lambda each: f"{each['column']} at rim hole {each['rim_hole']}",
    "holes": lambda each: f"rim hole {each}",
}


def in_words(kind: str, value: Any) -> str:
    """Return a value of a kind of key as one reads it, with its unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if kind == "wire":
        return f"{Wire(*value)} mm"
    if kind in LISTS:
        return "; ".join(LISTS[kind](each) for each in value)
    if isinstance(value, tuple):
        return " and ".join(f"{each:g}" for each in value) + " mm"
    if isinstance(value, float | int):
        in_kg = kind == "mass" and value >= IN_KILOGRAMS
        return f"{value / 1000:g} kg" if in_kg else f"{value:g}{UNIT.get(kind, '')}"
    return str(value)
