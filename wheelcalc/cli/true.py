"""wheelcalc true."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import aside, show, to_csv
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

if TYPE_CHECKING:
    from wheelcalc.answers.broken_spoke import BrokenAnswer
    from wheelcalc.answers.truing.answer import TrueAnswer
    from wheelcalc.files.buildfile import BuildFile

MOST_DIGITS = 16  # of a rim hole's number


HELP = """Tell which nipples to turn, and what that brings; or how to get home on a broken spoke.

Example: wheelcalc true errand-rear.toml errand-rear-readings.csv

The second pass: wheelcalc true errand-rear.toml errand-rear-readings.csv errand-rear-readings-after.csv

On the road: wheelcalc true errand-rear.toml --broken 14

The readings before each pass, oldest first; - is standard input. Columns
rim_hole,lateral_mm,radial_mm,tension_N (or pitch_hz), and pass, turned where
one file holds several passes; empty cells are allowed. Lateral: + to the
right, radial: + outward. --blank prints such a file, --how teaches it.

With -o it writes .txt, .html (a page whose turns are ticked as they are made),
.json, .svg (from valve to valve) or .csv (the readings, with the advice in the
column turned).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@click.argument("readings", metavar="[PASS1.csv [PASS2.csv ...]]", nargs=-1, shell_complete=options.files)
@click.option(
    "--broken", metavar="HOLE[,HOLE]", help="No readings: the spoke at this rim hole has broken; how to get home."
)
@click.option(
    "--own-plane", is_flag=True, help="Lateral was read from any plane, not from half-way between the locknuts."
)
@click.option("--blank", is_flag=True, help="Print an empty file of readings to fill in.")
@click.option(
    "--ask",
    is_flag=True,
    help="Ask for the readings hole by hole, then for the turns as made; each is saved in the file named last.",
)
@click.option("--how", is_flag=True, help="Print one page that teaches it: the stand, the signs, a worked example.")
@options.common
def command(
    buildfile: str,
    readings: tuple[str, ...],
    broken: str | None,
    own_plane: bool,
    blank: bool,
    ask: bool,
    how: bool,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed
    from wheelcalc.files.buildfile import read_build  # noqa: PLC0415

    chosen = [
        name for name, given in (("--blank", blank), ("--ask", ask), ("--how", how), ("--broken", broken)) if given
    ]
    if len(chosen) > 1:
        raise InputError(chosen[1], f"cannot stand beside {chosen[0]}; give one of them")
    if how:
        from wheelcalc.cli.true_how import lesson  # noqa: PLC0415 - only where it is asked for

        click.echo(lesson())
        return 0
    if blank:
        from wheelcalc.answers.truing.sheet import blank_of  # noqa: PLC0415 - only where it is asked for

        click.echo(blank_of(buildfile, overrides), nl=False)
        return 0
    if (not readings) == (broken is None):
        given = "both" if readings else "neither"
        raise InputError("true", f"found {given}; give files of readings (CSV), or --broken with a rim hole")
    if broken is not None:
        if own_plane:
            raise InputError("--own-plane", "goes with readings, not with --broken; leave it out")
        gone = answers.broken(buildfile, holes_of(broken), overrides)
        return show(gone, wanted, {".csv": lambda: to_csv(gone.spoke_rows()), ".svg": lambda: picture(gone)})
    if list(readings).count("-") + (buildfile == "-") > 1:
        raise InputError("-", "stands twice; standard input can be read once")
    if ask:
        from wheelcalc.cli.true_asking import asked, ticked  # noqa: PLC0415 - only where it is asked for

        if not asked(buildfile, overrides, readings[-1], earlier=readings[:-1]):
            aside(f"Saved in {printable(readings[-1])}; the same command goes on from there.")
            return 0
    file = read_build(buildfile, overrides)
    answer = answers.true(file, readings, own_plane=own_plane)
    writers = {".csv": answer.readings_csv, ".svg": lambda: picture(answer), ".html": lambda: page(file, answer)}
    status = show(answer, wanted, writers)
    if ask and answer.turns.any():
        ticked(buildfile, overrides, readings[-1], {row["rim_hole"]: row["turns"] for row in answer.turn_rows()})
        aside(
            f"What was turned is saved in {printable(readings[-1])}; give that file first when you read the next pass."
        )
    return status


def holes_of(text: str) -> list[int]:
    """Return the rim holes of --broken."""
    parts = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and len(part) < MOST_DIGITS for part in parts):
        shown = printable(text, LONGEST_ECHO)
        raise InputError("--broken", f'found "{shown}"; write a rim hole, or several with commas, such as 14 or 14,15')
    return [int(part) for part in parts]


def picture(answer: TrueAnswer | BrokenAnswer) -> str:
    from wheelcalc.paper.truing_strip import truing_strip  # noqa: PLC0415 - as in `command`

    return truing_strip(answer).svg()


def page(file: BuildFile, answer: TrueAnswer) -> str:
    from wheelcalc.paper.bench.file import bench_file  # noqa: PLC0415 - as in `command`

    return bench_file(file, answer).rstrip("\n")
