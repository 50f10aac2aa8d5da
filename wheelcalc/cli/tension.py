"""wheelcalc tension."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, formulas, hanging, heading, signed, table, to_csv, wrapped

if TYPE_CHECKING:
    from wheelcalc.answers.tensioning.answer import SideTension, TensionAnswer
    from wheelcalc.answers.tensioning.riding import Riding

EXACT_DIGITS = 4  # of a figure whose section is exact


@click.command(cls=options.Step)
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
    """Tell how tight each side is to be, what limits it, and what riding takes away.

    Example: wheelcalc tension errand-rear.toml --structure

    With -o it writes .txt, .json, .csv (every spoke) or .svg (tension from valve
    to valve, unloaded and with the rider on).
    """
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.tension(buildfile, overrides, with_sigmas=structure)
    more = {".csv": lambda: to_csv(answer.spoke_rows()), ".svg": lambda: picture(answer)}
    return emit(answer, lambda: text(answer, working=working, structure=structure), wanted, more)


def picture(answer: TensionAnswer) -> str:
    from wheelcalc.paper.tension_strip import tension_strip  # noqa: PLC0415 - as in `command`

    return tension_strip(answer).svg()


def text(answer: TensionAnswer, *, working: bool = False, structure: bool = False) -> str:
    lines = [*heading(answer, "how tight"), *sides(answer), *limits(answer), *findings(answer)]
    lines += [*remedies(answer), *by_hand(answer), *riding(answer)]
    if structure:
        lines += figures(answer)
    if working:
        lines += formulas(answer.working())
    return "\n".join([*lines, *assumptions(answer)])


def sides(answer: TensionAnswer) -> list[str]:
    order = sorted(answer.sides, key=lambda side: side != answer.tighter)
    rows = [row for name in order if (row := _side(name, answer.sides[name]))]
    if not rows:
        return ["No target: see below."]
    headers = ["side", "target N", "kgf", "low N", "high N", "pitch Hz", "note", "Hz low-high"]
    return [*table(rows, headers, "lrrrrrlr"), "", *wrapped(_together(answer))]


def _side(name: str, side: SideTension) -> list[str]:
    from wheelcalc.answers.base import in_kgf  # noqa: PLC0415 - as in `command`

    numbers = (side.target, side.low, side.high, side.pitch, side.low_pitch, side.high_pitch)
    if any(number is None for number in numbers):
        return []
    target, low, high, pitch, low_pitch, high_pitch = (number or 0.0 for number in numbers)
    between = [f"{low:.0f}", f"{high:.0f}", f"{low_pitch:.0f}-{high_pitch:.0f}"]
    if low > high:  # the target is over the limit, a stop: nothing lies between
        between = ["-", "-", "-"]
    row = [name, f"{target:.0f}", f"{in_kgf(target):.0f}", *between[:2]]
    return [*row, f"{pitch:.0f}", side.note or "", between[2]]


def _together(answer: TensionAnswer) -> str:
    share = answer.slack_share
    if share is None:
        return ""
    if share > 0.995:
        return "Both sides carry the same."
    return (
        f"The {answer.tighter} is the tighter side; the {answer.slacker} carries {100 * share:.0f} % of it. That is what keeps the rim in "
        "the middle: tighten only until the rim is centred, the slacker side comes out by itself."
    )


def limits(answer: TensionAnswer) -> list[str]:
    if not answer.target.limits:
        return []
    from wheelcalc.answers.base import in_kgf  # noqa: PLC0415 - as in `command`

    out = ["", "What limits it; what is reached first decides:"]
    for each in answer.target.limits:
        where = "both sides" if each.side == "both" else each.side
        out += hanging("- ", f"{each.value:.0f} N ({in_kgf(each.value):.0f} kgf), {where}: {each.reason}")
    return out


def remedies(answer: TensionAnswer) -> list[str]:
    if not answer.remedies:
        return []
    out = ["", *wrapped(f"What would raise the {answer.slacker} side, with the tighter one at its limit, most first:")]
    for each in answer.remedies:
        gain = f" {each.slack:.0f} N, {signed(each.gain, 0)} N." if each.gain else ""
        out += hanging("- ", each.text + gain)
    return out


def by_hand(answer: TensionAnswer) -> list[str]:
    tighter = answer.sides[answer.tighter]
    if tighter.target is None:
        return []
    return [
        "",
        "How to get there:",
        *hanging(
            "- ",
            "Tighten = clockwise seen from the tyre. Go round in half turns, later quarters, every nipple alike, and true in "
            "between; stop when the tighter side's mean is there. Low and high are for any single spoke.",
        ),
        *hanging("- ", answer.ear),
        *(hanging("- ", answer.pair) if answer.pair else []),
        *hanging(
            "- ",
            "The rim's and the hub's makers' figures go before these. Never tighten past the rim's limit, and wear eye "
            "protection: a spoke or nipple can break and fly.",
        ),
    ]


def riding(answer: TensionAnswer) -> list[str]:
    loads = answer.riding
    if loads is None:
        return []
    rows = []
    for what, each in (("standing still", loads.still), (f"{loads.impact:.3g} times that", loads.knock)):
        left = each.tensions[each.weakest]
        hole = answer.wheel.lacing.rim_hole[each.weakest]
        left_text = f"{round(left, -1):.0f}" if left > 0 else "slack"
        rows.append([what, f"{each.load:.0f}", f"{round(each.lost, -1):.0f}", left_text, str(hole)])
    headers = ["rider on", "wheel load N", "bottom spoke loses N", "keeps N", "rim hole"]
    return [
        "",
        "What riding does:",
        "",
        *table(rows, headers, "lrrrr"),
        "",
        *wrapped(f"The first spoke goes slack at {loads.slack_at:.1f} times the static load."),
        *(line for each in _turning(answer, loads) for line in wrapped(each)),
    ]


def _turning(answer: TensionAnswer, loads: Riding) -> list[str]:
    from wheelcalc.answers.tensioning.riding import by_direction  # noqa: PLC0415 - as in `command`

    out = []
    for each in loads.turning:
        words = "Hard pedalling" if each.what == "driving" else "Hard braking"
        parts = [
            f"{side} {way.removesuffix('_N')} {signed(round(change, -1), 0)} N"
            for side, ways in by_direction(each, answer.wheel).items()
            for way, change in ways.items()
        ]
        out.append(
            f"{words} ({each.torque / 1000:.0f} N m on the hub): {', '.join(parts) or 'no crossed spokes to carry it'}."
        )
    return out


def figures(answer: TensionAnswer) -> list[str]:
    found = answer.figures
    if found is None:
        return []
    rows = [[words, *_sure(value, within), unit] for words, value, within, unit in answer.figure_rows()]
    note = (
        "At the target tensions, loads on the rim, hub held, no tyre. +-: what the guessed section leaves open, 19 times in 20. "
        f"Buckling: mean of the {answer.tighter} side."
    )
    slack = f" First slack: the spoke in rim hole {found.slack_spoke}." if found.slack_spoke else ""
    return ["", "The wheel as a structure:", "", *table(rows, ["", "", "+-", ""], "lrrl"), "", *wrapped(note + slack)]


def _sure(value: float | None, within: float | None) -> tuple[str, str]:
    """Return a figure to the digit in which it is sure, and that error to one digit."""
    if value is None:
        return "-", ""
    if not within or within < abs(value) * 10**-EXACT_DIGITS:
        return f"{value:.{EXACT_DIGITS}g}", "exact"
    place = math.floor(math.log10(within))
    digits = max(0, -place)
    return f"{round(value, -place):.{digits}f}", f"{round(within, -place):.{digits}f}"
