"""The rim's cross section as the build file tells it: exact, estimated from plain facts, or not known."""

from __future__ import annotations

from wheelcalc.answers.target import double_wall, material_of
from wheelcalc.measuring import assemble
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.tension import section
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.wheel.errors import under

SECTION = "rim.section"


def missing(known: Dimensions) -> list[str]:
    """Keys of the build file that a section still needs; empty where it is known."""
    return [f"{SECTION}.{name}" for name in section.missing_facts(known.section(SECTION))]


def section_of(known: Dimensions) -> SectionEstimate | None:
    """The rim's section with its uncertainty, None where facts are missing.

    Raises
    ------
    InputError
        If the facts do not fit each other.
    """
    if missing(known):
        return None
    facts = known.section(SECTION)
    diameter = facts.pop("centroid_diameter", None) or assemble.erd_to_spoke_end(known)
    if "material" in facts:
        facts["material"] = material_of(facts["material"])
    with under(SECTION):
        return section.estimate(diameter, double_wall=double_wall(known), **facts)


def said(known: Dimensions, estimate: SectionEstimate) -> list[str]:
    """What was taken for the section, in words."""
    out = []
    guessed = {name: sigma for name, sigma in estimate.sigmas.items() if sigma}
    if guessed:
        listed = ", ".join(
            f"{name.replace('_', ' ')} {getattr(estimate.section, name):.3g} (good to {200 * sigma:.0f} %)"
            for name, sigma in guessed.items()
        )
        out.append(f"The rim's section is estimated from material, mass, width and depth: {listed}, 19 times in 20.")
    if f"{SECTION}.centroid_diameter" not in known:
        out.append(
            "The middle of the rim's section is taken to lie on the circle of the spoke ends (centroid_diameter)."
        )
    return out
