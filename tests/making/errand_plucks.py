"""The recordings of the examples: the right spokes of the errand wheel plucked by a telephone, after a month of riding.

Wheel and sound are those of the tests (non-linear wheel, finite differences), so the pitches are not the library's own.
The nipple of rim hole 11 has unwound by half a turn, and everything has bedded in a little. Run by hand it writes them:
python -m tests.making.errand_plucks
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.making.pluck_synthesis import Pluck, Scene, Spoke, recording, write_wav
from tests.making.random_wheels import bends, simulated
from wheelcalc.answers.base import opened
from wheelcalc.joined.section import section_of
from wheelcalc.measuring import assemble

EXAMPLES = Path(__file__).parents[2] / "examples"
BUILD = EXAMPLES / "errand-rear.toml"
RECORDING = EXAMPLES / "errand-rear-right.wav"
BEFORE = EXAMPLES / "errand-rear-plucked-new.csv"
TITLE = (
    "# Pitches of the errand wheel when it was new, right side. Invented: made by the wheel and the sound of the tests."
)
SEED, RATE = 29, 8000
TIGHTER = 930.0  # N
UNWOUND, TURNS = 11, 0.5
BEDDED = 0.008  # mm, every spoke
# Free length of a right spoke head to nipple, and where it touches its partner: by rule on the bench [mm].
LENGTHS, DIAMETERS, CROSSING, HOLD = (20, 245, 14), (2.0, 1.8, 2.0), 69.0, 0.35


def wheels():
    """The wheel when it was new and after a month."""
    known = opened(BUILD).build
    wheel, estimate = assemble.wheel(known), section_of(known)
    assert estimate is not None
    rng = np.random.default_rng(SEED)
    real = simulated(wheel, estimate.section, TIGHTER, **bends(rng, wheel.rim.holes, 0.03))
    new = real.turned(0.03 * rng.normal(size=len(wheel.lacing)))
    ridden = np.full(len(wheel.lacing), -BEDDED)
    ridden[UNWOUND - 1] -= TURNS * 25.4 / 56
    return wheel, new, new.turned(ridden), rng


def partner(hole: int) -> int:
    """Rim hole of the right spoke that one of a 3-cross wheel of 36 touches: 1 and 3, 5 and 7, ..."""
    return hole + 2 if hole % 4 == 1 else hole - 2


def spokes(tensions: np.ndarray) -> dict[int, Spoke]:
    """Each right spoke with the one that it touches."""
    return {
        hole: Spoke(LENGTHS, DIAMETERS, (tensions[hole - 1], tensions[partner(hole) - 1]), HOLD, CROSSING)
        for hole in range(1, 37, 2)
    }


def plucked() -> np.ndarray:
    """The recording."""
    _, _, ridden, rng = wheels()
    sounds, at = [], 0.45
    for spoke in spokes(ridden.tensions).values():
        how = Pluck(
            place=rng.uniform(0.35, 0.55),
            ring=rng.uniform(0.16, 0.26),
            loss=rng.uniform(0.2, 0.4),
            sharp=rng.uniform(0, 0.003),
            second=rng.uniform(0, 0.3),
            thump=rng.uniform(0.05, 0.4),
        )
        sounds.append((spoke, how, at, rng.uniform(0.6, 1.0)))
        at += rng.uniform(0.75, 1.0)
    scene = Scene(RATE, snr_db=22, room_seconds=0.3, room_share=0.15, telephone_hz=200, clicks=1, taps=1)
    return recording(sounds, scene, at + 0.2, rng)


def before() -> str:
    """Pitches when it was new, read to a tenth of a per cent."""
    _, new, _, _ = wheels()
    rng = np.random.default_rng(SEED + 1)
    lines = [TITLE, "rim_hole,lateral_mm,radial_mm,pitch_hz"]
    for hole, spoke in spokes(new.tensions).items():
        lines.append(f"{hole},,,{spoke.pitch * (1 + 0.001 * rng.normal()):.1f}")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    write_wav(RECORDING, plucked(), RATE)
    BEFORE.write_text(before(), encoding="utf-8")
