"""A rim's cross section from what a mechanic knows of it: material, mass, width and depth.

The mass gives the area; area times the square of a radius gives each stiffness. The radii are shares of width and depth
that fit four rims which were measured (M. Ford, PhD thesis, Northwestern University 2018): walls differ more from rim to
rim than any drawing of thin walls tells, and a single wall that closes to a ring is far stiffer in twist than its
open section.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import NamedTuple

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Section, above, one_of


class Material(NamedTuple):
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


# D: least squares by eye of the logarithms over the four rims that Ford bent, widths and depths the usual ones (M); the
# rows are in tests/published/test_ford_2018_bent_rims.py. In plane they scatter by 6 %, out of plane by 20 %, in torsion by 5 %.
IN_PLANE = 0.268  # of the depth, radius of gyration
OUT_OF_PLANE = 0.2405  # of the width, radius of gyration
TWIST = 0.215  # of the depth, of a rim TWIST_AT deep; grows with the fourth root of it, as a deeper rim has more in its tube
TWIST_AT = 15.0  # mm
SINGLE_WALL = 1.5  # times as easily a single wall twists; D: 1.35 beside the alike double wall, 1.5 against the fit
# Ours, for rims deeper than any measured: no stiffer than a tube of four fifths of the depth with this share of the metal.
TUBE_DEPTH, TUBE_SHARE = 0.8, 0.45

# D: so wide that each measured rim lies inside of 1.96 of it wherever its width and depth lie among the usual ones, and
# ours: never beyond a factor of two either way. Area: mass of joint, eyelets and paint against that of the holes (C).
SIGMAS = {"area": 0.05, "inertia_in_plane": 0.20, "inertia_out_of_plane": 0.25, "torsion_constant": 0.252}
SHAPE = tuple(SIGMAS)
MODULI = ("youngs_modulus", "shear_modulus")
# What a tapped rim tells, and the property and modulus whose product it is.
TAPPED = {
    "bending_in_plane": ("inertia_in_plane", "youngs_modulus"),
    "bending_out_of_plane": ("inertia_out_of_plane", "youngs_modulus"),
    "torsion": ("torsion_constant", "shear_modulus"),
}
IN_N_MM2 = 1e6  # of 1 N m2
LARGEST_STEP = 0.3  # of a property; beyond, the answer is taken as straight
THINNEST = 0.3  # mm, C: no rim's wall is thinner; a mass given in kg lands far below
THICKEST = 1 / 3  # of the smaller of width and depth: above, nothing is left of a hollow section


class SectionEstimate(NamedTuple):
    """A section and how well it is known.

    Parameters
    ----------
    section : the properties
    sigmas : relative standard uncertainty by property; 0 where the exact value was given
    tapped, guessed : the properties that come from a tapped rim, and from mass, width and depth
    """

    section: Section
    sigmas: Mapping[str, float]
    tapped: tuple[str, ...] = ()
    guessed: tuple[str, ...] = ()

    @property
    def origin(self) -> str:
        """Where EI and GJ are from: "estimated" where one of them is, else "tapped" where one is, else "given"."""
        if set(self.guessed) & set(SHAPE[1:]):
            return "estimated"
        return "tapped" if self.tapped else "given"

    def spread(self, answer: Callable[[Section], float]) -> float:
        """Standard uncertainty that the guessed properties leave in an answer, in its unit.

        Parameters
        ----------
        answer : computes it from a section, for example a wheel's lateral stiffness

        Notes
        -----
        Each property in turn is moved either way, half the difference squared and added up: errors taken as independent
        of each other.
        """
        return math.hypot(*self.effects(answer).values())

    def effects(self, answer: Callable[[Section], float]) -> dict[str, float]:
        """What one standard uncertainty of each guessed property does to an answer, by property, in its unit."""
        moved = self.moved().items()
        return {name: (answer(high) - answer(low)) / 2 * scale for name, (high, low, scale) in moved}

    def moved(self) -> dict[str, tuple[Section, Section, float]]:
        """The section with each unsure property made larger and smaller, and how often that step goes into its sigma."""
        return {name: self._moved(name, sigma) for name, sigma in self.sigmas.items() if sigma}

    def _moved(self, name: str, sigma: float) -> tuple[Section, Section, float]:
        step, value = min(sigma, LARGEST_STEP), getattr(self.section, name)
        high, low = (replace(self.section, **{name: value * factor}) for factor in (1 + step, 1 - step))
        return high, low, sigma / step


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
    errors: Mapping[str, float] | None = None,
    **exact: float | None,
) -> SectionEstimate:
    """A section from plain facts; each exact property given stands in the place of its estimate.

    Parameters
    ----------
    centroid_diameter : of the ring through the section's centroid [mm]; the erd is near enough where it is unknown
    material : its row of reference/materials.toml, or another
    mass : of the bare rim [g]
    width, depth : outside, along the axle and radially [mm]
    double_wall : whether a bed closes the section to a tube. A single wall twists more easily
    tapped : any of bending_in_plane, bending_out_of_plane, torsion: EI or GJ and its standard uncertainty [N m2]; each
        goes before the property that it is made of, whatever the modulus
    errors : standard uncertainty of any fact or property given, as a share of it; those left out are exact
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
    told = dict(errors or {})
    values, sigmas = dict(given), {name: told.get(name, 0.0) for name in given}
    if material is not None:
        if mass is not None:
            values.setdefault("area", area_from_mass(mass, material.density, centroid_diameter))
        for name in MODULI:
            values.setdefault(name, getattr(material, name))
            sigmas.setdefault(name, material.sigma)
    values |= {TAPPED[name][0]: value * IN_N_MM2 / values[TAPPED[name][1]] for name, (value, _) in heard.items()}
    sigmas |= {TAPPED[name][0]: sigma / value for name, (value, sigma) in heard.items()}
    if width is not None and depth is not None and not values.keys() >= set(SHAPE):
        values = shape(values["area"], width, depth, double_wall) | values
    sigmas = {name: sigmas[name] if name in sigmas else _guess(name, told) for name in values} | _told(heard)
    properties = tuple(TAPPED[name][0] for name in heard)
    guessed = tuple(name for name in SHAPE if name not in (*given, *properties))
    return SectionEstimate(Section(centroid_diameter=centroid_diameter, **values), sigmas, properties, guessed)


# Facts that each guessed property rests on, and the power.
RESTS_ON = {
    "area": {"mass": 1.0},
    "inertia_in_plane": {"mass": 1.0, "depth": 2.0},
    "inertia_out_of_plane": {"mass": 1.0, "width": 2.0},
    "torsion_constant": {"mass": 1.0, "depth": 2.5},
}


def _guess(name: str, errors: Mapping[str, float]) -> float:
    """Relative standard uncertainty of a guessed property: of the guess itself and of the facts that it rests on."""
    return math.hypot(SIGMAS[name], *(power * errors.get(fact, 0.0) for fact, power in RESTS_ON[name].items()))


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
        walls = f"walls of {thickness:.2f} mm" if math.isfinite(thickness) else "more metal than there is room for"
        text = f"{area:.1f} mm2 in a section of {width:g} by {depth:g} mm makes {walls}"
        raise InputError("mass", f"{text}; {THINNEST} to {most:.1f} mm would do: check mass (in g), width and depth")
    return thickness


def shape(area: float, width: float, depth: float, double_wall: bool = True) -> dict[str, float]:
    """Second moments and torsion constant of a rim's section, by property name [mm4].

    Parameters
    ----------
    area : [mm2]
    width, depth : outside [mm]
    double_wall : whether a bed closes the section to a tube

    Raises
    ------
    InputError
        If the area makes no rim's wall in that width and depth.
    """
    wall_thickness(area, width, depth, 2 if double_wall else 1)
    twist = (TWIST * depth) ** 2 * math.sqrt(depth / TWIST_AT)
    high = TUBE_DEPTH * depth
    tube = TUBE_SHARE * (width * high / (width + high)) ** 2
    return {
        "inertia_in_plane": area * (IN_PLANE * depth) ** 2,
        "inertia_out_of_plane": area * (OUT_OF_PLANE * width) ** 2,
        "torsion_constant": area * min(twist, tube) / (1 if double_wall else SINGLE_WALL),
    }
