"""One program at a time holds a file; the system gives it free when the program ends, however it ends."""

from __future__ import annotations

import errno
import os
from typing import IO

BEYOND = 2**30  # bytes, ours: where Windows is asked for a lock; beyond any log, so that the file itself can be read


def held(file: IO[bytes]) -> bool:
    """Take hold of an open file; False where another program has it."""
    try:
        _lock(file)
    except OSError as error:
        return error.errno not in (errno.EACCES, errno.EAGAIN, errno.EDEADLK)
    return True


if os.name == "nt":
    import msvcrt

    def _lock(file: IO[bytes]) -> None:
        place = file.tell()
        file.seek(BEYOND)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        finally:
            file.seek(place)

else:
    import fcntl

    def _lock(file: IO[bytes]) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
