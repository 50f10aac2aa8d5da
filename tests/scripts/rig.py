"""A trueing rig: it reads the rim, asks for turns, makes them, and reads again, until the answer says that it is done.

The wheel of the rig is simulated here; a real rig puts its sensors into `read` and its key into `turn`.
"""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np

from wheelcalc import answers

BUILD = "examples/errand-rear.toml"
MOST_PASSES = 8


class Stand(Protocol):
    """What the rig can do."""

    def read(self) -> dict[str, np.ndarray]:
        """Return lateral and radial [mm] and the tensions [N], one value a rim hole."""

    def turn(self, turns: np.ndarray) -> None:
        """Turn each nipple, + tightens, one value a rim hole."""


def trued(stand: Stand) -> list[dict[str, Any]]:
    """True a wheel and return its passes, each with the turns that were made after it."""
    passes: list[dict[str, Any]] = []
    for _ in range(MOST_PASSES):
        passes.append(stand.read())
        answer = answers.true(BUILD, passes)
        wanted = np.zeros(36)
        for row in answer.rows("turns"):
            wanted[row["rim_hole"] - 1] = row["turns"]
        passes[-1]["turned"] = wanted
        print(
            f"pass {len(passes)}: {np.ptp(passes[-1]['lateral']):.2f} mm lateral, {np.abs(wanted).sum():g} turns, {answer.why}"
        )
        if not wanted.any():
            break
        stand.turn(wanted)
    return passes
