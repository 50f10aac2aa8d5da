"""A bent rim in a wheel: against closed forms of the ring, statics, and shapes that must come back as they went in."""

import numpy as np
import pytest

from wheelcalc.salvage.bent_rim import BentRim, from_diameters, from_table, saddle
from wheelcalc.tension import balance, targets
from wheelcalc.wheel import lacing
from wheelcalc.wheel.parts import Flange, Hub, Rim, Section, Wire
from wheelcalc.wheel.wheel import Wheel

RADIUS, OFFSET, HUB = 300.0, 30.0, 20.0
SECTION = Section(138.0, 1450.0, 8700.0, 3400.0, 69_000.0, 26_000.0, 2 * RADIUS)


def structure(tension=300.0, holes=36, crosses=0):
    flange = Flange(holes // 2, 2 * HUB, OFFSET, 0.0)
    pattern = lacing.crossed(holes, crosses)
    wheel = Wheel(Rim(holes, 2 * RADIUS), Hub(flange, flange), pattern, Wire())
    tensions = targets.per_spoke(wheel, targets.by_side(wheel, tension))
    rest = balance.at_rest(wheel, tensions)
    return wheel, balance.structure_at(wheel, rest, SECTION)


def bent(lateral_waves=(), radial_waves=(), **keys):
    wheel, solid = structure(**keys)
    angles = solid.node_angles_rad
    lateral = sum((a * np.cos(n * angles + 0.3) for n, a in lateral_waves), np.zeros(len(angles)))
    radial = sum((a * np.cos(n * angles - 0.7) for n, a in radial_waves), np.zeros(len(angles)))
    return wheel, BentRim(solid, lateral, radial)


def test_a_true_rim_needs_nothing():
    _, rim = bent()
    for built in (rim.straight, rim.even):
        assert np.abs(built.changes).max() < 1e-9
        assert built.lateral_run_out < 1e-12


def stiffness_out_of_plane(waves):
    """Sideways load per mm of rim and mm of amplitude that bends a free ring into n waves [N/mm3].

    D from the buckling load of check-values (Timoshenko & Gere, ch. 7): n = 2, load pointing at the centre, q =
    12 EI/[R^3 (4 + EI/GJ)]; such a load gives q (n^2 - 1)/R sideways per amplitude. In general (Timoshenko's ring,
    twist free): EI n^2 (n^2 - 1)^2 / [R^4 (n^2 + EI/GJ)].
    """
    bending = SECTION.youngs_modulus * SECTION.inertia_out_of_plane
    twisting = SECTION.shear_modulus * SECTION.torsion_constant
    n = waves
    return bending * n**2 * (n**2 - 1) ** 2 / (RADIUS**4 * (n**2 + bending / twisting))


def test_the_closed_form_used_here_is_the_published_buckling_load():
    bending = SECTION.youngs_modulus * SECTION.inertia_out_of_plane
    ratio = bending / (SECTION.shear_modulus * SECTION.torsion_constant)
    assert stiffness_out_of_plane(2) * RADIUS / 3 == pytest.approx(12 * bending / (RADIUS**3 * (4 + ratio)))


@pytest.mark.parametrize("waves", [2, 3])
def test_forces_that_hold_a_warped_rim_true(waves):
    amplitude = 0.8
    _, rim = bent([(waves, amplitude)])
    expected = stiffness_out_of_plane(waves) * amplitude * 2 * np.pi * RADIUS / 36
    loads = rim.loads
    assert np.abs(loads[:, 0]).max() == pytest.approx(expected, rel=0.02)
    assert np.abs(loads[:, 1]).max() < 1e-6 * expected
    assert np.abs(loads[:, 3:]).max() < 1e-6 * expected * RADIUS


@pytest.mark.parametrize("waves", [2, 3])
def test_uneven_tension_that_makes_a_warped_rim_run_true(waves):
    amplitude = 0.6
    wheel, rim = bent([(waves, amplitude)])
    built = rim.straight
    assert built.lateral_run_out < 0.1 * 2 * amplitude
    # D, statics: each spoke's sideways share of its change carries the rim's push over its own stretch of rim.
    sideways = stiffness_out_of_plane(waves) * amplitude * 2 * np.pi * RADIUS / 36
    expected = sideways / float(wheel.sideways[0])
    assert np.abs(built.changes).max() == pytest.approx(expected, rel=0.08)
    pulls = built.changes * wheel.sideways * wheel.sign
    assert np.corrcoef(pulls, -rim.lateral)[0, 1] > 0.98  # spokes pull against the bend


@pytest.mark.parametrize("tension", [150.0, 500.0])
def test_even_tension_leaves_a_warped_rim_further_out_than_it_was(tension):
    amplitude = 0.5
    wheel, rim = bent([(2, amplitude)], tension=tension)
    built = rim.even
    assert np.abs(built.changes).max() < 3.0
    load = 36 * tension * float(wheel.inward[0]) / (2 * np.pi * RADIUS)
    critical = stiffness_out_of_plane(2) * RADIUS / 3
    # D: an initial bend grows under compression by 1/(1 - q/q_critical); spokes of this length point nearly at the centre
    assert built.lateral_run_out == pytest.approx(2 * amplitude / (1 - load / critical), rel=0.06)


def test_an_oval_rim_is_held_round_by_radial_forces():
    amplitude = 0.15
    _, rim = bent(radial_waves=[(2, amplitude)])
    # D: in-plane ring, inextensible: EI n^2 ... load per mm = EI (n^2 - 1)^2 / R^4 per amplitude (Timoshenko)
    per_node = SECTION.youngs_modulus * SECTION.inertia_in_plane * 9 / RADIUS**4 * amplitude * 2 * np.pi * RADIUS / 36
    assert np.abs(rim.loads[:, 2]).max() == pytest.approx(per_node, rel=0.03)
    assert rim.straight.radial_run_out < 0.05 * 2 * amplitude


def test_longer_spokes_sit_at_the_high_spots():
    _, rim = bent(radial_waves=[(2, 0.6)], crosses=3)
    for built in (rim.even, rim.straight):
        assert built.longer.shape == (36,)
    even = rim.even
    means = (even.longer[0::2] + even.longer[1::2]) / 2
    spots = (rim.radial[0::2] + rim.radial[1::2]) / 2
    assert np.corrcoef(means, spots)[0, 1] > 0.99
    # Statics: at even tension a spoke is as much longer as the rim stands further out there.
    assert np.ptp(means) == pytest.approx(np.ptp(even.radial[0::2] + even.radial[1::2]) / 2, rel=0.05)


def test_shapes_from_the_table_come_back():
    angles = (np.arange(36) + 0.5) * 2 * np.pi / 36
    shape = 0.7 * np.cos(2 * angles + 0.4) - 0.3 * np.sin(3 * angles)
    holes = list(range(1, 37, 3))
    on_table = shape + 1.9 + 0.2 * np.cos(angles) - 0.4 * np.sin(angles)
    found = from_table(holes, [float(on_table[hole - 1]) for hole in holes], angles, 1.0)
    np.testing.assert_allclose(found, shape, atol=1e-9)
    other = from_table(holes, [float(on_table[hole - 1]) for hole in holes], angles, -1.0)
    np.testing.assert_allclose(other, -shape, atol=1e-9)


@pytest.mark.parametrize(("count", "four"), [(3, 0.0), (4, 0.1)])
def test_shapes_from_diameters_come_back(count, four):
    def radial(at):
        return 0.4 * np.cos(2 * at - 0.8) + four * np.cos(4 * at)

    angles = (np.arange(32) + 0.5) * 2 * np.pi / 32
    ways = np.arange(count) * np.pi / count
    diameters = [float(632 + radial(way) + radial(way + np.pi)) for way in ways]
    np.testing.assert_allclose(from_diameters(diameters, angles), radial(angles), atol=1e-9)


def test_two_diameters_see_one_way_only():
    angles = (np.arange(32) + 0.5) * 2 * np.pi / 32
    found = from_diameters([632.8, 632.0], angles)
    np.testing.assert_allclose(found, 0.2 * np.cos(2 * angles), atol=1e-9)


def test_a_saddle_is_as_high_as_its_gap():
    assert np.ptp(saddle(1.6, np.linspace(0, 2 * np.pi, 721))) == pytest.approx(1.6)
