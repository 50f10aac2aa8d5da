"""wheelcalc fit."""

from __future__ import annotations

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import listed_csv, show

HELP = """Tell whether the hub fits the frame, and how the chain runs.

Example: wheelcalc fit donor-hub.toml --set spacers.fitted="{ left = 2, right = 4 }"

It answers what the file tells of: [frame] and [hub] the width, axle, brake and spacers; [crank], [cogs] and
frame.shell_width the chainline and the spacers of another crank; [geometry] and [geometry.new] what another fork or
wheel does to trail, bars, saddle and pedals.

With -o it writes .txt, .json, .html or .csv (every spacer plan).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@options.common
@options.working
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, working: bool) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.fit(buildfile, overrides)
    return show(answer, wanted, {".csv": lambda: listed_csv(answer, "plans")}, lambda: answer.page(working=working))
