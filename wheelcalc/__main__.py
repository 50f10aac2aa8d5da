"""`python -m wheelcalc` is the command `wheelcalc`; both begin here, before anything large is loaded."""

from __future__ import annotations

import os
import sys


def main() -> None:
    """Run the command line; Ctrl-C while it is still loading ends it with one line too."""
    try:
        from wheelcalc.cli.main import main as run  # noqa: PLC0415 - what takes time to load
    except KeyboardInterrupt:
        os.write(2, b"Error: stopped before the end; nothing was written\n")
        os._exit(2)  # at once: half-loaded modules would only complain on their way out
    run()


if __name__ == "__main__":
    # `python -m` looks for every module in the current folder first, where a file of any name may lie.
    try:
        here = os.getcwd()
    except OSError:  # the folder is gone
        here = ""
    sys.path[:] = [place for place in sys.path if place not in ("", here)]
    main()
