"""Readings of a wheel from a CSV file: one row a rim hole, an empty cell where nothing was read."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from wheelcalc.files.bytes import bytes_of
from wheelcalc.files.values import shown
from wheelcalc.wheel.errors import InputError

HOLE = "rim_hole"
# Column -> unit, least and most. C: a range only catches slips of unit or decimal point.
COLUMNS = {
    "lateral_mm": ("mm", -60.0, 60.0),
    "radial_mm": ("mm", -400.0, 400.0),
    "tension_N": ("N", 0.0, 4000.0),
    "tension_sigma_N": ("N", 0.1, 4000.0),
    "pitch_hz": ("Hz", 20.0, 5000.0),
}
EXAMPLE = "rim_hole,lateral_mm,radial_mm,tension_N"
LARGEST_FILE = 1_000_000  # bytes; ours: a wheel has some hundred rows at most
# A spreadsheet of a country with a decimal comma writes semicolons between the cells.
SEPARATORS = ",;\t"
# The first line by which a spreadsheet is told it.
TOLD_SEPARATOR = re.compile(r"sep=([,;\t])[ ]*\n")
Numbers = dict[int, float]


@dataclass(frozen=True)
class RimReadings:
    """What was read round a rim.

    Parameters
    ----------
    name : the file, for messages
    columns : "lateral_mm", "radial_mm", "tension_N", "tension_sigma_N", "pitch_hz" -> rim hole -> what was read there
    lines : rim hole -> line of the file
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
        return sorted({hole for name, found in self.columns.items() if name != "tension_sigma_N" for hole in found})

    def error(self, hole: int, column: str, text: str) -> InputError:
        """An error about one reading."""
        return InputError(f"line {self.lines[hole]}, {column}", text, self.name)


def read_readings(source: str | Path, holes: int) -> RimReadings:
    """Read a file of readings.

    Parameters
    ----------
    source : path of the file
    holes : of the rim

    Raises
    ------
    InputError
        If the file cannot be read or a cell cannot be used; file, line and column are named.
    """
    name = str(source)
    try:
        return readings_of(_text(Path(source)), name, holes)
    except InputError as error:
        raise error.in_file(name) from None


def readings_of(text: str, name: str, holes: int) -> RimReadings:
    """Return the readings that a text in CSV holds; see `read_readings`."""
    rows = _rows(text)
    line, header = next(rows, (0, []))
    names = _header(line, header)
    columns: dict[str, Numbers] = {each: {} for each in names if each != HOLE}
    lines: dict[int, int] = {}
    for number, cells in rows:
        row = _row(number, names, cells)
        hole = _hole(number, row.pop(HOLE), holes, lines)
        lines[hole] = number
        for column, cell in row.items():
            if cell:
                columns[column][hole] = _number(number, column, cell)
    return RimReadings(name, columns, lines)


def _text(path: Path) -> str:
    data = bytes_of(path, LARGEST_FILE, "a file of readings (CSV)")
    if len(data) > LARGEST_FILE:
        raise InputError("", "is larger than 1 MB; readings have one short line a rim hole")
    if data[:4] == b"RIFF":
        raise InputError("", "is a recording; `wheelcalc pluck` makes readings of it")
    try:
        text = data.decode("utf-8-sig")
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
    first = next((line for line in text.split("\n") if line.strip() and not line.startswith("#")), "")
    separator = told[1] if told else max(SEPARATORS, key=first.count)
    decimal_comma = separator != ","
    reader = csv.reader(io.StringIO(text), delimiter=separator)
    begun = 1
    try:
        for cells in reader:
            if reader.line_num > begun:
                raise InputError(f"line {begun}", "has a quote that does not end there; close it, or leave it out")
            begun = reader.line_num + 1
            stripped = [cell.strip() for cell in cells]
            while stripped and not stripped[-1]:
                stripped.pop()
            if stripped and not stripped[0].startswith("#"):
                yield reader.line_num, [cell.replace(",", ".") if decimal_comma else cell for cell in stripped]
    except csv.Error as error:
        raise InputError(f"line {begun}", f"is not CSV ({error}); one line a rim hole") from None


def _header(line: int, header: Sequence[str]) -> list[str]:
    where = f"line {line}"
    known = {name.lower(): name for name in (HOLE, *COLUMNS)}
    names = []
    for cell in header:
        name = known.get(cell.lower())
        if name is None:
            near = get_close_matches(cell[:60].lower(), known, n=1, cutoff=0.6)
            hint = f"write {known[near[0]]}" if near else f"the header is {EXAMPLE} (or pitch_hz)"
            raise InputError(where, f'found the column "{shown(cell)}"; {hint}')
        if name in names:
            raise InputError(where, f"names the column {name} twice; give each once")
        names.append(name)
    if HOLE not in names:
        raise InputError(where, f"has no column {HOLE}; the header is {EXAMPLE} (or pitch_hz)")
    if "tension_N" in names and "pitch_hz" in names:
        raise InputError(where, "has both tension_N and pitch_hz; keep one of them for the whole wheel")
    if not set(names) & {"lateral_mm", "radial_mm", "tension_N", "pitch_hz"}:
        raise InputError(where, f"names nothing that was read; the header is {EXAMPLE} (or pitch_hz)")
    return names


def _row(line: int, names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    if len(cells) > len(names):
        text = f"has {len(cells)} cells, the header {len(names)}; leave a cell empty where nothing was read"
        raise InputError(f"line {line}", f"{text}, and write a point in decimal numbers")
    return dict(zip(names, [*cells, *[""] * (len(names) - len(cells))], strict=True))


def _hole(line: int, cell: str, holes: int, lines: Mapping[int, int]) -> int:
    where = f"line {line}, {HOLE}"
    # Ours: five digits are more than any rim has holes.
    if not (cell.isascii() and cell.isdigit() and len(cell) < 6):
        raise InputError(where, f'found "{shown(cell)}"; write the number of a rim hole, 1 to {holes}')
    hole = int(cell)
    if not 1 <= hole <= holes:
        raise InputError(where, f"found {hole}; this rim has holes 1 to {holes}, counted forward from the valve")
    if hole in lines:
        raise InputError(where, f"found {hole} again, as in line {lines[hole]}; give each rim hole once")
    return hole


def _number(line: int, column: str, cell: str) -> float:
    where = f"line {line}, {column}"
    unit, least, most = COLUMNS[column]
    try:
        value = float(cell) if "_" not in cell else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        text = f'found "{shown(cell)}"; write the number alone, in {unit}, or leave the cell empty'
        raise InputError(where, text)
    if not least <= value <= most:
        raise InputError(where, f"found {value:g} {unit}; readings from {least:g} to {most:g} {unit} are believed")
    return value
