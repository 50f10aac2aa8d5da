"""Where the text of a command is read: how wide, how high, and whether it shows colour."""

from __future__ import annotations

import os
import shutil
import sys

from wheelcalc.page.text import Screen


def screen(*, no_color: bool = False) -> Screen:
    """Return what standard output is: a terminal's own size, 80 letters where it is none; COLUMNS goes before both.

    Parameters
    ----------
    no_color : asked for plain letters; NO_COLOR and TERM=dumb ask the same
    """
    size = shutil.get_terminal_size((80, 24))
    plain = no_color or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return Screen(size.columns, size.lines, colour=bool(sys.stdout and sys.stdout.isatty() and not plain))
