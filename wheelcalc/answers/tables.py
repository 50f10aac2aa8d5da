"""The tables of the trade as an answer: whole, one of them, or the rows that hold some words."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

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


@dataclass(frozen=True)
class TablesAnswer:
    """What `wheelcalc tables` prints.

    Parameters
    ----------
    tables : those asked for that have a row left
    sources : those that the rows cite
    labels : what P, D, C and M mean
    """

    tables: list[Table]
    sources: list[files.Row]
    labels: dict[str, str]
    findings: list[Finding] = field(default_factory=list)
    assumptions: list[str] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """The object that `--json` prints."""
        return {"schema": "wheelcalc/tables/1", "build": "", **asdict(self)}


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
    return TablesAnswer(found, _cited(found), files.labels(), [] if found else [_nothing(find, name)])


def _table(name: str, find: str) -> Table:
    return Table(name, files.title(name), files.units(name), files.about(name), files.find(name, find))


def _cited(found: list[Table]) -> list[files.Row]:
    used = {each for table in found for row in table.rows for each in files.cited(row["source"])}
    return [source for source in files.sources() if source["id"] in used]


def _nothing(find: str, name: str | None) -> Finding:
    where = "any table" if name is None else f"the table {files.full_name(name)}"
    return Finding("note", "nothing-found", f'no row of {where} holds "{find}"', "look for fewer or shorter words")
