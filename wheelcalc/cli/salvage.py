"""wheelcalc salvage."""

from __future__ import annotations

from collections.abc import Mapping

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import listed_csv, show

HELP = """Use the old wheel as gauge, find the wrong reading, see what the jar can build.

Example: wheelcalc salvage errand-rear-salvage.toml

Without a file, or with one that has no [old_wheel], [fitted], [old_rim] or [[jar...]] yet, it prints what to do and
to read while the old wheel is still built. With -o it writes .txt, .json, .html or .csv (the builds).
"""


@click.command(cls=options.JobCommand, help=HELP)
@click.argument("buildfile", metavar="[BUILDFILE]", required=False, shell_complete=options.files)
@click.option(
    "--all", "whole", is_flag=True, help="Tell all: errors of each side, the old rim's forecast, more wheels."
)
@options.common
def command(buildfile: str | None, overrides: tuple[str, ...], wanted: options.Wanted, *, whole: bool) -> int:
    from dataclasses import replace  # noqa: PLC0415 - costs a help page as much as all its words

    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.salvage({"title": "A rim to salvage"} if buildfile is None else buildfile, overrides)
    answer = replace(answer, whole=whole)
    return show(answer, wanted, {".csv": lambda: listed_csv(answer, "builds", _flat)})


def _flat(row: Mapping[str, object]) -> dict[str, object]:
    """One build as one line: per-side values in columns of their own with their unit, findings by their names."""
    out: dict[str, object] = {}
    for name, value in row.items():
        if isinstance(value, dict):
            unit = "_mm" if name == "lengths" or name.endswith("_mm") else ""
            out |= {f"{name.removesuffix('_mm')}_{side}{unit}": each for side, each in value.items()}
        elif isinstance(value, list):
            out[name] = [_in_a_cell(each) for each in value]
        else:
            out[name] = value
    return out


def _in_a_cell(row: dict[str, object]) -> str:
    """A finding by its name, a line of spokes as one reads it."""
    return str(row["name"]) if "name" in row else f"{row['side']} {row['count']} x {row['length_mm']:g}"
