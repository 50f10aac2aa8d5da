"""`wheelcalc tables`: the tables of the trade, each row with its source."""

from __future__ import annotations

import click

from wheelcalc.cli import completing, options
from wheelcalc.cli.output import show, to_csv, to_json, write_file
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

HELP = """Look up a dimension of the trade and where it comes from.

Without TABLE it lists the tables; the beginning of a name is enough. `keys` lists every key of the build file; `schema` prints
its JSON Schema, by which an editor completes it, `schema COMMAND` that of a command's answer, `schema drawer` that of a drawer.

Example: wheelcalc tables chainlines --find road

With -o it writes .txt, .json, .html or .csv.
"""


@click.command("tables", help=HELP)
@click.argument("table", required=False, shell_complete=completing.tables)
@click.argument("of_command", metavar="[COMMAND]", required=False, shell_complete=completing.with_schema)
@click.option("--find", default="", metavar="WORDS", help="Only rows that hold all these words.")
@click.option("--sources", is_flag=True, help="List the sources that the rows cite.")
@options.written
def command(table: str | None, of_command: str | None, find: str, sources: bool, wanted: options.Wanted) -> int:
    from wheelcalc.answers.reference import tables  # noqa: PLC0415 - keeps --help light

    if table == "schema":
        return _schema(of_command, wanted)
    if of_command is not None:
        raise InputError("COMMAND", f'found "{printable(of_command, LONGEST_ECHO)}"; only `tables schema` takes one')
    answer = tables(table, find)
    rows = {".csv": lambda: to_csv(answer.listed_rows())}
    return show(answer, wanted, rows, lambda: answer.page(sources=sources))


def _schema(of_command: str | None, wanted: options.Wanted) -> int:
    from wheelcalc.files.schema import named  # noqa: PLC0415 - few ask for it

    schema = named(of_command or "build-file")
    if wanted.output is None:
        click.echo(to_json(schema))
    else:
        write_file(wanted.output, {".json": lambda: to_json(schema)}, force=wanted.force)
    return 0
