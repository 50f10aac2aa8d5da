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
    """

    def __init__(self, key: str, text: str) -> None:
        self.key = key
        self.text = text
        super().__init__(f"{key}: {text}" if key else text)


@contextmanager
def under(section: str) -> Iterator[None]:
    """Put a section's name before the key of any `InputError` raised inside."""
    try:
        yield
    except InputError as error:
        key = f"{section}.{error.key}" if error.key else section
        raise InputError(key, error.text) from None
