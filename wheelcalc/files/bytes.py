"""The bytes of a file that the user names, or one sentence on why they cannot be had."""

from __future__ import annotations

import os
import sys
import threading
from pathlib import Path
from typing import BinaryIO

from wheelcalc.wheel.errors import InputError

PATIENCE = 4.0  # s, ours: a program that writes into a pipe has begun by then


def bytes_of(path: str | Path, most: int, wanted: str, hint: str = "") -> bytes:
    """Return a file's bytes, at most one more than may be: whoever reads them says what a larger file should do.

    Parameters
    ----------
    path : of the file
    most : bytes that such a file may have
    wanted : what to give the path of, such as "a build file"
    hint : added where there is no such file

    Raises
    ------
    InputError
        If there is no such file, or it cannot be read.
    """
    try:
        with _opened(Path(path)) as file:
            return file.read(most + 1)
    except FileNotFoundError:
        raise InputError("", f"there is no such file; give the path of {wanted}{hint}") from None
    except IsADirectoryError:
        raise InputError("", f"this is a folder; give the path of {wanted}") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise InputError("", f"cannot be read ({reason}); give the path of {wanted} that can be") from None


def _opened(path: Path) -> BinaryIO:
    """Open a file; a pipe into which nobody writes is given up after a while instead of waited for."""
    if not path.is_fifo():
        return path.open("rb")
    outcome: list[BinaryIO | OSError] = []

    def wait() -> None:
        try:
            outcome.append(path.open("rb"))
        except OSError as error:
            outcome.append(error)

    waiting = threading.Thread(target=wait, daemon=True)
    waiting.start()
    waiting.join(PATIENCE)
    if waiting.is_alive():
        os.close(os.open(path, os.O_RDWR | os.O_NONBLOCK))  # lets the thread go
        raise OSError(0, f"nobody has written into this pipe for {PATIENCE:g} s")
    (file,) = outcome
    if isinstance(file, OSError):
        raise file
    return file


def standard_input(most: int) -> bytes:
    """Return what standard input holds, at most one byte more than may be.

    Raises
    ------
    InputError
        If it is closed.
    """
    if sys.stdin is None:
        raise InputError("", "is closed; give the path of a file")
    return sys.stdin.buffer.read(most + 1)
