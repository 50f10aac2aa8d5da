"""Four bare rims that were bent and tapped: M. Ford, PhD thesis, Northwestern University 2018, acoustic testing.

P, as given: radius of the centroid [mm], mass [g], E I in plane, G J [N m2] and mu = G J / E I out of plane. Widths and depths are not
printed: M, the usual ones of such rims.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import pytest

from wheelcalc.joined.target import material_of
from wheelcalc.tension.section import SectionEstimate, estimate
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY


class Rim(NamedTuple):
    radius: float
    mass: float
    in_plane: float
    torsion: float
    mu: float
    widths: tuple[float, float, float]
    depths: tuple[float, float, float]
    double_wall: bool

    @property
    def out_of_plane(self) -> float:
        return self.torsion / self.mu


SHALLOW = (22.0, 24.0, 26.0), (13.0, 15.0, 17.0)
BENT = {
    "deep double wall, 700C": Rim(305, 480, 288, 96.5, 0.487, (19.0, 21.0, 23.0), (22.0, 26.0, 30.0), True),
    "shallow double wall, 20 in": Rim(217, 380, 102, 24.7, 0.134, *SHALLOW, True),
    "shallow double wall, 700C": Rim(304, 538, 113, 25.9, 0.099, *SHALLOW, True),
    "single wall, 700C": Rim(302, 551, 123, 18.9, 0.096, *SHALLOW, False),
}
each_rim = pytest.mark.parametrize("rim", BENT.values(), ids=BENT)


def guessed(rim: Rim, width: float, depth: float, *, double_wall: bool | None = None) -> SectionEstimate:
    walls = rim.double_wall if double_wall is None else double_wall
    facts = {"material": material_of("aluminium"), "mass": rim.mass, "width": width, "depth": depth}
    return estimate(2 * rim.radius, **facts, double_wall=walls)


def stiffness(found: SectionEstimate) -> tuple[float, float, float]:
    """E I in plane, E I out of plane, G J [N m2]."""
    s = found.section
    products = s.inertia_in_plane * s.youngs_modulus, s.inertia_out_of_plane * s.youngs_modulus
    return products[0] / 1e6, products[1] / 1e6, s.torsion_constant * s.shear_modulus / 1e6


def sigmas(found: SectionEstimate) -> tuple[float, float, float]:
    """Standard uncertainties of these [N m2]."""
    return (
        found.spread(lambda s: s.inertia_in_plane * s.youngs_modulus / 1e6),
        found.spread(lambda s: s.inertia_out_of_plane * s.youngs_modulus / 1e6),
        found.spread(lambda s: s.torsion_constant * s.shear_modulus / 1e6),
    )


@each_rim
def test_each_lies_inside_the_stated_interval_wherever_its_usual_width_and_depth_lie(rim: Rim) -> None:
    measured = rim.in_plane, rim.out_of_plane, rim.torsion
    for width, depth in itertools.product(rim.widths, rim.depths):
        found = guessed(rim, width, depth)
        for value, sigma, there in zip(stiffness(found), sigmas(found), measured, strict=True):
            assert abs(there - value) <= NINETEEN_IN_TWENTY * sigma


@each_rim
def test_near_the_measured_ones_in_the_middle_of_the_usual_sizes(rim: Rim) -> None:
    in_plane, out_of_plane, torsion = stiffness(guessed(rim, rim.widths[1], rim.depths[1]))
    assert in_plane == pytest.approx(rim.in_plane, rel=0.15)
    assert out_of_plane == pytest.approx(rim.out_of_plane, rel=0.30)
    assert torsion == pytest.approx(rim.torsion, rel=0.15)


@each_rim
def test_no_interval_is_wider_than_a_factor_of_two_either_way(rim: Rim) -> None:
    found = guessed(rim, rim.widths[1], rim.depths[1])
    for value, sigma in zip(stiffness(found), sigmas(found), strict=True):
        assert value - NINETEEN_IN_TWENTY * sigma >= value / 2
        assert value + NINETEEN_IN_TWENTY * sigma <= 2 * value


def test_a_single_wall_twists_half_as_easily_again_and_not_twenty_times() -> None:
    single = BENT["single wall, 700C"]
    as_single, as_double = (stiffness(guessed(single, 24, 15, double_wall=walls)) for walls in (False, True))
    assert 1.4 <= as_double[2] / as_single[2] <= 2.0
    assert as_double[:2] == as_single[:2]
