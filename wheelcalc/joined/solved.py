"""A build's wheel solved as a structure: stiffness, buckling, the load that slackens a spoke, and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from functools import cache

import numpy as np

from wheelcalc.build.whole import Build
from wheelcalc.tension import balance, targets
from wheelcalc.tension.balance import Rest
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.tension.structure import Structure
from wheelcalc.tension.targets import Limit
from wheelcalc.wheel.parts import Section
from wheelcalc.wheel.wheel import Wheel

REFERENCE_TENSION = 1000.0  # N; linear buckling scales, so that any would do


@dataclass(frozen=True)
class Figures:
    """What the structure says of a wheel at its target tensions; None where the rim is buckled.

    Parameters
    ----------
    radial_stiffness, lateral_stiffness : load on the rim's centroid at rim hole 1 over its displacement there [N/mm]
    windup_stiffness : torque on the hub over its turn against the rim's mean turn [N mm/rad]
    buckling_tension : mean of the tighter side when all tensions together buckle the rim [N]; None where none does
    slack_load : least inward load at a rim hole under which the first spoke goes slack [N]
    slack_spoke : rim hole of that spoke
    rim_shrink : of the rim's radius [mm]
    """

    radial_stiffness: float | None
    lateral_stiffness: float | None
    windup_stiffness: float | None
    buckling_tension: float | None
    slack_load: float | None
    slack_spoke: int | None
    rim_shrink: float

    def as_json(self) -> dict[str, float | int | None]:
        """Return the figures under the contract's names."""
        return {JSON_NAMES[name]: value for name, value in asdict(self).items()}


JSON_NAMES = {
    "radial_stiffness": "radial_stiffness_N_per_mm",
    "lateral_stiffness": "lateral_stiffness_N_per_mm",
    "windup_stiffness": "windup_stiffness_Nmm_per_rad",
    "buckling_tension": "buckling_tension_N",
    "slack_load": "slack_load_N",
    "slack_spoke": "slack_spoke",
    "rim_shrink": "rim_shrink_mm",
}


def buckling_tension(wheel: Wheel, structure: Structure) -> float | None:
    """Mean tension of the tighter side at which the rim buckles [N], None where no tension buckles it.

    Raises
    ------
    InputError
        If the wheel stands under no tension at all.
    """
    mean = float(structure.tensions[wheel.lacing.on(targets.tighter_side(wheel))].mean())
    tension = mean * structure.buckling_factor
    return tension if np.isfinite(tension) else None


def buckling_limits(build: Build, wheel: Wheel, estimate: SectionEstimate | None) -> list[Limit]:
    """The limit that leaves room before the rim buckles; none where the section is unknown or no tensions are at rest."""
    if estimate is None or targets.ratio_left_to_right(wheel) is None:
        return []
    rest = balance.at_rest(wheel, targets.per_spoke(wheel, targets.by_side(wheel, REFERENCE_TENSION)))
    if rest.tensions.min() < 0:
        return []
    tension = buckling_tension(wheel, balance.structure_at(wheel, rest, estimate.section))
    if tension is None:
        return []
    share = build.limits.buckling_share
    reason = f"{share:g} of the {tension:.0f} N that would buckle the rim (limits.buckling_share)"
    return [Limit("buckling", share * tension, targets.tighter_side(wheel), reason)]


def figures(wheel: Wheel, structure: Structure) -> Figures:
    """What the structure says of this wheel."""
    buckling = buckling_tension(wheel, structure)
    standing = structure.buckling_factor > 1
    slack = structure.slack_load if standing and structure.tensions.any() else None
    return Figures(
        radial_stiffness=float(structure.radial_stiffness[0]) if standing else None,
        lateral_stiffness=float(structure.lateral_stiffness[0]) if standing else None,
        windup_stiffness=structure.windup_stiffness if standing else None,
        buckling_tension=buckling,
        slack_load=slack.load if slack else None,
        slack_spoke=int(wheel.lacing.rim_hole[slack.spoke]) if slack else None,
        rim_shrink=structure.rim_shrink,
    )


def sigmas(wheel: Wheel, rest: Rest, estimate: SectionEstimate) -> Mapping[str, float]:
    """Standard uncertainty that the guessed section leaves in each figure, by its name and in its unit."""

    @cache
    def at(section: Section) -> Figures:
        return figures(wheel, balance.structure_at(wheel, rest, section))

    known = at(estimate.section)
    names = [each.name for each in fields(Figures) if each.name != "slack_spoke"]

    def value(name: str, section: Section) -> float:
        found = getattr(at(section), name)
        return float("nan") if found is None else float(found)

    out = {
        name: estimate.spread(lambda section, name=name: value(name, section))  # type: ignore[misc]
        for name in names
        if getattr(known, name) is not None
    }
    return {name: sigma for name, sigma in out.items() if np.isfinite(sigma)}
