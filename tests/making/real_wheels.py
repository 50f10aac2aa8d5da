"""Wheels as a home mechanic meets them: soft and bent rims, ends that give, and a person who misreads and turns by eye.

The parts are drawn round the measured rims of Ford's thesis (reference: MF); the hidden wheel differs from what is
believed of it, its spokes' ends give by a law of tension, nipples wind up, and one reading in thirty is grossly wrong.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from tests.making.random_wheels import PITCH, simulated
from tests.oracles.nonlinear_wheel import NonlinearWheel
from wheelcalc import Flange, Hub, Rim, Wheel, Wire, lacing
from wheelcalc.arrays import Floats
from wheelcalc.wheel.parts import Section

# P, MF: EI in plane, GJ [N m2], GJ over EI out of plane; of four bare rims.
RIMS = ((310, 85.7, 0.405), (111, 26.3, 0.120), (125, 19.2, 0.123), (123, 18.9, 0.096))
GIVE = 0.20  # mm for 1000 N more, at 1000 N (D from MF)
E_RIM, G_RIM = 69e3, 26e3
TURN_ERROR = 0.03  # of a turn
WINDUP_LEFT = 0.03  # of a turn, most that a nipple falls short because its spoke stays twisted


@dataclass
class Person:
    """How somebody reads and turns.

    Parameters
    ----------
    lateral, radial : standard error of a reading [mm]
    tension : of a reading, as a share
    gross : share of the readings that are grossly wrong
    seized : spokes, from 0, whose nipples do not turn
    """

    lateral: float = 0.1
    radial: float = 0.1
    tension: float = 0.05
    gross: float = 1 / 30
    seized: tuple[int, ...] = ()

    def read(self, real: NonlinearWheel, rng: np.random.Generator) -> tuple[Floats, Floats, Floats]:
        """Lateral, radial (from any zero) and tensions."""
        zero = rng.normal()
        out = []
        for exact, error, wrong in (
            (real.lateral, self.lateral, rng.choice([-1, 1], real.count) * rng.uniform(0.6, 2.5, real.count)),
            (real.radial + zero, self.radial, rng.choice([-1, 1], real.count) * rng.uniform(0.6, 2.5, real.count)),
        ):
            read = exact + error * rng.normal(size=len(exact))
            out.append(np.round(np.where(rng.random(len(exact)) < self.gross, read + wrong, read), 2))
        tension = real.tensions * (1 + self.tension * rng.normal(size=len(real.tensions)))
        slipped = tension * rng.choice([0.5, 0.7, 1.4, 1.8], len(tension))
        tension = np.where(rng.random(len(tension)) < self.gross, slipped, tension)
        return out[0], out[1], np.round(np.maximum(tension, 0.0))

    def turn(self, real: NonlinearWheel, turns: Floats, rng: np.random.Generator) -> NonlinearWheel:
        """The wheel after these turns, each a little off, some of it wound up in the spoke."""
        short = WINDUP_LEFT * rng.random(len(turns)) * np.sign(turns)
        made = np.where(turns != 0, turns - short + TURN_ERROR * rng.normal(size=len(turns)), 0.0)
        made[list(self.seized)] = 0.0
        return real.turned(made * PITCH)


@dataclass
class RealCase:
    """A wheel as it is, and what is believed of it."""

    wheel: Wheel
    believed: Section
    believed_give: float
    real: NonlinearWheel
    bends: dict[str, Floats] = field(default_factory=dict)
    elsewhere: Wheel | None = None  # the wheel as it is, where its parts lie elsewhere than measured

    @property
    def exact(self) -> RealCase:
        """The case of somebody who knows where its parts lie."""
        return replace(self, wheel=self.elsewhere or self.wheel)

    @property
    def is_right(self) -> np.ndarray:
        return self.wheel.lacing.is_right

    def spreads(self) -> tuple[float, float]:
        left, right = (self.real.tensions[side] for side in (~self.is_right, self.is_right))
        return float(100 * left.std() / left.mean()), float(100 * right.std() / right.mean())

    def figures(self) -> tuple[float, float, float, float, float]:
        """Lateral, radial, dish, spreads; as they are."""
        real = self.real
        return float(np.ptp(real.lateral)), float(np.ptp(real.radial)), float(real.lateral.mean()), *self.spreads()


def real_section(rng: np.random.Generator, diameter: float) -> Section:
    """Near one of the measured rims."""
    ei_in, gj, mu = np.array(RIMS[rng.integers(4)]) * np.exp(0.12 * rng.normal(size=3))
    return Section(
        area=rng.uniform(85, 125),
        inertia_in_plane=ei_in * 1e6 / E_RIM,
        inertia_out_of_plane=gj / mu * 1e6 / E_RIM,
        torsion_constant=gj * 1e6 / G_RIM,
        youngs_modulus=E_RIM,
        shear_modulus=G_RIM,
        centroid_diameter=diameter,
    )


def believed_of(rng: np.random.Generator, section: Section, off: float) -> Section:
    """As one would estimate it: stiffnesses wrong by a common factor and each by one of its own."""
    names = ("inertia_in_plane", "inertia_out_of_plane", "torsion_constant")
    common = off * rng.normal()
    return replace(
        section, **{name: getattr(section, name) * float(np.exp(common + 0.7 * off * rng.normal())) for name in names}
    )


def drawn(rng: np.random.Generator) -> Wheel:
    """28, 32 or 36 spokes, front or rear, plain or butted wire."""
    holes, crosses = int(rng.choice([28, 32, 36])), int(rng.choice([2, 3]))
    left, right = (rng.uniform(32, 36), rng.uniform(17, 21)) if rng.random() < 0.6 else (rng.uniform(31, 37),) * 2
    flanges = [Flange(holes // 2, rng.uniform(40, 58), offset) for offset in (left, right)]
    wire = Wire(2.0, float(rng.choice([1.8, 2.0])), 2.0)
    return Wheel(Rim(holes, rng.uniform(540, 605)), Hub(*flanges, 130.0), lacing.crossed(holes, crosses), wire)


def free_bends(rng: np.random.Generator, holes: int, lateral: float, radial: float) -> dict[str, Floats]:
    """A rim out of flat and out of round: amplitudes fall with the waves squared."""
    angle, k = (np.arange(holes) + 0.5) * 2 * np.pi / holes, np.arange(2, 9)
    out = {}
    for name, size in (("lateral_bend", lateral), ("radial_bend", radial)):
        cosines, sines = rng.normal(size=(2, len(k))) * size * (2 / k) ** 2
        out[name] = cosines @ np.cos(k[:, None] * angle) + sines @ np.sin(k[:, None] * angle)
    return out


def kink(holes: int, centre: float, width: float, height: float) -> Floats:
    """A bump of the free rim, `width` holes wide at half its height, (holes,)."""
    away = np.abs((np.arange(holes) - centre + holes / 2) % holes - holes / 2)
    return np.asarray(np.where(away < width, height * (1 + np.cos(np.pi * np.minimum(away / width, 1))) / 2, 0.0))


def real_wheel(
    seed: int, *, run_out: tuple[float, float] = (0.8, 4.0), off: float = 0.25, bent: float = 1.0, **more: Floats
) -> RealCase:
    """A wheel out of true by its spokes and its rim, to a run-out drawn from a range.

    Parameters
    ----------
    seed : of all that is drawn
    run_out : larger of lateral and radial [mm]
    off : standard error of the logarithm of what is believed of the stiffnesses and of the give
    bent : times the usual bend of the free rim
    more : a bend besides (`lateral_bend`, `radial_bend`)
    """
    rng = np.random.default_rng(seed)
    wheel = drawn(rng)
    section = real_section(rng, wheel.rim.erd + rng.uniform(0, 10))
    give = GIVE * float(np.exp(0.25 * rng.normal()))
    bends = free_bends(rng, wheel.rim.holes, bent * rng.uniform(0.03, 0.25), bent * rng.uniform(0.01, 0.08))
    for name, value in more.items():
        bends[name] = bends[name] + value
    real = simulated(replace(wheel, end_give=give), section, rng.uniform(800, 1150), **bends)
    holes, sign = wheel.rim.holes, wheel.sign
    angle = np.radians(wheel.lacing.rim_angle_deg)
    waves = np.cos(np.tile(np.arange(1, 5), 2)[:, None] * angle + rng.uniform(0, 2 * np.pi, (8, 1)))
    sideways, outward = rng.normal(size=(2, 4)) * [[0.5], [2.0]]
    errors = rng.normal(size=holes) + sign * (sideways @ waves[:4]) + rng.uniform() * outward @ waves[4:]
    dish = rng.uniform(-0.1, 0.1) * sign
    wanted, low, high = rng.uniform(*run_out), 0.0, 1.0
    for _ in range(7):
        middle = (low + high) / 2
        found = real.turned(-middle * errors - dish)
        enough = max(np.ptp(found.lateral), np.ptp(found.radial)) > wanted
        low, high = (low, middle) if enough else (middle, high)
    believed = believed_of(rng, section, off)
    return RealCase(wheel, believed, GIVE, real.turned(-low * errors - dish), bends)
