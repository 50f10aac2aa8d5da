"""The command as a process of its own: its status, what it said, and what it cost; or inside this one, where only what it says matters."""

from __future__ import annotations

import contextlib
import io
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

from wheelcalc.cli import main

INSTALLED = (str(Path(sys.executable).with_name("wheelcalc")),)
MOST_SECONDS = 5.0  # of the processor's time, so that a busy machine changes nothing
MOST_MEGABYTES = 500.0
PATIENCE = 60.0  # s of the wall clock: what has not ended by then hangs


@dataclass(frozen=True)
class Outcome:
    """How a process ended."""

    status: int
    out: str
    err: str
    seconds: float
    megabytes: float

    @property
    def within_bounds(self) -> bool:
        return self.seconds < MOST_SECONDS and self.megabytes < MOST_MEGABYTES

    @property
    def refused(self) -> bool:
        """One line that a terminal shows as it is, and nothing else."""
        line, end, rest = self.err.partition("\n")
        one = line.startswith("Error: ") and line.isprintable() and bool(end) and not rest and len(line) <= 800
        return self.status == 2 and not self.out and one and "fault of wheelcalc" not in line


def inside(
    *arguments: str, folder: Path | None = None, stdin: str = "", encoding: str = "utf-8"
) -> subprocess.CompletedProcess[str]:
    """Run the command within this process, where the process itself is not what is tested; it is over ten times as fast."""
    given = io.TextIOWrapper(io.BytesIO(stdin.encode()), encoding="utf-8")
    # As Python opens them where PYTHONIOENCODING names an encoding.
    out = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="strict")
    err = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="backslashreplace")
    with (
        contextlib.chdir(folder or Path.cwd()),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        patch.object(sys, "stdin", given),
    ):
        status = main.run(list(arguments))
    for stream in (out, err):
        stream.flush()
    said = [stream.buffer.getvalue().decode(encoding) for stream in (out, err)]  # type: ignore[attr-defined]
    return subprocess.CompletedProcess(arguments, status, *said)


def called(
    *arguments: str,
    folder: Path,
    stdin: bytes = b"",
    environment: Mapping[str, str] = {},
    command: Sequence[str] = (sys.executable, "-m", "wheelcalc"),
    patience: float = PATIENCE,
) -> Outcome:
    """Run the command in a folder to its end."""
    plain = {name: value for name, value in os.environ.items() if not name.startswith("WHEELCALC_")}
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err, tempfile.TemporaryFile() as given:
        given.write(stdin)
        given.seek(0)
        process = subprocess.Popen(
            [*command, *arguments],
            cwd=folder,
            stdin=given,
            stdout=out,
            stderr=err,
            env={**plain, "OPENBLAS_NUM_THREADS": "1", **environment},
        )
        pid, code, used = _waited(process, patience)
        assert pid == process.pid
        process.returncode = code
        out.seek(0)
        err.seek(0)
        texts = [file.read().decode(errors="surrogateescape") for file in (out, err)]
    # A child begins as large as the process that starts it: less than that is not told apart.
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return Outcome(code, *texts, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024 if used.ru_maxrss > own else 0.0)


def _waited(process: subprocess.Popen[bytes], patience: float) -> tuple[int, int, os.struct_rusage]:  # type: ignore[name-defined]
    """Wait for a process and what it used; one that takes too long is ended and counts as status -9."""
    import threading

    timer = threading.Timer(patience, process.kill)
    timer.start()
    try:
        pid, status, used = os.wait4(process.pid, 0)
    finally:
        timer.cancel()
    return pid, os.waitstatus_to_exitcode(status), used
