"""wheelcalc lengths."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import aside, listed_csv, put, show, to_csv, write_file
from wheelcalc.wheel.errors import InputError, printable

if TYPE_CHECKING:
    from wheelcalc.answers.spoke_lengths import LengthsAnswer

HELP = """Tell how long the spokes are, and how sure that is.

Example: wheelcalc lengths errand-rear.toml --working

Example: wheelcalc lengths *.toml --csv

With -o it writes .txt, .json, .html or .csv (every spoke). Several files are
listed as CSV, a line for each file and side; where one cannot be used nothing
is listed, and each such file is named on standard error (exit status 2).
"""
# Columns of the list of several files, besides those that name file, build and side.
LISTED = ("count", "geometric_length_mm", "cut_length_mm", "cut_length_sigma_mm", "bracing_angle_deg", "spread_mm")


@click.command(cls=options.JobCommand, help=HELP)
@click.argument("buildfiles", metavar="BUILDFILE [...]", nargs=-1, required=True, shell_complete=options.files)
@click.option("--csv", "listed", is_flag=True, help="List one or several files as CSV, a line for each file and side.")
@options.common
@options.working
def command(
    buildfiles: tuple[str, ...],
    listed: bool,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    working: bool,
    drawers: tuple[str, ...] = (),
) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed
    from wheelcalc.files.buildfile import read_build  # noqa: PLC0415

    def answered(path: str) -> LengthsAnswer:
        return answers.lengths(read_build(path, overrides, drawers))

    if len(buildfiles) == 1 and not listed:
        answer = answered(buildfiles[0])
        return show(
            answer, wanted, {".csv": lambda: listed_csv(answer, "spokes")}, lambda: answer.page(working=working)
        )
    _refuse(buildfiles, wanted, listed=listed, working=working)
    return _list_of(buildfiles, answered, wanted)


def _refuse(paths: Sequence[str], wanted: options.Wanted, *, listed: bool, working: bool) -> None:
    """Refuse what several files cannot be written as, before anything is read."""
    to_file = (wanted.output or "").lower().endswith(".csv")
    if not (listed or to_file) or wanted.as_json or working:
        raise InputError(
            "--csv", "several files are listed as CSV: add --csv (or -o FILE.csv), without --json or --working"
        )
    if paths.count("-") > 1:
        raise InputError("BUILDFILE", "standard input can be read once only; give the path of a file")


def _list_of(paths: Sequence[str], answered: Any, wanted: options.Wanted) -> int:
    """List all files, or, where one cannot be used, name each such and list none; return the worst of their states."""
    from wheelcalc.cli.main import UNUSABLE, error_line  # noqa: PLC0415 - only where several files are read

    rows, status = [], 0
    for path in paths:
        try:
            answer = answered(path)
        except InputError as error:
            aside(error_line(error))
            status = UNUSABLE
            continue
        rows += _rows(path, answer)
        status = max(status, int(answer.stops))
    if status == UNUSABLE:
        return status
    if wanted.output:
        write_file(wanted.output, {".csv": lambda: to_csv(rows)}, force=wanted.force)
        aside(f"Written: {printable(wanted.output)}")
    else:
        put(to_csv(rows))
    return status


def _rows(path: str, answer: LengthsAnswer) -> list[dict[str, Any]]:
    stops = " ".join(finding.name for finding in answer.findings if finding.level == "stop")
    head = {"file": path, "build": answer.title}
    return [
        {**head, "side": side["side"], **{name: side[name] for name in LISTED}, "stops": stops}
        for side in answer.rows("sides")
    ]
