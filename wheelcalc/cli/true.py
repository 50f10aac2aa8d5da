"""wheelcalc true."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, hanging, heading, table, to_csv, wrapped
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from wheelcalc.answers.broken_spoke import BrokenAnswer
    from wheelcalc.answers.truing.answer import TrueAnswer

FINEST = 16  # parts of a turn that are written as a fraction
CAUTION = (
    "Wear eye protection: a spoke or nipple can break and fly. Squeeze parallel spokes together in pairs after each pass; do "
    "not ride before the wheel runs true, no spoke is slack and the brake is set."
)


HELP = """Tell which nipples to turn, and what that brings; or how to get home on a broken spoke.

Example: wheelcalc true errand-rear.toml errand-rear-readings.csv

On the road: wheelcalc true errand-rear.toml --broken 14

READINGS.csv has the header rim_hole,lateral_mm,radial_mm,tension_N (or
pitch_hz); empty cells are allowed. Lateral: + to the right, radial: + outward.

With -o it writes .txt, .json, .csv (every spoke) or .svg (from valve to valve).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@click.argument("readings", metavar="[READINGS.csv]", required=False, shell_complete=options.files)
@click.option(
    "--broken", metavar="HOLE[,HOLE]", help="No readings: the spoke at this rim hole has broken; how to get home."
)
@click.option(
    "--own-plane", is_flag=True, help="Lateral was read from any plane, not from half-way between the locknuts."
)
@options.common
def command(
    buildfile: str,
    readings: str | None,
    broken: str | None,
    own_plane: bool,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    if (readings is None) == (broken is None):
        found = "neither" if readings is None else "both"
        raise InputError("true", f"found {found}; give a file of readings (CSV), or --broken with a rim hole")
    if broken is not None:
        if own_plane:
            raise InputError("--own-plane", "goes with readings, not with --broken; leave it out")
        gone = answers.broken(buildfile, holes_of(broken), overrides)
        more = {".csv": lambda: to_csv(gone.spoke_rows()), ".svg": lambda: picture(gone)}
        return emit(gone, lambda: broken_text(gone), wanted, more)
    answer = answers.true(buildfile, readings or "", overrides, own_plane=own_plane)
    more = {".csv": lambda: to_csv(answer.spoke_rows()), ".svg": lambda: picture(answer)}
    return emit(answer, lambda: text(answer), wanted, more)


def holes_of(text: str) -> list[int]:
    """Return the rim holes of --broken."""
    parts = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and len(part) < FINEST for part in parts):
        raise InputError(
            "--broken",
            f'found "{printable(text, LONGEST_ECHO)}"; write a rim hole, or several with commas, such as 14 or 14,15',
        )
    return [int(part) for part in parts]


def picture(answer: TrueAnswer | BrokenAnswer) -> str:
    from wheelcalc.paper.truing_strip import truing_strip  # noqa: PLC0415 - as in `command`

    return truing_strip(answer).svg()


def text(answer: TrueAnswer) -> str:
    lines = [*heading(answer, "which nipples to turn"), *next_pass(answer), *outcome(answer), *advice(answer)]
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def turn(turns: float) -> str:
    """Return a turn of a nipple in words: "3/4 turn tighter"."""
    way = "tighter" if turns > 0 else "looser"
    whole, part = divmod(abs(turns), 1)
    fraction = Fraction(part).limit_denominator(FINEST)
    if abs(float(fraction) - part) > 1e-9:
        return f"{abs(turns):.3g} turn{'s' if abs(turns) > 1 else ''} {way}"
    words = " ".join(([f"{whole:.0f}"] if whole else []) + ([str(fraction)] if fraction else []))
    return f"{words} turn{'s' if abs(turns) > 1 else ''} {way}"


def sides(left: float, right: float) -> str:
    if left == right:
        return f"all nipples {turn(left)}" if left else ""
    words = [f"all {side} nipples {turn(value)}" for side, value in (("right", right), ("left", left)) if value]
    return ", ".join(words)


def next_pass(answer: TrueAnswer) -> list[str]:
    if not answer.passes:
        words = (
            "Done: the wheel is as true and even as you asked. Nothing to turn."
            if answer.done
            else "Nothing to turn: no turn that the tensions allow makes this wheel better."
        )
        return wrapped(words)
    planned = answer.passes[0]
    both = dict(zip(("left", "right"), planned.side_turns, strict=True))
    rows = [
        {**row, "turns": row["turns"] - both[row["side"]]}
        for row in _all_rows(answer)
        if row["turns"] != both[row["side"]]
    ]
    out = wrapped(
        "Done: the wheel is as true and even as you asked. Finer still, if you like:"
        if answer.done
        else "Next pass, from the valve on:"
    )
    if any(both.values()):
        reason = "dish" if answer.dish and abs(answer.dish.move) > answer.planner.done.dish else "tension as a whole"
        out += ["", *hanging("First ", f"{sides(*planned.side_turns)} ({reason}).")]
        out += [*(wrapped("Then, besides:") if rows else [])]
    return [*out, *([""] if rows else []), *turn_table(rows), "", *wrapped(HOW)]


HOW = (
    "Tighter is clockwise, seen from the tyre. Rim holes count forward from the valve: clockwise, seen from the right. Read again "
    "after the pass."
)


def _all_rows(answer: TrueAnswer) -> list[dict[str, Any]]:
    lacing, turns = answer.wheel.lacing, answer.passes[0].turns.tolist()
    holes = lacing.rim_hole.tolist()
    return [
        {"rim_hole": hole, "side": side, "turns": t} for hole, side, t in zip(holes, lacing.sides, turns, strict=True)
    ]


def turn_table(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    cells = [[str(row["rim_hole"]), row["side"], turn(row["turns"])] for row in rows]
    return table(cells, ["rim hole", "side", "turn"], "rll") if cells else []


def outcome(answer: TrueAnswer) -> list[str]:
    columns = [("now", answer.before), *((f"after {i}", each.figures) for i, each in enumerate(answer.passes, 1))]
    figures = [answer.figures_json(found) for _, found in columns]
    spreads = [found["tension_spread_percent"] for found in figures]
    rows = [
        ["lateral run-out, mm", *(_number(found["lateral_mm"], 2) for found in figures)],
        ["radial run-out, mm", *(_number(found["radial_mm"], 2) for found in figures)],
        ["rim off the middle, mm", *(_sideways(found["dish_mm"]) for found in figures)],
        ["left tensions uneven by, %", *(_number(spread["left"], 1) for spread in spreads)],
        ["right tensions uneven by, %", *(_number(spread["right"], 1) for spread in spreads)],
    ]
    counts = ["nipples turned", "", *(str(len(answer.turn_rows(i))) for i in range(len(answer.passes)))]
    note = (
        "Now: as you read it; where you did not, as the wheel's structure has it. After: what the passes should bring. Run-out: full "
        "reading. Uneven: standard deviation over mean."
    )
    return [
        "",
        *table([*rows, counts], ["", *(name for name, _ in columns)], "l" + "r" * len(columns)),
        "",
        *wrapped(note),
    ]


def _number(value: float | None, digits: int) -> str:
    return "not read" if value is None else f"{value:.{digits}f}"


def _sideways(value: float | None) -> str:
    if value is None:
        return "not read"
    shown = f"{abs(value):.2f}"
    return shown if float(shown) == 0 else f"{shown} {'right' if value > 0 else 'left'}"


def advice(answer: TrueAnswer) -> list[str]:
    lines = [dish(answer), level(answer), how_sure(answer), windup(answer), f"Safety: {CAUTION}"]
    return ["", *(line for each in lines if each for line in hanging("- ", each))]


def dish(answer: TrueAnswer) -> str:
    found = answer.dish
    if found is None:
        return "Dish: unknown, since lateral was not read from the plane half-way between the locknuts."
    words = sides(found.left, found.right)
    way = "right" if found.move > 0 else "left"
    if not words:
        return f"Dish: the rim is in the middle, within {max(abs(found.move), 0.05):.1f} mm."
    line = f"Dish: the rim must move {abs(found.move):.1f} mm to the {way}: {words}."
    if answer.passes and any(answer.passes[0].side_turns):
        return f"{line} That is in the pass above{_in_part(answer)}; do not do it twice."
    return line + (
        " That is little, and the turns above see to it." if answer.passes else " That is within what you call done."
    )


def _in_part(answer: TrueAnswer) -> str:
    found = answer.dish
    whole = (found.left, found.right) if found else (0.0, 0.0)
    return "" if answer.passes[0].side_turns == whole else ", as far as one pass goes"


def level(answer: TrueAnswer) -> str:
    found = answer.level
    words = sides(found.left, found.right) if found else ""
    if not words:
        return ""
    target = answer.setup.target.tension
    slowly = ", half a turn at a time" if found and max(abs(found.left), abs(found.right)) > 0.5 else ""
    return (
        f"Tension as a whole is under the target (right {target['right']:.0f} N, left {target['left']:.0f} N). When the wheel is true, "
        f"{words} would bring it there{slowly}."
    )


def how_sure(answer: TrueAnswer) -> str:
    found = answer.sigmas()
    line = (
        f"How sure, at the worst place, 19 times in 20: lateral {answer.within(found['lateral_mm']):.2f} mm (rim hole "
        f"{found['lateral_rim_hole']}), radial {answer.within(found['radial_mm']):.2f} mm ({found['radial_rim_hole']}), tension "
        f"{answer.within(found['tension_N']):.0f} N ({found['tension_rim_hole']})."
    )
    next_one = answer.next_reading
    if next_one is None:
        return line
    return f"{line} To be surer, read {next_one.quantity} at rim hole {answer.hole_of(next_one)} next."


def windup(answer: TrueAnswer) -> str:
    return (
        f"Spokes twist before the nipple moves, here by about {_part(answer.windup)} turn: go that much too far and back again, so that "
        "the spoke stays untwisted."
    )


def _part(turns: float) -> str:
    return f"1/{round(1 / turns)} of a" if turns < 0.5 else f"{turns:.1f}"


def broken_text(answer: BrokenAnswer) -> str:
    which = ", ".join(map(str, answer.holes))
    lines = heading(
        answer, f"the spoke in rim hole {which} is gone" if len(answer.holes) == 1 else f"spokes {which} are gone"
    )
    if answer.stops:
        lines += ["Do not ride on it; see STOP below.", ""]
    lines += [*broken_table(answer), "", *homeward(answer)]
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def broken_table(answer: BrokenAnswer) -> list[str]:
    gone, after = answer.content()["broken"], answer.content()["broken"]["after"]
    pairs = [(words, gone[name], after[name], 1) for words, name in RUNOUTS]
    pairs += [
        (f"rim hole {one['rim_hole']}, {one['side']}: tension, N", one["tension_N"], other["tension_N"], 0)
        for one, other in zip(gone["neighbours"], after["neighbours"], strict=True)
    ]
    headers = ["", "now", "after the turns"][: 3 if gone["turns"] else 2]
    rows = [[words, f"{now:.{digits}f}", f"{then:.{digits}f}"][: len(headers)] for words, now, then, digits in pairs]
    return table(rows, headers, "lrr"[: len(headers)])


RUNOUTS = (("lateral run-out, mm", "lateral_mm"), ("radial run-out, mm", "radial_mm"))


def homeward(answer: BrokenAnswer) -> list[str]:
    rows = answer.turn_rows()
    tape = "Take the broken spoke out, or tape it to a neighbour so that it cannot catch anything."
    slow = (
        "Ride slowly, off the saddle over bumps, and look at the wheel every few minutes; stop if another spoke loosens. Replace the "
        "spoke before the next ride."
    )
    if answer.stops:
        only = "; the turns above only keep the wheel from rubbing" if rows else ""
        slow = f"Walk the bike, or put in a spoke here{only}."
    lines = hanging("1. ", tape)
    if not rows:
        lines += hanging("2. ", f"Turn nothing: the rim stays within {answer.furthest:.1f} mm of where it ran.")
        return [*lines, *hanging("3. ", slow)]
    lines += [
        *hanging("2. ", "Turn these nipples (tighter is clockwise, seen from the tyre):"),
        "",
        *turn_table(rows),
        "",
    ]
    lines += hanging("3. ", slow)
    undo = ", ".join(f"{row['rim_hole']}: {turn(-row['turns'])}" for row in rows)
    return [*lines, *hanging("4. ", f"With the new spoke in, undo it, by rim hole {undo}. Then true as usual.")]
