"""A rim's section from plain facts: its arithmetic by strips, its uncertainty, its refusals."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from tests.making.uneven_wheels import rear
from wheelcalc.tension.section import (
    MODULI,
    SHAPE,
    SIGMAS,
    Material,
    estimate,
    missing_facts,
    thin_walled,
    wall_thickness,
)
from wheelcalc.wheel.errors import InputError

ALUMINIUM = Material(2.70e-3, 69e3, 26e3, 0.02)  # M: 6061-T6 in common data sheets
FACTS = {"material": ALUMINIUM, "mass": 487.0, "width": 23.4, "depth": 18.2}
DIAMETER = 608.0


def strips(
    area: float, width: float, depth: float, bed: float = 0.5, side: float = 1.0, floor: float = 1.0
) -> dict[str, float]:
    """D: the same walls as many short strips, each a point mass; the tube's torsion by Bredt. Thicknesses against the bed's."""
    unit = 0.0
    for _ in range(100):  # thickness of the bed, from the area
        wide, deep = width - side * unit, depth - unit
        unit = area / (2 * deep * side + wide * (1 + floor))
    count = 4000
    along = (np.arange(count) + 0.5) / count
    one = np.ones(count)
    x = np.r_[-wide / 2 * one, wide / 2 * one, (along - 0.5) * wide, (along - 0.5) * wide]
    y = np.r_[along * deep, along * deep, 0 * along, bed * deep * one]
    bits = unit / count * np.r_[side * deep * one, side * deep * one, floor * wide * one, wide * one]
    middle = (y * bits).sum() / bits.sum()
    tube = 4 * (wide * bed * deep) ** 2 / ((2 * bed * deep / side + wide / floor + wide) / unit)
    rest = 2 * (1 - bed) * deep * (side * unit) ** 3 / 3
    return {
        "area": float(bits.sum()),
        "inertia_in_plane": float((bits * (y - middle) ** 2).sum()),
        "inertia_out_of_plane": float((bits * x**2).sum()),
        "torsion_constant": tube + rest,
    }


def test_estimate_against_strips() -> None:
    found = estimate(DIAMETER, **FACTS).section
    by_strips = strips(found.area, FACTS["width"], FACTS["depth"])
    assert found.area == pytest.approx(487.0 / 2.70e-3 / (math.pi * DIAMETER), rel=1e-12)  # M: 2.70 g/cm3
    for name, value in by_strips.items():
        assert getattr(found, name) == pytest.approx(value, rel=1e-6)
    assert (found.youngs_modulus, found.shear_modulus, found.centroid_diameter) == (69e3, 26e3, DIAMETER)


def test_single_wall_twists_far_more_easily() -> None:
    """D: an open section has length t^3/3 only. By hand: 31.2 wide 10.6 deep, t 1.4: middle lines 29.8 and 9.2, area 67.48."""
    area = 1.4 * (2 * 9.2 + 29.8)
    found = thin_walled(area, 31.2, 10.6, double_wall=False)
    centroid = 2 * 9.2 * 4.6 / (2 * 9.2 + 29.8)
    in_plane = 1.4 * (2 * (9.2**3 / 12 + 9.2 * (4.6 - centroid) ** 2) + 29.8 * centroid**2)
    assert found["inertia_in_plane"] == pytest.approx(in_plane, rel=1e-9)
    assert found["inertia_out_of_plane"] == pytest.approx(1.4 * (2 * 9.2 * 14.9**2 + 29.8**3 / 12), rel=1e-9)
    assert found["torsion_constant"] == pytest.approx((2 * 9.2 + 29.8) * 1.4**3 / 3, rel=1e-9)
    assert found["torsion_constant"] < thin_walled(area, 31.2, 10.6)["torsion_constant"] / 20


@pytest.mark.parametrize(
    ("width", "depth", "mass"), [(23.4, 18.2, 487.0), (20.1, 13.5, 410.0), (29.7, 21.0, 560.0), (22.0, 30.0, 470.0)]
)
def test_stated_uncertainty_covers_other_rims(width: float, depth: float, mass: float) -> None:
    """D: beds higher and lower, walls of unlike thickness: the spread stays within the stated standard errors."""
    base = estimate(DIAMETER, material=ALUMINIUM, mass=mass, width=width, depth=depth).section
    others = [
        strips(base.area, width, depth, *shape)
        for shape in itertools.product((0.35, 0.5, 0.65), (0.75, 1.0, 1.33), (1.0, 1.5, 2.0))
    ]
    for name in SHAPE[1:]:
        ratios = np.array([other[name] for other in others]) / getattr(base, name)
        assert math.sqrt(np.mean((ratios - 1) ** 2)) < SIGMAS[name]
        assert np.abs(np.log(ratios)).max() < 2 * math.log(1 + SIGMAS[name])


def test_exact_properties_replace_their_estimates() -> None:
    found = estimate(DIAMETER, **FACTS, area=131.0, torsion_constant=2900.0, youngs_modulus=70_500.0)
    assert (found.section.area, found.section.torsion_constant, found.section.youngs_modulus) == (
        131.0,
        2900.0,
        70_500.0,
    )
    assert [found.sigmas[name] for name in ("area", "torsion_constant", "youngs_modulus")] == [0, 0, 0]
    assert found.section.inertia_in_plane == pytest.approx(strips(131.0, 23.4, 18.2)["inertia_in_plane"], rel=1e-6)
    assert found.sigmas["inertia_in_plane"] == SIGMAS["inertia_in_plane"]


def test_all_exact_needs_no_facts() -> None:
    exact = dict.fromkeys(SHAPE, 1000.0) | dict.fromkeys(MODULI, 7e4)
    found = estimate(DIAMETER, **exact)
    assert not any(found.sigmas.values())
    assert found.spread(lambda section: section.area) == 0


def test_spread_of_an_answer() -> None:
    """D: of a product of powers, relative errors times the powers, added in squares (small sigmas)."""
    found = replace(estimate(DIAMETER, **FACTS), sigmas={"area": 0.01, "inertia_in_plane": 0.02})
    product = lambda section: section.area**2 / section.inertia_in_plane  # noqa: E731
    expected = math.hypot(2 * 0.01, 0.02) * product(found.section)
    assert found.spread(product) == pytest.approx(expected, rel=0.01)


def test_how_much_a_wheel_depends_on_the_guess() -> None:
    """R: lateral stiffness of a 32-spoke wheel to 5 to 20 %, radial to less; it is the digits that may be printed."""
    wheel, guess = rear(), estimate(607.4, **FACTS)
    lateral = lambda section: float(replace(wheel, section=section).lateral_stiffness.mean())  # noqa: E731
    radial = lambda section: float(replace(wheel, section=section).radial_stiffness.mean())  # noqa: E731
    assert 0.05 < guess.spread(lateral) / lateral(guess.section) < 0.2
    assert 0.02 < guess.spread(radial) / radial(guess.section) < 0.15


def test_missing_facts_are_named() -> None:
    assert missing_facts({}) == ("material", "mass", "width", "depth")
    assert missing_facts({**FACTS, "mass": None}) == ("mass",)
    assert missing_facts({"area": 120.0, "youngs_modulus": 7e4, "shear_modulus": 2.6e4, "width": 22.0}) == ("depth",)
    with pytest.raises(InputError, match="mass: missing mass, depth; a section needs"):
        estimate(DIAMETER, material=ALUMINIUM, width=22.0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"mass": 0.487}, "makes walls of 0.00 mm"),  # kilograms
        ({"mass": 2400.0}, r"makes (walls of \d|more metal)"),
        ({"mass": -3.0}, "mass: found -3 g"),
        ({"width": math.nan}, "width: found nan"),
        ({"thickness": 2.0}, "thickness"),
    ],
)
def test_facts_that_make_no_rim_are_refused(change: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        estimate(DIAMETER, **(FACTS | change))


def test_exact_properties_need_no_plain_facts_that_fit() -> None:
    exact = dict.fromkeys(SHAPE, 1000.0) | dict.fromkeys(MODULI, 7e4)
    assert estimate(DIAMETER, width=11.0, depth=9.0, **exact).section.area == 1000.0


def test_wall_thickness_gives_back_the_area() -> None:
    thickness = wall_thickness(97.0, 24.7, 16.1, 2)
    assert thickness * (2 * (16.1 - thickness) + 2 * (24.7 - thickness)) == pytest.approx(97.0, rel=1e-12)


def test_tapped_stiffness_is_the_section_s_whatever_the_modulus() -> None:
    tapped = {"bending_in_plane": (111.0, 3.3), "bending_out_of_plane": (219.0, 17.0), "torsion": (26.3, 1.2)}
    found = estimate(DIAMETER, **FACTS, tapped=tapped)
    section = found.section
    assert section.youngs_modulus * section.inertia_in_plane == pytest.approx(111.0e6, rel=1e-12)
    assert section.youngs_modulus * section.inertia_out_of_plane == pytest.approx(219.0e6, rel=1e-12)
    assert section.shear_modulus * section.torsion_constant == pytest.approx(26.3e6, rel=1e-12)
    # Only the products were heard, so an error of a modulus alone moves nothing and the products keep theirs.
    sideways = found.spread(lambda each: each.youngs_modulus * each.inertia_out_of_plane)
    assert sideways == pytest.approx(17.0e6, rel=0.05)  # times and over 1 + share: half a share less


def test_a_tapped_rim_needs_neither_width_nor_depth() -> None:
    tapped = {"bending_in_plane": (111.0, 3.3), "bending_out_of_plane": (219.0, 17.0), "torsion": (26.3, 1.2)}
    assert estimate(DIAMETER, material=ALUMINIUM, mass=487.0, tapped=tapped).tapped == SHAPE[1:]
    assert missing_facts({"material": ALUMINIUM, "mass": 487.0, "torsion": 26.3}) == ("width", "depth")
