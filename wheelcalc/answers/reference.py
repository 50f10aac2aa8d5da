"""The tables of the trade as an answer: whole, one of them, or the rows that hold some words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer, as_records, in_words, plain
from wheelcalc.build.section import Key
from wheelcalc.files import tables as files
from wheelcalc.files.keys import keys, lists
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable
from wheelcalc.wheel.findings import Finding

KEYS = "keys"  # not a file of the reference folder: what the build file may hold


@dataclass(frozen=True)
class Table:
    """Some rows of one table.

    Parameters
    ----------
    name : what `wheelcalc tables` calls it
    title : one line that says what it holds
    units : of its numbers, in words
    about : what to know before using it; may be empty
    rows : each with `label` and `source`; a range is [low, high]
    """

    name: str
    title: str
    units: str
    about: str
    rows: list[files.Row]


@dataclass(frozen=True, kw_only=True)
class TablesAnswer(Answer):
    """What `wheelcalc tables` prints; it belongs to no build.

    Parameters
    ----------
    tables : those asked for that have a row left
    sources : those that the rows cite
    labels : what P, D, C and M mean
    """

    schema: ClassVar[str] = "wheelcalc/tables/1"
    title: str = ""
    findings: Sequence[Finding] = ()
    assumptions: Sequence[str] = ()
    tables: Sequence[Table]
    sources: Sequence[files.Row]
    labels: Mapping[str, str]

    def rows(self, name: str | None = None) -> list[dict[str, Any]]:
        """Return the rows of one table, or, if there is only one, of it; else which tables there are, a row each."""
        tables = {table.name: table for table in self.tables}
        wanted = next(iter(tables)) if name is None and len(tables) == 1 else name
        if wanted in tables:
            return as_records(map(plain, tables[wanted].rows))
        if wanted is not None:
            raise InputError("rows", f'found "{wanted}"; this answer has {", ".join(tables)}')
        return [{"name": table.name, "title": table.title, "rows": len(table.rows)} for table in self.tables]

    def content(self) -> dict[str, Any]:
        """Return tables, sources and labels."""
        return {"tables": [vars(table) for table in self.tables], "sources": self.sources, "labels": self.labels}


def tables(name: str | None = None, find: str = "") -> TablesAnswer:
    """The table that a name means, or all of them, and of these the rows that hold every word of `find`.

    "keys" lists the keys of the build file.

    Raises
    ------
    InputError
        If there is no such table.
    """
    if name == KEYS:
        every = [_keys(find)]
    else:
        every = [_table(each, find) for each in (files.names() if name is None else (files.full_name(name),))]
    found = [table for table in every if table.rows]
    return TablesAnswer(
        tables=found,
        sources=_cited(found),
        labels=files.labels(),
        findings=[] if found else [_nothing(find, name)],
    )


def _table(name: str, find: str) -> Table:
    return Table(name, files.title(name), files.units(name), files.about(name), files.find(name, find))


def _keys(find: str) -> Table:
    """The keys of the build file as a table; their ranges and defaults are common practice."""
    rows = [_key_row(name, key) for name, key in keys().items()]
    rows += [_key_row(f"{section}.{name}", key) for section, each in lists().items() for name, key in each.items()]
    title = "Keys of the build file"
    about = "a range only catches slips of unit; per side: a key may be { left = ..., right = ... }"
    found = [
        row for row in rows if all(word in " ".join(map(str, row.values())).lower() for word in find.lower().split())
    ]
    return Table(KEYS, title, "bare numbers: mm, N, g, N/mm2, degrees", about, found)


def _key_row(name: str, key: Key) -> files.Row:
    takes = " | ".join(key.choices) or key.kind + (f" {key.low:g} to {key.high:g}" if key.low is not None else "")
    default = "" if key.default is None else in_words(key.kind, key.default)
    row = {"key": name, "takes": takes + (", per side" if key.per_side else ""), "default": default, "text": key.how}
    return {**row, "label": "C", "source": "house choice"}


def _cited(found: list[Table]) -> list[files.Row]:
    used = {each for table in found for row in table.rows for each in files.cited(row["source"])}
    return [source for source in files.sources() if source["id"] in used]


def _nothing(find: str, name: str | None) -> Finding:
    where = "any table" if name is None else f"the table {name if name == KEYS else files.full_name(name)}"
    return Finding(
        "note",
        "nothing-found",
        f'no row of {where} holds "{printable(find, LONGEST_ECHO)}"',
        "look for fewer or shorter words",
    )
