"""The bytes of a file that the user names, or one sentence on why they cannot be had."""

from __future__ import annotations

from pathlib import Path

from wheelcalc.wheel.errors import InputError


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
        with Path(path).open("rb") as file:
            return file.read(most + 1)
    except FileNotFoundError:
        raise InputError("", f"there is no such file; give the path of {wanted}{hint}") from None
    except IsADirectoryError:
        raise InputError("", f"this is a folder; give the path of {wanted}") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise InputError("", f"cannot be read ({reason}); give the path of {wanted} that can be") from None
