"""The width between the ends of frame or fork against the hub's: how close, and with which spacers chosen."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np

from wheelcalc.build.whole import Build
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

Closeness = Literal["fits", "springs", "respace", "no"]
Verdict = Literal["fits", "fits with spacers", "needs respacing", "does not fit"]


class Spacing(NamedTuple):
    """Spacers added under the locknuts [mm]; negative: taken off."""

    left: float
    right: float


def frame_width(build: Build) -> float:
    """Width that the hub's ends must fill [mm]: read between faces, the recesses of both ends come on top."""
    spacing = build.frame.dropout_spacing
    recessed = build.frame.spacing_to == "faces"
    return spacing + (2 * build.frame.recess_depth if recessed else 0.0)


def recess(build: Build) -> float | None:
    """How far a hub's end face sits outward of the inner face of the frame's end [mm]; None where that was not read."""
    if build.given("frame.recess_depth"):
        return build.frame.recess_depth
    to_the_floors = build.frame.spacing_to == "recess floors"
    return None if to_the_floors and build.frame.dropout == "through" else 0.0


def chosen_spacers(build: Build) -> Spacing | None:
    """Spacers that the build file says were chosen, None where it says nothing."""
    if not any(build.given(f"spacers.fitted.{side}") for side in SIDES):
        return None
    return Spacing(*(build.spacers.fitted[side] for side in SIDES))


def missing_width(build: Build) -> float:
    """Frame's width less the bare hub's, + frame wider [mm]."""
    return frame_width(build) - build.hub.over_locknut


def too_narrow(build: Build) -> bool:
    """Whether the bare hub needs more spacers than make a plan (limits.spacers_most)."""
    return missing_width(build) > most_filled(build) + 1e-6


def most_filled(build: Build) -> float:
    """Widest gap between hub and ends that spacers may close [mm], the slack that fits anyway counted in."""
    return build.limits.spacers_most + build.frame.width_slack


def missing_sigma(build: Build) -> float:
    """Standard uncertainty of the missing width [mm]: both readings are independent (JCGM 100:2008, 5.1.2)."""
    return math.hypot(build.sigma("frame.dropout_spacing"), build.sigma("hub.over_locknut"))


def most_moved(wheel: Wheel, width: float) -> dict[str, float]:
    """How much the spokes of each side change at most when spacers close a width [mm].

    Notes
    -----
    All on one side they move both flanges by half of it, one outward and one inward; the length follows by the sideways
    direction cosine (D, first order).
    """
    return {side: abs(width) / 2 * float(np.abs(wheel.sideways[wheel.lacing.on(side)]).mean()) for side in SIDES}


def closeness(build: Build, left_over: float) -> Closeness:
    """How a hub goes in whose width differs from the frame's.

    Parameters
    ----------
    build : slack, material and ends of the frame, and the limits
    left_over : frame's width less the hub's, spacers included, + frame wider [mm]

    Returns
    -------
    "fits" within the slack; "springs" for steel slot ends within `spring_at_most`; "respace" beyond it up to the
    limit `spread_stop`, also where the material is unknown; "no" for all others.
    """
    off = abs(left_over) - 1e-6
    if off <= build.frame.width_slack:
        return "fits"
    material = build.frame.material
    steel = material in ("steel", None) and build.frame.dropout != "through"
    if not steel or off > build.limits.spread_stop:
        return "no"
    return "springs" if material and off <= build.frame.spring_at_most else "respace"


def verdict(close: Closeness, spacers: Spacing) -> Verdict:
    """Put closeness and spacers into one of the contract's four words."""
    if close == "no":
        return "does not fit"
    if close == "respace":
        return "needs respacing"
    return "fits with spacers" if any(spacers) else "fits"
