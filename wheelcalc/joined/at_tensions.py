"""What `true` works with: the wheel as a structure at the tensions that it has, the readings as arrays, the settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.files.readings import RimReadings
from wheelcalc.joined import solved
from wheelcalc.joined.section import SECTION, missing, said, section_of
from wheelcalc.joined.target import Target, rim_material, target_of
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.tension import balance, targets
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.tension.structure import Structure
from wheelcalc.truing.estimate import Readings
from wheelcalc.truing.faults import EqualFaults
from wheelcalc.truing.turns import Done, Room
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

if TYPE_CHECKING:
    from wheelcalc.answers.truing.pitches import FromPitches

# C: rims of middling weight, for a wheel whose rim nobody weighed; the mass is for 600 mm and goes with the diameter.
TYPICAL: Mapping[str, Mapping[str, float]] = {
    "aluminium": {"mass": 500.0, "width": 24.0, "depth": 18.0},
    "steel": {"mass": 800.0, "width": 28.0, "depth": 12.0},
    "carbon": {"mass": 430.0, "width": 26.0, "depth": 35.0},
}
TYPICAL_DIAMETER = 600.0  # mm, C: goes with the masses above
LEAST_SIGMA = 10.0  # N, C: of a tension meter near nothing, or of an ear
UNREAD = 0.8  # C: of the highest tension allowed, where no tension was read and no target given
LEAST_TENSION = 25.0  # N: a structure at rest needs some
PREFERRED = 4.0  # times, C: how much more a preferred fault counts, and how much less the other


def section_for_truing(known: Dimensions) -> tuple[SectionEstimate, list[str], list[str]]:
    """The rim's section, where facts are missing that of a typical rim; what was taken for it; which facts were missing.

    Turns of nipples depend on the section much less than a stiffness does: the spokes decide most of it.
    """
    lacking = missing(known)
    found = section_of(known)
    if found is not None:
        return found, said(known, found), []
    material = rim_material(known)
    diameter = float(known.value(f"{SECTION}.centroid_diameter", known.number("rim.erd")))
    usual = {**TYPICAL[material], "material": material}
    usual["mass"] = TYPICAL[material]["mass"] * diameter / TYPICAL_DIAMETER
    filled = known.having({key: usual[key.rpartition(".")[2]] for key in lacking})
    found = section_of(filled)
    if found is None:
        raise InputError(lacking[0], f"is missing; a section needs {', '.join(lacking)}")
    words = ", ".join(f"{key.rpartition('.')[2]} {_fact(usual[key.rpartition('.')[2]])}" for key in lacking)
    return found, [f"The rim's section is that of a typical rim, as the file is silent: {words}."], lacking


def _fact(value: object) -> str:
    return f"{value:.0f}" if isinstance(value, float) else str(value)


@dataclass(frozen=True, eq=False)
class Setup:
    """All that planning needs.

    Parameters
    ----------
    known, wheel, target : the build
    structure : at the mean tensions that were read, else at the target
    lacking : facts of the rim's section that were missing
    taken : what was taken, in words
    """

    known: Dimensions
    wheel: Wheel
    target: Target
    structure: Structure
    lacking: list[str]
    taken: list[str]

    @property
    def room(self) -> Room:
        """Within what the nipples may be turned."""
        known, spokes = self.known, len(self.wheel.lacing)
        limits = targets.per_spoke(self.wheel, {side: self.limit(side) for side in SIDES})
        floor = np.full(spokes, known.number("tension.floor_stop"))
        return Room(known.number("truing.step"), known.number("truing.most_per_pass"), floor, limits)

    def limit(self, side: str) -> float:
        """Lowest limit of a side's spokes [N]."""
        return targets.lowest_on(side, self.target.limits)

    @property
    def equal_faults(self) -> EqualFaults:
        """How faults weigh, the preferred ones more."""
        known = self.known
        names = ("lateral", "radial", "dish", "tension")
        equal = EqualFaults(*(known.number(f"truing.equal_faults.{name}") for name in names))
        return preferring(str(known.value("truing.prefer")), equal)

    @property
    def done(self) -> Done:
        """When the wheel is true enough."""
        return Done(*(self.known.number(f"truing.done.{name}") for name in ("lateral", "radial", "dish", "spread")))


def preferring(prefer: str, equal: EqualFaults) -> EqualFaults:
    """Weigh place higher than tension ("straight"), or lower ("even"); "both" leaves it."""
    if prefer == "both":
        return equal
    factor = PREFERRED if prefer == "straight" else 1 / PREFERRED
    return replace(equal, lateral=equal.lateral / factor, radial=equal.radial / factor, tension=equal.tension * factor)


def setup(known: Dimensions, wheel: Wheel, means: Mapping[str, float] | None = None) -> Setup:
    """Get ready for a wheel.

    Parameters
    ----------
    known, wheel : the build
    means : mean tensions by side, as read [N]; a side that is not there follows from the other, both from the target

    Raises
    ------
    InputError
        If the spokes cannot hold the rim in its plane.
    """
    estimate, taken, lacking = section_for_truing(known)
    target = target_of(known, wheel, solved.buckling_limits(known, wheel, estimate))
    if targets.ratio_left_to_right(wheel) is None:
        side = "left" if targets.sideways_pull(wheel)["left"] <= 0 else "right"
        raise InputError(
            f"hub.{side}", f"the {side} flange does not pull the rim to the {side}; `wheelcalc tension` says more"
        )
    share = 1.0 if known.given("tension.target") else UNREAD
    levels = _levels(wheel, dict(means or {}), {side: share * target.tension[side] for side in SIDES})
    rest = balance.at_rest(wheel, targets.per_spoke(wheel, levels))
    rest = replace(rest, tensions=np.maximum(rest.tensions, LEAST_TENSION))
    if not means:
        words = ", ".join(f"{side} {levels[side]:.0f} N" for side in SIDES)
        taken = [f"No tension was read; the spokes are taken to carry {words} in the mean.", *taken]
    return Setup(known, wheel, target, balance.structure_at(wheel, rest, estimate.section), lacking, taken)


def _levels(wheel: Wheel, means: dict[str, float], target: Mapping[str, float]) -> dict[str, float]:
    """Mean tension of each side [N]."""
    ratio = targets.ratio_left_to_right(wheel) or 1.0
    if "left" in means and "right" not in means:
        means["right"] = means["left"] / ratio
    if "right" in means and "left" not in means:
        means["left"] = means["right"] * ratio
    return {side: means.get(side, target[side]) for side in SIDES}


@dataclass(frozen=True, eq=False)
class Taken:
    """Readings as arrays, nan where nothing was read.

    Parameters
    ----------
    lateral, radial : at every rim hole, (m,) [mm]
    tensions : of every spoke, (n,) [N]
    sigma : standard uncertainty of each tension, (n,) [N]; nan: that of a tension meter
    heard : what pitches gave, None where tensions were read
    """

    lateral: Floats
    radial: Floats
    tensions: Floats
    sigma: Floats
    heard: FromPitches | None

    def means(self, wheel: Wheel) -> dict[str, float]:
        """Mean tension of each side of which any was read [N]."""
        read = {side: wheel.lacing.on(side) & np.isfinite(self.tensions) for side in SIDES}
        return {side: float(self.tensions[mask].mean()) for side, mask in read.items() if mask.any()}

    def readings(self, setup: Setup, *, own_plane: bool) -> Readings:
        """With their errors, as the estimate wants them."""
        known, shared = setup.known, np.zeros((0, len(self.tensions)))
        usual = known.number("truing.reading_error.tension") / 100 * setup.structure.tensions
        sigma = np.maximum(np.where(np.isfinite(self.sigma), self.sigma, usual), LEAST_SIGMA)
        return Readings(
            lateral=self.lateral,
            radial=self.radial,
            tensions=self.tensions,
            lateral_sigma=known.number("truing.reading_error.lateral"),
            radial_sigma=known.number("truing.reading_error.radial"),
            tension_sigma=sigma,
            tension_shared=self.heard.shared if self.heard else shared,
            any_plane=own_plane,
        )


def taken(known: Dimensions, wheel: Wheel, read: RimReadings) -> Taken:
    """Readings of a file as arrays.

    Raises
    ------
    InputError
        If a tension or pitch was read at a rim hole without a spoke, or a pitch cannot be.
    """
    holes, spoke_at = wheel.rim.holes, {int(hole): i for i, hole in enumerate(wheel.lacing.rim_hole)}

    def at_holes(column: str) -> Floats:
        out = np.full(holes, np.nan)
        for hole, value in read.of(column).items():
            out[hole - 1] = value
        return out

    def at_spokes(column: str) -> Floats:
        out = np.full(len(wheel.lacing), np.nan)
        for hole, value in read.of(column).items():
            if hole not in spoke_at:
                raise read.error(hole, column, f"rim hole {hole} has no spoke; leave the cell empty")
            out[spoke_at[hole]] = value
        return out

    tensions, sigma, pitch = (at_spokes(column) for column in ("tension_N", "tension_sigma_N", "pitch_hz"))
    found = None
    if np.isfinite(pitch).any():
        from wheelcalc.answers.truing.pitches import from_pitches  # noqa: PLC0415 - only where pitches were read

        found = from_pitches(known, wheel, pitch, setup(known, wheel).structure, section_for_truing(known)[0])
        tensions, sigma = found.tensions, found.sigma
    return Taken(at_holes("lateral_mm"), at_holes("radial_mm"), tensions, sigma, found)
