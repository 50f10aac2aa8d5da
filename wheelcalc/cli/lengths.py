"""wheelcalc lengths."""

from __future__ import annotations

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import show, to_csv

HELP = """Tell how long the spokes are, and how sure that is.

Example: wheelcalc lengths errand-rear.toml --working

With -o it writes .txt, .json, .html or .csv (every spoke).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@options.common
@options.working
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, working: bool) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.lengths(buildfile, overrides)
    return show(answer, wanted, {".csv": lambda: to_csv(answer.as_json()["spokes"])}, working=working)
