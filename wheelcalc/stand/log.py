"""The log of a wheel at the stand: one line for each number typed, appended and on disk at once; `true` reads it."""

from __future__ import annotations

import os
from pathlib import Path

from wheelcalc.files.buildfile import in_file
from wheelcalc.files.readings import RimReadings, passes_of, read_passes
from wheelcalc.paper.bench.content import COLUMNS
from wheelcalc.wheel.errors import InputError

HEADER = ",".join(["pass", "rim_hole", *COLUMNS])
MOST_PASSES = 99  # ours: nobody makes so many
LARGEST = {
    "lateral_mm": 50.0,
    "radial_mm": 50.0,
    "tension_N": 5000.0,
    "pitch_hz": 5000.0,
    "turned": 20.0,
}  # ours: slips


class Log:
    """A file of readings that only grows.

    Parameters
    ----------
    path : of the file; begun where there is none
    head : its first line, which names the wheel
    mark : what of it must be the same in a file that is already there
    holes : of the rim

    Raises
    ------
    InputError
        If the file is another wheel's, cannot be read or cannot be written.
    """

    def __init__(self, path: Path, head: str, mark: str, holes: int) -> None:
        self.path, self._mark, self.holes = path, mark, holes
        self.cut_off = ""
        if not path.exists() or not path.stat().st_size:
            self._append(f"{head}\n{HEADER}\n")
        else:
            self._mend()
            self.passes()

    def passes(self) -> list[RimReadings]:
        """Everything logged, a pass each, oldest first."""
        return read_passes(self.path, self.holes, self._mark)

    def put(self, number: int, rim_hole: int, column: str, value: float | None) -> None:
        """Write one number down.

        Parameters
        ----------
        number : of the pass, from 1
        rim_hole : from 1
        column : one of `COLUMNS`
        value : None where it was passed over: nothing is written

        Raises
        ------
        InputError
            If hole, column or value cannot be, or the disk is full.
        """
        if column not in COLUMNS:
            raise InputError("column", f"found {column!r}; write one of {', '.join(COLUMNS)}")
        if not 1 <= rim_hole <= self.holes or not 1 <= number <= MOST_PASSES:
            raise InputError("rim_hole", f"found hole {rim_hole} of pass {number}; the rim has {self.holes}")
        if value is None:
            return
        if not abs(value) <= LARGEST[column] or (value < 0 and column == "tension_N"):
            raise InputError(column, f"found {value:g}; read it again")
        cells = [f"{value:g}" if name == column else "" for name in COLUMNS]
        self._append(",".join([str(number), str(rim_hole), *cells]) + "\n")

    def _append(self, line: str) -> None:
        try:
            with self.path.open("a", encoding="utf-8", newline="") as file:
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise InputError("--log", f"{self.path} cannot be written ({error.strerror}); name another file") from None

    def _mend(self) -> None:
        """Take off a last line that a crash cut short; what it held is said. Nothing is touched in a file that is no log of this wheel."""
        try:
            data = self.path.read_bytes()
            whole, _, cut = data.rpartition(b"\n")
            if not cut:
                return
            with in_file(str(self.path)):
                passes_of(whole.decode("utf-8", "replace"), str(self.path), self.holes, self._mark)
            if HEADER.encode() not in whole.splitlines() or _complete(cut):
                self._append("\n")
                return
            self.cut_off = cut.decode("utf-8", "replace")
            os.truncate(self.path, len(whole) + 1)
        except OSError as error:
            raise InputError("--log", f"{self.path} cannot be read ({error.strerror})") from None


def _complete(line: bytes) -> bool:
    """Whether a line without its end holds all cells; a number in the last one may be cut short."""
    return line.count(b",") == HEADER.count(",") and line.endswith(b",")
