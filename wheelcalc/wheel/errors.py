"""The one error for input that cannot be used."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


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
        super().__init__(": ".join(part for part in (file, key, text) if part))

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
