"""wheelcalc lengths."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, heading, table, to_csv, wrapped

if TYPE_CHECKING:
    from wheelcalc.answers.spoke_lengths import LengthsAnswer


@click.command(cls=options.Step)
@options.build_file
@options.common
@options.working
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, working: bool) -> int:
    """Tell how long the spokes are, and how sure that is.

    Example: wheelcalc lengths errand-rear.toml --working

    With -o it writes .txt, .json or .csv (every spoke).
    """
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.lengths(buildfile, overrides)
    more = {".csv": lambda: to_csv(answer.as_json()["spokes"])}
    return emit(answer, lambda: text(answer, working=working), wanted, more)


def text(answer: LengthsAnswer, *, working: bool = False) -> str:
    lines = [
        *heading(answer, "spoke lengths"),
        *sides(answer),
        "",
        *wrapped(answer.advice()),
        *budget(answer),
        *directions(answer),
    ]
    if working:
        lines += ["", *answer.working()]
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def sides(answer: LengthsAnswer) -> list[str]:
    rows = [
        [
            name,
            str(side.count),
            f"{side.geometric:.1f}",
            f"{side.cut:.1f}",
            f"+-{side.within:.1f}",
            f"{side.bracing_angle_deg:.1f}",
        ]
        for name, side in answer.sides.items()
    ]
    headers = ["side", "spokes", "geometric mm", "to buy mm", "19 in 20", "bracing deg"]
    heads = {answer.wheel.hub.flange(side).spoke_head for side in answer.sides}
    start = " or ".join(
        words for head, words in (("elbow", "the elbow"), ("straight", "under the head")) if head in heads
    )
    note = (
        f"geometric: slack, from {start} to the spoke's end. To buy: less what spoke and rim give under tension. "
        "19 in 20: that sure, 19 times in 20. bracing: between spoke and rim's plane."
    )
    return [*table(rows, headers, "lrrrrr"), "", *wrapped(note)]


def budget(answer: LengthsAnswer) -> list[str]:
    if not answer.error_budget:
        return []
    rows = [[s.reading, f"{s.sigma:.2f}", s.side, f"{s.effect:.2f}"] for s in answer.error_budget]
    return [
        "",
        "Where the error comes from, one standard uncertainty each:",
        "",
        *table(rows, ["reading", "mm", "side", "length mm"], "lrlr"),
    ]


def directions(answer: LengthsAnswer) -> list[str]:
    rows = [
        [name, way, f"{length:.1f}"] for name, side in answer.sides.items() for way, length in side.by_direction.items()
    ]
    return ["", *table(rows, ["side", "direction", "to buy mm"], "llr")] if rows else []
