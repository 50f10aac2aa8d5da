"""The recordings of the examples: the bare rim of the errand wheel tapped on a balcony, by a telephone. Invented.

The rim is a ring of the tests' own elements with a joint and a valve hole, so that its modes are not the library's own.
Run by hand it writes them: python -m tests.making.errand_taps
"""

from __future__ import annotations

from pathlib import Path

from tests.making.pluck_synthesis import write_wav
from tests.making.tapped_rims import STRETCH, Session, modes, tapped
from tests.oracles.ringing_rim import RingingRim

EXAMPLES = Path(__file__).parents[2] / "examples"
RECORDINGS = {"radial": EXAMPLES / "errand-rim-inward.wav", "lateral": EXAMPLES / "errand-rim-sideways.wav"}
IN_PLANE, OUT_OF_PLANE, TORSION = 138.0, 212.0, 33.0  # N m2
RADIUS, MASS = 0.3035, 0.520  # m, kg with the joint
JOINT = 0.012  # kg
AXIAL = STRETCH["aluminium"] * MASS / (2 * 3.141592653589793 * RADIUS)
RIM = RingingRim(
    RADIUS,
    MASS - JOINT,
    IN_PLANE,
    OUT_OF_PLANE,
    TORSION,
    AXIAL,
    AXIAL / 8.5,
    joint_mass=JOINT,
    joint_stiffness=1.35,
    valve_stiffness=0.7,
)
SESSION = Session(
    rate=8000,
    seconds=11.5,
    every=1.8,
    clean=0.2,
    contact=0.0025,
    quality=520.0,
    high_pass=95.0,
    noise=0.008,
    tones=(100.0, 318.4),
    tone=0.012,
    seed=2029,
    lead=0.7,
)

if __name__ == "__main__":
    rim = modes(RIM)
    for kind, path in RECORDINGS.items():
        write_wav(path, tapped(rim, kind, SESSION), SESSION.rate)
