"""wheelcalc measure."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, formulas, hanging, heading, table, to_csv, wrapped
from wheelcalc.wheel.errors import InputError

if TYPE_CHECKING:
    from wheelcalc.answers.measuring import HowAnswer, MeasureAnswer
    from wheelcalc.measuring.readings import Measured


@click.command(cls=options.Step)
@click.argument("buildfile", metavar="[BUILDFILE]", required=False, shell_complete=options.files)
@click.option(
    "--how",
    "how_to",
    metavar="KEY",
    is_flag=False,
    flag_value="",
    help="Explain how to take a reading, such as rim.erd; needs no file.",
)
@options.common
@options.working
def command(
    buildfile: str | None,
    how_to: str | None,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    working: bool,
) -> int:
    """Turn readings taken with a rule and two old spokes into dimensions.

    Example: wheelcalc measure errand-rear-salvage.toml

    Example: wheelcalc measure --how rim.erd

    With -o it writes .txt, .json or .csv (the dimensions).
    """
    from wheelcalc.answers.measuring import how, measure  # noqa: PLC0415 - numbers are loaded when they are needed

    if how_to is not None:
        answer = how(how_to)
        return emit(answer, lambda: how_text(answer), wanted)
    if buildfile is None:
        raise InputError(
            "BUILDFILE", "is missing; give a build file with [readings], or --how KEY to learn how to take one"
        )
    found = measure(buildfile, overrides)
    more = {".csv": lambda: to_csv([_row(row) for row in found.as_json()["dimensions"]])}
    return emit(found, lambda: text(found, working=working), wanted, more)


def _row(row: dict[str, object]) -> dict[str, object]:
    return {name: row[name] for name in ("name", "value_mm", "sigma_mm", "from", "used")}


def text(answer: MeasureAnswer, *, working: bool = False) -> str:
    rows = [
        [each.key, f"{each.mean.value:.1f}", f"+-{each.mean.within:.1f}", "yes" if each.key in answer.used else "no"]
        for each in answer.dimensions
    ]
    lines = [*heading(answer, "what your readings give"), *table(rows, ["dimension", "mm", "19 in 20", "used"], "lrrl")]
    note = (
        "used: every command takes it. no: the file has a value of its own, or the usual one is surer. rim.erd is to the spoke end here. "
        "19 in 20: that sure, 19 times in 20."
    )
    lines += ["", *wrapped(note), "", "How each was found:"]
    for each in answer.dimensions:
        lines += _found(each)
    if working:
        lines += formulas(answer.working(), " (mm, degrees)")
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def _found(each: Measured) -> list[str]:
    if len(each.estimates) == 1:
        return hanging("- ", f"{each.key}: {each.words}")
    lines = hanging("- ", f"{each.key}: the weighted mean of {len(each.estimates)} ways; {each.agreement}.")
    rows = [[f"  {e.value:.1f}", f"+-{e.within:.1f}", e.words] for e in each.estimates]
    widths = [max(len(row[column]) for row in rows) for column in (0, 1)]
    return lines + [f"  {a:>{widths[0]}} {b:>{widths[1]}}  {words}" for a, b, words in rows]


def how_text(answer: HowAnswer) -> str:
    lines = [answer.key, "-" * len(answer.key), "", *wrapped(answer.how.what), ""]
    for step in answer.how.steps:
        lines += hanging("- ", step)
    if answer.how.drawing:
        lines += ["", *answer.how.drawing.rstrip("\n").splitlines(), "", "Into the build file:", ""]
        lines += [f"    {line}" for line in answer.how.write.splitlines()]
    if answer.cost:
        rows = [[words, *(f"+-{answer.within(sigma):.1f}" for sigma in by.values())] for words, by in answer.cost]
        lines += ["", "What it costs in error, each reading taken once (mm, 19 times in 20):", ""]
        lines += table(rows, ["way", *answer.cost[0][1]], "lrr")
    return "\n".join([*lines, "", *wrapped(answer.how.matters)]).rstrip("\n")
