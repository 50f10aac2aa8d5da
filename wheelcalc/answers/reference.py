"""The tables of the trade as an answer: whole, one of them, or the rows that hold some words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer, as_records, in_words, plain
from wheelcalc.build.section import Key
from wheelcalc.files import tables as files
from wheelcalc.files.keys import keys, lists
from wheelcalc.page.blocks import Align, Block, Column, Heading, Page, Sentence, Table
from wheelcalc.page.numbers import counted
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable
from wheelcalc.wheel.findings import Finding

KEYS = "keys"  # not a file of the reference folder: what the build file may hold
FEW = 40  # keys that are explained at once
LONG = 30  # letters, from which a column would make all others narrow on a screen of 80
OF_SOURCE = ("label", "agree", "source")  # keys that stand in one column
WORDS = ("note", "text")  # keys that stand under their row
LEGEND = (
    "P published, D derived, C common practice, M from memory; (n): n sources agree. "
    "wheelcalc tables NAME --sources names the sources."
)
MORE_OF_KEYS = "wheelcalc tables keys --find WORDS says how to come by a key, wheelcalc measure --how KEY teaches it."


@dataclass(frozen=True)
class TradeTable:
    """Some rows of one table of the trade.

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

    @property
    def head(self) -> str:
        """What it holds, and in which units."""
        return f"{self.title} [{self.units}]"

    def blocks(self, *, headed: bool) -> list[Block]:
        """Lay it out.

        Parameters
        ----------
        headed : whether its head stands above it
        """
        head: list[Block] = [Heading(self.head)] if headed else []
        about: list[Block] = [Sentence(self.about)] if self.about else []
        return [*head, *about, self._keys() if self.name == KEYS else self._table()]

    def _keys(self) -> Table:
        """Every key with its whole name; of few, how to come by them."""
        columns = [Column(name, partial(_shown, name), "left") for name in ("key", "takes")]
        default = Column("else", lambda row: row["default"], "left")
        return Table([*columns, default], self.rows, below=partial(_said, ["text"]) if len(self.rows) <= FEW else None)

    def _table(self) -> Table:
        """Short values in columns, what is longer in words under its row."""
        names = [name for name in _keys_of(self.rows) if name not in OF_SOURCE]
        below = [name for name in names[1:] if name in WORDS or max(map(len, self._cells(name))) > LONG]
        columns = [
            Column(name.replace("_", " "), partial(_shown, name), self._align(name))
            for name in names
            if name not in below
        ]
        source = Column("source", partial(_shown, "source"), "left")
        return Table([*columns, source], self.rows, below=partial(_said, below))

    def _cells(self, name: str) -> list[str]:
        return [_shown(name, row) for row in self.rows]

    def _align(self, name: str) -> Align:
        return "left" if any(isinstance(row.get(name), str | bool) for row in self.rows) else "right"


@dataclass(frozen=True, kw_only=True)
class TablesAnswer(Answer):
    """What `wheelcalc tables` prints; it belongs to no build.

    Parameters
    ----------
    tables : those asked for that have a row left
    sources : those that the rows cite
    labels : what P, D, C and M mean
    listed : none was asked for by name or words, so that its page only names them
    """

    schema: ClassVar[str] = "wheelcalc/tables/1"
    title: str = ""
    findings: Sequence[Finding] = ()
    assumptions: Sequence[str] = ()
    tables: Sequence[TradeTable]
    sources: Sequence[files.Row]
    labels: Mapping[str, str]
    listed: bool = False

    def page(self, *, sources: bool = False) -> Page:
        """Return the rows table by table; where none was asked for, the tables' names.

        Parameters
        ----------
        sources : in their place, what they cite
        """
        if sources:
            return Page(f"{counted(len(self.sources), 'source')}.", "", self._cited(), self.findings, judges=False)
        if self.listed:
            return Page(self._verdict(), "", [self._names()], judges=False)
        of_keys = [each.name for each in self.tables] == [KEYS]
        blocks = [block for each in self.tables for block in each.blocks(headed=len(self.tables) > 1)]
        last = [Sentence(MORE_OF_KEYS if of_keys else LEGEND)] if blocks else []
        return Page(self._verdict(), "", [*blocks, *last], self.findings, judges=False)

    def _verdict(self) -> str:
        if self.listed:
            how = "wheelcalc tables NAME shows one of them, --find WORDS looks through all"
            return f"{counted(len(self.tables), 'table')}: {how}."
        if not self.tables:
            return "Nothing found."
        rows = counted(sum(len(each.rows) for each in self.tables), "row")
        return f"{self.tables[0].head}: {rows}." if len(self.tables) == 1 else f"{rows} in {len(self.tables)} tables."

    def _names(self) -> Table:
        names = [(each.name, each.title) for each in self.tables]
        keys = (KEYS, "What a build file may say, every key on a line")
        return Table([_of_pair("table", 0), _of_pair("holds", 1)], [*names, keys])

    def _cited(self) -> list[Block]:
        labels = Table([_of_pair("label", 0), _of_pair("means", 1)], [*self.labels.items()])
        cited = Table(
            [Column("source", lambda each: each["id"], "left"), Column("is", _citation, "left")], self.sources
        )
        return [labels, *([cited] if self.sources else [])]

    def rows(self, name: str | None = None) -> list[dict[str, Any]]:
        """Return the rows of one table, or, if there is only one, of it; else which tables there are, a row each."""
        tables = {table.name: table for table in self.tables}
        wanted = next(iter(tables)) if name is None and len(tables) == 1 else name
        if wanted in tables:
            return as_records(map(plain, tables[wanted].rows))
        if wanted is not None:
            raise InputError("rows", f'found "{wanted}"; this answer has {", ".join(tables)}')
        return [{"name": table.name, "title": table.title, "rows": len(table.rows)} for table in self.tables]

    def listed_rows(self) -> list[files.Row]:
        """The rows of all tables, each with its table's name and units, and with every key that any has."""
        rows = [{"table": table.name, "units": table.units, **row} for table in self.tables for row in table.rows]
        names = _keys_of(rows)
        return [{name: row.get(name, "") for name in names} for row in rows]

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
    shown = [table for table in every if table.rows]
    return TablesAnswer(
        tables=shown,
        sources=_cited(shown),
        labels=files.labels(),
        findings=[] if shown else [_nothing(find, name)],
        listed=name is None and not find,
    )


def _table(name: str, find: str) -> TradeTable:
    return TradeTable(name, files.title(name), files.units(name), files.about(name), files.find(name, find))


def _keys(find: str) -> TradeTable:
    """The keys of the build file as a table; their ranges and defaults are common practice."""
    rows = [_key_row(name, key) for name, key in keys().items()]
    rows += [_key_row(f"{section}.{name}", key) for section, each in lists().items() for name, key in each.items()]
    title = "Keys of the build file"
    about = "a range only catches slips of unit; per side: a key may be { left = ..., right = ... }"
    matching = [
        row for row in rows if all(word in " ".join(map(str, row.values())).lower() for word in find.lower().split())
    ]
    return TradeTable(KEYS, title, "bare numbers: mm, N, g, N/mm2, degrees", about, matching)


def _key_row(name: str, key: Key) -> files.Row:
    takes = " | ".join(key.choices) or key.kind + (f" {key.low:g} to {key.high:g}" if key.low is not None else "")
    default = "" if key.default is None else in_words(key.kind, key.default)
    row = {"key": name, "takes": takes + (", per side" if key.per_side else ""), "default": default, "text": key.how}
    return {**row, "label": "C", "source": "house choice"}


def _cited(shown: list[TradeTable]) -> list[files.Row]:
    used = {each for table in shown for row in table.rows for each in files.cited(row["source"])}
    return [source for source in files.sources() if source["id"] in used]


def _nothing(find: str, name: str | None) -> Finding:
    where = "any table" if name is None else f"the table {name if name == KEYS else files.full_name(name)}"
    return Finding(
        "note",
        "nothing-found",
        f'No row of {where} holds "{printable(find, LONGEST_ECHO)}".',
        "Look for fewer or shorter words.",
    )


def _keys_of(rows: Sequence[files.Row]) -> list[str]:
    """Keys of all rows, each after the one that precedes it in its row."""
    names: list[str] = []
    for row in rows:
        at = 0
        for name in row:
            if name not in names:
                names.insert(at, name)
            at = names.index(name) + 1
    return names


def _said(names: Sequence[str], row: files.Row) -> str:
    """The words under a row."""
    return "; ".join(_shown(name, row) for name in names if name in row)


def _shown(name: str, row: files.Row) -> str:
    """One value as text; of the source, how it is labelled too."""
    value = row.get(name, "")
    if name == "source":
        agree = f"({row['agree']})" if "agree" in row else ""
        return f"{row['label']}{agree} {value}"
    return ("yes" if value else "no") if isinstance(value, bool) else files.shown(value)


def _of_pair(name: str, place: int) -> Column:
    return Column(name, lambda pair: str(pair[place]), "left")


def _citation(source: files.Row) -> str:
    year = f", {source['year']}" if "year" in source else ""
    return f"{source['author']}: {source['text']}{year}"
