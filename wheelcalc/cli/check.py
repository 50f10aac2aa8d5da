"""wheelcalc check."""

from __future__ import annotations

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import show

HELP = """Tell what a build file is good for, what is missing, and what to measure next.

Example: wheelcalc check errand-rear.toml

With -o it writes .txt, .json or .html.
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@options.common
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    return show(answers.check(buildfile, overrides), wanted)
