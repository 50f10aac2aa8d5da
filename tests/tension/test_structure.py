"""The wheel as a structure: laws that any wheel must obey (label D: statics, Maxwell-Betti, symmetry), and its refusals."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from tests.making.uneven_wheels import ALL, RIM, rear, two_missing, uneven
from tests.making.uneven_wheels import wheel as built
from tests.oracles.without_spoke import without_spoke
from wheelcalc.tension import prestress
from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.arc import arcs, frames, gauss_rule
from wheelcalc.tension.ring_blocks import assembled
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.errors import InputError

each_wheel = pytest.mark.parametrize("build", ALL.values(), ids=ALL)
Build = Callable[[], Structure]


def load(wheel: Structure) -> np.ndarray:
    """Forces and moments at three nodes, none along an axis."""
    loads = np.zeros((wheel.node_count, 6))
    loads[2] = 70, -120, -640, 900, -400, 300
    loads[9] = -35, 210, 130, 0, 0, 0
    loads[wheel.node_count - 3] = 20, 0, -75, -500, 250, 800
    return loads


def unstressed(wheel: Structure) -> Structure:
    return replace(wheel, tensions=np.zeros(len(wheel.tensions)))


def tip_motions(wheel: Structure, moved: np.ndarray) -> np.ndarray:
    """Displacements of the rim points in the wheel's axes."""
    axes = frames(wheel.node_angles_rad)
    turned = np.einsum("mij,mkj->mki", axes, moved.reshape(-1, 2, 3))[wheel.spoke_nodes]
    centres = (wheel.radius * axes[..., 2] + np.array([wheel.rim_plane_x, 0, 0]))[wheel.spoke_nodes]
    return turned[:, 0] + np.cross(turned[:, 1], wheel.rim_points - centres)


def resultant(forces: np.ndarray, places: np.ndarray) -> np.ndarray:
    return np.r_[forces.sum(axis=0), np.cross(places, forces).sum(axis=0)]


def spoke_lines(wheel: Structure) -> tuple[np.ndarray, np.ndarray]:
    spans = wheel.hub_points - wheel.rim_points
    lengths = np.linalg.norm(spans, axis=1, keepdims=True)
    return spans / lengths, lengths


@each_wheel
def test_spokes_and_loads_are_in_equilibrium(build: Build) -> None:
    """Statics: the tensions of the spokes in their new directions and places hold the loads in theirs, to first order."""
    wheel = build()
    loads, moved = load(wheel), wheel.displacements(load(wheel))
    lines, lengths = spoke_lines(wheel)
    tips = tip_motions(wheel, moved)
    across = tips - np.sum(tips * lines, axis=1, keepdims=True) * lines
    changed = wheel.tension_changes(loads)[:, None] * lines - wheel.tensions[:, None] * across / lengths
    held = resultant(changed, wheel.rim_points)
    held[3:] += np.cross(tips, wheel.tensions[:, None] * lines).sum(axis=0)
    axes = frames(wheel.node_angles_rad)
    forces, moments = (np.einsum("mij,mj->mi", axes, part) for part in (loads[:, :3], loads[:, 3:]))
    applied = resultant(forces, wheel.radius * axes[..., 2])
    applied[3:] += moments.sum(axis=0)
    assert_allclose(held, -applied, atol=1e-6 * np.abs(applied).max())


@each_wheel
def test_energy_of_spokes_and_rim_is_the_work_of_the_load(build: Build) -> None:
    """Unstressed: the rim's energy by the force method from the forces on it, not from its displacements."""
    wheel = unstressed(build())
    loads = load(wheel)
    work = np.sum(loads * wheel.displacements(loads)) / 2
    changes = wheel.tension_changes(loads)
    stretch = np.sum(changes**2 / wheel.spoke_stiffness) / 2
    axes = frames(wheel.node_angles_rad)
    lines, _ = spoke_lines(wheel)
    on_nodes = np.zeros((wheel.node_count, 6))
    pulls = changes[:, None] * lines
    np.add.at(on_nodes, wheel.spoke_nodes, np.c_[pulls, np.cross(wheel.rim_points, pulls)])
    forces, moments = (np.einsum("mij,mj->mi", axes, part) for part in (loads[:, :3], loads[:, 3:]))
    on_nodes += np.c_[forces, moments + np.cross(wheel.radius * axes[..., 2], forces)]
    spans = np.diff(wheel.node_angles_rad, append=wheel.node_angles_rad[0] + 2 * math.pi)
    flexibility = arcs(wheel.section, spans).flexibility
    carried = prestress.carried(flexibility, wheel.node_angles_rad, spans, on_nodes)
    rim = np.einsum("ki,kij,kj->", carried, flexibility, carried) / 2
    assert stretch + rim == pytest.approx(work, rel=1e-9)


@each_wheel
def test_turning_rim_and_hub_together_meets_no_resistance(build: Build) -> None:
    """D: tangent, arms, and forces and moments in the rim are consistent only if a common turn about any axis costs nothing."""
    wheel = build()
    rigid = prestress.rigid_motions(wheel.radius, wheel.node_angles_rad)[3:]
    lines, lengths = spoke_lines(wheel)
    along = lines[:, :, None] * lines[:, None, :]
    springs = wheel.spoke_stiffness[:, None, None] * along
    springs += (wheel.tensions[:, None] / lengths)[:, :, None] * (np.eye(3) - along)
    axes = frames(wheel.node_angles_rad)[wheel.spoke_nodes]
    arms = wheel.rim_points - wheel.radius * axes[..., 2]
    for axis, motion in enumerate(rigid):
        hub = np.cross(np.eye(3)[axis] / wheel.radius, wheel.hub_points)
        forces = np.einsum("nij,nj->ni", springs, hub)
        from_hub = np.zeros((wheel.node_count, 6))
        local = np.einsum("nji,nkj->nki", axes, np.stack([forces, np.cross(arms, forces)], axis=1)).reshape(-1, 6)
        np.add.at(from_hub, wheel.spoke_nodes, local)
        left = (wheel.stiffness.whole() @ motion).reshape(-1, 6) - from_hub
        assert_allclose(left[:, :3], 0, atol=1e-6)  # N, against 1e5 where a spoke is pulled 1 mm
        assert_allclose(left[:, 3:], 0, atol=1e-4)  # N mm


@each_wheel
def test_shortening_and_loading_are_reciprocal(build: Build) -> None:
    """Maxwell-Betti: the rim's move at i for 1 mm off spoke j is what a force at i takes from spoke j's tension."""
    wheel = build()
    influence = shortening(wheel)
    node = 5
    for component, moved in (("lateral", influence.lateral), ("radial", influence.radial)):
        taken = -wheel.tension_changes(wheel.load_at(node, **{component: 1.0}))
        assert_allclose(moved[node], taken, rtol=1e-9, atol=1e-12)
    assert_allclose(influence.tensions, influence.tensions.T, rtol=1e-8, atol=1e-6)


@each_wheel
def test_shortening_leaves_the_spokes_balanced(build: Build) -> None:
    """Statics, unstressed: what shortening a spoke does to all tensions leaves no force or moment on the rim."""
    wheel = unstressed(build())
    lines, _ = spoke_lines(wheel)
    for change in shortening(wheel).tensions.T:
        left = resultant(change[:, None] * lines, wheel.rim_points)
        assert_allclose(left, 0, atol=1e-6 * np.abs(change).max() * wheel.radius)


def test_shortening_a_short_side_spoke_pulls_its_way() -> None:
    influence = shortening(rear())
    assert influence.lateral[8, 8] > 0  # spoke 8 goes to the right flange
    assert influence.lateral[9, 9] < 0
    assert influence.radial[8, 8] < 0
    assert influence.tensions[8, 8] > 0


@each_wheel
def test_a_broken_spoke_is_a_spoke_let_out(build: Build) -> None:
    """D, superposition: where tension's own stiffness is slight, breaking is lengthening until no tension is left."""
    full = build()
    wheel = replace(full, tensions=full.tensions * 1e-4)
    influence, broken = shortening(wheel), without_spoke(wheel, 7)
    let_out = -wheel.tensions[7] / influence.tensions[7, 7]
    assert_allclose(broken.tensions, wheel.tensions + let_out * influence.tensions[:, 7], atol=1e-4 * wheel.tensions[7])
    assert_allclose(broken.lateral, let_out * influence.lateral[:, 7], atol=1e-3 * np.abs(broken.lateral).max())
    assert_allclose(broken.radial, let_out * influence.radial[:, 7], atol=1e-3 * np.abs(broken.radial).max())
    assert broken.tensions[7] == pytest.approx(0, abs=1e-12)


def test_a_broken_right_spoke_lets_the_rim_go_left() -> None:
    wheel = rear()
    broken = without_spoke(wheel, 10)
    assert broken.lateral[10] < -0.5  # mm, + is right
    assert np.abs(broken.lateral).argmax() == 10
    assert broken.tensions[10] == 0
    assert broken.tensions[[8, 12]].min() > wheel.tensions[8]  # the nearest on its own side take its share


@pytest.mark.parametrize("turn", [0.37, -2.2])
@each_wheel
def test_renumbering_changes_nothing(build: Build, turn: float) -> None:
    """The valve elsewhere, spokes listed in another order."""
    wheel = build()
    order = np.random.default_rng(3).permutation(len(wheel.tensions))
    c, s = math.cos(turn), math.sin(turn)
    turned = np.array([[1, 0, 0], [0, c, s], [0, -s, c]])
    again = Structure(
        wheel.section,
        wheel.node_angles_rad + turn,
        wheel.spoke_nodes[order],
        (wheel.hub_points @ turned.T)[order],
        (wheel.rim_points @ turned.T)[order],
        wheel.spoke_stiffness[order],
        wheel.tensions[order],
    )
    same_answers(again, wheel, order)


@each_wheel
def test_a_mirrored_wheel_is_the_same_wheel(build: Build) -> None:
    """Left and right changed: y and z stay, so do the nodes."""
    wheel = build()
    flip = np.array([-1, 1, 1])
    same_answers(
        replace(wheel, hub_points=wheel.hub_points * flip, rim_points=wheel.rim_points * flip),
        wheel,
        np.arange(len(wheel.tensions)),
    )


def same_answers(one: Structure, other: Structure, order: np.ndarray) -> None:
    assert_allclose(one.lateral_stiffness, other.lateral_stiffness, rtol=1e-8)
    assert_allclose(one.radial_stiffness, other.radial_stiffness, rtol=1e-8)
    assert_allclose(one.tangential_stiffness, other.tangential_stiffness, rtol=1e-8)
    assert one.windup_stiffness == pytest.approx(other.windup_stiffness, rel=1e-8)
    assert one.buckling_factor == pytest.approx(other.buckling_factor, rel=1e-8)
    assert one.rim_shrink == pytest.approx(other.rim_shrink, rel=1e-9)
    assert one.slack_load.load == pytest.approx(other.slack_load.load, rel=1e-8)
    radial = other.load_at(4, radial=-300.0)
    assert_allclose(one.tension_changes(radial), other.tension_changes(radial)[order], atol=1e-6)


def test_the_rim_plane_may_lie_anywhere() -> None:
    wheel = uneven()
    moved = np.array([6.4, 0, 0])
    shifted = replace(wheel, hub_points=wheel.hub_points + moved, rim_points=wheel.rim_points + moved, rim_plane_x=6.4)
    same_answers(shifted, wheel, np.arange(len(wheel.tensions)))


@each_wheel
def test_more_nodes_change_nothing(build: Build) -> None:
    """One element per gap is converged: 0.01 % in stiffness, 0.03 % in buckling, with four times the nodes."""
    wheel = build()
    spans = np.diff(wheel.node_angles_rad, append=wheel.node_angles_rad[0] + 2 * math.pi)
    finer = wheel.with_nodes((wheel.node_angles_rad[:, None] + spans[:, None] * np.array([0.25, 0.5, 0.75])).ravel())
    assert finer.node_count == 4 * wheel.node_count
    assert_allclose(finer.lateral_stiffness[::4], wheel.lateral_stiffness, rtol=1e-4)
    assert_allclose(finer.radial_stiffness[::4], wheel.radial_stiffness, rtol=1e-4)
    assert finer.windup_stiffness == pytest.approx(wheel.windup_stiffness, rel=1e-4)
    assert finer.buckling_factor == pytest.approx(wheel.buckling_factor, rel=3e-4)
    assert finer.rim_shrink == pytest.approx(wheel.rim_shrink, rel=1e-9)


@each_wheel
def test_slack_load_is_where_the_first_spoke_has_no_tension(build: Build) -> None:
    wheel = build()
    found = wheel.slack_load
    left = wheel.tensions + wheel.tension_changes(wheel.load_at(found.node, radial=-found.load))
    assert left[found.spoke] == pytest.approx(0, abs=1e-9 * wheel.tensions.max())
    assert left.min() >= -1e-9 * wheel.tensions.max()
    for node in range(wheel.node_count):
        left = wheel.tensions + wheel.tension_changes(wheel.load_at(node, radial=-found.load))
        assert left.min() > -1e-9 * wheel.tensions.max()


def test_balanced_tensions_leave_nothing_and_change_least() -> None:
    wheel = two_missing()
    pushed = replace(wheel, tensions=wheel.tensions + np.linspace(0, 40, len(wheel.tensions)))
    assert np.abs(pushed.imbalance).max() > 1
    balanced = replace(pushed, tensions=pushed.balanced_tensions())
    assert_allclose(balanced.imbalance, 0, atol=1e-6)
    assert np.linalg.norm(balanced.tensions - pushed.tensions) < np.linalg.norm(wheel.tensions - pushed.tensions)


def test_even_torque_is_a_torque() -> None:
    """D: the forces along the rim add up to the torque, whatever the spacing of the nodes, and leave nothing else."""
    wheel = uneven()
    loads = wheel.even_torque(1234.0)
    axes = frames(wheel.node_angles_rad)
    forces, moments = (np.einsum("mij,mj->mi", axes, part) for part in (loads[:, :3], loads[:, 3:]))
    total = resultant(forces, wheel.radius * axes[..., 2])
    total[3:] += moments.sum(axis=0)
    assert_allclose(total, [0, 0, 0, -1234.0, 0, 0], atol=1e-9)  # forward is from z to y: about -x


def test_driving_stretches_trailing_spokes() -> None:
    """The hub drives the rim forward, so the rim holds it back: a trailing spoke's rim hole lies behind its hub hole."""
    wheel = rear()
    changes = wheel.tension_changes(-wheel.even_torque(20_000.0))
    hub_ahead = np.arange(32) // 2 % 2 == 0
    assert (changes[hub_ahead] > 0).all()
    assert (changes[~hub_ahead] < 0).all()


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(0.2, 1.0), min_size=3, max_size=14),
    st.floats(-3.0, 3.0),
    st.floats(100.0, 350.0),
)
def test_ring_meets_no_resistance_as_a_rigid_body(gaps: list[float], start: float, radius: float) -> None:
    """D: any ring, any spacing (arcs up to 180 degrees), the unstressed rim alone."""
    spans = np.array(gaps) * 2 * math.pi / sum(gaps)
    if spans.max() > math.pi:
        spans = np.full(len(gaps), 2 * math.pi / len(gaps))
    section = replace(RIM, centroid_diameter=2 * radius)
    ring = assembled(arcs(section, spans).stiffness, np.zeros((len(spans), 6, 6))).whole()
    rigid = prestress.rigid_motions(radius, start + np.cumsum(spans) - spans)
    assert_allclose(ring @ rigid.T, 0, atol=1e-9 * np.abs(ring).max())


def test_one_arc_is_two_arcs_joined() -> None:
    """D: stiffness and geometric stiffness of an arc of 50 degrees by condensing two of 20 and 30."""
    whole = arcs(RIM, np.radians([50.0])).stiffness[0]
    first, second = (arcs(RIM, np.radians([span])).stiffness[0] for span in (20.0, 30.0))
    joined = np.zeros((18, 18))
    joined[:12, :12] += first
    joined[6:, 6:] += second
    ends, inner = np.r_[0:6, 12:18], np.r_[6:12]
    kept = joined[np.ix_(ends, ends)]
    kept -= joined[np.ix_(ends, inner)] @ np.linalg.solve(joined[np.ix_(inner, inner)], joined[np.ix_(inner, ends)])
    assert_allclose(whole, kept, atol=1e-9 * np.abs(whole).max())


def test_the_rule_integrates_polynomials() -> None:
    """D: 12 Gauss points are exact to degree 23 from -1 to 1, and from -1 to each point to degree 11."""
    points, weights, running = gauss_rule()
    for degree in range(24):
        assert weights @ points**degree == pytest.approx((1 - (-1) ** (degree + 1)) / (degree + 1), abs=1e-14)
    for degree in range(12):
        expected = (points ** (degree + 1) - (-1) ** (degree + 1)) / (degree + 1)
        assert_allclose(running @ points**degree, expected, atol=1e-13)


def test_a_spoke_gone_takes_its_own_stiffness_with_it() -> None:
    """D: a bar resists along itself with E A / L and across itself with T / L; nothing else changes, at no other node."""
    wheel, spoke = uneven(), 6
    taken = wheel.stiffness.whole() - wheel.stiffness_without(spoke).whole()
    lines, lengths = spoke_lines(wheel)
    along = np.outer(lines[spoke], lines[spoke])
    bar = wheel.spoke_stiffness[spoke] * along + wheel.tensions[spoke] / lengths[spoke] * (np.eye(3) - along)
    axes = frames(wheel.node_angles_rad)[wheel.spoke_nodes[spoke]]
    rows = slice(6 * wheel.spoke_nodes[spoke], 6 * wheel.spoke_nodes[spoke] + 6)
    assert_allclose(taken[rows, rows][:3, :3], axes.T @ bar @ axes, atol=1e-6)
    taken[rows, rows] = 0
    assert not taken.any()


def tilting() -> Structure:
    """Spokes sideways at the top and the bottom hole only, the others in the rim's plane: it may tilt about their line."""
    angles = np.arange(8) * math.pi / 4
    at = np.r_[np.arange(8), 0, 0, 4, 4]
    radius = RIM.centroid_diameter / 2
    rim = radius * frames(angles)[at][..., 2]
    ahead = np.r_[np.where(np.arange(8) % 2, 0.8, -0.8), 0, 0, 0, 0]
    hub = 25.0 * frames(angles[at] + ahead)[..., 2]
    hub[8:, 0] = 31.0, -31.0, 31.0, -31.0
    stiffness = np.r_[np.full(8, 2000.0), 2100.0, 2100.0, 1700.0, 1700.0]
    return Structure(RIM, angles, at, hub, rim, stiffness, np.zeros(12))


def test_where_the_rim_may_tilt_it_is_held_at_the_axis_only() -> None:
    """D, statics without tension: all of a load at the top goes to the spokes there, 2 E A / L times the sine squared."""
    wheel = tilting()
    assert len(wheel.free_motions) == 1
    assert np.linalg.norm(wheel.free_motions) == pytest.approx(1.0)
    sine2 = 31.0**2 / (31.0**2 + (wheel.radius - 25.0) ** 2)
    expected = np.zeros(8)
    expected[[0, 4]] = 4200 * sine2, 3400 * sine2
    assert_allclose(wheel.lateral_stiffness, expected, rtol=1e-9)
    assert wheel.radial_stiffness.min() > 0


@pytest.mark.parametrize("times", [1e-9, 1e9])
def test_loads_of_any_size_move_the_rim_in_proportion(times: float) -> None:
    """The wheel is linear; a load that nothing resists is told by its direction and not by its size."""
    wheel = tilting()
    lateral = wheel.load_at(0, lateral=70.0, tangential=-20.0, radial=-300.0)
    assert_allclose(wheel.displacements(times * lateral), times * wheel.displacements(lateral), rtol=1e-9)
    with pytest.raises(InputError, match=r"^tensions: found none"):
        wheel.displacements(times * wheel.load_at(2, lateral=1.0))


@pytest.mark.parametrize("times", [1e-9, 1e9])
def test_stiff_spokes_and_soft_ones_leave_the_same_motions_free(times: float) -> None:
    wheel = tilting()
    other = replace(wheel, spoke_stiffness=times * wheel.spoke_stiffness)
    assert_allclose(np.abs(other.free_motions), np.abs(wheel.free_motions), atol=1e-9)
    assert len(replace(rear(), spoke_stiffness=times * rear().spoke_stiffness).free_motions) == 0


def turned(wheel: Structure, by: float) -> Structure:
    """The same wheel with the valve elsewhere."""
    c, s = math.cos(by), math.sin(by)
    way = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    return replace(
        wheel,
        node_angles_rad=wheel.node_angles_rad + by,
        hub_points=wheel.hub_points @ way,
        rim_points=wheel.rim_points @ way,
    )


def hung(spokes: int) -> Structure:
    """A rim on so few skew spokes that it may move along and turn at once."""
    angles = np.arange(5) * 1.2 + 0.3
    at = np.arange(spokes)
    rim = 290.0 * frames(angles)[at][..., 2] + np.array([4.0, 0.0, 0.0])
    hub = np.array([[31.0, 12.0, -7.0], [-27.0, -9.0, 15.0], [22.0, 5.0, 18.0], [-33.0, 16.0, 3.0]])[:spokes]
    return Structure(RIM, angles, at, hub, rim, 1500.0 + 400.0 * at, np.zeros(spokes))


HUNG = {"1": hung(1), "2": hung(2), "4": hung(4), "tilting": turned(tilting(), 0.37)}


@pytest.mark.parametrize("times", [1e-9, 1.0, 1e9])
@pytest.mark.parametrize("wheel", HUNG.values(), ids=HUNG)
def test_free_motions_stretch_no_spoke(wheel: Structure, times: float) -> None:
    """By their definition; as many as the spokes leave of six, each of unit size and none another's repetition."""
    motions = replace(wheel, spoke_stiffness=times * wheel.spoke_stiffness).free_motions
    assert len(motions) == (1 if len(wheel.tensions) == 12 else 6 - len(wheel.tensions))
    assert_allclose(wheel.stretched(motions.reshape(len(motions), -1, 6)), 0, atol=1e-9 * wheel.spoke_stiffness.max())
    assert_allclose(np.linalg.norm(motions, axis=1), 1)
    assert np.linalg.matrix_rank(motions) == len(motions)
    ring = assembled(wheel.arcs.stiffness, np.zeros((wheel.node_count, 6, 6))).whole()
    assert_allclose(ring @ motions.T, 0, atol=1e-9 * np.abs(ring).max())


def test_a_resultant_is_taken_off_evenly_along_the_rim() -> None:
    """D: each node takes half of the arcs before and behind it, of the whole turn; what is left carries the same."""
    angles = np.array([0.2, 0.9, 2.4, 3.1, 5.0])
    spans = np.array([0.7, 1.5, 0.7, 1.9, 2 * math.pi - 4.8])
    loads = np.random.default_rng(2).normal(size=(5, 6)) * [70, 70, 70, 9000, 9000, 9000]
    before = np.array([2 * math.pi - 4.8, 0.7, 1.5, 0.7, 1.9])
    even = loads - np.outer((spans + before) / 2 / (2 * math.pi), loads.sum(axis=0))
    assert_allclose(even.sum(axis=0), 0, atol=1e-9)
    flexibility = arcs(RIM, spans).flexibility
    found = prestress.carried(flexibility, angles, spans, loads)
    assert_allclose(found, prestress.carried(flexibility, angles, spans, even), rtol=1e-9, atol=1e-9)
    assert np.abs(found - prestress.carried(flexibility, angles, spans, 0 * loads)).max() > 1
    # past a node the wrench drops by what is left of the node's load
    axes = prestress.wrench_frames(angles + spans / 2)
    along = np.einsum("kij,kj->ki", axes, found)
    assert_allclose(np.roll(along, 1, axis=0) - along, even, atol=1e-8)


@pytest.mark.parametrize("pcd", [43.7, 118.3, 212.9, 331.1])
def test_balancing_an_even_radial_wheel_changes_no_tension(pcd: float) -> None:
    """No spoke of it has a torque about the axle, so what round-off leaves of one must change nothing."""
    i = np.arange(14)
    sides = np.where(i % 2 == 0, 1, -1)
    even = built(
        i * 180 / 7 + 90 / 7,
        sides,
        np.full(14, 360.0),
        (27.0, 27.0),
        np.full(14, 2.0),
        np.full(14, 910.0),
        flange_radii=(pcd / 2, pcd / 2),
    )
    assert_allclose(even.tensions, 910.0, rtol=1e-9)


def test_a_load_is_what_it_is_named() -> None:
    wheel = uneven()
    assert np.flatnonzero(wheel.load_at(3, lateral=2.0)).tolist() == [18]
    assert np.flatnonzero(wheel.load_at(3, tangential=2.0)).tolist() == [19]
    assert np.flatnonzero(wheel.load_at(3, radial=2.0)).tolist() == [20]
    assert wheel.load_at(3, 5.0, -6.0, 7.5)[3].tolist() == [5.0, -6.0, 7.5, 0.0, 0.0, 0.0]
    assert_allclose(wheel.even_torque(), wheel.even_torque(250.0) / 250)


def test_nodes_may_be_named_by_any_turn() -> None:
    """D: an angle is the same a turn further on or back."""
    wheel = uneven()
    plain = wheel.with_nodes([0.31, 3.3])
    for again in (wheel.with_nodes([0.31 + 2 * math.pi, 3.3 - 4 * math.pi]), wheel.with_nodes(np.array([3.3, 0.31]))):
        assert_allclose(again.node_angles_rad, plain.node_angles_rad)
        assert again.spoke_nodes.tolist() == plain.spoke_nodes.tolist()
        assert again.windup_stiffness == pytest.approx(plain.windup_stiffness)
    before = wheel.with_nodes([wheel.node_angles_rad[0] - 0.02])
    assert before.spoke_nodes.tolist() == wheel.spoke_nodes.tolist()
    assert before.node_angles_rad[-1] == pytest.approx(wheel.node_angles_rad[0] - 0.02 + 2 * math.pi)
    assert wheel.with_nodes(np.array([2])).node_angles_rad[-1] == wheel.node_angles_rad[-1]


BAD = {
    "tensions": ({"tensions": np.full(20, -3.0)}, "^tensions: found -3 N; a spoke cannot push"),
    "not a number": ({"tensions": np.full(20, np.nan)}, r"^tensions: found shape \(20,\); 20 spokes"),
    "shape": ({"rim_points": np.zeros((20, 2))}, r"^rim_points: found shape \(20, 2\)"),
    "hub": ({"hub_points": np.zeros((19, 3))}, r"^hub_points: found shape \(19, 3\); 20 spokes"),
    "hub not finite": ({"hub_points": np.full((20, 3), np.inf)}, r"^hub_points: found shape \(20, 3\)"),
    "stiffnesses": ({"spoke_stiffness": np.full(21, 2.0)}, r"^spoke_stiffness: found shape \(21,\)"),
    "stiffness": ({"spoke_stiffness": np.zeros(20)}, "^spoke_stiffness: found 0 N/mm; a spoke's stiffness is above 0"),
    "two nodes": ({"node_angles_rad": np.array([0.0, 3.0])}, r"^node_angles_rad: found shape \(2,\); .* at least 3"),
    "table of nodes": ({"node_angles_rad": np.zeros((4, 5))}, r"^node_angles_rad: found shape \(4, 5\)"),
    "no angle": ({"node_angles_rad": np.full(20, np.nan)}, r"^node_angles_rad: found shape \(20,\)"),
    "order": ({"node_angles_rad": np.linspace(6, 0, 20)}, "^node_angles_rad: .* increase within one turn"),
    "same twice": ({"node_angles_rad": np.r_[0, np.linspace(0, 6, 19)]}, "^node_angles_rad: .* increase within"),
    "gap": ({"node_angles_rad": np.linspace(0, 3, 20)}, "^node_angles_rad: .* no gap above half a turn"),
    "no such node": ({"spoke_nodes": np.arange(1, 21)}, "^spoke_nodes: each spoke needs a node from 0 to 19"),
    "node below 0": ({"spoke_nodes": np.arange(-1, 19)}, "^spoke_nodes: each spoke needs a node from 0 to 19"),
    "no length": ({"rim_points": uneven().hub_points}, "^rim_points: a spoke's rim point lies on its hub point"),
}


@pytest.mark.parametrize(("change", "said"), BAD.values(), ids=BAD)
def test_what_is_no_wheel_is_refused(change: dict[str, np.ndarray], said: str) -> None:
    with pytest.raises(InputError, match=said):
        replace(uneven(), **change)


def test_one_bad_spoke_is_enough_to_refuse() -> None:
    for name, value in (("tensions", -1.0), ("spoke_stiffness", 0.0), ("tensions", np.nan)):
        values = getattr(uneven(), name).copy()
        values[13] = value
        with pytest.raises(InputError, match=f"^{name}: "):
            replace(uneven(), **{name: values})
    rim = uneven().rim_points.copy()
    rim[13] = uneven().hub_points[13]
    with pytest.raises(InputError, match=r"^rim_points: "):
        replace(uneven(), rim_points=rim)


def test_a_wheel_without_spokes_is_none() -> None:
    none = {name: getattr(uneven(), name)[:0] for name in ("spoke_nodes", "spoke_stiffness", "tensions", "end_give")}
    with pytest.raises(InputError, match=r"^spoke_nodes: each spoke needs a node from 0 to 19"):
        replace(uneven(), hub_points=np.zeros((0, 3)), rim_points=np.zeros((0, 3)), **none)


def test_the_least_that_is_a_wheel() -> None:
    """Three nodes, one gap of half a turn, one soft and short spoke without tension."""
    angles = np.array([0.0, 2.0, math.pi])
    hub, rim = np.array([[0.0, 0.0, 299.5]]), np.array([[0.0, 0.0, 300.0]])
    least = Structure(RIM, angles, np.array([0]), hub, rim, np.array([0.5]), np.array([0.0]))
    assert least.node_count == 3
    assert len(least.free_motions) == 5


def test_node_numbers_may_come_from_a_table_of_decimals() -> None:
    wheel = uneven()
    again = replace(wheel, spoke_nodes=wheel.spoke_nodes.astype(float))
    assert_allclose(again.radial_stiffness, wheel.radial_stiffness, rtol=0)


@pytest.mark.parametrize("spoke", [-1, 20])
def test_a_spoke_that_is_not_there_cannot_break(spoke: int) -> None:
    with pytest.raises(InputError, match=f"^spoke: found {spoke}; this wheel's spokes are 0 to 19"):
        without_spoke(uneven(), spoke)


def test_the_first_spoke_and_the_last_can_break() -> None:
    for spoke in (0, 19):
        broken = without_spoke(uneven(), spoke)
        assert np.abs(broken.lateral).argmax() == uneven().spoke_nodes[spoke]
        assert broken.tensions[spoke] == 0
