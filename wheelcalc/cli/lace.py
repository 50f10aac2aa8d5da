"""wheelcalc lace."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import show, to_csv

if TYPE_CHECKING:
    from wheelcalc.answers.lacing.answer import LaceAnswer


HELP = """Show how to lace the wheel: the map, the order, what it must look like.

Example: wheelcalc lace errand-rear.toml -o map.svg

With -o it writes .txt, .json, .html, .csv (every spoke, its step and length) or .svg (the map).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@options.common
@click.option(
    "--seen",
    metavar="SPOKES",
    help='Spokes as they sit, rim hole-hub hole, such as "1-R4, 2-L9": says what that is and which to move.',
)
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, seen: str | None) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.lace(buildfile, overrides, seen)
    more = {".csv": lambda: to_csv(_rows(answer)), ".svg": lambda: _drawing(answer)}
    return show(answer, wanted, more)


def _rows(answer: LaceAnswer) -> list[dict[str, object]]:
    """Every spoke with the step in which it is laced and the length that `order` has for it."""
    step = {hole: number for number, each in enumerate(answer.steps, start=1) for hole in each.rim_holes}
    bundles = answer.bundles
    return [
        {**row, "step": step[row["rim_hole"]], "bundle_mm": bundles.get(row["rim_hole"], "")}
        for row in answer.as_json()["spokes"]
    ]


def _drawing(answer: LaceAnswer) -> str:
    from wheelcalc.paper.lacing_map import lacing_map  # noqa: PLC0415 - only where a picture is asked for

    return lacing_map(answer.wheel, answer.title).svg()
