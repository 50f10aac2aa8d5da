"""wheelcalc sheet."""

from __future__ import annotations

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import aside, show
from wheelcalc.wheel.errors import InputError

HELP = """Write the bench sheet: one HTML file to print and build the wheel from.

Example: wheelcalc sheet errand-rear.toml -o sheet.html

Example: wheelcalc sheet errand-rear.toml --readings errand-rear-readings.csv --only true -o pass.html

Open it in a browser and print at 100 %. Sections: salvage (where the file
tells of an old wheel or a jar, or --only salvage), measure, gauges, tap (on
demand: --only tap), fit (where it leaves something to do), order, labels, gate,
lace, tension, ride, true, record (with --record). --only bench, with --readings,
is a file of its own for a screen: turns to tick, which the browser keeps.
Without -o it says which of them the build file is good for.
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@options.common
@click.option(
    "--readings",
    metavar="READINGS.csv",
    shell_complete=options.files,
    help="Readings as `true` takes them: fills in the first pass of the log, with the turn of every nipple.",
)
@click.option("--own-plane", is_flag=True, help="Lateral was read from any plane: leave the dish alone.")
@click.option("--record", is_flag=True, help="With the record: every key of the file, every spoke, the structure.")
@click.option("--only", metavar="NAMES", help="Only these sections, names between commas, such as order,lace.")
@click.option("--without", metavar="NAMES", help="Leave these sections out.")
@click.option(
    "--paper",
    type=click.Choice(["any", "A4", "Letter"], case_sensitive=False),
    default="any",
    help="Fix the paper; else it prints on what the printer holds, A4 or Letter.",
)
def command(
    buildfile: str,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    only: str | None,
    without: str | None,
    paper: str,
    readings: str | None,
    own_plane: bool,
    record: bool,
) -> int:
    from wheelcalc.paper.sheet.bench_sheet import sheet  # noqa: PLC0415 - numbers are loaded when they are needed

    if own_plane and readings is None:
        raise InputError("--own-plane", "goes with --readings; leave it out")
    answer = sheet(
        buildfile,
        overrides,
        _names(only),
        _names(without),
        paper,
        readings=readings,
        own_plane=own_plane,
        record=record,
    )
    status = show(answer, wanted, {".html": lambda: answer.html.rstrip("\n")})
    if wanted.output is not None:
        from wheelcalc.page.text import lines_of  # noqa: PLC0415 - as above

        for line in lines_of(answer.missing()):
            aside(line)
    return status


def _names(text: str | None) -> list[str]:
    return [] if text is None else [name.strip() for name in text.split(",")]
