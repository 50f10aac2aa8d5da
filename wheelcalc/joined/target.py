"""The tension that a build aims at, as every command needs it: limits, both sides' targets, the rim's shrinking."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.page.blocks import Brief
from wheelcalc.tension import targets
from wheelcalc.tension.targets import BOTH, Limit
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

if TYPE_CHECKING:
    from wheelcalc.tension.section import Material

# C: usual for a built wheel; only for stretch, where no limit of the rim is known.
TENSION_FOR_STRETCH = 1000.0  # N
GRAMS = 1000.0  # mm3 in a cm3: the table gives g/cm3
# C: the cross section of a plain aluminium rim of middling weight, from 500 g at 600 mm; only for its shrinking.
AREA_UNSURE = 0.15  # C: of it, one standard uncertainty; rims of one size weigh from 400 to 650 g
AREA_UNKNOWN = {"aluminium": 100.0, "steel": 80.0, "carbon": 110.0}  # mm2


@dataclass(frozen=True, eq=False)
class Target:
    """What a build aims at.

    Parameters
    ----------
    tension : of each side [N]
    per_spoke : of each spoke, rim-hole order [N]
    limits : upper bounds, in the order in which they are reached
    known : False where no limit of the rim is known and no target was given: then `tension` only counts the stretch
    shrink, shrink_sigma : of the rim's radius under it, and what the rim's section leaves open of that [mm]
    assumptions : what was taken for it, in words
    """

    tension: dict[str, float]
    per_spoke: Floats
    limits: list[Limit]
    known: bool
    shrink: float
    shrink_sigma: float
    assumptions: list[str]


def target_of(build: Build, wheel: Wheel, more: Sequence[Limit] = ()) -> Target:
    """Return the target tensions and the rim's shrinking under them.

    Parameters
    ----------
    build : the build
    wheel : its spokes in space
    more : limits that only a solved structure knows
    """
    rim, share = rim_limits(build), targets.by_side(wheel, 1.0)
    limits = sorted([*rim, *wire_limits(build, wheel), *more], key=lambda each: targets.on_tighter(each, share))
    given = build.given("tension.target")
    tighter, said = _tighter(build, limits, share, from_limits=bool(rim))
    tension = targets.by_side(wheel, tighter)
    per_spoke = targets.per_spoke(wheel, tension)
    shrink, sigma, how = _shrink(build, wheel, per_spoke)
    return Target(tension, per_spoke, limits, given or bool(rim), shrink, sigma, [said, how])


def rim_limits(build: Build) -> list[Limit]:
    """Upper bounds of the tension from the rim: its maker's, else a default by material, eyelets and wall."""
    given = build.rim.tension_limit
    if given is not None:
        return [Limit("rim maker", float(given), BOTH, "rim.tension_limit in the build file")]
    material = build.rim.material
    steel = material == "steel"  # one default, whatever its walls
    wall = "double" if build.rim.double_wall and not steel else "single"
    eyelets = build.rim.eyelets and not steel
    for row in tables.load("tension_limits"):
        if row.get("default") and (row["material"], row["wall"], row["eyelets"]) == (material, wall, eyelets):
            kind = f"{material}, {wall} wall, {'eyelets' if eyelets else 'no eyelets'}"
            reason = f"usual for a rim like this ({kind}; {row['label']}, {row['source']}); a figure of its maker counts more"
            return [Limit("rim, usual", float(row["limit"]), BOTH, reason)]
    return []


def wire_limits(build: Build, wheel: Wheel) -> list[Limit]:
    """Upper bounds from the spokes: a share of the force that breaks them; one where both sides have the same wire."""
    share = build.limits.spoke_strength_share
    same = wheel.wire("left") == wheel.wire("right")
    return [
        Limit(
            "wire",
            share * breaking_force(build, wheel, side),
            BOTH if same else side,
            f"{share:g} of the {breaking_force(build, wheel, side):.0f} N that break a spoke of {wheel.wire(side)} wire "
            "(limits.spoke_strength_share)",
        )
        for side in SIDES[: 1 if same else 2]
    ]


def breaking_force(build: Build, wheel: Wheel, side: str) -> float:
    """Tension that breaks a spoke of a side [N]."""
    limits = build.limits
    return targets.breaking_force(wheel.wire(side), limits.spoke_end_strength, limits.spoke_middle_strength)


def _tighter(build: Build, limits: Sequence[Limit], share: dict[str, float], *, from_limits: bool) -> tuple[float, str]:
    """Tension of the tighter side, and why."""
    if build.given("tension.target"):
        target = build.tension.target
        return target, f"{target:.0f} N on the tighter side, as given."
    least = limits[0]
    lowest = targets.on_tighter(least, share) / (1 + build.tension.evenness / 100)
    if not from_limits and lowest > TENSION_FOR_STRETCH:
        return TENSION_FOR_STRETCH, (
            f"{TENSION_FOR_STRETCH:.0f} N on the tighter side, only to count the stretch; no limit of this rim is known."
        )
    more = f"{build.tension.evenness:g} % more is {targets.on_tighter(least, share):.0f} N"
    whole = f"{lowest:.0f} N on the tighter side: {more}, the limit: {least.reason}."
    if least.name != "rim, usual":
        return lowest, whole
    return lowest, Brief(
        whole,
        f"{lowest:.0f} N on the tighter side: {more}, the usual limit of such a rim; its maker's figure counts more.",
    )


def _shrink(build: Build, wheel: Wheel, per_spoke: Floats) -> tuple[float, float, str]:
    """Shrinking of the rim's radius, its standard uncertainty, and how it was found; none where erd was read off a built wheel."""
    if build.rim.measured == "tensioned":
        return 0.0, 0.0, "The rim was measured under tension: no shrinking is taken off."
    material = build.rim.material
    row = _material_row(material)
    diameter = build.rim.section.centroid_diameter or wheel.rim.erd
    given = build.rim.section.youngs_modulus
    modulus = float(row["youngs_modulus"]) if given is None else given
    unsure = float(row["sure"]) if given is None else build.sigma("rim.section.youngs_modulus") / modulus
    area, open_area, how = _area(build, material, float(row["density"]) / GRAMS, diameter)
    shrink = targets.rim_shrink(targets.hoop_force(wheel, per_spoke), diameter / 2, area, modulus)
    said = Brief(f"The rim's radius shrinks by {shrink:.2f} mm under that tension ({how}).")
    return shrink, shrink * math.hypot(unsure, open_area), said


def material_of(name: str) -> Material:
    """What a rim is made of, from the table of materials."""
    from wheelcalc.tension.section import Material  # noqa: PLC0415 - lengths needs two of its numbers only

    row = _material_row(name)
    moduli = (float(row["youngs_modulus"]), float(row["shear_modulus"]))
    return Material(float(row["density"]) / GRAMS, *moduli, float(row["sure"]))


def _material_row(name: str) -> tables.Row:
    return next(row for row in tables.load("materials") if row["name"] == name and row["part"] == "rim")


def _area(build: Build, name: str, density: float, diameter: float) -> tuple[float, float, str]:
    """Area of the rim's section [mm2], its relative standard uncertainty, and how it was found."""
    if "rim.section.area" in build:
        area = build.rim.section.area
        return area, build.sigma("rim.section.area") / area, "from its section's area"
    if "rim.section.mass" in build:
        from wheelcalc.tension.section import SIGMAS, area_from_mass  # noqa: PLC0415

        mass = build.rim.section.mass
        area = area_from_mass(mass, density, diameter)
        unsure = math.hypot(SIGMAS["area"], build.sigma("rim.section.mass") / mass)
        good = NINETEEN_IN_TWENTY * unsure
        return area, unsure, f"estimated from its mass: {area:.0f} mm2 of {name}, +-{100 * good:.0f} %"
    area = AREA_UNKNOWN[name]
    said = f"estimated: {area:.0f} mm2 of {name}, +-{100 * NINETEEN_IN_TWENTY * AREA_UNSURE:.0f} %; rim.section.mass would sharpen it"
    return area, AREA_UNSURE, said
