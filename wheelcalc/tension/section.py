"""A rim's cross section from what a mechanic knows of it: material, mass, width and depth.

The estimate takes walls of one thickness: two sides of the full depth, a floor with the spoke holes, and in a
double-wall rim a tyre bed half-way up, which closes the lower half to a tube. The mass gives the area, the area the
thickness.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Section, above, one_of


@dataclass(frozen=True)
class Material:
    """What a rim is made of; reference/materials.toml has the usual ones.

    Parameters
    ----------
    density : [g/mm3]
    youngs_modulus, shear_modulus : [N/mm2]
    sigma : relative standard uncertainty of either modulus
    """

    density: float
    youngs_modulus: float
    shear_modulus: float
    sigma: float


BED_HEIGHT = 0.5  # C: of the depth, from the floor to the tyre bed

# D: spread of the thin-walled section when the bed lies between 0.35 and 0.65 of the depth, the sides are 0.75 to 1.33
# times and the floor 1 to 2 times as thick as the bed (test_section.py runs them), widened for taper, curved walls and
# hooks. Area: mass of joint, eyelets and paint against that of the holes.
SIGMAS = {"area": 0.05, "inertia_in_plane": 0.30, "inertia_out_of_plane": 0.15, "torsion_constant": 0.50}
SHAPE = tuple(SIGMAS)
MODULI = ("youngs_modulus", "shear_modulus")
# What a tapped rim tells, and the property and modulus whose product it is.
TAPPED = {
    "bending_in_plane": ("inertia_in_plane", "youngs_modulus"),
    "bending_out_of_plane": ("inertia_out_of_plane", "youngs_modulus"),
    "torsion": ("torsion_constant", "shear_modulus"),
}
IN_N_MM2 = 1e6  # of 1 N m2
THINNEST = 0.3  # mm, C: no rim's wall is thinner; a mass given in kg lands far below
THICKEST = 1 / 3  # of the smaller of width and depth: above, nothing is left of a hollow section


@dataclass(frozen=True)
class SectionEstimate:
    """A section and how well it is known.

    Parameters
    ----------
    section : the properties
    sigmas : relative standard uncertainty by property; 0 where the exact value was given
    tapped : the properties that come from a tapped rim
    """

    section: Section
    sigmas: Mapping[str, float]
    tapped: tuple[str, ...] = ()

    def spread(self, answer: Callable[[Section], float]) -> float:
        """Standard uncertainty that the guessed properties leave in an answer, in its unit.

        Parameters
        ----------
        answer : computes it from a section, for example a wheel's lateral stiffness

        Notes
        -----
        Each property in turn is multiplied and divided by 1 + sigma, half the difference squared and added up: errors
        taken as independent of each other.
        """
        return math.hypot(*(self._effect(answer, name, 1 + sigma) for name, sigma in self.sigmas.items() if sigma))

    def _effect(self, answer: Callable[[Section], float], name: str, factor: float) -> float:
        value = getattr(self.section, name)
        high = replace(self.section, **{name: value * factor})
        low = replace(self.section, **{name: value / factor})
        return (answer(high) - answer(low)) / 2


def missing_facts(facts: Mapping[str, object]) -> tuple[str, ...]:
    """Which of material, mass, width and depth are still needed for a section.

    Parameters
    ----------
    facts : what is known, plain facts and exact properties alike; None counts as unknown
    """
    known = {name for name, value in facts.items() if value is not None}
    known |= {TAPPED[name][0] for name in known & set(TAPPED)}
    needed = []
    if not known.issuperset(MODULI) or "area" not in known:
        needed.append("material")
    if "area" not in known:
        needed.append("mass")
    if not known.issuperset(SHAPE[1:]):
        needed += ["width", "depth"]
    return tuple(name for name in needed if name not in known)


def estimate(
    centroid_diameter: float,
    *,
    material: Material | None = None,
    mass: float | None = None,
    width: float | None = None,
    depth: float | None = None,
    double_wall: bool = True,
    tapped: Mapping[str, tuple[float, float]] | None = None,
    **exact: float | None,
) -> SectionEstimate:
    """A section from plain facts; each exact property given stands in the place of its estimate.

    Parameters
    ----------
    centroid_diameter : of the ring through the section's centroid [mm]; the erd is near enough where it is unknown
    material : its row of reference/materials.toml, or another
    mass : of the bare rim [g]
    width, depth : outside, along the axle and radially [mm]
    double_wall : whether a bed closes the section to a tube. A single wall twists far more easily
    tapped : any of bending_in_plane, bending_out_of_plane, torsion: EI or GJ and its standard uncertainty [N m2]; each
        goes before the property that it is made of, whatever the modulus
    exact : any of area, inertia_in_plane, inertia_out_of_plane, torsion_constant [mm2, mm4], youngs_modulus,
        shear_modulus [N/mm2]

    Raises
    ------
    InputError
        If a fact is missing (all that are, named) or the facts do not fit each other.
    """
    given = {name: value for name, value in exact.items() if value is not None}
    for name in given:
        one_of(name, name, (*SHAPE, *MODULI))
    heard = dict(tapped or {})
    missing = missing_facts({"material": material, "mass": mass, "width": width, "depth": depth, **given, **heard})
    if missing:
        text = f"missing {', '.join(missing)}; a section needs material, mass, width and depth, or its exact properties"
        raise InputError(missing[0], text)
    values, sigmas = dict(given), dict.fromkeys(given, 0.0)
    if material is not None:
        if mass is not None:
            values.setdefault("area", area_from_mass(mass, material.density, centroid_diameter))
        for name in MODULI:
            values.setdefault(name, getattr(material, name))
            sigmas.setdefault(name, material.sigma)
    values |= {TAPPED[name][0]: value * IN_N_MM2 / values[TAPPED[name][1]] for name, (value, _) in heard.items()}
    sigmas |= {TAPPED[name][0]: sigma / value for name, (value, sigma) in heard.items()}
    if width is not None and depth is not None and not values.keys() >= set(SHAPE):
        values = thin_walled(values["area"], width, depth, double_wall) | values
    sigmas = {name: sigmas.get(name, SIGMAS.get(name, 0.0)) for name in values} | _told(heard)
    properties = tuple(TAPPED[name][0] for name in heard)
    return SectionEstimate(Section(centroid_diameter=centroid_diameter, **values), sigmas, properties)


def _told(heard: Mapping[str, object]) -> dict[str, float]:
    """Moduli whose errors no longer count, since only their products with the tapped properties matter."""
    moduli = {modulus: [name for name, (_, own) in TAPPED.items() if own == modulus] for modulus in MODULI}
    return {modulus: 0.0 for modulus, names in moduli.items() if heard.keys() >= set(names)}


def area_from_mass(mass: float, density: float, diameter: float) -> float:
    """Area of a ring's cross section [mm2] from its mass [g], density [g/mm3] and mean diameter [mm] (D, Pappus).

    Raises
    ------
    InputError
        If the mass is not above 0.
    """
    above("mass", mass, unit="g")
    return mass / (density * math.pi * diameter)


def wall_thickness(area: float, width: float, depth: float, floors: int) -> float:
    """Thickness of two sides and of one or two floors between them that together have this area [mm].

    Parameters
    ----------
    area : [mm2]
    width, depth : outside [mm]
    floors : 1, or 2 with a bed

    Raises
    ------
    InputError
        If it is no rim's wall.

    Notes
    -----
    area = t (2 (depth - t) + floors (width - t)), on the walls' middle lines. D.
    """
    above("width", width)
    above("depth", depth)
    around, count = 2 * depth + floors * width, 2 + floors
    most = THICKEST * min(width, depth)
    root = around**2 - 4 * count * area
    thickness = (around - math.sqrt(root)) / (2 * count) if root > 0 else math.inf
    if not THINNEST <= thickness <= most:
        found = f"walls of {thickness:.2f} mm" if math.isfinite(thickness) else "more metal than there is room for"
        text = f"{area:.1f} mm2 in a section of {width:g} by {depth:g} mm makes {found}"
        raise InputError("mass", f"{text}; {THINNEST} to {most:.1f} mm would do: check mass (in g), width and depth")
    return thickness


def thin_walled(area: float, width: float, depth: float, double_wall: bool = True) -> dict[str, float]:
    """Second moments and torsion constant of the thin-walled section, by property name [mm4].

    Parameters
    ----------
    area : [mm2]
    width, depth : outside [mm]
    double_wall : with a bed half-way up

    Notes
    -----
    Second moments by the parallel-axis theorem on middle lines. Torsion: the tube by Bredt, 4 A_m^2 / sum(length / t),
    the walls beyond it by length t^3 / 3. D.
    """
    thickness = wall_thickness(area, width, depth, 2 if double_wall else 1)
    wide, deep = width - thickness, depth - thickness
    floors = [0.0, BED_HEIGHT * deep] if double_wall else [0.0]
    centroid = thickness * (deep**2 + wide * sum(floors)) / area
    in_plane = 2 * (deep**3 / 12 + deep * (deep / 2 - centroid) ** 2) + sum(wide * (y - centroid) ** 2 for y in floors)
    sideways = 2 * deep * (wide / 2) ** 2 + len(floors) * wide**3 / 12
    tube = max(floors)
    open_length = 2 * (deep - tube) + (0 if double_wall else wide)
    closed = 4 * (wide * tube) ** 2 * thickness / (2 * (wide + tube))
    return {
        "inertia_in_plane": thickness * in_plane,
        "inertia_out_of_plane": thickness * sideways,
        "torsion_constant": closed + open_length * thickness**3 / 3,
    }
