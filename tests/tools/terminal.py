"""A command driven through a pseudo-terminal: each answer is sent when the mark "> " waits for it."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path

SECONDS, PAUSE = 20, 2
CTRL_C, CTRL_D = "\x03", "\x04"
HANG_UP = "hang up"


def dialogue(arguments: list[str], answers: Iterable[str], folder: Path) -> tuple[str, int]:
    """All that was shown, and the exit status (negative: the signal that ended it)."""
    terminal, end = pty.openpty()
    environment = {**os.environ, "TERM": "dumb", "PYTHONIOENCODING": "utf-8"}
    code = "from wheelcalc.cli.main import main; main()"
    # A fork of this process, which has threads, may hang before it is the command; these two only set up and are replaced.
    ready = ["env", "--default-signal=HUP", "--default-signal=INT", "setsid", "--ctty"]
    process = subprocess.Popen(
        [*ready, sys.executable, "-c", code, *arguments],
        stdin=end,
        stdout=end,
        stderr=end,
        cwd=folder,
        env=environment,
    )
    os.close(end)
    pid = process.pid
    shown, each = "", iter(answers)
    send: Callable[[], object] = int
    while True:
        text, waiting = _until_it_asks(terminal, send)
        shown += text
        answer = next(each, HANG_UP) if waiting else None
        if answer is None:
            break
        send = int
        if answer == HANG_UP:
            send = partial(os.kill, pid, signal.SIGHUP)
            send()
        else:
            typed = answer if answer in (CTRL_C, CTRL_D) else answer + "\n"
            os.write(terminal, typed.encode("utf-8", "surrogateescape"))
            send = partial(os.write, terminal, typed.encode()) if answer == CTRL_C else int
    os.close(terminal)
    return shown.replace("\r\n", "\n"), process.wait()


def _until_it_asks(terminal: int, again: Callable[[], object]) -> tuple[str, bool]:
    """What is shown up to the next mark. A signal that came between a mark and the wait for a key is given again."""
    data, patience = b"", SECONDS
    while not data.endswith(b"> "):
        ready, _, _ = select.select([terminal], [], [], PAUSE)
        patience = SECONDS if ready else patience - PAUSE
        if not ready and patience > 0:
            again()
            continue
        if not ready:
            raise AssertionError(f"silent for {SECONDS} s after: {data[-300:]!r}")
        try:
            more = os.read(terminal, 65536)
        except OSError:
            more = b""
        if not more:
            return data.decode(errors="replace"), False
        data += more
    return data.decode(errors="replace"), True
