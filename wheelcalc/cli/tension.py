"""wheelcalc tension."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import listed_csv, show

if TYPE_CHECKING:
    from wheelcalc.answers.tensioning.answer import TensionAnswer


HELP = """Tell how tight each side is to be, what limits it, and what riding takes away.

Example: wheelcalc tension errand-rear.toml --structure

With -o it writes .txt, .json, .html, .csv (every spoke) or .svg (tension from valve
to valve, unloaded and with the rider on).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@options.common
@options.working
@click.option(
    "--structure", is_flag=True, help="Also print stiffness, buckling and slack load, as sure as the rim's section."
)
def command(
    buildfile: str,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    working: bool,
    structure: bool,
) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.tension(buildfile, overrides)
    more = {".csv": lambda: listed_csv(answer, "spokes"), ".svg": lambda: picture(answer)}
    return show(answer, wanted, more, lambda: answer.page(working=working, structure=structure))


def picture(answer: TensionAnswer) -> str:
    from wheelcalc.paper.tension_strip import tension_strip  # noqa: PLC0415 - as in `command`

    return tension_strip(answer).svg()
