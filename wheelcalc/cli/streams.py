"""What is done to the streams of the process when a reader has gone."""

from __future__ import annotations

import os
import sys


def silence_output() -> None:
    """Keep Python from complaining once more when it closes standard output."""
    if sys.stdout:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
