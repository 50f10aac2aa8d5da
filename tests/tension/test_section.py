"""A rim's section from plain facts: its arithmetic by strips, its uncertainty, its refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.making.uneven_wheels import rear
from wheelcalc.tension.section import (
    MODULI,
    SHAPE,
    SIGMAS,
    Material,
    estimate,
    missing_facts,
    shape,
    wall_thickness,
)
from wheelcalc.wheel.errors import InputError

ALUMINIUM = Material(2.70e-3, 69e3, 26e3, 0.02)  # M: 6061-T6 in common data sheets
FACTS = {"material": ALUMINIUM, "mass": 487.0, "width": 23.4, "depth": 18.2}
DIAMETER = 608.0


def test_estimate_by_hand() -> None:
    """D: area 487 / (2.70e-3 pi 608) = 94.430; times (0.268 18.2)^2, (0.2405 23.4)^2, (0.215 18.2)^2 (18.2 / 15)^(1/2)."""
    found = estimate(DIAMETER, **FACTS).section
    assert found.area == pytest.approx(94.430, abs=0.001)
    assert found.inertia_in_plane == pytest.approx(94.430 * 23.791, rel=1e-4)
    assert found.inertia_out_of_plane == pytest.approx(94.430 * 31.671, rel=1e-4)
    assert found.torsion_constant == pytest.approx(94.430 * 15.312 * 1.10151, rel=1e-4)
    assert (found.youngs_modulus, found.shear_modulus, found.centroid_diameter) == (69e3, 26e3, DIAMETER)


def test_no_rim_is_stiffer_in_twist_than_a_tube_would_be() -> None:
    """D: four fifths of 50 are 40; tube 23.4 by 40: (23.4 40 / 63.4)^2 = 217.96, of which 0.45 counts."""
    deep = estimate(DIAMETER, material=ALUMINIUM, mass=620.0, width=23.4, depth=50.0).section
    assert deep.torsion_constant == pytest.approx(deep.area * 0.45 * 217.96, rel=1e-4)


def test_errors_of_facts_count() -> None:
    """D: depth to the second power in the plane, 2.5 in twist; beside the guess's own, as squares."""
    plain, unsure = estimate(DIAMETER, **FACTS), estimate(DIAMETER, **FACTS, errors={"depth": 0.07, "mass": 0.03})
    assert unsure.sigmas["inertia_in_plane"] == pytest.approx(math.hypot(SIGMAS["inertia_in_plane"], 0.14, 0.03))
    assert unsure.sigmas["torsion_constant"] == pytest.approx(math.hypot(SIGMAS["torsion_constant"], 0.175, 0.03))
    assert unsure.sigmas["inertia_out_of_plane"] == pytest.approx(math.hypot(SIGMAS["inertia_out_of_plane"], 0.03))
    assert unsure.sigmas["area"] == pytest.approx(math.hypot(SIGMAS["area"], 0.03))
    assert unsure.sigmas["youngs_modulus"] == plain.sigmas["youngs_modulus"]
    exact = estimate(DIAMETER, **FACTS, area=131.0, errors={"area": 0.02})
    assert exact.sigmas["area"] == 0.02


def test_exact_properties_replace_their_estimates() -> None:
    found = estimate(DIAMETER, **FACTS, area=131.0, torsion_constant=2900.0, youngs_modulus=70_500.0)
    assert (found.section.area, found.section.torsion_constant, found.section.youngs_modulus) == (
        131.0,
        2900.0,
        70_500.0,
    )
    assert [found.sigmas[name] for name in ("area", "torsion_constant", "youngs_modulus")] == [0, 0, 0]
    assert found.section.inertia_in_plane == pytest.approx(131.0 * 23.791, rel=1e-4)
    assert found.sigmas["inertia_in_plane"] == SIGMAS["inertia_in_plane"]


def test_all_exact_needs_no_facts() -> None:
    exact = dict.fromkeys(SHAPE, 1000.0) | dict.fromkeys(MODULI, 7e4)
    found = estimate(DIAMETER, **exact)
    assert not any(found.sigmas.values())
    assert found.spread(lambda section: section.area) == 0


def test_spread_of_an_answer() -> None:
    """D: of a product of powers, relative errors times the powers, added in squares (small sigmas)."""
    found = estimate(DIAMETER, **FACTS)._replace(sigmas={"area": 0.01, "inertia_in_plane": 0.02})
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


TAPPED = {"bending_in_plane": (111.0, 3.3), "bending_out_of_plane": (219.0, 17.0), "torsion": (26.3, 1.2)}


def test_tapped_stiffness_is_the_section_s_whatever_the_modulus() -> None:
    found = estimate(DIAMETER, **FACTS, tapped=TAPPED)
    section = found.section
    assert section.youngs_modulus * section.inertia_in_plane == pytest.approx(111.0e6, rel=1e-12)
    assert section.youngs_modulus * section.inertia_out_of_plane == pytest.approx(219.0e6, rel=1e-12)
    assert section.shear_modulus * section.torsion_constant == pytest.approx(26.3e6, rel=1e-12)
    # Only the products were heard, so an error of a modulus alone moves nothing and the products keep theirs.
    sideways = found.spread(lambda each: each.youngs_modulus * each.inertia_out_of_plane)
    assert sideways == pytest.approx(17.0e6, rel=1e-9)


def test_a_tapped_rim_needs_neither_width_nor_depth() -> None:
    assert estimate(DIAMETER, material=ALUMINIUM, mass=487.0, tapped=TAPPED).tapped == SHAPE[1:]
    assert missing_facts({"material": ALUMINIUM, "mass": 487.0, "torsion": 26.3}) == ("width", "depth")


@pytest.mark.parametrize(
    ("more", "origin"),
    [
        ({}, "estimated"),
        ({"tapped": TAPPED}, "tapped"),
        ({"tapped": {"torsion": TAPPED["torsion"]}}, "estimated"),
        ({"inertia_in_plane": 2000.0, "inertia_out_of_plane": 3000.0, "torsion_constant": 900.0}, "given"),
        ({"inertia_out_of_plane": 3000.0, "torsion_constant": 900.0}, "estimated"),
    ],
)
def test_where_the_stiffness_is_from(more: dict[str, object], origin: str) -> None:
    """One guessed stiffness makes it an estimate; a guessed area alone does not."""
    assert estimate(DIAMETER, **FACTS, **more).origin == origin


def test_a_modulus_counts_until_every_product_of_it_was_heard() -> None:
    one = estimate(DIAMETER, **FACTS, tapped={"bending_in_plane": TAPPED["bending_in_plane"]})
    assert (one.sigmas["youngs_modulus"], one.sigmas["shear_modulus"]) == (0.02, 0.02)
    both = estimate(DIAMETER, **FACTS, tapped={name: TAPPED[name] for name in list(TAPPED)[:2]})
    assert (both.sigmas["youngs_modulus"], both.sigmas["shear_modulus"]) == (0.0, 0.02)
    twist = estimate(DIAMETER, **FACTS, tapped={"torsion": TAPPED["torsion"]})
    assert (twist.sigmas["youngs_modulus"], twist.sigmas["shear_modulus"]) == (0.02, 0.0)


def test_large_errors_count_in_proportion() -> None:
    """D: an answer in proportion to a property known to 45 % is known to 45 %, though it is moved by less."""
    found = estimate(DIAMETER, **FACTS)._replace(sigmas={"area": 0.45})
    assert found.spread(lambda section: section.area) == pytest.approx(0.45 * found.section.area, rel=1e-9)


def test_what_is_missing_one_by_one() -> None:
    exact = dict.fromkeys(SHAPE, 1000.0) | dict.fromkeys(MODULI, 7e4)
    assert missing_facts(exact) == ()
    for name in MODULI:
        assert missing_facts({**exact, name: None}) == ("material",)
    assert missing_facts({**exact, "area": None}) == ("material", "mass")
    for name in SHAPE[1:]:
        assert missing_facts({**exact, name: None}) == ("width", "depth")


def test_walls_at_their_limits() -> None:
    """D: area = t (2 (depth - t) + floors (width - t)), here for walls just within 0.3 mm and a third of the depth."""
    for thickness in (0.301, 5.99):
        for floors in (1, 2):
            area = thickness * (2 * (18.0 - thickness) + floors * (24.0 - thickness))
            assert wall_thickness(area, 24.0, 18.0, floors) == pytest.approx(thickness, rel=1e-9)
            beyond = 0.299 if thickness < 1 else 6.01
            with pytest.raises(InputError, match="makes walls of"):
                wall_thickness(beyond * (2 * (18.0 - beyond) + floors * (24.0 - beyond)), 24.0, 18.0, floors)
    with pytest.raises(InputError, match="depth"):
        wall_thickness(97.0, 24.7, 0.0, 2)


def test_a_single_wall_has_one_floor() -> None:
    """D: walls of 0.31 mm around one floor have less metal than a section of two floors could be made of, and 5.9 mm
    around two have more than one floor would bear."""
    thin = 0.31 * (2 * (18.0 - 0.31) + 24.0 - 0.31)
    assert shape(thin, 24.0, 18.0, double_wall=False)["inertia_in_plane"] > 0
    with pytest.raises(InputError, match="walls of"):
        shape(thin, 24.0, 18.0, double_wall=True)
    thick = 5.9 * (2 * (18.0 - 5.9) + 2 * (24.0 - 5.9))
    assert shape(thick, 24.0, 18.0, double_wall=True)["inertia_in_plane"] > 0
    assert shape(thick, 24.0, 18.0) == shape(thick, 24.0, 18.0, double_wall=True)
    with pytest.raises(InputError, match=r"more metal|walls of"):
        shape(thick, 24.0, 18.0, double_wall=False)
