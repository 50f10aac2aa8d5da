"""Runs a call of any command, and is the one place that says what must hold for all of them.

A case (fuzz_calls.py) is made from a `random.Random` alone, so that a seed brings it back. `tests/benchmarks/fuzz.py` makes many,
`tests/benchmarks/fuzz_coverage.py` lets a coverage-guided fuzzer choose.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.tools.fuzz_calls import Case
from tests.tools.process import INSTALLED, called
from wheelcalc.cli import main

SECONDS = 2.0
MEGABYTES = 500
COLUMNS = 80


class Hang(BaseException):
    """A call took longer than it may; no `Exception`, so that nothing in between catches it."""


class BrokenError(AssertionError):
    """A call broke what must hold for any input."""


def run(one: Case, folder: Path) -> tuple[int, str, str]:
    """Run a case in a folder and return status, output and errors; `Hang` after two seconds of our own work."""
    for name, data in one.files.items():
        (folder / name).write_bytes(data)
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="") for _ in range(2))
    before, streams = Path.cwd(), (sys.stdin, sys.stdout, sys.stderr)
    os.chdir(folder)
    sys.stdin, sys.stdout, sys.stderr = io.TextIOWrapper(io.BytesIO(one.stdin), encoding="utf-8"), out, err
    try:
        with _at_most(SECONDS):
            status = main.run(list(one.arguments))
    finally:
        sys.stdin, sys.stdout, sys.stderr = streams
        os.chdir(before)
    return status, _text(out), _text(err)


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    return stream.buffer.getvalue().decode()  # type: ignore[attr-defined]


@contextlib.contextmanager
def _at_most(seconds: float) -> Iterator[None]:
    """Raise `Hang` after some seconds of processor time (others may use the machine)."""

    def ring(signum: int, frame: object) -> None:
        raise Hang(f"more than {seconds} s")

    old = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, old)


def run_installed(one: Case, folder: Path) -> tuple[int, str, str]:
    """Run a case as a process of the installed command, within bounds of time and memory; see `run`."""
    for name, data in one.files.items():
        (folder / name).write_bytes(data)
    ended = called(*one.arguments, folder=folder, stdin=one.stdin, command=INSTALLED)
    if not ended.within_bounds:
        raise BrokenError(f"{ended.seconds:.1f} s, {ended.megabytes:.0f} MB")
    if "Traceback" in ended.err:
        raise BrokenError(f"traceback: {ended.err[-300:]!r}")
    return ended.status, ended.out, ended.err


def check(one: Case, folder: Path, runner: Callable[[Case, Path], tuple[int, str, str]] = run) -> int:
    """Run a case in an empty folder, check what must hold for every input, and return the status."""
    status, out, err = runner(one, folder)
    if status not in (0, 1, 2):
        raise BrokenError(f"status {status}")
    changed = {path.name: path for path in folder.iterdir() if one.files.get(path.name) != path.read_bytes()}
    if status == main.UNUSABLE:
        _refused(out, err, changed)
    else:
        _computed(one, out, err, changed)
    return status


def memory() -> None:
    """Check what this process ever held; for a process that does nothing else."""
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if used > MEGABYTES:
        raise BrokenError(f"memory {used:.0f} MB")


def _refused(out: str, err: str, changed: dict[str, Path]) -> None:
    if out:
        raise BrokenError(f"output on a refusal: {out[:100]!r}")
    if not err.startswith("Error: ") or err.count("\n") != 1 or not err.endswith("\n") or len(err) > 1200:
        raise BrokenError(f"not one line of error: {err[:1500]!r}")
    if not err[:-1].isprintable():
        raise BrokenError(f"control characters in an error: {err!r}")
    if "output cannot be written" in err or err == "Error: \n":
        raise BrokenError(f"an error that says nothing of use: {err!r}")
    if changed:
        raise BrokenError(f"written on a refusal: {sorted(changed)}")


def _computed(one: Case, out: str, err: str, changed: dict[str, Path]) -> None:
    expected = {one.arguments[at + 1] for at, word in enumerate(one.arguments[:-1]) if word in ("-o", "--output")}
    if one.arguments[0] == "start":
        expected |= {"new.toml", "wheel.toml"}
    elif err and not err.startswith("Written: "):
        raise BrokenError(f"words on standard error: {err[:300]!r}")
    if not set(changed) <= expected:
        raise BrokenError(f"files that nobody asked for: {sorted(changed)}")
    for name, path in changed.items():
        if name.endswith((".json", ".txt")):
            _readable(path.read_text(encoding="utf-8"), name.endswith(".json"), one)
        elif "nan" in path.read_text(encoding="utf-8").lower().replace(",", " ").split():
            raise BrokenError(f"nan in {name}")
    if out:
        _readable(out, "--json" in one.arguments, one)


def _readable(text: str, as_json: bool, one: Case) -> None:
    if {"--help", "-h", "--version"} & set(one.arguments):
        return
    if as_json:
        json.loads(text, parse_constant=_no_constant)
        return
    if one.arguments[0] == "start":
        return
    wide = [line for line in text.splitlines() if len(line) > COLUMNS]
    if wide:
        raise BrokenError(f"wider than {COLUMNS} columns: {wide[0]!r}")
    given = b"".join((*one.files.values(), one.stdin, *(a.encode(errors="replace") for a in one.arguments)))
    foreign = {
        letter
        for letter in text
        if ord(letter) > 255 and letter.encode() not in given and f"\\u{ord(letter):04x}".encode() not in given
    }
    if foreign:
        raise BrokenError(f"not Latin-1: {foreign}")
    controls = {letter for letter in text if ord(letter) < 32 and letter not in "\n\t"}
    if controls:
        raise BrokenError(f"control characters: {controls}")
    for word in text.split():
        if (bare := word.strip("+-,.;:()%")) in ("nan", "inf", "NaN") and bare.encode() not in given:
            raise BrokenError(f"{word} in the output")


def _no_constant(name: str) -> float:
    raise BrokenError(f"{name} in JSON")
