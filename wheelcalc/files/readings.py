"""Readings of a wheel from a CSV file: one row a rim hole, an empty cell where nothing was read."""

from __future__ import annotations

import codecs
import csv
import io
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import chain
from pathlib import Path

from wheelcalc.files.bytes import bytes_of, standard_input
from wheelcalc.files.values import shown
from wheelcalc.wheel.errors import InputError

HOLE = "rim_hole"
BLANK = ""  # a column without a name, as a spreadsheet leaves it: nothing may stand in it
# Column -> unit, least and most. C: a range only catches slips of unit or decimal point.
COLUMNS = {
    "lateral_mm": ("mm", -60.0, 60.0),
    "radial_mm": ("mm", -400.0, 400.0),
    "tension_N": ("N", 0.0, 4000.0),
    "tension_sigma_N": ("N", 0.1, 4000.0),
    "pitch_hz": ("Hz", 20.0, 5000.0),
    "assigned": ("", 0.0, 1.0),
    "turned": ("turns", -10.0, 10.0),
}
PASS = "pass"
INSTEAD = {"tension_N": "pitch_hz", "pitch_hz": "tension_N"}  # a spoke has one of the two, the later
READ = ("lateral_mm", "radial_mm", "tension_N", "pitch_hz")
IN_ORDER = (HOLE, "lateral_mm", "radial_mm", "tension_N")  # of columns in a file without a header
ALSO = {"sigma": "tension_sigma_N"}
NOT_READ = ("-", "x")  # cells that say so where spaces stand between them
EXAMPLE = "rim_hole,lateral_mm,radial_mm,tension_N"
LARGEST_FILE = 1_000_000  # bytes; ours: a wheel has some hundred rows at most
# The first line by which a spreadsheet is told what stands between the cells.
TOLD_SEPARATOR = re.compile(r"sep=([,;\t])[ ]*\n")
MOST_PASSES = 99
THOUSAND = re.compile(r"[1-9],\d{3}")  # of a tension: a thousand and some, or a decimal comma
WHEEL = re.compile(r"#\s*wheel:\s*(?P<title>.*),\s*(?P<holes>\d{1,5}) holes,\s*(?P<mark>\S+)\s*$")
Numbers = dict[int, float]


@dataclass(frozen=True)
class RimReadings:
    """What was read round a rim.

    Parameters
    ----------
    name : the file, for messages
    columns : name, one of `COLUMNS` -> rim hole -> what was read there; "turned": turns made after these readings
    lines : rim hole -> line of the file, the last that names it; empty where there is no file
    """

    name: str
    columns: Mapping[str, Numbers]
    lines: Mapping[int, int]

    def of(self, column: str) -> Numbers:
        """Rim hole -> reading of a column; empty where it is not there."""
        return self.columns.get(column, {})

    @property
    def holes_read(self) -> list[int]:
        """Rim holes at which anything was read."""
        return sorted({hole for name in READ for hole in self.of(name)})

    def error(self, hole: int, column: str, text: str) -> InputError:
        """An error about one reading."""
        where = f"line {self.lines[hole]}" if hole in self.lines else f"rim hole {hole}"
        return InputError(f"{where}, {column}", text, self.name)


def read_readings(source: str | Path, holes: int) -> RimReadings:
    """Read a file of readings of one pass; of several, the last.

    Parameters
    ----------
    source : path of the file, "-" for standard input
    holes : of the rim

    Raises
    ------
    InputError
        If the file cannot be read or a cell cannot be used; file, line and column are named.
    """
    return read_passes(source, holes)[-1]


def read_passes(source: str | Path, holes: int, wheel: str = "") -> list[RimReadings]:
    """Read a file of readings, one pass or several.

    Parameters
    ----------
    source : path of the file, "-" for standard input
    holes : of the rim
    wheel : what the file's first line must name as its wheel, where it names one; any where this is empty

    Raises
    ------
    InputError
        If the file cannot be read, is another wheel's, or a cell cannot be used; file, line and column are named.
    """
    name = "standard input" if str(source) == "-" else str(source)
    try:
        text = _decoded(standard_input(LARGEST_FILE)) if str(source) == "-" else _text(Path(source))
        return passes_of(text, name, holes, wheel)
    except InputError as error:
        raise error.in_file(name) from None


def passes_of(text: str, name: str, holes: int, wheel: str = "") -> list[RimReadings]:
    """Return the readings of every pass that a text holds, oldest first, at least one; see `read_passes`."""
    by_number = numbered(text, name, holes, wheel)
    return [by_number[number] for number in sorted(by_number)] or [RimReadings(name, {}, {})]


def numbered(text: str, name: str, holes: int, wheel: str = "") -> dict[int, RimReadings]:
    """Return the readings of every pass that a text holds by its number, none where it holds no row; see `read_passes`.

    A line that is a header again counts from there on.
    """
    _same_wheel(text, holes, wheel)
    rows = _rows(text)
    line, first = next(rows, (0, []))
    bare = bool(first) and first[0].isascii() and first[0].isdigit()
    names = _columns_in_order(line, first) if bare else _header(line, first)
    columns_of: dict[int, dict[str, Numbers]] = {}
    lines_of: dict[int, dict[int, int]] = {}
    for number, cells in chain([(line, first)] if bare else [], rows):
        if HOLE in cells:
            names = _header(number, cells)
            continue
        row = _row(number, names, cells)
        pass_ = _pass(number, row.pop(PASS, ""), columns_of)
        hole = _hole(number, row.pop(HOLE), holes)
        columns = columns_of.setdefault(pass_, {})
        columns.update({each: {} for each in names if each in COLUMNS and each not in columns})
        lines_of.setdefault(pass_, {})[hole] = number
        for column in (each for each, cell in row.items() if cell):
            columns[column][hole] = _number(number, column, row[column])
            columns.get(INSTEAD.get(column, ""), {}).pop(hole, None)
    return {number: RimReadings(name, columns_of[number], lines_of[number]) for number in columns_of}


def wheel_line(title: str, holes: int, mark: str) -> str:
    """Return the line that names a file's wheel."""
    return f"# wheel: {' '.join(title.split()) or 'no title'}, {holes} holes, {mark}"


def _same_wheel(text: str, holes: int, wheel: str) -> None:
    """Refuse readings whose first line names another wheel."""
    first = text.lstrip("\ufeff").lstrip().partition("\n")[0]
    marked = WHEEL.match(first)
    if marked is None or not wheel:
        return
    theirs, ours = (int(marked["holes"]), marked["mark"]), (holes, wheel)
    if theirs != ours:
        text = f'found the wheel "{shown(marked["title"].strip())}", {theirs[0]} holes, {theirs[1]}; this build has {holes} holes, {wheel}'
        raise InputError("line 1", f"{text}. Take its own file; if only a measure was corrected, write {wheel} there")


def _text(path: Path) -> str:
    return _decoded(bytes_of(path, LARGEST_FILE, "a file of readings (CSV)"))


def _decoded(data: bytes) -> str:
    if len(data) > LARGEST_FILE:
        raise InputError("", "is larger than 1 MB; readings have one short line a rim hole")
    if data[:4] == b"RIFF":
        raise InputError("", "is a recording; `wheelcalc pluck` makes readings of it")
    wide = data[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)  # as a spreadsheet saves "Unicode text"
    try:
        text = data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise InputError("", f"is not a text file; write readings as CSV, first line {EXAMPLE}")
    if not text.strip():
        raise InputError("", f"is empty; its first line is {EXAMPLE}, then one line a rim hole")
    return text


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of the rows that hold anything; a line that begins with # is a remark."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    told = TOLD_SEPARATOR.match(text)
    if told:
        text = "\n" + text[told.end() :]
    lines = [line for line in text.split("\n") if line.strip() and not line.lstrip().startswith("#")]
    separator = told[1] if told else _separator(lines)
    rows = enumerate(map(str.split, text.split("\n")), 1) if separator == " " else _cells(text, separator)
    for number, cells in rows:
        stripped = [cell.strip() for cell in cells]
        while stripped and not stripped[-1]:
            stripped.pop()
        if stripped and not stripped[0].startswith("#"):
            yield number, ["" if cell.lower() in NOT_READ else cell for cell in stripped]


def _cells(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text), delimiter=separator)
    begun = 1
    try:
        for cells in reader:
            if reader.line_num > begun:
                raise InputError(f"line {begun}", "has a quote that does not end there; close it, or leave it out")
            begun = reader.line_num + 1
            yield reader.line_num, cells
    except csv.Error as error:
        raise InputError(f"line {begun}", f"is not CSV ({error}); one line a rim hole") from None


def _separator(lines: Sequence[str]) -> str:
    """What stands between the cells: semicolons or tabs, else commas, else spaces (then a comma is a decimal one)."""
    first = lines[0] if lines else ""
    for mark in ";\t":
        if mark in first:
            return mark
    if "," in first:
        # "1 0,25 -0,10 905": every comma between two digits, and as many words in every line as in the first
        words = len(first.split())
        decimal = all(re.fullmatch(r"[^,]*(?:\d,\d[^,]*)*", line) for line in lines)
        return " " if words > 1 and decimal and "," not in first.split()[0] else ","
    return " " if len(first.split()) > 1 else ","


def _columns_in_order(line: int, cells: Sequence[str]) -> list[str]:
    """Columns of a file without a header."""
    count = max((i for i, cell in enumerate(cells, 1) if cell), default=0)
    if count > len(IN_ORDER):
        text = f"has {count} cells and no header; without one they are {', '.join(IN_ORDER)}"
        raise InputError(f"line {line}", f"{text}. Write a header, such as {EXAMPLE}")
    return list(IN_ORDER)


def _pass(line: int, cell: str, so_far: Mapping[int, object]) -> int:
    """Number of a row's pass; the one before where the cell is empty."""
    if not cell:
        return max(so_far, default=1)
    if not (cell.isascii() and cell.isdigit() and 1 <= int(cell) <= MOST_PASSES):
        raise InputError(
            f"line {line}, {PASS}", f'found "{shown(cell)}"; write the number of the pass, 1 to {MOST_PASSES}'
        )
    return int(cell)


def _header(line: int, header: Sequence[str]) -> list[str]:
    where = f"line {line}"
    known = {name.lower(): name for name in (HOLE, PASS, *COLUMNS)} | ALSO
    names = []
    for cell in header:
        name = known.get(cell.lower().replace(" ", "_")) if cell else BLANK
        if name is None:
            near = get_close_matches(cell[:60].lower(), known, n=1, cutoff=0.6)
            hint = f"write {known[near[0]]}" if near else f"the header is {EXAMPLE} (or pitch_hz)"
            raise InputError(where, f'found the column "{shown(cell)}"; {hint}')
        if name in names and name != BLANK:
            raise InputError(where, f"names the column {name} twice; give each once")
        names.append(name)
    if HOLE not in names:
        raise InputError(where, f"has no column {HOLE}; the header is {EXAMPLE} (or pitch_hz)")
    if not set(names) & set(READ):
        raise InputError(where, f"names nothing that was read; the header is {EXAMPLE} (or pitch_hz)")
    return names


def _row(line: int, names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    if len(cells) > len(names):
        text = f"has {len(cells)} cells, the header {len(names)}; leave a cell empty where nothing was read"
        raise InputError(f"line {line}", f"{text}, and write a point in decimal numbers")
    row = dict[str, str]()
    for name, cell in zip(names, [*cells, *[""] * (len(names) - len(cells))], strict=True):
        if name != BLANK:
            row[name] = cell
        elif cell:
            raise InputError(f"line {line}", f'has "{shown(cell)}" in a column without a name; the header names each')
    if row.get("tension_N") and row.get("pitch_hz"):
        raise InputError(f"line {line}", "has both tension_N and pitch_hz; leave one of the two empty")
    return row


def _hole(line: int, cell: str, holes: int) -> int:
    where = f"line {line}, {HOLE}"
    # Ours: five digits are more than any rim has holes.
    if not (cell.isascii() and cell.isdigit() and len(cell) < 6):
        raise InputError(where, f'found "{shown(cell)}"; write the number of a rim hole, 1 to {holes}')
    hole = int(cell)
    if not 1 <= hole <= holes:
        raise InputError(where, f"found {hole}; this rim has holes 1 to {holes}, counted forward from the valve")
    return hole


def _number(line: int, column: str, cell: str) -> float:
    return value_of(column, cell, f"line {line}, {column}", ", or leave the cell empty")


def value_of(column: str, cell: str, where: str, otherwise: str = "") -> float:
    """Return the number that a cell of one of `COLUMNS` holds.

    Parameters
    ----------
    column, cell : what it stands in, and its text
    where, otherwise : for messages: its place, and what would do besides a number

    Raises
    ------
    InputError
        If it is no number, can be two, or is none that is believed.
    """
    unit, least, most = COLUMNS[column]
    if column == "tension_N" and THOUSAND.fullmatch(cell):
        plain = cell.replace(",", "")
        raise InputError(
            where,
            f'found "{shown(cell)}", which can be {plain} or {cell.replace(",", ".")}; write {plain} if that is meant',
        )
    try:
        value = float(cell.replace(",", ".")) if "_" not in cell else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        text = f'found "{shown(cell)}"; write the number alone{unit and f", in {unit}"}{otherwise}'
        raise InputError(where, text)
    if not least <= value <= most:
        raise InputError(where, f"found {value:g} {unit}; readings from {least:g} to {most:g} {unit} are believed")
    return value


def cells_of(path: Path, holes: int, columns: Sequence[str]) -> dict[tuple[str, int], str]:
    """Cells of a file that was begun: (column, rim hole) -> number as text, "" where it says that nothing was read.

    Raises
    ------
    InputError
        If the file cannot be used, or holds other columns than these.
    """
    out: dict[tuple[str, int], str] = {}
    try:
        text = _text(path)
        read = passes_of(text, str(path), holes)[-1]
        others = [name for name in read.columns if name not in columns]
        if others:
            raise InputError("", f"holds the column {others[0]}, which is not asked for; take a new file")
    except InputError as error:
        raise error.in_file(str(path)) from None
    for column in columns:
        for hole, value in read.of(column).items():
            out[column, hole] = f"{value:g}"
    names = [HOLE, *columns]
    for line in text.splitlines():
        cells = [cell.strip() for cell in line.split(",")]
        if cells[0].lower() == HOLE:
            names = cells
        elif cells[0].isdigit():
            row = zip(names[1:], cells[1:], strict=False)
            out.update({(column, int(cells[0])): "" for column, cell in row if cell == "-"})
    return out
