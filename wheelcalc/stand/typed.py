"""What a person typed on the page, or the page sent, as a number."""

from __future__ import annotations

from typing import Any

from wheelcalc.files.readings import value_of
from wheelcalc.files.units import plain_number
from wheelcalc.tension.tone import pitch_of
from wheelcalc.wheel.errors import InputError


def number(column: str, said: Any) -> float:
    """Return the number meant: a decimal point or comma; a turn as a fraction too, a pitch as a note too ("G4", "F#4 -12").

    Parameters
    ----------
    column : that it is of
    said : a text, or a number

    Raises
    ------
    InputError
        If it is neither, or none that is believed.
    """
    if isinstance(said, bool) or not isinstance(said, str | int | float):
        raise InputError(column, "found neither a number nor a text")
    text = said.strip() if isinstance(said, str) else repr(said)
    meant = {"pitch_hz": pitch_of, "turned": plain_number}.get(column, _none)(text)
    return value_of(column, text if meant is None else repr(meant), column)


def _none(_: str) -> None:
    """No other way to write it."""
