"""wheelcalc compare."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, hanging, heading, table, to_csv, wrapped
from wheelcalc.wheel.errors import InputError

ASIDE = ("readings", "old_wheel", "old_rim", "fitted", "pluck", "truing", "measuring")
DIGITS = {"mm": 1, "degrees": 1, "N": 0, "N/mm": 0}

if TYPE_CHECKING:
    from wheelcalc.answers.comparing import Change, CompareAnswer


@click.command(cls=options.Step)
@click.argument("old", metavar="OLD", shell_complete=options.files)
@click.argument("new", metavar="[NEW]", required=False, shell_complete=options.files)
@options.common
def command(old: str, new: str | None, overrides: tuple[str, ...], wanted: options.Wanted) -> int:
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
    return emit(answer, lambda: text(answer), wanted, more)


def text(answer: CompareAnswer) -> str:
    lines = heading(answer, "what changes")
    if not answer.inputs:
        return "\n".join([*lines, "The two files say the same: nothing changes."])
    own = [change for change in answer.inputs if change.what.split(".")[0] not in ASIDE]
    lines += ["In the file:", "", *_listed(own), *_aside(answer.inputs)]
    if answer.changes:
        lines += ["", "What it changes:", "", *_listed(answer.changes)]
    else:
        lines += ["", "No number that is computed changes with it."]
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def _listed(changes: Sequence[Change]) -> list[str]:
    """Numbers as a table, words a line each."""
    rows = [
        [
            f"{c.what} [{c.unit}]" if c.unit else c.what,
            _number(c.before, c),
            _number(c.after, c),
            _number(c.difference, c, "+"),
        ]
        for c in changes
        if c.difference is not None
    ]
    lines = table(rows, ["", "before", "after", "change"], "lrrr") if rows else []
    for change in changes:
        if change.difference is None:
            lines += hanging(f"{change.what}: ", f"{change.before or '-'} -> {change.after or '-'}")
    return lines


def _aside(changes: Sequence[Change]) -> list[str]:
    """What differs in sections that nothing here is computed from, counted only."""
    counts = Counter(section for change in changes if (section := change.what.split(".")[0]) in ASIDE)
    return (
        wrapped(
            f"Besides, keys of other sections: {', '.join(f'{count} of [{name}]' for name, count in counts.items())}."
        )
        if counts
        else []
    )


def _number(value: float | str | None, change: Change, sign: str = "") -> str:
    return f"{value:{sign}.{DIGITS.get(change.unit, 2)}f}" if isinstance(value, float) else str(value)
