"""`wheelcalc tables`: the tables of the trade, each row with its source."""

from __future__ import annotations

import textwrap
from itertools import zip_longest
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import completing, options
from wheelcalc.cli.output import WIDTH, emit, findings, hanging, to_csv, to_json, wrapped, write_file
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

if TYPE_CHECKING:
    from wheelcalc.answers.reference import Table, TablesAnswer
    from wheelcalc.files.tables import Row

_GAP = 2
_FEW = 40  # keys that are explained at once; more are listed a line each
_NARROWEST = 16
_WORDS = ("note", "text")
_LEGEND = """P published, D derived, C common practice, M from memory; (n): n sources agree.
wheelcalc tables NAME --sources names the sources."""


HELP = """Look up a dimension of the trade and where it comes from.

Without TABLE it lists the tables; the beginning of a name is enough. `keys` lists every key of the build file; `schema` prints
its JSON Schema, by which an editor completes it, `schema COMMAND` that of a command's answer, `schema drawer` that of a drawer.

Example: wheelcalc tables chainlines --find road

With -o it writes .txt, .json or .csv.
"""


@click.command("tables", help=HELP)
@click.argument("table", required=False, shell_complete=completing.tables)
@click.argument("of_command", metavar="[COMMAND]", required=False, shell_complete=completing.with_schema)
@click.option("--find", default="", metavar="WORDS", help="Only rows that hold all these words.")
@click.option("--sources", is_flag=True, help="List the sources that the rows cite.")
@options.written
def command(table: str | None, of_command: str | None, find: str, sources: bool, wanted: options.Wanted) -> int:
    from wheelcalc.answers.reference import KEYS, tables  # noqa: PLC0415 - keeps --help light

    if table == "schema":
        return _schema(of_command, wanted)
    if of_command is not None:
        raise InputError("COMMAND", f'found "{printable(of_command, LONGEST_ECHO)}"; only `tables schema` takes one')
    answer = tables(table, find)
    listed = table is None and not find
    text = sources_text if sources else overview_text if listed else keys_text if table == KEYS else tables_text
    more = {".csv": lambda: _csv(answer)}
    return emit(answer, lambda: text(answer), wanted, more)


def _schema(of_command: str | None, wanted: options.Wanted) -> int:
    from wheelcalc.files.schema import named  # noqa: PLC0415 - few ask for it

    schema = named(of_command or "build-file")
    if wanted.output is None:
        click.echo(to_json(schema))
    else:
        write_file(wanted.output, {".json": lambda: to_json(schema)}, force=wanted.force)
    return 0


def _csv(answer: TablesAnswer) -> str:
    rows = [{"table": table.name, "units": table.units, **row} for table in answer.tables for row in table.rows]
    keys = _keys(rows)
    return to_csv([{key: row.get(key, "") for key in keys} for row in rows])


def overview_text(answer: TablesAnswer) -> str:
    """The names of the tables, a line each."""
    longest = max(len(table.name) for table in answer.tables)
    lines = [line for table in answer.tables for line in hanging(f"{table.name:{longest}}  ", table.title)]
    lines += [*hanging(f"{'keys':{longest}}  ", "What a build file may say, every key on a line")]
    return "\n".join([*lines, "", "wheelcalc tables NAME shows one of them, --find WORDS looks through all."])


def keys_text(answer: TablesAnswer) -> str:
    """The keys of the build file, a line each: whole name, what it takes, what is taken else; of few, how to come by them."""
    if not answer.tables:
        return "\n".join(findings(answer)[1:])
    table = answer.tables[0]
    longest = max(len(row["key"]) for row in table.rows)
    few = len(table.rows) <= _FEW
    lines = []
    for row in table.rows:
        lines += [_key_line(row, longest), *(wrapped(row["text"], "    ") if few else [])]
    more = "wheelcalc tables keys --find WORDS says how to come by a key, wheelcalc measure --how KEY teaches it."
    return "\n".join(
        [*wrapped(f"{table.title} [{table.units}]"), *wrapped(table.about), "", *lines, "", *wrapped(more)]
    )


def _key_line(row: Row, longest: int) -> str:
    default = f" (else {row['default']})" if row["default"] else ""
    line = f"{row['key']:{longest}}  {row['takes']}{default}"
    return line if len(line) <= WIDTH else f"{line[: WIDTH - 4].rstrip()} ..."


def sources_text(answer: TablesAnswer) -> str:
    """The labels, and the sources that the rows cite."""
    labels = [line for label, meaning in answer.labels.items() for line in hanging(f"{label}  ", meaning)]
    longest = max((len(source["id"]) for source in answer.sources), default=0)
    lines = [line for source in answer.sources for line in hanging(f"{source['id']:{longest}}  ", _citation(source))]
    return "\n".join([*labels, "", *lines, *findings(answer)])


def tables_text(answer: TablesAnswer) -> str:
    """The rows, table by table, notes under their rows."""
    blocks = [_table_text(table) for table in answer.tables]
    return "\n\n".join([*blocks, _LEGEND]) if blocks else "\n".join(findings(answer)[1:])


def _citation(source: Row) -> str:
    year = f", {source['year']}" if "year" in source else ""
    return f"{source['author']}: {source['text']}{year}"


def _table_text(table: Table) -> str:
    head = [*wrapped(f"{table.title} [{table.units}]"), *wrapped(table.about)]
    return "\n".join([*head, "", *_grid(table.rows)])


def _grid(rows: list[Row]) -> list[str]:
    """Header, rule and rows as lines; what is too long for a column stands in words under its row."""
    columns, words = _columns(rows)
    heads = [column.replace("_", " ") for column in columns]
    needs = _needs(columns, rows)
    widths = [min(need, _cap(needs)) for need in needs]
    right = [not any(isinstance(row.get(column), str | bool) for row in rows) for column in columns]
    right[-1] = False
    lines = [*_line(heads, widths, right), "  ".join("-" * width for width in widths)]
    for row in rows:
        lines += _line([_shown(row, column) for column in columns], widths, right)
        below = "; ".join(_shown(row, key) for key in words if key in row)
        lines += wrapped(below, "    ")
    return lines


def _line(cells: list[str], widths: list[int], right: list[bool]) -> list[str]:
    columns = [textwrap.wrap(cell, width) for cell, width in zip(cells, widths, strict=True)]
    return [
        "  ".join(
            part.rjust(width) if to_right else part.ljust(width)
            for part, width, to_right in zip(parts, widths, right, strict=True)
        ).rstrip()
        for parts in zip_longest(*columns, fillvalue="")
    ]


def _columns(rows: list[Row]) -> tuple[list[str], list[str]]:
    """Keys that become columns, and those that are words under their row because the columns would get too narrow."""
    keys = _keys(rows)
    words = [key for key in keys if key in _WORDS]
    columns = [key for key in keys if key not in (*_WORDS, "label", "agree", "source")]
    while _cap(_needs([*columns, "source"], rows)) < _NARROWEST:
        texts = [column for column in columns[1:] if any(isinstance(row.get(column), str) for row in rows)]
        if not texts:
            break
        longest = max(texts, key=lambda column: max(len(_shown(row, column)) for row in rows))
        columns.remove(longest)
        words.insert(0, longest)
    return [*columns, "source"], words


def _keys(rows: list[Row]) -> list[str]:
    """Keys of all rows, each after the one that precedes it in its row."""
    keys: list[str] = []
    for row in rows:
        at = 0
        for key in row:
            if key not in keys:
                keys.insert(at, key)
            at = keys.index(key) + 1
    return keys


def _needs(columns: list[str], rows: list[Row]) -> list[int]:
    words = [max(len(word) for word in column.split("_")) for column in columns]
    return [max(word, *(len(_shown(row, column)) for row in rows)) for word, column in zip(words, columns, strict=True)]


def _cap(needs: list[int]) -> int:
    """The width to which the widest columns are cut so that the line fits."""
    room = WIDTH - _GAP * (len(needs) - 1)
    cap = max(needs)
    while cap > 1 and sum(min(need, cap) for need in needs) > room:
        cap -= 1
    return cap


def _shown(row: Row, key: str) -> str:
    from wheelcalc.files.tables import shown  # noqa: PLC0415

    value = row.get(key, "")
    if key == "source":
        agree = f"({row['agree']})" if "agree" in row else ""
        return f"{row['label']}{agree} {value}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return shown(value)
