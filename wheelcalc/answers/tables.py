"""The tables of the trade as an answer: whole, one of them, or the rows that hold some words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer
from wheelcalc.files import tables as files
from wheelcalc.wheel.findings import Finding


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
    build: str = ""
    findings: Sequence[Finding] = ()
    assumptions: Sequence[str] = ()
    tables: Sequence[Table]
    sources: Sequence[files.Row]
    labels: Mapping[str, str]

    def content(self) -> dict[str, Any]:
        """Return tables, sources and labels."""
        return {"tables": [vars(table) for table in self.tables], "sources": self.sources, "labels": self.labels}


def tables(name: str | None = None, find: str = "") -> TablesAnswer:
    """The table that a name means, or all of them, and of these the rows that hold every word of `find`.

    Raises
    ------
    InputError
        If there is no such table.
    """
    wanted = files.names() if name is None else (files.full_name(name),)
    every = [_table(each, find) for each in wanted]
    found = [table for table in every if table.rows]
    return TablesAnswer(
        tables=found,
        sources=_cited(found),
        labels=files.labels(),
        findings=[] if found else [_nothing(find, name)],
    )


def _table(name: str, find: str) -> Table:
    return Table(name, files.title(name), files.units(name), files.about(name), files.find(name, find))


def _cited(found: list[Table]) -> list[files.Row]:
    used = {each for table in found for row in table.rows for each in files.cited(row["source"])}
    return [source for source in files.sources() if source["id"] in used]


def _nothing(find: str, name: str | None) -> Finding:
    where = "any table" if name is None else f"the table {files.full_name(name)}"
    return Finding("note", "nothing-found", f'no row of {where} holds "{find}"', "look for fewer or shorter words")
