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
@click.argument("new", metavar="[NEW ...]", nargs=-1, shell_complete=options.files)
@click.option(
    "--order", "bought", metavar="FILE", shell_complete=options.files, help="JSON of an order: do its spokes serve?"
)
@options.common
def command(
    old: str,
    new: tuple[str, ...],
    bought: str | None,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    drawers: tuple[str, ...] = (),
) -> int:
    """Tell what changes from one build file to another, and whether your order still serves.

    Example: wheelcalc compare before.toml after.toml

    Example: wheelcalc compare errand-rear.toml --set hub.right.pcd=47

    Example: wheelcalc compare one.toml two.toml three.toml --order order.json

    Without NEW, the old file is compared with itself as --set changes it; of three or more files --set changes the
    second. --order says of each build whether spokes already bought serve. With -o it writes .txt, .json or .csv.
    """
    if not new and not overrides and bought is None:
        raise InputError(
            "NEW", "is missing; give two build files, or one and what to change in it with --set KEY=VALUE"
        )
    if [old, *(new or [old])].count("-") > 1:
        raise InputError("OLD", "standard input can be read once only; give the path of a file")
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed
    from wheelcalc.files.buildfile import read_build  # noqa: PLC0415

    first, *rest = (read_build(each, (), drawers) for each in (old, *new[1:]))
    second = read_build(new[0] if new else old, overrides, drawers)
    answer = answers.compare(first, second, more=rest, bought=bought)
    more = {".csv": lambda: to_csv([_flat(row, answer.builds) for row in answer.as_json()["changes"]])}
    return emit(answer, lambda: text(answer), wanted, more)


def _flat(row: dict[str, object], builds: Sequence[str]) -> dict[str, object]:
    """One change as one line of CSV: of several builds a column each."""
    values = row.pop("values", None)
    if not isinstance(values, list):
        return row
    return {"what": row["what"], "unit": row["unit"], **dict(zip(builds, values, strict=True))}


def text(answer: CompareAnswer) -> str:
    lines = heading(answer, "what changes")
    if answer.many:
        return "\n".join([*lines, *many(answer), *findings(answer), *assumptions(answer)])
    if not answer.inputs and not answer.bought:
        return "\n".join([*lines, "The two files say the same: nothing changes."])
    own = [change for change in answer.inputs if change.what.split(".")[0] not in ASIDE]
    lines += ["In the file:", "", *_listed(own), *_aside(answer.inputs)]
    if answer.changes:
        lines += ["", "What it changes:", "", *_listed(answer.changes)]
    else:
        lines += ["", "No number that is computed changes with it."]
    return "\n".join([*lines, *findings(answer), *assumptions(answer)])


def many(answer: CompareAnswer) -> list[str]:
    """Several builds side by side: numbers as a table under letters, words build by build."""
    letters = [chr(ord("A") + index) for index in range(len(answer.builds))]
    lines = [line for pair in zip(letters, answer.builds, strict=True) for line in hanging(f"{pair[0]}: ", pair[1])]
    rows = [
        [f"{c.what} [{c.unit}]" if c.unit else c.what, *(_cell(value, c) for value in c.values)]
        for c in answer.changes
        if any(isinstance(value, float) for value in c.values)
    ]
    lines += ["", *table(rows, ["", *letters], "l" + "r" * len(letters))] if rows else ["", "No number differs."]
    for change in answer.changes:
        if not any(isinstance(value, float) for value in change.values):
            lines += ["", f"{change.what}:"]
            for letter, value in zip(letters, change.values, strict=True):
                lines += hanging(f"{letter}: ", str(value or "-"))
    own = [change.what for change in answer.inputs if change.what.split(".")[0] not in ASIDE]
    return [*lines, "", *wrapped(f"What differs in the files: {', '.join(own) or 'nothing'}.")]


def _cell(value: float | str | None, change: Change) -> str:
    return "-" if value is None else _number(value, change)


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
            lines += hanging(f"{change.what}: ", f"{_plain(change.before)} -> {_plain(change.after)}")
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


def _plain(value: float | str | None) -> str:
    return "not known" if value is None else f"{value:.1f}" if isinstance(value, float) else value


def _number(value: float | str | None, change: Change, sign: str = "") -> str:
    return f"{value:{sign}.{DIGITS.get(change.unit, 2)}f}" if isinstance(value, float) else str(value)
