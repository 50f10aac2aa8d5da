"""The rim's cross section as the build file tells it: exact, estimated from plain facts, or not known."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from wheelcalc.build.whole import Build
from wheelcalc.page.blocks import Brief
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.wheel.errors import InputError

if TYPE_CHECKING:
    pass

from wheelcalc.joined.target import material_of
from wheelcalc.measuring import assemble
from wheelcalc.tension import section
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import under

SECTION = "rim.section"
ROUNDED = {"mm2": 0, "mm4": -1, "N/mm2": -2}  # digits behind the point: what the estimate supports
FAR = 120.0  # mm, C: the deepest rims have their spokes' ends some 50 mm inside of the centroid
WORDS = {
    "area": ("area", "mm2"),
    "inertia_in_plane": ("inertia in the wheel's plane", "mm4"),
    "inertia_out_of_plane": ("out of it", "mm4"),
    "torsion_constant": ("torsion constant", "mm4"),
    "youngs_modulus": ("Young's modulus", "N/mm2"),
    "shear_modulus": ("shear modulus", "N/mm2"),
}


def missing(build: Build) -> list[str]:
    """Keys of the build file that a section still needs; empty where it is known."""
    return [f"{SECTION}.{name}" for name in section.missing_facts(build.values_below(SECTION))]


def section_of(build: Build) -> SectionEstimate | None:
    """The rim's section with its uncertainty, None where facts are missing.

    Raises
    ------
    InputError
        If the facts do not fit each other.
    """
    if missing(build):
        return None
    facts = build.values_below(SECTION)
    facts.pop("centroid_diameter", None)
    diameter = centroid_diameter(build)
    errors = {name: build.sigma(f"{SECTION}.{name}") / value for name, value in facts.items() if name != "material"}
    if "material" in facts:
        facts["material"] = material_of(facts["material"])
    tapped = {name: (facts.pop(name), build.sigma(f"{SECTION}.{name}")) for name in section.TAPPED if name in facts}
    with under(SECTION):
        return section.estimate(diameter, double_wall=build.rim.double_wall, tapped=tapped, errors=errors, **facts)


def centroid_diameter(build: Build) -> float:
    """Diameter of the ring through the section's centroid, or else of the spokes' ends [mm].

    Raises
    ------
    InputError
        If the two are given and lie too far apart, or neither is.
    """
    key = f"{SECTION}.centroid_diameter"
    if key in build and "rim.erd" not in build:
        return build.number(key)
    ends = assemble.erd_to_spoke_end(build)
    diameter = float(build.value(key, ends))
    if abs(diameter - ends) > FAR:
        text = f"found {diameter:g} mm, but rim.erd puts the spokes' ends at {ends:.1f} mm; measure both again, both are diameters"
        raise InputError(key, text)
    return diameter


def said(build: Build, estimate: SectionEstimate) -> list[str]:
    """What was taken for the section, in words."""
    out: list[str] = []
    guessed = [
        f"{words} {round(getattr(estimate.section, name), ROUNDED[unit]):.0f} {unit} "
        f"(+-{100 * NINETEEN_IN_TWENTY * estimate.sigmas[name]:.0f} %)"
        for name, (words, unit) in WORDS.items()
        if estimate.sigmas[name] and name not in estimate.tapped
    ]
    if guessed:
        whole = f"The rim's section is estimated (19 of 20 such errors are smaller): {', '.join(guessed)}."
        out.append(Brief(whole, "The rim's section is estimated."))
    if f"{SECTION}.centroid_diameter" not in build:
        diameter = f"{estimate.section.centroid_diameter:.1f} mm"
        out.append(Brief(f"The rim's centroid_diameter is taken as that of the spoke ends, {diameter}."))
    return out


# C: rims of middling weight, for a wheel whose rim nobody weighed; the mass is for 600 mm and goes with the diameter.
TYPICAL: Mapping[str, Mapping[str, float]] = {
    "aluminium": {"mass": 500.0, "width": 24.0, "depth": 18.0},
    "steel": {"mass": 800.0, "width": 28.0, "depth": 12.0},
    "carbon": {"mass": 430.0, "width": 26.0, "depth": 35.0},
}


TYPICAL_DIAMETER = 600.0  # mm, C: goes with the masses above


def section_for_truing(build: Build) -> tuple[SectionEstimate, list[str], list[str]]:
    """The rim's section, where facts are missing that of a typical rim; what was taken for it; which facts were missing.

    Turns of nipples depend on the section much less than a stiffness does: the spokes decide most of it.
    """
    lacking = missing(build)
    estimate = section_of(build)
    if estimate is not None:
        return estimate, said(build, estimate), []
    material = build.rim.material
    diameter = build.rim.section.centroid_diameter or build.rim.erd
    usual = {**TYPICAL[material], "material": material}
    usual["mass"] = TYPICAL[material]["mass"] * diameter / TYPICAL_DIAMETER
    filled = build.having({key: usual[key.rpartition(".")[2]] for key in lacking})
    estimate = section_of(filled)
    if estimate is None:
        raise InputError(lacking[0], f"is missing; a section needs {', '.join(lacking)}")
    words = ", ".join(f"{key.rpartition('.')[2]} {_fact(usual[key.rpartition('.')[2]])}" for key in lacking)
    return estimate, [f"The rim's section is that of a typical rim, as the file is silent: {words}."], lacking


def _fact(value: object) -> str:
    return f"{value:.0f}" if isinstance(value, float) else str(value)
