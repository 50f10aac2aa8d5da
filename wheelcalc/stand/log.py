"""The log of a wheel at the stand: a line for each number typed, appended and on disk at once; `true` reads it.

Besides readings it holds remarks, which `true` passes over: `# pass 1: turned` ends a pass, the next reading belongs to
pass 2; `# pass 1: goes on` takes that back.
"""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from wheelcalc.files.buildfile import in_file
from wheelcalc.files.readings import MOST_PASSES, RimReadings, numbered
from wheelcalc.paper.bench.content import COLUMNS
from wheelcalc.stand.alone import held
from wheelcalc.wheel.errors import InputError

HEADER = ",".join(["pass", "rim_hole", *COLUMNS])
TURNED, GOES_ON = "turned", "goes on"
WORD = re.compile(rf"^# pass (\d{{1,2}}): ({TURNED}|{GOES_ON})$", re.ASCII | re.MULTILINE)
OURS = "pass,rim_hole,"  # a header that a stand wrote begins so


class Log:
    """A file of readings that only grows. One program at a time has it.

    Parameters
    ----------
    path : of the file; begun where there is none
    head : its first line, which names the wheel
    mark : what of it must be the same in a file that is already there
    holes : of the rim

    Raises
    ------
    InputError
        If another program has the file, it is another wheel's, cannot be read or cannot be written.
    """

    def __init__(self, path: Path, head: str, mark: str, holes: int) -> None:
        self.path, self._mark, self.holes = path, mark, holes
        self.cut_off = ""
        self._parsed: tuple[str, dict[int, RimReadings]] = "", {}
        with self._named("cannot be used"):
            self._file = self._opened("a+b")
        try:
            self._begin(f"{head}\n{HEADER}\n")
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Let others have it."""
        self._file.close()

    def passes(self) -> dict[int, RimReadings]:
        """Everything logged, by the number of the pass."""
        return self._passes_of(self._text())

    def current(self) -> int:
        """The pass that readings now belong to: the last that was begun, the one after it where that was turned."""
        return self._current(self._text())

    def put(self, rim_hole: int, column: str, value: float) -> None:
        """Write one number of the current pass down.

        Parameters
        ----------
        rim_hole : from 1
        column : one of `COLUMNS`
        value : what was read or turned, as `typed.number` lets it through

        Raises
        ------
        InputError
            If hole or column cannot be, or the disk is full.
        """
        self.check(rim_hole, column)
        text = self._text()
        cells = [f"{value:.6g}" if name == column else "" for name in COLUMNS]
        row = ",".join([str(self._current(text)), str(rim_hole), *cells])
        self._append(row if _header(text) == HEADER else f"{HEADER}\n{row}")

    def check(self, rim_hole: int, column: str) -> None:
        """Raise `InputError` for a hole that the rim has not, or a column that the log has not."""
        if column not in COLUMNS:
            raise InputError("column", f"found {column!r}; write one of {', '.join(COLUMNS)}")
        if not 1 <= rim_hole <= self.holes:
            raise InputError("rim_hole", f"found {rim_hole}; this rim has holes 1 to {self.holes}")

    def end(self) -> None:
        """Say that the current pass was turned.

        Raises
        ------
        InputError
            If nothing was read in it, or there may be no other.
        """
        number = self.current()
        read = self.passes().get(number)
        if read is None or not read.holes_read:
            raise InputError("pass", f"pass {number} has no readings; read before you turn")
        if number == MOST_PASSES:
            raise InputError("pass", f"found {number} passes, more than a log holds; begin another with --log")
        self._append(f"# pass {number}: {TURNED}")

    def go_on(self) -> None:
        """Take back that the pass before was turned.

        Raises
        ------
        InputError
            If there is none before, or something was read since.
        """
        number = self.current()
        if number in self.passes():
            raise InputError("pass", f"pass {number} has readings already; they were taken after the turns before")
        if number - 1 not in self.passes():
            raise InputError("pass", "there is no pass before this one")
        self._append(f"# pass {number - 1}: {GOES_ON}")

    def _current(self, text: str) -> int:
        ended = {int(number): word == TURNED for number, word in WORD.findall(text)}
        after = [number + 1 for number, over in ended.items() if over]
        return max([1, *self._passes_of(text), *after])

    def _passes_of(self, text: str) -> dict[int, RimReadings]:
        if self._parsed[0] != text:
            with in_file(str(self.path)):
                self._parsed = text, numbered(text, str(self.path), self.holes, self._mark)
        return self._parsed[1]

    def _text(self) -> str:
        with self._named("cannot be read"):
            try:
                return self.path.read_text(encoding="utf-8")
            except FileNotFoundError:
                text = f"{self.path} is gone; put it back, or end the program and begin anew: nothing more is saved"
                raise InputError("--log", text) from None
            except UnicodeDecodeError:
                raise InputError("--log", "is no text in UTF-8; name another file", str(self.path)) from None

    def _append(self, lines: str) -> None:
        with self._named("cannot be written"):
            if not os.path.samestat(self.path.stat(), os.fstat(self._file.fileno())):  # an editor put a new file there
                self._file.close()
                self._file = self._opened("r+b")
            self._write(f"{lines}\n".encode())

    def _write(self, data: bytes) -> None:
        """Put bytes at the end, all of them on disk or none."""
        size = self._file.seek(0, os.SEEK_END)
        try:
            if self._file.write(data) < len(data):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            os.fsync(self._file.fileno())
        except OSError:
            self._file.truncate(size)
            raise

    def _opened(self, mode: str) -> IO[bytes]:
        file = self.path.open(mode, buffering=0)
        if not held(file):
            file.close()
            text = f"{self.path} is in use by another stand; open its page, or name another file with --log"
            raise InputError("--log", text)
        return file

    def _begin(self, head: str) -> None:
        """Write the first two lines, or make sure that what is there can go on."""
        with self._named("cannot be written"):
            self._mend(head)
        self._can_go_on(self._text())

    def _mend(self, head: str) -> None:
        """Take off what a crash cut short: of the first two lines all, of a later one what is there, which is said."""
        data = self.path.read_bytes()
        if head.encode().startswith(data):
            self._file.truncate(0)
            self._write(head.encode())
            return
        whole, end, cut = data.rpartition(b"\n")
        text = (whole + end).decode("utf-8", "replace")
        if cut and text:
            self._passes_of(text)
            if not _header(text).startswith(OURS) or _complete(cut.decode("utf-8", "replace"), _header(text)):
                self._write(b"\n")
            else:
                self.cut_off = cut.decode("utf-8", "replace")
                self._file.truncate(len(whole) + 1)

    def _can_go_on(self, text: str) -> None:
        """Refuse readings that commas could not go on."""
        self._passes_of(text)
        try:
            numbered(f"{text}\n{HEADER}\n1,1,0.1,,,,\n", "", self.holes)
        except InputError:
            what = "has other signs than commas between the cells; save it with commas, or name another file with --log"
            raise InputError("--log", what, str(self.path)) from None

    @contextmanager
    def _named(self, what: str) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise InputError("--log", f"{self.path} {what} ({error.strerror}); name another file") from None


def _header(text: str) -> str:
    """The header that a text's next line belongs to; empty where it has none."""
    return next((line.strip() for line in reversed(text.splitlines()) if "rim_hole" in line.lower()), "")


def _complete(line: str, header: str) -> bool:
    """Whether a line without its end holds all cells; a number in the last one may be cut short."""
    return line.count(",") == header.count(",") and line.endswith(",")
