"""Tensions that leave the rim at rest, on wheels of every kind; statics is the outside value (D)."""

from __future__ import annotations

import numpy as np
import pytest
from builds import with_keys
from hypothesis import given
from strategies import wheels

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
    wheel = assemble.wheel(build_of(with_keys(), "build").dimensions)
    rest = balance.at_rest(wheel, aimed(wheel))
    assert rest.tensions == pytest.approx(aimed(wheel), rel=1e-9)
    assert rest.hub_points == pytest.approx(wheel.hub_points)


def test_a_radial_hub_with_facing_holes_turns_to_its_rest() -> None:
    """D: the sides' torques cancel where T_right sin(a) = T_left sin(b), a + b being the half pitch between them."""
    hub = Hub(Flange(14, 42.0, 33.5), Flange(14, 42.0, 19.5), phase="aligned")
    wheel = Wheel(Rim(28, 596.0), hub, lacing.radial(28, phase="aligned"))
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
    wheel = assemble.wheel(build_of(tree, "build").dimensions)
    rest = balance.at_rest(wheel, aimed(wheel))
    structure = balance.structure_at(wheel, rest, SECTION)
    assert structure.node_count == 36
    assert len(structure.tensions) == len(wheel.lacing) == 32
    assert structure.imbalance == pytest.approx(np.zeros(6), abs=1e-5)
    angles = np.degrees(structure.node_angles_rad[structure.spoke_nodes])
    assert angles == pytest.approx(wheel.lacing.rim_angle_deg)
    assert np.diff(structure.tensions).any()
