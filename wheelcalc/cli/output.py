"""What a command prints or writes: text, JSON, CSV or a picture; whole or not at all."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wheelcalc.cli.screen import screen
from wheelcalc.cli.streams import silence_output
from wheelcalc.page import text as page_text
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

if TYPE_CHECKING:
    from wheelcalc.answers.base import Answer
    from wheelcalc.cli.options import Wanted
    from wheelcalc.page.blocks import Page

FORMULA = ("=", "+", "-", "@", "\t", "\r")  # what a spreadsheet takes for the beginning of one
PAGES = (".txt", ".json", ".html")  # what every answer can be written as
Writer = Callable[[], str]


def show(
    answer: Answer, wanted: Wanted, more: Mapping[str, Writer] | None = None, page: Callable[[], Page] | None = None
) -> int:
    """Print an answer's page or write it to a file, and return the exit status.

    Parameters
    ----------
    answer : what was computed
    wanted : where to, and as what; the suffix of a file says what
    more : suffix -> what makes it, besides .txt, .html and .json
    page : how the answer lays itself out, where more is asked for than by itself

    Raises
    ------
    InputError
        If the file cannot be written or its suffix means nothing here.
    """
    laid_out = page or answer.page
    where = page_text.Screen() if wanted.output else screen(no_color=wanted.no_color)
    writers: dict[str, Writer] = {
        ".txt": lambda: page_text.to_text(laid_out(), where, every_assumption=wanted.assumed),
        ".json": lambda: to_json(answer.as_json()),
        ".html": lambda: _document(laid_out()),
        **(more or {}),
    }
    if wanted.output is None:
        put(writers[".json" if wanted.as_json else ".txt"]())
    else:
        write_file(wanted.output, writers, force=wanted.force)
        aside(f"Written: {printable(wanted.output)}")
        for finding in answer.findings:
            if finding.level == "stop":
                aside("\n".join(page_text.finding_lines(finding, where)))
    return 1 if answer.stops else 0


def _document(page: Page) -> str:
    from wheelcalc.page.html import document  # noqa: PLC0415 - only where a page is written

    return document(page)


def _print(text: str) -> None:
    """Print, as far as somebody reads: whoever has seen enough changes nothing about the verdict."""
    try:
        click.echo(text)
    except BrokenPipeError:
        silence_output()


def put(text: str) -> None:
    """Print what belongs to no single answer, on standard output.

    Raises
    ------
    InputError
        If that is closed.
    """
    if sys.stdout is None:
        raise InputError("", "standard output is closed; -o writes a file instead")
    _print(_printable(text))


def aside(line: str) -> None:
    """Say something beside the output; where nobody can hear it, the work is done all the same."""
    with contextlib.suppress(OSError):
        click.echo(line, err=True)


def to_json(value: Any) -> str:
    """Return JSON, one entry a line where it helps reading."""
    import json  # noqa: PLC0415 - only where JSON is asked for

    text = json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)
    if text.replace("\n", "").isprintable():
        return text
    # What json leaves as it is, and a terminal may take for a command.
    return "".join(sign if sign.isprintable() or sign == "\n" else json.dumps(sign)[1:-1] for sign in text)


def listed_csv(
    answer: Answer, listed: str, flat: Callable[[Mapping[str, Any]], Mapping[str, Any]] = lambda row: row
) -> str:
    """Return a list of an answer's JSON as CSV; without a row its header alone.

    Parameters
    ----------
    answer : of a command
    listed : key of the list
    flat : makes what stands in one line of one entry
    """
    command = answer.schema.split("/")[1]
    return to_csv([flat(row) for row in answer.as_json()[listed]], lambda: flat(_empty_row(command, listed)))


def to_csv(rows: Sequence[Mapping[str, Any]], empty: Callable[[], Mapping[str, Any]] = dict) -> str:
    """Return rows as CSV with a header; lists inside a cell are joined by spaces.

    Parameters
    ----------
    rows : of one table
    empty : makes a row whose keys are the header where there are no rows

    Notes
    -----
    Text that a spreadsheet would run as a formula gets an apostrophe before it, which it takes as a mark of text.
    """
    import csv  # noqa: PLC0415 - only where CSV is asked for
    import io  # noqa: PLC0415

    text = io.StringIO()
    writer = csv.DictWriter(text, fieldnames=list(rows[0] if rows else empty()), lineterminator="\n")
    writer.writeheader()
    writer.writerows(
        {name: _cell(" ".join(map(str, v)) if isinstance(v, list) else v) for name, v in row.items()} for row in rows
    )
    return text.getvalue().rstrip("\n")


def _empty_row(command: str, listed: str) -> dict[str, Any]:
    """Return a row of a list of a command's JSON with nothing in it: what is always there, by side where it has sides."""
    from wheelcalc.files.schema import named  # noqa: PLC0415 - only where there is no row

    row = named(command)["properties"][listed]["items"]
    by_side = {"left": "", "right": ""}
    return {
        name: by_side if by_side.keys() == row["properties"][name].get("properties", {}).keys() else ""
        for name in row["required"]
    }


def _cell(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA) else value


def write_file(output: str, writers: Mapping[str, Writer], *, force: bool) -> None:
    """Write one file whole or not at all."""
    from wheelcalc.files.whole import write_whole  # noqa: PLC0415 - only where a file is written

    check_output(output, writers, force=force)
    try:
        write_whole(Path(output), writers[Path(output).suffix.lower()]() + "\n", over=force)
    except FileExistsError:
        raise _there(output) from None
    except OSError as error:
        raise _unwritable(output, error) from None


def check_output(output: str, suffixes: Collection[str], *, force: bool) -> None:
    """Refuse a file that will not be written, before what goes into it is computed.

    Raises
    ------
    InputError
        If its suffix is none of these, or it is there and may not be written over.
    """
    path, name = Path(output), printable(output, LONGEST_ECHO)
    if path.suffix.lower() not in suffixes:
        raise InputError("-o", f'found "{name}"; the suffix says what to write: {", ".join(suffixes)}')
    try:
        there, plain = path.exists(), path.is_file()
    except OSError as error:
        raise _unwritable(output, error) from None
    if there and not force:
        raise _there(output)
    if there and not plain:
        raise InputError("-o", f'"{name}" is no plain file; name one')


def _there(output: str) -> InputError:
    return InputError("-o", f'"{printable(output, LONGEST_ECHO)}" exists; add --force to write over it')


def _unwritable(output: str, error: OSError) -> InputError:
    return InputError(
        "-o",
        f'"{printable(output, LONGEST_ECHO)}" cannot be written ({error.strerror or error}); name a file in a folder that can be',
    )


def _printable(text: str) -> str:
    """Replace what the terminal's encoding cannot show."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    return text.encode(encoding, errors="replace").decode(encoding)


def folded(text: str, mark: str = "") -> list[str]:
    """Return text folded to the screen behind a mark, the later lines below its first word."""
    return page_text.folded(text, screen().used, mark)
