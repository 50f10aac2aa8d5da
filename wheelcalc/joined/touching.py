"""Spokes that touch where they cross last and so sound together; the tables of partials that a recording is heard with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.build.whole import Build
from wheelcalc.joined import tone as spoke_tone
from wheelcalc.joined.target import breaking_force
from wheelcalc.truing.templates import Template, template
from wheelcalc.wheel.facts import crossings
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

# C: below this a spoke's bends from lacing hold it up as much as its tension does, and it does not sound like a string.
LEAST_TENSION = 100.0  # N


@dataclass(frozen=True, eq=False)
class Pairs:
    """Which spokes touch.

    Parameters
    ----------
    partner : place of the spoke that each touches, -1: none, (n,)
    along : where on each, from its head, as a share of its length; nan where it touches none, (n,)
    """

    partner: Ints
    along: Floats

    def crossing(self, wheel: Wheel, side: str, free_length: float) -> float | None:
        """Distance from the head to where the spokes of a side touch [mm], mean; None where they do not."""
        shares = self.along[wheel.lacing.on(side) & (self.partner >= 0)]
        return float(shares.mean() * free_length) if shares.size else None


def touching(build: Build) -> bool:
    """Whether crossed spokes touch: as [pluck] says, else as they are interlaced."""
    return build.lacing.interlaced if build.pluck.touching is None else build.pluck.touching


def pairs(build: Build, wheel: Wheel) -> Pairs:
    """Each spoke's partner at its outermost crossing, where both mean each other."""
    count = len(wheel.lacing)
    partner, along = np.full(count, -1), np.full(count, np.nan)
    if touching(build):
        crossed = crossings(wheel)
        in_plane = np.linalg.norm((wheel.rim_points - wheel.hub_points)[:, 1:], axis=1)
        for at in np.argsort(crossed.radius):
            one, other = crossed.one[at], crossed.other[at]
            partner[one], partner[other] = other, one
            along[one], along[other] = crossed.along_one[at] / in_plane[one], crossed.along_other[at] / in_plane[other]
        mutual = (partner >= 0) & (partner[partner] == np.arange(count))
        partner, along = np.where(mutual, partner, -1), np.where(mutual, along, np.nan)
    return Pairs(partner, along)


def templates(build: Build, wheel: Wheel, touching: Pairs, stiffer: float = 1.0) -> list[Template]:
    """The tables of both sides' spokes, one where the sides are alike.

    Parameters
    ----------
    build, wheel, touching : the build, and which spokes touch
    stiffer : times the stiffness of the wire
    """
    out: dict[str, Template] = {}
    for side in SIDES:
        segments = spoke_tone.segments(build, wheel, side)
        free = spoke_tone.free_length(build, wheel, side)
        crossing, modulus = touching.crossing(wheel, side, free), wheel.wire(side).youngs_modulus
        most = breaking_force(build, wheel, side)
        likeness = f"{np.concatenate(segments).round()} {crossing and round(crossing)} {modulus}"
        if likeness not in out:
            out[likeness] = template(segments, LEAST_TENSION, most, crossing=crossing, youngs_modulus=stiffer * modulus)
    return list(out.values())
