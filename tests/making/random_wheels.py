"""Random untrue wheels for the truing tests: invented parts, hidden errors, and a person who reads and turns."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.oracles.nonlinear_wheel import NonlinearWheel
from wheelcalc import Flange, Hub, Rim, Wheel, Wire, lacing
from wheelcalc.tension import balance, targets
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.parts import Section

LATERAL_NOISE = RADIAL_NOISE = 0.05  # mm, one standard error of a reading (issue: true)
TENSION_NOISE = 0.03  # of the tension
TURN_NOISE = 0.03  # of a turn: the key's angle is judged by eye
PITCH = 25.4 / 56  # mm, thread pitch of 56 per inch
# How far the real rim's section lies from the one that is believed: standard errors of the logarithm.
HIDDEN = {"area": 0.05, "inertia_in_plane": 0.2, "inertia_out_of_plane": 0.15, "torsion_constant": 0.3}


@dataclass
class Case:
    """A wheel as it is, and what is believed of it."""

    wheel: Wheel
    believed: Section
    real: NonlinearWheel

    @property
    def is_right(self) -> np.ndarray:
        return self.wheel.lacing.is_right

    def structure(self, left: float, right: float) -> Structure:
        """The structure that is believed, at these mean tensions."""
        even = targets.per_spoke(self.wheel, {"left": left, "right": right})
        return balance.structure_at(self.wheel, balance.at_rest(self.wheel, even), self.believed)

    def spreads(self) -> list[float]:
        tensions = self.real.tensions
        return [100 * tensions[side].std() / tensions[side].mean() for side in (~self.is_right, self.is_right)]

    def figures(self) -> tuple[float, ...]:
        return np.ptp(self.real.lateral), np.ptp(self.real.radial), self.real.lateral.mean(), *self.spreads()

    def turn(self, turns: np.ndarray, rng: np.random.Generator) -> None:
        done = turns * (1 + TURN_NOISE * rng.normal(size=len(turns)))
        self.real = self.real.turned(done * PITCH)

    def read(self, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Lateral, radial from any zero, tensions; all with noise."""
        real = self.real
        m = real.count
        lateral = real.lateral + LATERAL_NOISE * rng.normal(size=m)
        radial = real.radial + RADIAL_NOISE * rng.normal(size=m) + rng.normal()
        return lateral, radial, real.tensions * (1 + TENSION_NOISE * rng.normal(size=len(real.tensions)))


def sections(rng: np.random.Generator, erd: float) -> tuple[Section, Section]:
    """The section that is believed, and the real one."""
    believed = Section(
        area=rng.uniform(85, 125),
        inertia_in_plane=rng.uniform(1900, 4200),
        inertia_out_of_plane=rng.uniform(6500, 11000),
        torsion_constant=rng.uniform(2500, 5000),
        youngs_modulus=69e3,
        shear_modulus=26e3,
        centroid_diameter=erd,
    )
    off = {name: getattr(believed, name) * np.exp(sigma * rng.normal()) for name, sigma in HIDDEN.items()}
    return believed, replace(believed, **off)


def built(rng: np.random.Generator) -> Wheel:
    """28, 32 or 36 spokes, front or rear, 2 or 3 crosses, plain or butted wire."""
    holes, crosses = int(rng.choice([28, 32, 36])), int(rng.choice([2, 3]))
    left, right = (rng.uniform(32, 36), rng.uniform(17, 21)) if rng.random() < 0.6 else (rng.uniform(31, 37),) * 2
    flanges = [Flange(holes // 2, rng.uniform(40, 58), offset) for offset in (left, right)]
    wire = Wire(2.0, float(rng.choice([1.8, 2.0])), 2.0)
    rim = Rim(holes, rng.uniform(540, 605))
    return Wheel(rim, Hub(*flanges, 130.0), lacing.crossed(holes, crosses), wire)


def simulated(
    wheel: Wheel,
    section: Section,
    tighter: float,
    *,
    lateral_bend: np.ndarray | float = 0.0,
    radial_bend: np.ndarray | float = 0.0,
    along: np.ndarray | float = 0.0,
) -> NonlinearWheel:
    """The wheel at rest, the tighter side at about this tension [N]; the free rim may be bent, its holes moved along."""
    holes = wheel.rim.holes
    angle = (np.arange(holes) + 0.5) * 2 * np.pi / holes
    even = balance.at_rest(wheel, targets.per_spoke(wheel, targets.by_side(wheel, tighter))).tensions
    radius, stiffness = section.centroid_diameter / 2, 1 / wheel.flexibilities
    hoop = even.sum() / (2 * np.pi)
    shrink = hoop * radius / (section.youngs_modulus * section.area)
    out = radius + shrink + radial_bend + 0 * angle
    at = angle + along / radius
    shape = np.column_stack([lateral_bend + 0 * angle, out * np.sin(at), out * np.cos(at)])
    spans = np.linalg.norm(wheel.hub_points - wheel.rim_points, axis=1)
    e, g = section.youngs_modulus, section.shear_modulus
    rim = (
        e * section.area,
        e * section.inertia_in_plane,
        e * section.inertia_out_of_plane,
        g * section.torsion_constant,
    )
    nodes = wheel.lacing.rim_hole - 1
    perfect = radius * np.column_stack([0 * angle, np.sin(angle), np.cos(angle)])
    slack = spans - wheel.stretches(even)
    real = NonlinearWheel(
        shape, wheel.hub_points, wheel.rim_points, nodes, stiffness, slack, rim, perfect, wheel.end_gives
    )
    return real.settle()


def untrue(seed: int, most: float = 2.0) -> Case:
    """A wheel with spokes too long and too short, a rim slightly bent, some dish; up to `most` mm of run-out."""
    rng = np.random.default_rng(seed)
    wheel = built(rng)
    believed, section = sections(rng, wheel.rim.erd)
    real = simulated(wheel, section, rng.uniform(850, 1150), **bends(rng, wheel.rim.holes))
    holes, sign = wheel.rim.holes, wheel.sign
    angle = np.radians(wheel.lacing.rim_angle_deg)
    waves = np.cos(np.tile(np.arange(1, 5), 2)[:, None] * angle + rng.uniform(0, 2 * np.pi, (8, 1)))
    sideways, outward = rng.normal(size=(2, 4)) * [[0.5], [2.0]]
    errors = rng.normal(size=holes) + sign * (sideways @ waves[:4]) + rng.uniform() * outward @ waves[4:]
    dish = rng.uniform(-0.15, 0.15) * sign
    wanted, low, high = rng.uniform(0.5, most), 0.0, 0.8
    for _ in range(7):
        middle = (low + high) / 2
        found = real.turned(-middle * errors - dish)
        enough = max(np.ptp(found.lateral), np.ptp(found.radial)) > wanted
        low, high = (low, middle) if enough else (middle, high)
    return Case(wheel, believed, real.turned(-low * errors - dish))


def bends(rng: np.random.Generator, holes: int, size: float = 0.03) -> dict[str, np.ndarray]:
    """Free rim out of round and out of flat, about a tenth of a millimetre peak to peak."""
    angle = (np.arange(holes) + 0.5) * 2 * np.pi / holes
    k = np.arange(2, 8)
    out = {}
    for name in ("lateral_bend", "radial_bend"):
        cosines, sines = rng.normal(size=(2, 6)) * size * (2 / k) ** 2
        out[name] = cosines @ np.cos(k[:, None] * angle) + sines @ np.sin(k[:, None] * angle)
    return out
