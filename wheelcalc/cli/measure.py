"""wheelcalc measure."""

from __future__ import annotations

import click

from wheelcalc.cli import completing, options
from wheelcalc.cli.output import show, to_csv
from wheelcalc.wheel.errors import InputError

HELP = """Turn readings taken with a rule and two old spokes into dimensions.

Example: wheelcalc measure errand-rear-salvage.toml

Example: wheelcalc measure --how rim.erd

With -o it writes .txt, .json, .html or .csv (the dimensions).
"""


@click.command(cls=options.JobCommand, help=HELP)
@click.argument("buildfile", metavar="[BUILDFILE]", required=False, shell_complete=options.files)
@click.option(
    "--how",
    "how_to",
    metavar="KEY",
    is_flag=False,
    flag_value="",
    shell_complete=completing.readings,
    help="Explain how to take a reading, such as rim.erd; needs no file.",
)
@options.common
@options.working
def command(
    buildfile: str | None,
    how_to: str | None,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    working: bool,
) -> int:
    from wheelcalc.answers.measuring import how, measure  # noqa: PLC0415 - numbers are loaded when they are needed

    if how_to is not None:
        return show(how(how_to), wanted)
    if buildfile is None:
        raise InputError(
            "BUILDFILE", "is missing; give a build file with [readings], or --how KEY to learn how to take one"
        )
    answer = measure(buildfile, overrides)
    more = {".csv": lambda: to_csv([_row(row) for row in answer.as_json()["dimensions"]])}
    return show(answer, wanted, more, lambda: answer.page(working=working))


def _row(row: dict[str, object]) -> dict[str, object]:
    return {name: row[name] for name in ("name", "value_mm", "sigma_mm", "from", "used")}
