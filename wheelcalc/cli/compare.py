"""wheelcalc compare."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, heading, signed, table, to_csv
from wheelcalc.wheel.errors import InputError

if TYPE_CHECKING:
    from wheelcalc.answers.compare import Change, CompareAnswer


@click.command()
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="[NEW]", required=False)
@options.common
def command(
    old: str, new: str | None, overrides: tuple[str, ...], as_json: bool, output: str | None, force: bool
) -> int:
    """Tell what changes from one build file to another, and whether your order still serves.

    Example: wheelcalc compare before.toml after.toml

    Example: wheelcalc compare errand-rear.toml --set hub.right.pcd=47

    Without NEW, the old file is compared with itself as --set changes it. With -o it writes .txt, .json or .csv.
    """
    if new is None and not overrides:
        raise InputError(
            "NEW", "is missing; give two build files, or one and what to change in it with --set KEY=VALUE"
        )
    if old == "-" and new in (None, "-"):
        raise InputError("OLD", "standard input can be read once only; give the path of a file")
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.compare(old, new, overrides)
    more = {".csv": lambda: to_csv(answer.as_json()["changes"])}
    return emit(answer, lambda: text(answer), as_json=as_json, output=output, force=force, more=more)


def text(answer: CompareAnswer) -> str:
    """Return the answer as one reads it."""
    lines = heading(answer, "what changes")
    if not answer.inputs:
        return "\n".join([*lines, "The two files say the same: nothing changes."])
    lines += _table("in the file", answer.inputs)
    lines += (
        ["", *_table("what it changes", answer.changes)]
        if answer.changes
        else ["", "Nothing that is computed changes with it."]
    )
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def _table(what: str, changes: Sequence[Change]) -> list[str]:
    rows = [
        [f"{c.what} [{c.unit}]" if c.unit else c.what, _cell(c.before), _cell(c.after), _difference(c)] for c in changes
    ]
    return table(rows, [what, "before", "after", "difference"], "lrrr")


def _cell(value: float | str | None) -> str:
    if value is None:
        return "-"
    return value if isinstance(value, str) else f"{value:.4g}" if abs(value) < 10 else f"{value:.1f}"


def _difference(change: Change) -> str:
    if change.difference is None:
        return ""
    return signed(change.difference, 3 if change.unit == "" and abs(change.difference) < 0.5 else 1)
