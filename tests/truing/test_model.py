"""The linear model of a wheel: its parts by their definitions, a bent rim by the closed forms of a free ring (D)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.making.uneven_wheels import RIM, rear, two_missing, two_to_one
from wheelcalc.tension.arc import LATERAL, RADIAL, TANGENTIAL, arcs
from wheelcalc.tension.ring_blocks import assembled
from wheelcalc.tension.structure import Structure
from wheelcalc.truing.model import Model


def shifted(structure: Structure, by: float) -> Structure:
    """The same wheel with its rim off the middle."""
    way = np.array([by, 0.0, 0.0])
    return replace(
        structure, hub_points=structure.hub_points + way, rim_points=structure.rim_points + way, rim_plane_x=by
    )


@pytest.fixture(scope="module")
def model() -> Model:
    """36 holes, two of them empty, radial left, the rim 1.3 right of the middle."""
    structure = shifted(two_missing(), 1.3)
    return Model(structure, structure.hub_points[:, 0] > 0)


def test_a_state_is_places_and_then_tensions(model: Model) -> None:
    structure = model.structure
    assert (model.nodes, model.spokes, len(model.true)) == (36, 34, 36 + 36 + 34)
    assert_allclose(model.true[model.lateral], np.full(36, 1.3))
    assert_allclose(model.true[model.radial], np.zeros(36))
    assert_allclose(model.true[model.tension], structure.tensions)
    left, right = model.sides
    assert (left.sum(), right.sum()) == (17, 17)
    assert np.array_equal(right, structure.hub_points[:, 0] > 0)
    assert np.array_equal(left, ~right)


def test_a_column_is_what_a_shorter_spoke_does(model: Model) -> None:
    """D: a spoke whose rim end is held and that is 1 mm shorter has E A / L more; what it pulls moves the rim."""
    structure, spoke = model.structure, 11
    loads = np.zeros((36, 6))
    loads[structure.spoke_nodes[spoke]] = structure.spoke_stiffness[spoke] * structure.pulls[spoke]
    moved, column = structure.displacements(loads), model.by_spoke[:, spoke]
    assert_allclose(column[model.lateral], moved[:, LATERAL], atol=1e-9)
    assert_allclose(column[model.radial], moved[:, RADIAL], atol=1e-9)
    changes = structure.stretched(moved)
    changes[spoke] += structure.spoke_stiffness[spoke]
    assert_allclose(column[model.tension], changes, atol=1e-6)


def test_dish_and_level_do_what_they_are_named_for(model: Model) -> None:
    for lengths, moves, adds in zip(model.dish_and_level, (1.0, 0.0), (0.0, 1.0), strict=True):
        change = model.by_spoke @ lengths
        assert change[model.lateral].mean() == pytest.approx(moves, abs=1e-9)
        assert change[model.tension].mean() == pytest.approx(adds, abs=1e-9)
        for side in model.sides:
            assert np.ptp(lengths[side]) == 0


@pytest.mark.parametrize(
    ("build", "most"), [(rear, 15), (two_missing, 17), (two_to_one, 11)], ids=["32", "36", "24 holes"]
)
def test_ways_of_bending_have_fewer_waves_than_half_the_holes(build: object, most: int) -> None:
    """Meaning: more than two and fewer than half of the nodes, all that readings there tell; cosine and sine, sideways and in plane."""
    waves, lateral = Model(build(), np.ones(1, dtype=bool)).bends  # type: ignore[operator]
    assert waves.tolist() == sorted(4 * list(range(2, most + 1)))
    for n in range(2, most + 1):
        assert lateral[waves == n].tolist() == [True, True, False, False]


def test_few_holes_still_bend_with_two_waves() -> None:
    structure = rear()
    angles = np.linspace(0, 2 * np.pi, 7)[:-1] + 0.2
    hub, rim = structure.hub_points[:6], structure.rim_points[:6]
    few = Structure(RIM, angles, np.arange(6), hub, rim, structure.spoke_stiffness[:6], np.ones(6))
    assert Model(few, np.ones(6, dtype=bool)).bends[0].tolist() == [2, 2, 2, 2]


def ring(structure: Structure) -> np.ndarray:
    """Stiffness of the free rim alone."""
    spans = np.diff(structure.node_angles_rad, append=structure.node_angles_rad[0] + 2 * np.pi)
    return assembled(arcs(structure.section, spans).stiffness, np.zeros((structure.node_count, 6, 6))).whole()


@pytest.mark.parametrize("waves", [2, 3])
def test_a_bent_rim_has_the_energy_of_a_bent_ring(waves: int) -> None:
    """D, a free ring, u = cos(n a): in plane without stretch pi EI (n2 - 1)^2 / R^3; sideways without twist of the section.

    Sideways, with the section upright: curvature -n2 u / R2 and twist n u / R2 give pi (EI n^4 + GJ n^2) / R^3.
    Here the rim's holes follow the shape exactly and the arcs between them nearly do.
    """
    structure = rear().with_nodes(np.arange(288) * 2 * np.pi / 288 + 0.003)
    model, section, radius = Model(structure, np.ones(1, dtype=bool)), structure.section, structure.radius
    stiffness = ring(structure)
    e, g = section.youngs_modulus, section.shear_modulus
    in_plane = np.pi * e * section.inertia_in_plane * (waves**2 - 1) ** 2 / radius**3
    sideways = e * section.inertia_out_of_plane * waves**4 + g * section.torsion_constant * waves**2
    for number in np.flatnonzero(model.bends[0] == waves):
        shape = model.free_bends[:, number]
        expected = np.pi * sideways / radius**3 if model.bends[1][number] else in_plane
        assert shape @ stiffness @ shape == pytest.approx(expected, rel=0.01)


def test_cosine_and_sine_of_a_bend_and_nothing_else(model: Model) -> None:
    """D: 1 mm high, cosine first; in plane the rim is not stretched: it moves along by -sin(n a) / n."""
    angles, radius = model.structure.node_angles_rad, model.structure.radius
    shapes = model.free_bends.reshape(36, 6, -1)
    for n in (2, 5):
        cosine, sine, out, out_sine = np.flatnonzero(model.bends[0] == n)
        c, s = np.cos(n * angles), np.sin(n * angles)
        for number, height, slope in ((cosine, c, -n * s), (sine, s, n * c)):
            assert_allclose(shapes[:, LATERAL, number], height, atol=1e-12)
            assert_allclose(shapes[:, 3 + RADIAL, number], -slope / radius, atol=1e-12)
            assert not shapes[:, [TANGENTIAL, RADIAL, 3 + LATERAL, 3 + TANGENTIAL], number].any()
        for number, height, slope in ((out, c, -n * s), (out_sine, s, n * c)):
            assert_allclose(shapes[:, RADIAL, number], height, atol=1e-12)
            assert_allclose(shapes[:, TANGENTIAL, number], slope / n**2, atol=1e-12)
            assert_allclose(shapes[:, 3 + LATERAL, number], (slope - slope / n**2) / radius, atol=1e-12)
            assert not shapes[:, [LATERAL, 3 + TANGENTIAL, 3 + RADIAL], number].any()


def test_a_bent_rim_without_spokes_worth_the_name_keeps_its_shape(model: Model) -> None:
    """D: where the spokes hardly resist, the wheel takes the free rim's shape, but for motions as a rigid body."""
    count = len(model.structure.tensions)
    soft = replace(model.structure, spoke_stiffness=np.full(count, 1e-4), tensions=np.full(count, 1e-4))
    loose = Model(soft, model.is_right)
    for number in (0, 3, 4, 7):
        free = loose.free_bends.reshape(36, 6, -1)[:, :, number]
        for part, component in ((loose.lateral, LATERAL), (loose.radial, RADIAL)):
            found, wanted = (np.fft.rfft(shape) / 18 for shape in (loose.by_bend[part, number], free[:, component]))
            assert_allclose(found[2:], wanted[2:], atol=2e-3)  # fewer than two waves are motions as a rigid body


@pytest.mark.parametrize("number", [0, 2, 9, 11])
def test_a_bent_rim_pulls_its_spokes_by_virtual_work(model: Model, number: int) -> None:
    """D, statics: what the bend changes of the tensions holds the rim as its own springing back pushes it.

    Maxwell-Betti: the work of the rim's springing back on the motions that shortening a spoke makes is that spoke's tension.
    """
    structure = model.structure
    pushes = ring(structure) @ model.free_bends[:, number]
    for spoke in (3, 16):
        loads = np.zeros((36, 6))
        loads[structure.spoke_nodes[spoke]] = structure.pulls[spoke]
        moved = structure.displacements(loads).reshape(-1)
        expected = -structure.spoke_stiffness[spoke] * (pushes @ moved)
        assert model.by_bend[model.tension, number][spoke] == pytest.approx(expected, rel=1e-8)


def test_the_parts_of_a_state_follow_each_other(model: Model) -> None:
    """By hand: 36 places, 36 again, 34 tensions."""
    assert (model.lateral, model.radial, model.tension) == (slice(0, 36), slice(36, 72), slice(72, 106))
