"""What stands on a tyre, read as the rim's bead seat diameter; what is only the tyre's name is refused with the sizes it goes by."""

from __future__ import annotations

import re

from wheelcalc.files import tables
from wheelcalc.measuring.plausible import sizes_called
from wheelcalc.wheel.errors import InputError

_MARK = re.compile(
    r"(?:[0-9]{2,3}\s*-\s*(?P<tyre>[0-9]{3}))|(?:(?P<rim>[0-9]{3})\s*[xX]\s*[0-9]{2}(?:\.[0-9])?\s*[cC]?)"
)
_NAME = re.compile(
    r"(?P<size>[0-9]{2,3}(?:\.5| 1/2)?)\s*(?P<letter>[a-dA-D]?)\s*(?:\"|\u2033|in|inch|inches|''|zoll)?\s*"
    r"(?:[xX]\s*[0-9][0-9./ ]*\s*(?P<last>[a-dA-D]?)\s*(?:\"|\u2033|in|inch|inches|'')?)?",
    re.IGNORECASE,
)
LARGEST_NAME = 40.0  # inches; ours: wheels are called 12 to 36
METRIC = ("700", "650", "600", "550", "500", "450", "400")  # P (makers; CT): outside diameters that name tyres


def bead_seat(path: str, text: str) -> float | None:
    """Return the bead seat diameter [mm] that a tyre's or rim's mark says; None where the text is no mark.

    Parameters
    ----------
    path : the dotted key, for the message
    text : "32-622" and "622x19" are marks; "26 inch", "26 x 1.75" and "700C" are names

    Raises
    ------
    InputError
        If it is a tyre's name; the text lists the sizes that go by it.
    """
    mark = _MARK.fullmatch(text.strip())
    if mark and not (mark["rim"] or "").startswith(METRIC):
        return float(mark["tyre"] or mark["rim"])
    name = _NAME.fullmatch(" ".join(text.split()))
    size = "" if name is None else name["size"].replace(" 1/2", ".5")
    if name is None or not (float(size) <= LARGEST_NAME or size in METRIC):
        return None
    raise InputError(path, f'found "{" ".join(text.split())}"; {refused(size, name["letter"] or name["last"] or "")}')


def refused(size: str, letter: str) -> str:
    """Return what to write instead of a tyre's name."""
    seats = _called(f"{size}{letter.upper()}")
    such = f"; rims called so have {_listed(seats)}" if seats else ""
    return f"that is the tyre's name{such}; write the second number of the mark on the tyre, such as 622 of 37-622"


def _called(name: str) -> list[str]:
    called = {float(row["bead_seat_diameter"]): str(row["called"]) for row in tables.load("rim_sizes")}
    return [f"{size:g}" for size in sizes_called(name, called)]


def _listed(seats: list[str]) -> str:
    return " or ".join([", ".join(seats[:-1]), seats[-1]] if seats[1:] else seats)
