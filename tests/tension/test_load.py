"""What riding does to the spokes, against statics (D)."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.making.builds import with_keys
from wheelcalc.files.buildfile import build_of
from wheelcalc.measuring import assemble
from wheelcalc.tension import balance, load, targets
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.parts import Section
from wheelcalc.wheel.wheel import Wheel

SECTION = Section(112, 2150, 9300, 2700, 69e3, 26e3, 593.7)


def built(tension: float = 1130.0) -> tuple[Wheel, Structure]:
    wheel = assemble.wheel(build_of(with_keys(), "build").build)
    rest = balance.at_rest(wheel, targets.per_spoke(wheel, targets.by_side(wheel, tension)))
    return wheel, balance.structure_at(wheel, rest, SECTION)


def test_weight_on_a_wheel() -> None:
    """D: 0.55 x 98.3 kg x 9.80665 m/s2."""
    assert load.weight_on(85_200.0, 13_100.0, 0.55) == pytest.approx(530.20, abs=0.01)


def test_the_load_that_slackens_leaves_a_spoke_nothing() -> None:
    _, structure = built()
    slack = structure.slack_load
    found = load.standing(structure, slack.load, load.weakest_node(structure))
    assert (found.load, found.node) == (slack.load, load.weakest_node(structure))
    assert found.tensions.min() == pytest.approx(0.0, abs=1e-6)
    assert found.lost == pytest.approx(structure.tensions[found.weakest])
    half = load.standing(structure, slack.load / 2, found.node)
    assert half.tensions[found.weakest] == pytest.approx(structure.tensions[found.weakest] / 2)


def test_beyond_it_a_slack_spoke_does_not_push() -> None:
    _, structure = built()
    found = load.standing(structure, 1.7 * structure.slack_load.load, load.weakest_node(structure))
    assert found.tensions.min() == 0.0
    assert found.lost == pytest.approx(1.7 * structure.tensions[found.weakest])


def test_the_spokes_carry_the_load_between_them() -> None:
    """D: without tension the changes of the spokes' pulls balance the load exactly."""
    wheel, structure = built()
    bare = dataclasses.replace(structure, tensions=np.zeros(len(structure.tensions)))
    changes = bare.tension_changes(bare.load_at(9, radial=-613.0))
    spans = wheel.hub_points - wheel.rim_points
    pulls = changes[:, None] * spans / np.linalg.norm(spans, axis=1)[:, None]
    angle = structure.node_angles_rad[9]
    expected = 613.0 * np.array([0.0, np.sin(angle), np.cos(angle)])
    assert pulls.sum(axis=0) == pytest.approx(expected, abs=1e-6)


def test_the_weakest_hole_is_as_weak_as_any_and_near_the_road() -> None:
    _, structure = built()
    node = load.weakest_node(structure)
    least = structure.slack_loads.min(axis=1)
    assert least[node] == pytest.approx(least.min(), rel=1e-6)
    assert abs(structure.node_angles_rad[node] - np.pi) < np.pi / 2


def test_where_slack_spokes_make_all_holes_alike_the_road_counts() -> None:
    """D: without tension no load is needed to slacken a spoke anywhere; of 32 holes two lie 5.625 degrees off the road."""
    _, structure = built()
    bare = dataclasses.replace(structure, tensions=np.zeros(32))
    assert abs(np.degrees(structure.node_angles_rad[load.weakest_node(bare)]) - 180) == pytest.approx(5.625)


@pytest.mark.parametrize("share", [0.05, 0.4, 1.6])
def test_any_load_is_nearest_to_slackening_the_same_spoke(share: float) -> None:
    """D: linear, so the share of its own tension that a spoke loses grows with the load alone, least load or most."""
    _, structure = built()
    for node in (3, 14, 15):
        least = structure.slack_loads[node]
        assert load.standing(structure, share * least.min(), node).weakest == int(np.argmin(least))


def test_driving_stretches_the_trailing_spokes() -> None:
    """The words' own meaning; D: without tension the changes' moment about the axle is the torque."""
    wheel, structure = built()
    bare = dataclasses.replace(structure, tensions=np.zeros(len(structure.tensions)))
    torque = 87_000.0
    changes = load.turning(bare, torque)
    assert changes[wheel.lacing.lean == 1].min() > 0
    assert changes[wheel.lacing.lean == -1].max() < 0
    spans = wheel.hub_points - wheel.rim_points
    pulls = changes[:, None] * spans / np.linalg.norm(spans, axis=1)[:, None]
    # Torque of the spokes on the rim, + forward: angles grow from z toward y, so about -x.
    forward = -np.cross(wheel.rim_points, pulls)[:, 0].sum()
    assert forward == pytest.approx(torque, rel=1e-9)
    assert load.turning(bare, -torque) == pytest.approx(-changes)


def test_torques() -> None:
    """D: 83 kg x 9.80665 x 0.1725 m x 1.1 = 154.4 N m; 0.5 x 97 kg x 9.80665 x 0.341 m = 162.2 N m."""
    assert load.pedal_torque(83_000.0, 172.5, 1.1) == pytest.approx(154_448, abs=1)
    assert load.braking_torque(83_000.0, 14_000.0, 0.5, 341.0) == pytest.approx(162_187, abs=1)
