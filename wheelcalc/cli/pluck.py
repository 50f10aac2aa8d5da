"""wheelcalc pluck."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import aside, assumptions, emit, findings, formulas, hanging, heading, table, wrapped
from wheelcalc.page.numbers import signed
from wheelcalc.wheel.errors import InputError

if TYPE_CHECKING:
    from wheelcalc.answers.plucking.answer import HeardPluck, PluckAnswer, SideHeard

NAMED = 0.05  # of a side's mean: spokes further off are named
MOST_NAMED = 4
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
    from wheelcalc.answers.plucking.answer import Round  # noqa: PLC0415 - as above
    from wheelcalc.answers.plucking.compute import pluck  # noqa: PLC0415 - numbers are loaded when they are needed

    plan = Round(start, side, _holes(skip))
    answer = pluck(buildfile, recording, overrides, round_=plan, before=before, tell=progress())
    more = {".csv": answer.readings_csv, ".svg": lambda: picture(answer)}
    return emit(answer, lambda: text(answer, working=working), wanted, more)


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


def text(answer: PluckAnswer, *, working: bool = False) -> str:
    lines = [*heading(answer, "what was heard"), *evenness(answer), "", *plucks(answer), *sureness(answer)]
    if answer.since:
        lines += ["", f"Since the earlier recording ({answer.since.spokes} spokes in both):"]
        lines += [line for each in answer.since.sentences() for line in hanging("- ", each)]
    if working:
        from wheelcalc.answers.plucking.working import working as worked  # noqa: PLC0415 - as in `command`

        lines += formulas(worked(answer))
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def evenness(answer: PluckAnswer) -> list[str]:
    out = []
    for name, side in answer.sides.items():
        out += hanging(f"{name.capitalize() + ':':<7}", _side(answer, name, side))
    advice = (
        "Turn the tightest looser and the loosest tighter, an eighth of a turn at a time, and pluck again; or write the readings "
        "(-o readings.csv) and let `wheelcalc true` work out the turns."
    )
    return [*out, *wrapped(advice)] if any(_off(answer, name) for name in answer.sides) else out


def _side(answer: PluckAnswer, name: str, side: SideHeard) -> str:
    from wheelcalc.answers.base import in_kgf  # noqa: PLC0415 - as in `command`

    height = "about" if not answer.calibrated else "mean"
    within = answer.within(side.sigma)
    count = f"{side.spokes} spoke{'s' if side.spokes > 1 else ''}"
    start = f"{count}, {height} {side.tension:.0f} N ({in_kgf(side.tension):.0f} kgf) +-{within:.0f}, "
    start += f"{side.note}; they differ by {side.spread:.1f} % (standard deviation). "
    named = _off(answer, name)
    if not named:
        return f"{start}None is more than {100 * NAMED:.0f} % off: even."
    return start + " ".join(named)


def _off(answer: PluckAnswer, name: str) -> list[str]:
    """Name the spokes of a side that are furthest off."""
    share, holes = answer.against_side(), answer.wheel.lacing.rim_hole
    own = [i for i in range(len(holes)) if answer.wheel.lacing.on(name)[i] and abs(share[i]) >= NAMED]
    out = []
    for word, sign in (("Tightest", 1), ("Loosest", -1)):
        found = sorted((i for i in own if share[i] * sign > 0), key=lambda i: -abs(share[i]))[:MOST_NAMED]
        if found:
            out.append(f"{word}: " + ", ".join(f"{holes[i]} ({signed(100 * share[i], 0)}%)" for i in found) + ".")
    return out


def plucks(answer: PluckAnswer) -> list[str]:
    rows = [_row(answer, each) for each in answer.heard]
    headers = ["rim hole", "side", "at s", "Hz", "N", "of side %", ""]
    note = (
        "of side: tension against the mean of its side. ? pitch not sure; # spoke not sure; = the same spoke once more."
    )
    return [*table(rows, headers, "rlrrrrl"), "", *wrapped(note)]


def _row(answer: PluckAnswer, each: HeardPluck) -> list[str]:
    at, pitch = f"{each.pluck.at:.1f}", f"{each.pluck.pitch:.1f}" if each.pluck.known else "-"
    mark = "?" * (not each.pluck.sure) + "#" * (each.spoke is not None and not each.pluck.placed) + "=" * each.again
    if each.spoke is None:
        return ["-", "", at, pitch, "-", "-", mark]
    hole, side = str(answer.wheel.lacing.rim_hole[each.spoke]), answer.wheel.lacing.sides[each.spoke]
    if not each.pluck.usable:
        return [hole, side, at, pitch, "-", "-", mark]
    off = 100 * float(answer.against_side()[each.spoke])
    return [hole, side, at, pitch, f"{answer.tension[each.spoke]:.0f}", signed(off, 0), mark]


def sureness(answer: PluckAnswer) -> list[str]:
    out = ["", "How sure:"]
    for name, side in answer.sides.items():
        out += hanging(
            "- ",
            f"{name}: a semitone is {side.semitone:.0f} N. Between spokes of a side the ear is good to "
            f"+-{answer.within(side.ear):.0f} N, in height to +-{answer.within(side.sigma):.0f} N (19 times in 20).",
        )
        if side.how:
            out += hanging("- ", f"{name}: calibrated by {side.how}.")
    return out
