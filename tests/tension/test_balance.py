"""Tensions that leave the rim at rest, on wheels of every kind; statics is the outside value (D)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from scipy.linalg import null_space

from tests.making.builds import with_keys
from tests.making.strategies import wheels
from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.files.buildfile import build_of
from wheelcalc.measuring import assemble
from wheelcalc.tension import balance, targets
from wheelcalc.wheel.parts import Section

SECTION = Section(112, 2150, 9300, 2700, 69e3, 26e3, 607.4)


def left_over(wheel: Wheel, rest: balance.Rest) -> np.ndarray:
    """Force [N] and moment [N mm] on the rim about its centre, spoke by spoke."""
    spans = rest.hub_points - wheel.rim_points
    pulls = rest.tensions[:, None] * spans / np.linalg.norm(spans, axis=1)[:, None]
    arms = wheel.rim_points - [wheel.rim_shift, 0, 0]
    return np.concatenate([pulls.sum(axis=0), np.cross(arms, pulls).sum(axis=0) / 300])


def aimed(wheel: Wheel, tighter: float = 1130.0) -> np.ndarray:
    return targets.per_spoke(wheel, targets.by_side(wheel, tighter))


@given(wheels())
def test_nothing_is_left_over(wheel: Wheel) -> None:
    if targets.ratio_left_to_right(wheel) is None:
        return
    assert left_over(wheel, balance.at_rest(wheel, aimed(wheel))) == pytest.approx(np.zeros(6), abs=1e-6)


def test_an_even_pattern_keeps_its_targets() -> None:
    wheel = assemble.wheel(build_of(with_keys(), "build").build)
    rest = balance.at_rest(wheel, aimed(wheel))
    assert rest.tensions == pytest.approx(aimed(wheel), rel=1e-9)
    assert rest.hub_points == pytest.approx(wheel.hub_points)


def test_uneven_wishes_are_changed_least() -> None:
    """D (scipy.linalg.null_space): tensions at rest are a space of their own; nearest in it is the wish's projection."""
    wheel = assemble.wheel(build_of(with_keys(), "build").build)
    wanted = aimed(wheel) + np.random.default_rng(5).normal(0, 70, 32)
    spans = wheel.hub_points - wheel.rim_points
    pulls = spans / np.linalg.norm(spans, axis=1)[:, None]
    at_rest = null_space(np.vstack([pulls.T, np.cross(wheel.rim_points, pulls).T / 300]))
    rest = balance.at_rest(wheel, wanted)
    assert rest.tensions == pytest.approx(at_rest @ (at_rest.T @ wanted), rel=1e-9)
    assert rest.hub_points == pytest.approx(wheel.hub_points)


@pytest.mark.parametrize("pcd", [43.7, 118.3, 212.9, 331.1])
def test_an_even_radial_pattern_keeps_its_targets(pcd: float) -> None:
    """No spoke of it has a torque about the axle, so what round-off leaves of one must change no tension."""
    hub = Hub(Flange(7, pcd, 31.2), Flange(7, 1.1 * pcd, 22.7))
    for first in ("left", "right"):
        wheel = Wheel(Rim(14, 551.0, first_hole=first), hub, lacing.radial(14, first))
        assert balance.at_rest(wheel, aimed(wheel)).tensions == pytest.approx(aimed(wheel), rel=1e-9)


def test_a_radial_hub_with_facing_holes_turns_to_its_rest() -> None:
    """D: the sides' torques cancel where T_right sin(a) = T_left sin(b), a + b being the half pitch between them."""
    hub = Hub(Flange(14, 42.0, 33.5), Flange(14, 42.0, 19.5), phase="aligned")
    wheel = Wheel(Rim(28, 596.0, hole_offset=-1.7, hole_stagger=0.9), hub, lacing.radial(28, phase="aligned"))
    rest = balance.at_rest(wheel, aimed(wheel))
    assert left_over(wheel, rest) == pytest.approx(np.zeros(6), abs=1e-6)
    assert rest.tensions.min() > 500
    assert rest.tensions.max() == pytest.approx(1130.0)
    turned = np.degrees(np.arctan2(rest.hub_points[:, 1], rest.hub_points[:, 2])) - wheel.lacing.hub_angle_deg
    turned = (turned + 180) % 360 - 180
    assert turned == pytest.approx(np.full(28, turned[0]))
    lead = np.radians(wheel.lacing.angle_deg + turned)
    levers = rest.tensions * np.sin(lead) / np.linalg.norm(rest.hub_points - wheel.rim_points, axis=1)
    assert levers.sum() == pytest.approx(0.0, abs=1e-9)
    assert 1 < abs(turned[0]) < 6.5


def test_the_structure_stands_as_the_wheel_does() -> None:
    """Empty rim holes are nodes too; the rim's plane moves with the frame's."""
    tree = with_keys(rim__holes=36, lacing__pattern="uneven counts", lacing__crosses=2, frame__wheel_offset=1.5)
    wheel = assemble.wheel(build_of(tree, "build").build)
    rest = balance.at_rest(wheel, aimed(wheel))
    structure = balance.structure_at(wheel, rest, SECTION)
    assert structure.node_count == 36
    assert len(structure.tensions) == len(wheel.lacing) == 32
    assert structure.imbalance == pytest.approx(np.zeros(6), abs=1e-5)
    angles = np.degrees(structure.node_angles_rad[structure.spoke_nodes])
    assert angles == pytest.approx(wheel.lacing.rim_angle_deg)
    assert np.diff(structure.tensions).any()


def test_the_structure_has_the_wheels_spokes_and_plane() -> None:
    """D: plain steel wire resists with E A / L; rim holes lie off the rim's plane by their own offset alone."""
    tree = with_keys(rim__hole_offset=-2.3, frame__wheel_offset=1.5, spokes__wire=1.8)
    wheel = assemble.wheel(build_of(tree, "build").build)
    structure = balance.structure_at(wheel, balance.at_rest(wheel, aimed(wheel)), SECTION)
    lengths = np.linalg.norm(structure.hub_points - structure.rim_points, axis=1)
    assert structure.spoke_stiffness * lengths == pytest.approx(np.full(32, 200e3 * np.pi / 4 * 1.8**2), rel=1e-6)
    assert (structure.rim_points[:, 0] - structure.rim_plane_x).mean() == pytest.approx(-2.3)
    assert structure.rim_plane_x == pytest.approx(1.5)
