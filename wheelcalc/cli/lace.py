"""wheelcalc lace."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, hanging, heading, table, to_csv, wrapped

if TYPE_CHECKING:
    from wheelcalc.answers.lacing.answer import LaceAnswer


@click.command(cls=options.Step)
@options.build_file
@options.common
@click.option(
    "--seen",
    metavar="SPOKES",
    help='Spokes as they sit, rim hole-hub hole, such as "1-R4, 2-L9": says what that is and which to move.',
)
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, seen: str | None) -> int:
    """Show how to lace the wheel: the map, the order, what it must look like.

    Example: wheelcalc lace errand-rear.toml -o map.svg

    With -o it writes .txt, .json, .csv (every spoke) or .svg (the map).
    """
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.lace(buildfile, overrides, seen)
    more = {".csv": lambda: to_csv(answer.as_json()["spokes"]), ".svg": lambda: _drawing(answer)}
    return emit(answer, lambda: text(answer), wanted, more)


def _drawing(answer: LaceAnswer) -> str:
    from wheelcalc.paper.lacing_map import lacing_map  # noqa: PLC0415 - only where a picture is asked for

    return lacing_map(answer.wheel, answer.title).svg()


def text(answer: LaceAnswer) -> str:
    """Return the answer as one reads it; with spokes seen only what they are."""
    if answer.seen is not None:
        said = [line for each in answer.seen_words() for line in hanging("- ", each)]
        return "\n".join([*heading(answer, "the spokes seen"), *said, *findings(answer)])
    lines = [*heading(answer, "lacing map"), *wrapped(summary(answer)), "", "How to number"]
    lines += [line for each in answer.numbering for line in hanging("- ", each)]
    lines += ["", "Which spoke goes where, in rim-hole order", "", *spokes(answer), "", "The order to lace in"]
    for number, step in enumerate(answer.steps, start=1):
        lines += ["", *hanging(f"{number}. ", step.title), *wrapped(step.text, "   ")]
        lines += hanging("   Check: ", step.checkpoint)
    after = (
        f"Then: all nipples screwed down to the same place, such as the end of the thread just gone. {answer.bedding}. Go on with "
        "`wheelcalc tension` and `wheelcalc true`."
    )
    return "\n".join([*lines, "", *wrapped(after), *facts(answer), *findings(answer), *assumptions(answer)])


def summary(answer: LaceAnswer) -> str:
    lacing = answer.wheel.lacing
    sides = [f"{side} {each.spokes} spokes, {_crosses(*each.crosses)}" for side, each in answer.sides.items()]
    opening = f"At the valve {answer.valve_opening:.0f} mm stay free."
    return f"Pattern: {lacing.pattern}. Rim of {lacing.rim_holes} holes; {'; '.join(sides)}. {opening}"


def _crosses(least: int, most: int) -> str:
    if most == 0:
        return "radial"
    return f"{most} cross{'es' if most > 1 else ''}" if least == most else f"{least} to {most} crosses"


def spokes(answer: LaceAnswer) -> list[str]:
    """Return the table of spokes, two halves side by side; empty rim holes in their places."""
    lacing, bundles = answer.wheel.lacing, answer.bundles
    rows = {hole: [str(hole), "-", "(empty)", "", ""] for hole in lacing.empty_rim_holes}
    heads = [
        "-" if answer.wheel.hub.flange(side).spoke_head == "straight" else head
        for side, head in zip(lacing.sides, lacing.heads, strict=True)
    ]
    columns = (lacing.rim_hole.tolist(), lacing.hub_labels, lacing.directions, heads)
    for hole, hub, direction, head in zip(*columns, strict=True):
        rows[hole] = [str(hole), hub, direction, head, f"{round(bundles[hole], 1):g}" if hole in bundles else "none"]
    ordered = [rows[hole] for hole in sorted(rows)]
    half = (len(ordered) + 1) // 2
    pairs = [[*ordered[i], *(ordered[half + i] if half + i < len(ordered) else [""] * 5)] for i in range(half)]
    headers = ["rim", "hub", "runs", "head", "mm"]
    note = "head: its face of the flange, in: toward the other one. mm: length of the spoke that `order` has for this hole."
    if lacing.lean.any():
        note = f"runs: trailing, from the hub backward, against the rolling; leading, forward. {note}"
    if any(answer.order.mixed(side) for side in answer.sides):
        note += " Lay the spokes out in bundles by length before you begin, and take each from its bundle."
    return [*table(pairs, headers * 2, "rlllr" * 2), "", *wrapped(note)]


def facts(answer: LaceAnswer) -> list[str]:
    rows = []
    for side, each in answer.sides.items():
        weave = "-" if each.weave is None else "yes" if each.weave.possible else "no"
        rows.append(
            [
                side,
                "-" if each.nearest_gap is None else f"{each.nearest_gap:.1f}",
                weave,
                "-" if each.head_gap is None else f"{each.head_gap:.1f}",
                f"{each.nipple_tilt_deg:.1f}",
                f"{each.turning.trailing / 1000:.1f}",
                f"{each.turning.leading / 1000:.1f}",
            ]
        )
    headers = ["side", "gap mm", "interlace", "head mm", "tilt deg", "trailing", "leading"]
    note = (
        "gap: between two spokes where they cross, if not interlaced. head: a spoke to the middle of the next hole. tilt: at the "
        "nipple, from straight inward. trailing, leading: moments on the hub at the target tension, N m."
    )
    return ["", "What the lacing does", "", *table(rows, headers, "lrlrrrr"), "", *wrapped(note)]
