"""The dialogue of `true --ask`: hole by hole, a number alone, every one on disk at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import click

from wheelcalc.cli.output import folded
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

WORDS = (
    "Type each number and press Enter; Enter alone where you did not read it, b to go back one, stop to end. Every number is in "
    "the file at once: the same command goes on from there."
)
NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
TICKS = (
    "Turn each nipple as told, then press Enter; where you turned it otherwise, type that (+1/4, -0.25, 0), b to go back, stop "
    "to end. It is in the file at once, in the column turned."
)
MOST_TURNS = 10.0  # what a file takes
TURNED = "turned"
ASKED = (("lateral_mm", "sideways, + right"), ("radial_mm", "up and down, + outward"), ("tension_N", "tension, N"))
PARTS = {"": 1.0, "mm": 1.0, "tenths": 0.1, "hundredths": 0.01}


@dataclass
class Form:
    """A file of readings on its way.

    Parameters
    ----------
    path : of the file
    head : its first line, which names the wheel
    holes : of the rim
    cells : (column, rim hole) -> what was typed; "" for not read
    worth : what is asked of it, (column, rim hole); all of it where None
    """

    path: Path
    head: str
    holes: int
    cells: dict[tuple[str, int], str] = field(default_factory=dict)
    worth: Collection[tuple[str, int]] | None = None

    @property
    def questions(self) -> list[tuple[str, str, int]]:
        """Column, its words and rim hole, in the order asked: once round for each column."""
        return [
            (column, words, hole)
            for column, words in ASKED
            for hole in range(1, self.holes + 1)
            if self.worth is None or (column, hole) in self.worth
        ]

    def text(self) -> str:
        """The file: a row for each hole that was come to. A cell passed over is -, one not come to is empty."""
        columns = [column for column, _ in ASKED]
        columns += [TURNED] if any(column == TURNED for column, _ in self.cells) else []
        rows = [",".join(["rim_hole", *columns])]
        for hole in range(1, self.holes + 1):
            cells = [self.cells.get((column, hole)) for column in columns]
            if any(cell is not None for cell in cells):
                rows.append(",".join([str(hole), *("" if cell is None else cell or "-" for cell in cells)]))
        return "\n".join([self.head, *rows]) + "\n"

    def save(self) -> None:
        """Write it whole.

        Raises
        ------
        InputError
            If it cannot be written.
        """
        from wheelcalc.files.whole import write_whole  # noqa: PLC0415 - only where something is typed

        try:
            write_whole(self.path, self.text())
        except OSError as error:
            raise InputError("--ask", f"{self.path} cannot be written ({error.strerror})") from None


def asked(
    buildfile: str,
    overrides: Sequence[str],
    path: str,
    read: Callable[[str], str] = input,
    earlier: Sequence[str] = (),
) -> bool:
    """Ask for what the file does not hold yet; False where it was ended before.

    Parameters
    ----------
    buildfile, overrides : of the wheel
    path : of the file of readings; it is begun where there is none
    read : reads one line after a prompt
    earlier : files of the passes before; then only what is worth reading is asked

    Raises
    ------
    InputError
        If the build or a file that is already there cannot be used.
    """
    form = _begun(buildfile, overrides, path)
    if earlier:
        from wheelcalc import answers  # noqa: PLC0415 - only where passes were read before

        form.worth = answers.true(buildfile, earlier, overrides).worth_reading
        said = f"Of {form.holes * len(ASKED)} readings {len(form.worth)} are worth taking after what is known; the rest is not asked."
        click.echo("\n".join(folded(said)), err=True)
    left = [each for each in form.questions if (each[0], each[2]) not in form.cells]
    if not left:
        return True
    click.echo("\n".join(folded(WORDS)), err=True)
    try:
        part = _part(read)
        at = form.questions.index(left[0])
        while at < len(form.questions):
            at += _one(form, at, part, read)
    except (EOFError, KeyboardInterrupt):
        click.echo("", err=True)
        return False
    return True


def _begun(buildfile: str, overrides: Sequence[str], path: str) -> Form:
    from wheelcalc.answers.truing.sheet import blank_of  # noqa: PLC0415 - as in the command

    head, *rows = blank_of(buildfile, overrides).splitlines()
    form = Form(Path(path), head, len(rows) - 1)
    if path == "-":
        raise InputError("--ask", "found - for standard input; name the file in which the answers are saved")
    if form.path.exists():
        from wheelcalc.files.readings import cells_of  # noqa: PLC0415 - as in the command

        form.cells.update(cells_of(form.path, form.holes, [*(column for column, _ in ASKED), TURNED]))
    return form


def _part(read: Callable[[str], str]) -> float:
    """What part of a millimetre the dial's numbers are."""
    while True:
        typed = read("Numbers of the dial are in mm, tenths or hundredths [mm]: ").strip().lower()
        if typed == "stop":
            raise EOFError
        if typed in PARTS:
            return PARTS[typed]
        click.echo("Type mm, tenths or hundredths.", err=True)


def _one(form: Form, at: int, part: float, read: Callable[[str], str]) -> int:
    """Ask one question; by how many to go on."""
    column, words, hole = form.questions[at]
    while True:
        typed = read(f"Rim hole {hole}, {words}: ").strip().lower()
        if typed == "stop":
            raise EOFError
        if typed == "b":
            return -1 if at else 0
        if typed and not NUMBER.fullmatch(typed):
            click.echo(
                f'Found "{printable(typed, LONGEST_ECHO)}"; type the number alone, Enter alone, b or stop.', err=True
            )
            continue
        value = float(typed.replace(",", ".")) if typed else None
        shown = "" if value is None else f"{value * (1.0 if column == 'tension_N' else part):.6g}"
        form.cells[column, hole] = shown
        form.save()
        return 1


def ticked(
    buildfile: str,
    overrides: Sequence[str],
    path: str,
    turns: Mapping[int, float],
    read: Callable[[str], str] = input,
) -> bool:
    """Ask for each nipple whether it was turned as told, and write what was really turned; False where it was ended before.

    Parameters
    ----------
    buildfile, overrides, path, read : as of `asked`
    turns : rim hole -> turns advised

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    from wheelcalc.answers.truing.page import turn  # noqa: PLC0415 - as in the command

    form = _begun(buildfile, overrides, path)
    holes = list(turns)
    at = next((i for i, hole in enumerate(holes) if (TURNED, hole) not in form.cells), len(holes))
    if at == len(holes):
        return True
    click.echo("\n".join(folded(TICKS)), err=True)
    try:
        while at < len(holes):
            hole = holes[at]
            typed = read(f"Rim hole {hole}, {turn(turns[hole])}: ").strip().lower()
            if typed == "stop":
                return False
            if typed == "b":
                at = max(at - 1, 0)
                continue
            made = turns[hole] if not typed else turns_of(typed)
            if made is None:
                shown = printable(typed, LONGEST_ECHO)
                click.echo(f'Found "{shown}"; press Enter, or type turns such as +1/4, -0.5 or 0.', err=True)
                continue
            form.cells[TURNED, hole] = f"{made:g}"
            form.save()
            at += 1
    except (EOFError, KeyboardInterrupt):
        click.echo("", err=True)
        return False
    return True


def turns_of(text: str) -> float | None:
    """Turns as typed: "+1/4", "-1 1/8", "0.25"; None where it is none."""
    from wheelcalc.files.units import plain_number  # noqa: PLC0415 - as in the command

    number = plain_number(text)
    return None if number is None or abs(number) > MOST_TURNS else number
