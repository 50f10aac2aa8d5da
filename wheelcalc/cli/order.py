"""wheelcalc order."""

from __future__ import annotations

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import listed_csv, show

HELP = """Tell which spokes to buy, how many, and the chance that they fit.

Example: wheelcalc order errand-rear.toml

With -o it writes .txt, .json, .html or .csv (the order's lines).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@options.common
@options.working
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, working: bool) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.order(buildfile, overrides)
    return show(answer, wanted, {".csv": lambda: listed_csv(answer, "lines")}, lambda: answer.page(working=working))
