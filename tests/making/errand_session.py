"""The truing session of the examples: the errand wheel after a kerb, read, turned as the library says, read again.

The wheel is the non-linear one of the tests, so the readings are not the library's own. Run by hand it writes them:
python -m tests.making.errand_session
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.making.random_wheels import Case, bends, simulated
from wheelcalc import answers
from wheelcalc.answers.base import opened
from wheelcalc.joined.section import section_of
from wheelcalc.measuring import assemble

EXAMPLES = Path(__file__).parents[2] / "examples"
BUILD = EXAMPLES / "errand-rear.toml"
READINGS = EXAMPLES / "errand-rear-readings.csv"
AFTER = EXAMPLES / "errand-rear-readings-after.csv"
TITLES = {
    READINGS: "# The errand wheel after a kerb. Invented: made by the wheel of the tests, with errors of reading.",
    AFTER: "# The same wheel, read again after the first pass of `wheelcalc true errand-rear.toml errand-rear-readings.csv`.",
}
SEED = 71
TIGHTER = 930.0  # N, before the kerb


def hit() -> tuple[Case, np.random.Generator]:
    """The wheel after the kerb: spokes a little uneven, three of them pulled longer or left looser."""
    known = opened(BUILD).build
    wheel, estimate = assemble.wheel(known), section_of(known)
    assert estimate is not None
    rng = np.random.default_rng(SEED)
    real = simulated(wheel, estimate.section, TIGHTER, **bends(rng, wheel.rim.holes, 0.04))
    longer = 0.13 * rng.normal(size=len(wheel.lacing)) - 0.09 * wheel.sign
    longer[8:11] += 0.25, -0.2, 0.2
    return Case(wheel, estimate.section, real.turned(-longer)), rng


def readings(case: Case, rng: np.random.Generator, title: str) -> str:
    """One round of readings as CSV; the radial dial stands at any zero, one tension could not be reached."""
    lateral, radial, tensions = case.read(rng)
    lines = [title, "rim_hole,lateral_mm,radial_mm,tension_N"]
    for hole, force in zip(case.wheel.lacing.rim_hole.tolist(), tensions.tolist(), strict=True):
        tension = "" if hole == 1 else f"{force:.0f}"
        lines.append(f"{hole},{lateral[hole - 1]:.2f},{radial[hole - 1]:.2f},{tension}")
    return "\n".join(lines) + "\n"


def session() -> tuple[str, str, Case]:
    """Readings before and after the first pass, and the wheel then."""
    case, rng = hit()
    before = readings(case, rng, TITLES[READINGS])
    case.turn(answers.true(BUILD, READINGS).turns, rng)
    return before, readings(case, rng, TITLES[AFTER]), case


if __name__ == "__main__":
    first, random = hit()
    READINGS.write_text(readings(first, random, TITLES[READINGS]), encoding="utf-8")
    AFTER.write_text(session()[1], encoding="utf-8")
