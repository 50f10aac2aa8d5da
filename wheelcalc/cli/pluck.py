"""wheelcalc pluck."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import PAGES, aside, check_output, show
from wheelcalc.wheel.errors import InputError

if TYPE_CHECKING:
    from wheelcalc.answers.plucking.answer import PluckAnswer

EVERY = 1.0  # s, ours: so often it is said how far the ear has come

HELP = """Tell how evenly tight the spokes are from a recording of them plucked.

Pluck one spoke after the other from the valve on, forward, about one a second.
Pluck the first one twice to begin with, and twice again when you come back to
it: these marks of start and end settle which spoke is which.

Example: wheelcalc pluck errand-rear.toml errand-rear-right.wav --side right

With -o it writes .txt, .json, .csv (readings for `wheelcalc true`) or .svg
(from valve to valve).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@click.argument("recording", metavar="RECORDING.wav", shell_complete=options.files)
@click.option(
    "--from", "start", type=int, default=1, metavar="HOLE", help="Rim hole plucked first; 1 is after the valve."
)
@click.option(
    "--side", type=click.Choice(["left", "right", "both"]), default="both", help="Side whose spokes were plucked."
)
@click.option("--skip", metavar="HOLES", help='Rim holes that were left out, such as "7,21".')
@click.option(
    "--before",
    metavar="EARLIER.csv",
    shell_complete=options.files,
    help="Readings from an earlier recording: says what happened since.",
)
@options.common
@options.working
def command(
    buildfile: str,
    recording: str,
    start: int,
    side: str,
    skip: str | None,
    before: str | None,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    working: bool,
) -> int:
    from wheelcalc.answers.plucking.compute import pluck  # noqa: PLC0415 - numbers are loaded when they are needed
    from wheelcalc.answers.plucking.content import Round  # noqa: PLC0415 - as above

    if wanted.output is not None:
        check_output(wanted.output, (*PAGES, ".csv", ".svg"), force=wanted.force)
    plan = Round(start, side, _holes(skip))
    answer = pluck(buildfile, recording, overrides, round_=plan, before=before, tell=progress())
    more = {".csv": answer.readings_csv, ".svg": lambda: picture(answer)}
    return show(answer, wanted, more, lambda: answer.page(working=working))


def progress() -> Callable[[float], None] | None:
    """What says on a terminal, once a second, how much of a long recording is heard; None elsewhere."""
    if not (sys.stderr and sys.stderr.isatty()):
        return None
    last = time.monotonic()

    def tell(share: float) -> None:
        nonlocal last
        if time.monotonic() - last >= EVERY:
            last = time.monotonic()
            aside(f"Heard so far: {100 * share:.0f} % of the sounds")

    return tell


def _holes(text_: str | None) -> tuple[int, ...]:
    if not text_:
        return ()
    try:
        return tuple(int(part) for part in text_.replace(" ", ",").split(",") if part)
    except ValueError:
        raise InputError("--skip", f'found "{text_[:40]}"; write rim holes, such as --skip 7,21') from None


def picture(answer: PluckAnswer) -> str:
    from wheelcalc.paper.pluck_strip import pluck_strip  # noqa: PLC0415 - as in `command`

    return pluck_strip(answer).svg()
