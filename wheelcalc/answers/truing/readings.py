"""Of `true`: the readings as arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.files.readings import RimReadings
from wheelcalc.joined.section import section_for_truing
from wheelcalc.truing.estimate import Readings
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

if TYPE_CHECKING:
    from wheelcalc.answers.truing.pitches import FromPitches
from wheelcalc.joined.at_tensions import Setup, setup

LEAST_SIGMA = 10.0  # N, C: of a tension meter near nothing, or of an ear


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
        build, shared = setup.build, np.zeros((0, len(self.tensions)))
        usual = build.truing.reading_error.tension / 100 * setup.structure.tensions
        sigma = np.maximum(np.where(np.isfinite(self.sigma), self.sigma, usual), LEAST_SIGMA)
        return Readings(
            lateral=self.lateral,
            radial=self.radial,
            tensions=self.tensions,
            lateral_sigma=build.truing.reading_error.lateral,
            radial_sigma=build.truing.reading_error.radial,
            tension_sigma=sigma,
            tension_shared=self.heard.shared if self.heard else shared,
            any_plane=own_plane,
        )


def taken(build: Build, wheel: Wheel, read: RimReadings) -> Taken:
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

        found = from_pitches(build, wheel, pitch, setup(build, wheel).structure, section_for_truing(build)[0])
        tensions, sigma = found.tensions, found.sigma
    return Taken(at_holes("lateral_mm"), at_holes("radial_mm"), tensions, sigma, found)
