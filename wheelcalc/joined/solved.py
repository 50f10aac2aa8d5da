"""A build's wheel solved as a structure: stiffness, buckling, the load that slackens a spoke, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.page.numbers import sure
from wheelcalc.tension import balance, targets
from wheelcalc.tension.arc import LATERAL, RADIAL
from wheelcalc.tension.balance import Rest
from wheelcalc.tension.section import TAPPED, SectionEstimate
from wheelcalc.tension.structure import Structure
from wheelcalc.tension.targets import Limit
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

REFERENCE_TENSION = 1000.0  # N, at which buckling is looked for where no target is known; any would do
ALIKE = 1e-3  # of the least slack load: spokes this alike go slack together

# What each figure is called in JSON, before and after its sigma.
JSON_NAMES = {
    "radial_stiffness": ("radial_stiffness", "N_per_mm"),
    "lateral_stiffness": ("lateral_stiffness", "N_per_mm"),
    "four_point": ("four_point", "N_per_mm"),
    "windup_stiffness": ("windup_stiffness", "Nmm_per_rad"),
    "buckling_tension": ("buckling_tension", "N"),
    "slack_load": ("slack_load", "N"),
    "rim_shrink": ("rim_shrink", "mm"),
}
SECTION, GIVE, TARGET = "rim.section", "spokes.end_give", "tension.target"


@dataclass(frozen=True)
class StructureFigures:
    """What the structure says of a wheel at its target tensions; None where the rim is buckled.

    Parameters
    ----------
    radial_stiffness, lateral_stiffness : load on the rim's centroid at rim hole 1 over its displacement there [N/mm]
    four_point : four loads sideways by turns over the mean displacement, None where the holes are not divisible by four
        [N/mm]
    windup_stiffness : torque on the hub over its turn against the rim's mean turn [N mm/rad]
    buckling_tension : mean of the tighter side when all tensions together buckle the rim [N]; None where none does
    slack_load : least inward load at a rim hole under which the first spoke goes slack [N]
    rim_shrink : of the rim's radius [mm]
    slack_spokes : rim holes of the spokes whose load is the least, the first to go first
    waves : round the rim when it buckles
    """

    radial_stiffness: float | None
    lateral_stiffness: float | None
    four_point: float | None
    windup_stiffness: float | None
    buckling_tension: float | None
    slack_load: float | None
    rim_shrink: float | None
    slack_spokes: tuple[int, ...]
    waves: int | None

    @property
    def slack_spoke(self) -> int | None:
        """Rim hole of the first spoke that goes slack."""
        return self.slack_spokes[0] if self.slack_spokes else None


@dataclass(frozen=True)
class Sureness:
    """How sure the figures of a structure are.

    Parameters
    ----------
    effects : by figure, what one standard uncertainty of each source does to it, in its unit: the section's properties
        by name, "spokes.end_give", "tension.target"
    """

    effects: Mapping[str, Mapping[str, float]]

    def sigma(self, figure: str) -> float | None:
        """Standard uncertainty of a figure in its unit; None where it has none."""
        return math.hypot(*self.effects[figure].values()) if figure in self.effects else None

    def with_shares(self, figure: str, shares: Mapping[str, float]) -> float:
        """Standard uncertainty of a figure if of some sources only a share were left."""
        return math.hypot(*(shares.get(source, 1.0) * effect for source, effect in self.effects[figure].items()))


def as_json(figures: StructureFigures, sureness: Sureness, estimate: SectionEstimate) -> dict[str, Any]:
    """Return the figures under the contract's names, each with its sigma."""
    out: dict[str, Any] = {}
    for name, (words, unit) in JSON_NAMES.items():
        value = getattr(figures, name)
        out[f"{words}_{unit}"] = value
        out[f"{words}_sigma_{unit}"] = None if value is None else sureness.sigma(name)
    out |= {"slack_spoke": figures.slack_spoke, "slack_spokes": list(figures.slack_spokes)}
    return out | {"mode_buckling": figures.waves, "section": section_json(estimate)}


def section_json(estimate: SectionEstimate) -> dict[str, Any]:
    """Return EI and GJ of the rim with their sigmas [N m2], and where they are from."""
    out: dict[str, Any] = {}
    for name, (own, modulus) in TAPPED.items():
        value = getattr(estimate.section, own) * getattr(estimate.section, modulus) / 1e6
        out[f"{name}_Nm2"] = value
        out[f"{name}_sigma_Nm2"] = value * math.hypot(estimate.sigmas[own], estimate.sigmas[modulus])
    return out | {"from": estimate.origin}


def buckling_tension(wheel: Wheel, structure: Structure) -> float | None:
    """Mean tension of the tighter side at which the rim buckles [N], None where no tension buckles it.

    Raises
    ------
    InputError
        If the wheel stands under no tension at all.
    """
    return _tension_at(wheel, structure, structure.buckling_factor)


def _tension_at(wheel: Wheel, structure: Structure, factor: float) -> float | None:
    tension = float(structure.tensions[wheel.lacing.on(targets.tighter_side(wheel))].mean()) * factor
    return tension if np.isfinite(tension) else None


def buckling_limits(build: Build, wheel: Wheel, estimate: SectionEstimate | None) -> list[Limit]:
    """The limit that leaves room before the rim buckles; none where the section is unknown or no tensions are at rest."""
    if estimate is None or targets.ratio_left_to_right(wheel) is None:
        return []
    rest = balance.at_rest(wheel, targets.per_spoke(wheel, targets.by_side(wheel, REFERENCE_TENSION)))
    if rest.tensions.min() < 0:
        return []
    structure = balance.structure_at(wheel, rest, estimate.section)
    tension = buckling_tension(wheel, structure)
    if tension is None:
        return []
    unsure = sureness(build, wheel, rest, estimate, ("buckling_tension",)).sigma("buckling_tension") or 0.0
    value, within = sure(tension, NINETEEN_IN_TWENTY * unsure)
    share = build.limits.buckling_share
    reason = f"{share:g} of the {value} +-{within} N that would buckle the rim (limits.buckling_share)"
    return [Limit("buckling", share * tension, targets.tighter_side(wheel), reason)]


def figures(wheel: Wheel, structure: Structure) -> StructureFigures:
    """What the structure says of this wheel."""
    standing = structure.buckling_factor > 1
    tight = standing and bool(structure.tensions.any())
    names = [name for name in JSON_NAMES if name != "slack_load" or tight]
    values = dict.fromkeys(JSON_NAMES) | _values(wheel, structure, structure.buckling_factor, names)
    slack = _slack_spokes(wheel, structure) if tight else ()
    return StructureFigures(**values, slack_spokes=slack, waves=_waves(structure.buckling_motion))


def _values(wheel: Wheel, structure: Structure, factor: float, names: Sequence[str]) -> dict[str, float | None]:
    """StructureFigures by name, where the rim buckles at a factor on the tensions."""
    ways: dict[str, Callable[[], float | None]] = {
        "radial_stiffness": lambda: float(structure.radial_stiffness[0]),
        "lateral_stiffness": lambda: float(structure.lateral_stiffness[0]),
        "four_point": structure.four_point_stiffness,
        "windup_stiffness": lambda: structure.windup_stiffness,
        "slack_load": lambda: structure.slack_load.load,
    }
    always: dict[str, Callable[[], float | None]] = {
        "buckling_tension": lambda: _tension_at(wheel, structure, factor),
        "rim_shrink": lambda: structure.rim_shrink,
    }
    held = ways if factor > 1 else {}
    return {name: (always | held)[name]() if name in always or name in held else None for name in names}


def _slack_spokes(wheel: Wheel, structure: Structure) -> tuple[int, ...]:
    """Rim holes of the spokes that the least load slackens, the first of them first."""
    least = structure.slack_loads.min(axis=0)
    alike = np.flatnonzero(least <= (1 + ALIKE) * least.min())
    first = structure.slack_load.spoke
    return tuple(int(wheel.lacing.rim_hole[spoke]) for spoke in (first, *alike[alike != first]))


def _waves(motion: Floats | None) -> int | None:
    """Waves round the rim of the larger part of a motion, sideways or radial."""
    if motion is None:
        return None
    powers = np.abs(np.fft.rfft(motion[:, [LATERAL, RADIAL]], axis=0)) ** 2
    return int(np.argmax(powers.max(axis=1)))


def sureness(
    build: Build,
    wheel: Wheel,
    rest: Rest,
    estimate: SectionEstimate,
    names: Sequence[str] = tuple(JSON_NAMES),
) -> Sureness:
    """How far section, give of the spokes' ends and tension leave each figure open.

    Notes
    -----
    Each source is moved either way and half the difference of the figure taken, as a straight line where the step is
    smaller than the uncertainty (JCGM 100:2008, 5.1.2 and the note of 5.1.3). The buckling tension of a wheel a little changed
    comes from the motion in which the first one buckles, which is right to the square of what it changes.
    """
    base = balance.structure_at(wheel, rest, estimate.section)
    motion, factor = base.buckling_motion, base.buckling_factor

    def solved(structure: Structure) -> dict[str, float | None]:
        try:
            return _values(wheel, structure, structure.factor_in(motion) if motion is not None else math.inf, names)
        except InputError:  # so near to buckling that the error reaches it
            return dict.fromkeys(names)

    def half(high: Structure, low: Structure, scale: float) -> dict[str, float]:
        ends = solved(high), solved(low)
        pairs = {name: (ends[0][name], ends[1][name]) for name in names}
        return {n: abs(a - b) / 2 * scale for n, (a, b) in pairs.items() if a is not None and b is not None}

    moved = {
        name: half(replace(base, section=high), replace(base, section=low), scale)
        for name, (high, low, scale) in estimate.moved().items()
    }
    gives = {side: build.sigma(f"{GIVE}.{side}") for side in SIDES}
    if any(gives.values()):
        sigma = np.where(wheel.lacing.is_right, gives["right"], gives["left"])
        most, least = wheel.end_gives + sigma, np.maximum(wheel.end_gives - sigma, 0.0)
        scale = float(2 * sigma.max() / (most - least).max())
        moved[GIVE] = half(replace(base, end_give=most), replace(base, end_give=least), scale)
    tension = build.sigma(TARGET) / build.number(TARGET) if build.given(TARGET) else 0.0
    if tension:
        step = min(tension, (factor - 1) / 2) if factor > 1 else tension
        high, low = (replace(base, tensions=(1 + way * step) * base.tensions) for way in (1, -1))
        moved[TARGET] = half(high, low, tension / step)
    effects = {name: {source: each[name] for source, each in moved.items() if name in each} for name in names}
    return Sureness({name: each for name, each in effects.items() if each})
