"""A text file written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from pathlib import Path


def write_whole(path: Path, text: str, *, over: bool = True) -> None:
    """Write a text file whole or not at all: beside it first, then moved into its place.

    A link stays a link (the file that it points at is replaced), and a file keeps its rights.

    Parameters
    ----------
    path : of the file
    text : all of it
    over : whether a file that stands there is replaced; if not, of two that write at once only one can

    Raises
    ------
    FileExistsError
        If there is a file that may not be replaced.
    OSError
        If the file cannot be written, or the name is one of a device or folder.
    """
    target = _followed(path)
    if target.exists() and not target.is_file():
        raise OSError(errno.EINVAL, "it is no plain file")
    handle, temporary = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        # Octal: the nine rights of a file, and reading and writing for all where the mask allows.
        os.chmod(temporary, target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask())
        if over:
            os.replace(temporary, target)
        else:
            _into_place(temporary, target)
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(temporary)


def _into_place(temporary: str, target: Path) -> None:
    """Give a file a name that must be free; where the disk knows no second names, take the name before it is moved."""
    try:
        os.link(temporary, target)
    except FileExistsError:
        raise
    except OSError:
        target.open("x").close()
        os.replace(temporary, target)


def _followed(path: Path) -> Path:
    """Return what a link points at in the end."""
    try:
        return path.resolve()
    except RuntimeError:  # of a loop, up to Python 3.12
        raise OSError(errno.ELOOP, "a link that leads to itself") from None


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
