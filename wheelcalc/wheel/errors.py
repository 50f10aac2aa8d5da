"""The one error for input that cannot be used."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

LONGEST_ECHO = 80  # letters of a user's own text that are said back; ours: one line of a terminal
LONGEST_PATH = 200  # letters of a file's path, the last ones; ours: enough to know it by


def printable(text: str, most: int | None = None) -> str:
    """Return a text that no terminal takes for a command: what does not print is written out as its escape.

    Parameters
    ----------
    text : such as a file's name or what somebody typed
    most : letters; what is longer is cut
    """
    if most is not None and len(text) > most:
        text = text[: most - 3] + "..."
    if text.isprintable():
        return text
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii") for sign in text)


class InputError(ValueError):
    """Something the user gave cannot be used.

    Parameters
    ----------
    key : the build file's key, a file or an option; may be empty
    text : what was found and what would do, one sentence
    file : the file or option that it was found in; may be empty
    """

    def __init__(self, key: str, text: str, file: str = "") -> None:
        self.key = key
        self.text = text
        self.file = file
        file = file if len(file) <= LONGEST_PATH else f"...{file[3 - LONGEST_PATH :]}"
        where = [printable(part) for part in (file, key[:LONGEST_PATH]) if part]
        super().__init__(": ".join([*where, *([printable(text)] if text else [])]))

    def in_file(self, file: str) -> InputError:
        """Return the same error with the file (or option) named, unless one is named already."""
        return self if self.file else InputError(self.key, self.text, file)


@contextmanager
def under(section: str) -> Iterator[None]:
    """Put a section's name before the key of any `InputError` raised inside."""
    try:
        yield
    except InputError as error:
        key = f"{section}.{error.key}" if error.key else section
        raise InputError(key, error.text, error.file) from None
