"""Of `true`: the pitches among the readings as tensions, with the errors that each has alone and those that all share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.joined import pitch_tensions as pluck_tension
from wheelcalc.joined.touching import pairs
from wheelcalc.tension.calibration import OWN
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.wheel import Wheel


@dataclass(frozen=True, eq=False)
class FromPitches:
    """Tensions from pitches.

    Parameters
    ----------
    tensions : (n,) [N], nan where no pitch was read
    sigma : standard uncertainty that each has alone, (n,) [N]
    shared : errors that move tensions together, one standard uncertainty of each cause, (c, n) [N]
    calibrated : sides whose height rests on more than the pitches
    """

    tensions: Floats
    sigma: Floats
    shared: Floats
    calibrated: tuple[str, ...]


def from_pitches(
    build: Build, wheel: Wheel, pitch_hz: Floats, structure: Structure, estimate: SectionEstimate
) -> FromPitches:
    """Tensions that belong to pitches.

    Parameters
    ----------
    build, wheel : the build
    pitch_hz : in rim-hole order, (n,), nan where none was read
    structure : the wheel at about its tensions
    estimate : of the rim's section

    Raises
    ------
    InputError
        If a pitch cannot be that of these spokes, or an entry of [pluck] cannot be.
    """
    known_ones = pluck_tension.calibrate(build, wheel, pitch_hz, pairs(build, wheel), structure, estimate)
    sides = pluck_tension.tensions(build, wheel, pitch_hz, known_ones.references)
    out, sigma, shared = np.full(len(pitch_hz), np.nan), np.full(len(pitch_hz), np.nan), []
    for each in sides.values():
        out[each.mask], sigma[each.mask] = each.tensions.tension, each.tensions.own_sigma
        for cause, effect in each.tensions.parts.items():
            if cause not in OWN:
                row = np.zeros(len(pitch_hz))
                row[each.mask] = effect
                shared.append(row)
    calibrated = tuple(side for side, each in sides.items() if each.how)
    return FromPitches(out, sigma, np.array(shared).reshape(-1, len(pitch_hz)), calibrated)
