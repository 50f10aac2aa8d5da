"""Another make of real wheels, to judge by what was tried on `real_wheels`: nothing of the library was tuned to these.

The rim is bent by a few dents and a joint and not by waves; spokes are unlike by themselves, some much; flanges lie a
little elsewhere than measured; the dial shows twentieths, the tension meter bends its scale.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.making.random_wheels import simulated
from tests.making.real_wheels import GIVE, Person, RealCase, believed_of, drawn, kink, real_section
from tests.oracles.nonlinear_wheel import NonlinearWheel
from wheelcalc import Flange, Hub, Wheel
from wheelcalc.arrays import Floats


@dataclass
class OtherPerson(Person):
    """Reads to twentieths of a millimetre, errors as likely anywhere within 0.17; the meter is 3 % high where it is loose."""

    def read(self, real: NonlinearWheel, rng: np.random.Generator) -> tuple[Floats, Floats, Floats]:
        """Lateral, radial (from any zero) and tensions."""
        zero, out = rng.normal(), []
        for exact in (real.lateral, real.radial + zero):
            read = exact + rng.uniform(-0.17, 0.17, real.count)
            wrong = read + rng.choice([-1, 1], real.count) * (0.6 + rng.exponential(0.8, real.count))
            out.append(np.round(np.where(rng.random(real.count) < self.gross, wrong, read) / 0.05) * 0.05)
        n = len(real.tensions)
        meter = real.tensions * (1.03 - 0.03 * real.tensions / 1000) * (1 + 0.04 * rng.standard_t(5, n))
        meter = np.where(rng.random(n) < self.gross, meter * rng.choice([0.5, 0.7, 1.4, 1.8], n), meter)
        return out[0], out[1], np.round(np.maximum(meter, 0.0) / 5) * 5


def other_wheel(seed: int, *, run_out: tuple[float, float] = (0.8, 4.0), **more: Floats) -> RealCase:
    """A wheel out of true; parameters as of `real_wheel`."""
    rng = np.random.default_rng(seed)
    wheel = drawn(rng)
    section = real_section(rng, wheel.rim.erd + rng.uniform(0, 10))
    give = GIVE * float(np.exp(0.25 * rng.normal()))
    holes = wheel.rim.holes
    bends = {
        name: sum(
            kink(holes, rng.uniform(0, holes), rng.uniform(3, 9), size * rng.normal())
            for _ in range(rng.integers(2, 6))
        )
        + more.get(name, 0.0)
        for name, size in (("lateral_bend", 0.4), ("radial_bend", 0.15))
    }
    moved = replace(wheel, hub=_elsewhere(wheel, rng), end_give=give)
    real = simulated(moved, section, rng.uniform(800, 1150), **bends)  # type: ignore[arg-type]
    errors = rng.standard_t(3, holes) + rng.normal() * np.cos(np.radians(wheel.lacing.rim_angle_deg)) * wheel.sign
    wanted, low, high = rng.uniform(*run_out), 0.0, 1.0
    for _ in range(7):
        middle = (low + high) / 2
        found = real.turned(-middle * errors)
        enough = max(np.ptp(found.lateral), np.ptp(found.radial)) > wanted
        low, high = (low, middle) if enough else (middle, high)
    return RealCase(wheel, believed_of(rng, section, 0.25), GIVE, real.turned(-low * errors), bends, moved)  # type: ignore[arg-type]


def _elsewhere(wheel: Wheel, rng: np.random.Generator) -> Hub:
    """The hub as it is: each flange a quarter of a millimetre from where it was measured."""
    sides = [
        Flange(each.holes, each.pcd, each.offset + 0.25 * rng.normal()) for each in (wheel.hub.left, wheel.hub.right)
    ]
    return Hub(*sides, wheel.hub.over_locknut)
