"""An address as a QR code in the terminal, where the library that makes them is installed (extra `phone`)."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from importlib import import_module

LIGHT_ON_DARK = "\033[97;40m"  # P: ECMA-48, SGR; a code must be dark on light whatever the terminal's own colours
PLAIN = "\033[0m"
QUIET = 2  # modules around the code, C: the standard asks for four, cameras do with two
MISSING = "A QR code of that address would stand here: pip install segno"


def qr_lines(address: str, *, colour: bool) -> Iterator[str]:
    """Return the code line by line, or the one line that says how to get it; nothing where its signs cannot be printed.

    Parameters
    ----------
    address : to be opened by the phone
    colour : whether the terminal shows colours
    """
    try:
        segno = import_module("segno")
    except ImportError:
        yield MISSING
        return
    drawn = io.StringIO()
    segno.make(address, micro=False, error="l").terminal(out=drawn, border=QUIET, compact=True)
    for line in drawn.getvalue().splitlines() if _shown(drawn.getvalue()) else ():
        yield f"{LIGHT_ON_DARK}{line}{PLAIN}" if colour else line


def _shown(text: str) -> bool:
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "ascii")
    except UnicodeEncodeError:
        return False
    return True
