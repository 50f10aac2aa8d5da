"""wheelcalc order."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.lengths import sides
from wheelcalc.cli.output import assumptions, emit, findings, hanging, heading, percent, signed, table, to_csv, wrapped

if TYPE_CHECKING:
    from wheelcalc.answers.ordering.answer import OrderAnswer
    from wheelcalc.spokes.ordering import Line

ALSO_WIDTH = 19  # what is left of the page beside the other columns


@click.command(cls=options.Step)
@options.build_file
@options.common
@options.working
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, working: bool) -> int:
    """Tell which spokes to buy, how many, and the chance that they fit.

    Example: wheelcalc order errand-rear.toml

    With -o it writes .txt, .json or .csv (the order's lines).
    """
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.order(buildfile, overrides)
    more = {".csv": lambda: to_csv(answer.as_json()["lines"])}
    return emit(answer, lambda: text(answer, working=working), wanted, more)


def text(answer: OrderAnswer, *, working: bool = False) -> str:
    lines = [*heading(answer, "spokes to order"), *order_lines(answer), *slip(answer), "", "The lengths behind it:", ""]
    lines += [*sides(answer.lengths), "", *wrapped(answer.lengths.advice())]
    if working:
        lines += ["", *answer.lengths.working()]
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def order_lines(answer: OrderAnswer) -> list[str]:
    if not answer.lines:
        return ["Nothing to order: see below."]
    rows = [
        [
            line.side,
            f"{line.length:g}",
            str(line.count),
            str(line.spares),
            signed(line.end_position),
            percent(line.chance),
            _also(line),
        ]
        for line in answer.lines
    ]
    headers = ["side", "length mm", "spokes", "spares", "end mm", "chance", "would do too"]
    note = (
        "end: where the spoke's end sits with the tension on, + beyond and - short of the bottom of the nipple's slot. "
        "chance: that all ends of the line sit where they may."
    )
    return [*table(rows, headers, "lrrrrrl"), "", *wrapped(note)]


def _also(line: Line) -> str:
    return textwrap.shorten(", ".join(f"{length:g}" for length in line.also), ALSO_WIDTH, placeholder=" ...") or "-"


def slip(answer: OrderAnswer) -> list[str]:
    """Return what a seller asks, a sentence a line; bundles are told apart by their rim holes where a side is mixed."""
    if not answer.lines:
        return []
    out = ["", "To take from those on hand:" if answer.from_jar else "To buy:"]
    for entry in answer.entries:
        labels = " and ".join(label(answer, 1 + list(answer.lines).index(line), line) for line in entry.lines)
        parts = f"{entry.count} + {entry.spares} spare spokes, {entry.length:g} mm, wire {entry.wire} mm, {entry.head} head, "
        parts += f"thread {entry.wire.thread_length:g} mm for {entry.wire.thread_end:.1f} wire; label: {labels}"
        out += hanging("- ", parts)
    nipple = answer.nipple
    washer = f", each with a washer of {nipple.washer:g} mm under its head" if nipple.washer else ""
    out += ["", "To buy, where none are at hand:"] if answer.from_jar else []
    for wire, count in answer.nipples_by_thread.items():
        out += hanging(
            "- ", f"{count} nipples for {wire:g} mm wire, {nipple.material}, {nipple.length:g} mm long{washer}"
        )
    return out


def label(answer: OrderAnswer, number: int, line: Line) -> str:
    if not answer.mixed(line.side):
        return line.side
    return f"{line.side}, bundle {number}, rim holes {', '.join(map(str, line.rim_holes))}"
