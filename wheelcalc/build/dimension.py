"""One thing known of a build: its value, its standard uncertainty, and where it came from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

# C: what a careful reading with each tool is good for, one standard uncertainty [mm]; a setting of the build file.
TOOL_SIGMA = {"tape": 1.0, "rule": 0.5, "calliper": 0.1}


@dataclass(frozen=True)
class Dimension:
    """One thing known.

    Parameters
    ----------
    value : a number in mm, N, g, N/mm2, degrees or a count; or a word, a yes or no, a table
    sigma : standard uncertainty, same unit; 0 where exact
    origin : "given", "default" or "readings"
    repeats : the single readings where the key was read more than once
    """

    value: Any
    sigma: float = 0.0
    origin: str = "given"
    repeats: tuple[float, ...] = ()
