"""Rings and curved bars in closed form: S. Timoshenko, Strength of Materials; Timoshenko & Gere, Theory of Elastic Stability."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.oracles.dense_buckling import dense_factor
from wheelcalc.tension import prestress
from wheelcalc.tension.arc import RADIAL, arcs, twist_about_centre
from wheelcalc.tension.ring_blocks import assembled
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.parts import Section

RADIUS = 287.0
BAR = Section(151, 1730, 6900, 2900, 71e3, 27e3, 2 * RADIUS)


def nearly_free_compliance(nodes: int) -> np.ndarray:
    """Of a ring held by nothing but very soft springs against motions as a rigid body."""
    spans = np.full(nodes, 2 * math.pi / nodes)
    ring = assembled(arcs(BAR, spans).stiffness, np.zeros((nodes, 6, 6))).whole()
    rigid = prestress.rigid_motions(RADIUS, np.cumsum(spans) - spans)
    return np.linalg.inv(ring + 10.0 * rigid.T @ rigid)


@pytest.mark.parametrize("nodes", [4, 12, 36])
def test_ring_under_two_opposite_loads(nodes: int) -> None:
    """P (Timoshenko / Roark, M) and D: exact with any number of arcs."""
    load = 640.0
    compliance = nearly_free_compliance(nodes)[RADIAL::6, RADIAL::6]
    opposite, quarter = nodes // 2, nodes // 4
    pull = compliance[:, 0] + compliance[:, opposite]
    bending = load * RADIUS**3 / (BAR.youngs_modulus * BAR.inertia_in_plane)
    stretch = load * RADIUS / (BAR.youngs_modulus * BAR.area)
    loaded = -(math.pi / 4 - 2 / math.pi) * bending - math.pi / 4 * stretch
    other = (2 / math.pi - 0.5) * bending - stretch / 2
    assert -load * (pull[0] + pull[opposite]) == pytest.approx(loaded, rel=1e-7)
    assert -load * (pull[quarter] + pull[quarter + opposite]) == pytest.approx(other, rel=1e-7)


def radial_tie_wheel(spokes: int, section: Section, tension: float) -> Structure:
    """Spokes with tension and hardly any stiffness, from a hub hardly larger than a point: loads that point at the centre."""
    angles = 2 * math.pi / spokes * (np.arange(spokes) + 0.3)
    out = np.c_[np.zeros(spokes), np.sin(angles), np.cos(angles)]
    ties = np.full(spokes, 1e-4)
    return Structure(section, angles, np.arange(spokes), 0.01 * out, RADIUS * out, ties, np.full(spokes, tension))


def critical_pressure(spokes: int, section: Section) -> float:
    tension = 100.0
    factor = radial_tie_wheel(spokes, section, tension).buckling_factor
    return factor * tension * spokes / (2 * math.pi * RADIUS)


def stiffened(**times: float) -> Section:
    return Section(**{name: value * times.get(name, 1.0) for name, value in vars(BAR).items()})


def test_ring_buckles_sideways_under_central_loads() -> None:
    """P, Timoshenko & Gere ch. 7 (M): q = 12 EI / [R^3 (4 + EI/GJ)] for loads that point at the centre."""
    section = stiffened(inertia_in_plane=50.0, area=50.0)
    bending = section.youngs_modulus * section.inertia_out_of_plane
    twist = section.shear_modulus * section.torsion_constant
    expected = 12 * bending / (RADIUS**3 * (4 + bending / twist))
    assert critical_pressure(48, section) == pytest.approx(expected, rel=5e-4)


def test_ring_buckles_in_plane_under_central_loads() -> None:
    """P: A. P. Boresi 1955, and D: q = 4.5 EI/R^3 for loads that keep pointing at the centre."""
    section = stiffened(inertia_out_of_plane=50.0, torsion_constant=50.0, area=50.0)
    expected = 4.5 * section.youngs_modulus * section.inertia_in_plane / RADIUS**3
    assert critical_pressure(48, section) == pytest.approx(expected, rel=5e-4)


def critical_couple(sign: int, pieces: int, angle: float) -> float:
    """Couple about the axle, + or -, under which an arc held sideways and against twist at its ends goes over."""
    bar = arcs(stiffened(inertia_in_plane=1e4, area=1e4), np.array([angle / pieces]))
    elastic, geometric = (np.zeros((6 * pieces + 6, 6 * pieces + 6)) for _ in range(2))
    for i in range(pieces):
        rows = slice(6 * i, 6 * i + 12)
        elastic[rows, rows] += bar.stiffness[0]
        geometric[rows, rows] += sign * bar.geometric[0, 3]  # a pure moment about the axle is the same in every piece
    last = 6 * pieces
    held = [0, 1, 2, 4, last, last + 2, last + 4]  # lateral, radial, twist; tangential at one end
    free = np.ix_(*[np.setdiff1d(np.arange(last + 6), held)] * 2)
    unit = 1e4
    return unit * dense_factor(elastic[free], unit * geometric[free])


def test_curved_bar_buckles_sideways_under_end_couples() -> None:
    """P (M), Timoshenko & Gere ch. 7: couples on a circular bar of angle a, ends held sideways and against twist.

    M = (EI + GJ)/2R +- sqrt{[(EI - GJ)/2R]^2 + EI GJ (pi/a)^2 / R^2}: couples that open the arc and that close it differ. It
    tests the part of the geometric stiffness that a moment in the rim has.
    """
    angle = math.radians(70)
    bending, twist = BAR.youngs_modulus * BAR.inertia_out_of_plane, BAR.shear_modulus * BAR.torsion_constant
    middle = (bending + twist) / (2 * RADIUS)
    half = math.sqrt(((bending - twist) / (2 * RADIUS)) ** 2 + bending * twist * (math.pi / angle) ** 2 / RADIUS**2)
    assert sorted(critical_couple(sign, 32, angle) for sign in (1, -1)) == pytest.approx(
        [half - middle, half + middle], rel=2e-3
    )


def test_opening_and_closing_couples_are_told_apart() -> None:
    """D: a wrench carried is that on the forward face; about the axle, +, it closes or opens the arc by the hand rule.

    +x turns z toward -y, so the forward end of an arc at the top (y > 0) is lifted: the moment opens the arc.
    """
    bar = arcs(BAR, np.array([0.9]))
    moved = bar.flexibility[0] @ np.array([0, 0, 0, 1.0, 0, 0])
    end = np.linalg.solve(twist_about_centre(RADIUS, np.array(0.45)), moved)
    assert end[RADIAL] > 0
    assert_allclose(moved[[0, 4, 5]], 0, atol=1e-18)
