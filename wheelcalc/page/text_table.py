"""A table as text that fits a width: headers fold first, then words in cells; then columns go below each other."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import islice
from typing import NamedTuple

from wheelcalc.page.blocks import Align, Table

GAP = 2  # letters between columns
ABREAST_GAP = 4  # between parts side by side
MARGIN = "    "  # of the words under a row
MANY = 8  # rows, from which parts stand side by side where they may


class TextColumn(NamedTuple):
    """One column as text: its name, its cells and where they stand."""

    name: str
    cells: Sequence[str]
    align: Align

    @property
    def words(self) -> int:
        """Letters that its cells need in one line."""
        return max(map(len, self.cells), default=0)

    @property
    def wide(self) -> int:
        """Letters that it needs unfolded."""
        return max(len(self.name), self.words)

    @property
    def least(self) -> int:
        """Letters below which a word would break; numbers are not folded."""
        name = _longest_word([self.name])
        return max(name, self.words if self.align == "right" else _longest_word(self.cells))


def _longest_word(texts: Sequence[str]) -> int:
    return max((len(word) for text in texts for word in text.split()), default=1)


def table_lines(table: Table, width: int) -> list[str]:
    """Return a table's lines, none longer than the width.

    Parameters
    ----------
    table : its columns and what its rows are about
    width : letters in a line
    """
    rows = table.rows
    columns = [
        TextColumn(column.name, [row[place] for row in rows], column.align)
        for place, column in enumerate(table.columns)
    ]
    parts = (width + ABREAST_GAP) // (_total([column.wide for column in columns]) + ABREAST_GAP)
    if table.abreast and len(rows) > MANY and parts > 1 and not any(table.under):
        return _abreast(columns, width, parts)
    return [line for group in _groups(columns, table.under, width) for line in group][1:]


def _total(widths: Sequence[int]) -> int:
    return sum(widths) + GAP * (len(widths) - 1)


def _groups(columns: Sequence[TextColumn], under: Sequence[str], width: int) -> list[list[str]]:
    """As many tables as are needed, a blank line ahead of each; each begins with the first column, which names the row."""
    key, *others = columns
    if _fits([key, *others], width):
        return [["", *_drawn([key, *others], width, under)]]
    if any(under) or any(not _fits([key, each], width) for each in others):
        return [["", *_cards(columns, width, row), *_under(words, width)] for row, words in enumerate(under)]
    out: list[list[TextColumn]] = [[key]]
    for each in others:
        if not _fits([*out[-1], each], width):
            out.append([key])
        out[-1].append(each)
    return [["", *_drawn(group, width)] for group in out]


def _fits(columns: Sequence[TextColumn], width: int) -> bool:
    return _total([column.least for column in columns]) <= width


def _widths(columns: Sequence[TextColumn], width: int) -> list[int]:
    """Widths that fit together: the names fold first, then the widest words."""
    widths = [column.wide for column in columns]
    for floor in ([max(s.words, _longest_word([s.name])) for s in columns], [s.least for s in columns]):
        while _total(widths) > width and widths != floor:
            most = max(range(len(columns)), key=lambda place: (widths[place] > floor[place], widths[place]))
            widths[most] -= 1
    return widths


def _drawn(columns: Sequence[TextColumn], width: int, under: Sequence[str] = ()) -> list[str]:
    from tabulate import tabulate  # noqa: PLC0415 - only where a table is printed

    widths = _widths(columns, width)
    names = [_in(column.name, wide) if column.name else "" for column, wide in zip(columns, widths, strict=True)]
    cells = [[_in(cell, wide) for cell in column.cells] for column, wide in zip(columns, widths, strict=True)]
    used = [max(map(_widest, [name, *column])) for name, column in zip(names, cells, strict=True)]
    deep = max(name.count("\n") for name in names)
    heads = ["\n" * (deep - name.count("\n")) + name for name in names]
    rows = [heads, ["-" * wide for wide in used], *map(list, zip(*cells, strict=True))]
    text = tabulate(rows, tablefmt="plain", disable_numparse=True, colalign=[column.align for column in columns])
    lines = iter([line.rstrip() for line in text.splitlines()])
    out = [*islice(lines, deep + 2)]
    for row, words in enumerate(under):
        out += [*islice(lines, max(column[row].count("\n") for column in cells) + 1), *_under(words, width)]
    return [*out, *lines]


def _under(words: str, width: int) -> list[str]:
    return textwrap.wrap(words, width, initial_indent=MARGIN, subsequent_indent=MARGIN, break_on_hyphens=False)


def _in(text: str, width: int) -> str:
    """Fold a cell to a width."""
    return "\n".join(textwrap.wrap(text, width, break_on_hyphens=False)) or "-"


def _widest(cell: str) -> int:
    return max(map(len, cell.split("\n")))


def _cards(columns: Sequence[TextColumn], width: int, row: int) -> list[str]:
    """One row as lines, a column each."""
    named = [f"{column.name}: {column.cells[row]}" for column in columns if column.cells[row]]
    return [
        line for each in named for line in textwrap.wrap(each, width, subsequent_indent="  ", break_on_hyphens=False)
    ]


def _abreast(columns: Sequence[TextColumn], width: int, parts: int) -> list[str]:
    """As many parts side by side, each read downward."""
    count = len(columns[0].cells)
    deep = -(-count // parts)
    drawn = [
        _drawn([column._replace(cells=column.cells[start : start + deep]) for column in columns], width)
        for start in range(0, count, deep)
    ]
    wide = [max(map(len, part)) + ABREAST_GAP for part in drawn]
    lines = [[part[row] if row < len(part) else "" for part in drawn] for row in range(len(drawn[0]))]
    return ["".join(f"{each:{by}}" for each, by in zip(line, wide, strict=True)).rstrip() for line in lines]
