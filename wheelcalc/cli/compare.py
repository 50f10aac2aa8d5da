"""wheelcalc compare."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import listed_csv, show
from wheelcalc.wheel.errors import InputError

HELP = """Tell what changes from one build file to another, and whether your order still serves.

Example: wheelcalc compare before.toml after.toml

Example: wheelcalc compare errand-rear.toml --set hub.right.pcd=47

Example: wheelcalc compare one.toml two.toml three.toml --order order.json

Without NEW, the old file is compared with itself as --set changes it; of three or more files --set changes the
second. --order says of each build whether spokes already bought serve; for that one file will do. With -o it writes
.txt, .json, .html or .csv.
"""


@click.command(cls=options.JobCommand, help=HELP)
@click.argument("old", metavar="OLD", shell_complete=options.files)
@click.argument("new", metavar="[NEW ...]", nargs=-1, shell_complete=options.files)
@click.option(
    "--order", "bought", metavar="FILE", shell_complete=options.files, help="JSON of an order: do its spokes serve?"
)
@options.common
def command(
    old: str,
    new: tuple[str, ...],
    bought: str | None,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    drawers: tuple[str, ...] = (),
) -> int:
    if not new and not overrides and bought is None:
        raise InputError(
            "NEW", "is missing; give two build files, or one and what to change in it with --set KEY=VALUE"
        )
    if [old, *(new or [old])].count("-") > 1:
        raise InputError("OLD", "standard input can be read once only; give the path of a file")
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed
    from wheelcalc.files.buildfile import read_build  # noqa: PLC0415

    first, *rest = (read_build(each, (), drawers) for each in (old, *new[1:]))
    second = read_build(new[0] if new else old, overrides, drawers) if new or overrides else None
    answer = answers.compare(first, second, more=rest, bought=bought)
    return show(answer, wanted, {".csv": lambda: listed_csv(answer, "changes", lambda row: _flat(row, answer.builds))})


def _flat(row: Mapping[str, object], builds: Sequence[str]) -> Mapping[str, object]:
    """One change as one line of CSV: of several builds a column each."""
    values = row.get("values")
    if not isinstance(values, list):
        return {name: each for name, each in row.items() if name != "values"}
    return {"what": row["what"], "unit": row["unit"], **dict(zip(builds, values, strict=True))}
