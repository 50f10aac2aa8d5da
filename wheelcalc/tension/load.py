"""What riding does to the spokes: the rider's share on the bottom spokes, and the torque of driving and braking."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.wheel import give
from wheelcalc.wheel.wheel import Wheel

if TYPE_CHECKING:
    from wheelcalc.tension.structure import Structure

# P: 9.80665 m/s2, standard acceleration of gravity (3rd CGPM, 1901).
GRAVITY = 9.80665  # m/s2
SAME = 1e-6  # of the least load: nodes this alike are equally weak
OPPOSITE_VALVE = np.pi  # rad


class Standing(NamedTuple):
    """A wheel under a load that presses its rim inward at one hole.

    Parameters
    ----------
    load : [N]
    node : where it presses, from 0
    tensions : of all spokes, (n,) [N]; 0 where a spoke would go slack
    weakest : spoke with the least tension left over its own, from 0
    lost : tension that spoke has lost [N]
    """

    load: float
    node: int
    tensions: Floats
    weakest: int
    lost: float


def weight_on(rider: float, bike: float, share: float) -> float:
    """Load on a wheel [N] from the masses of rider and bike [g] and the wheel's share of them."""
    return share * (rider + bike) / 1000 * GRAVITY


def weakest_node(structure: Structure) -> int:
    """Rim node at which the least load slackens a spoke; of equal ones the nearest to the valve's opposite."""
    least = structure.slack_loads.min(axis=1)
    equal = np.flatnonzero(least <= (1 + SAME) * least.min())
    return int(equal[np.argmin(np.abs(structure.node_angles_rad[equal] - OPPOSITE_VALVE))])


def standing(structure: Structure, load: float, node: int) -> Standing:
    """The wheel under an inward radial load on the rim's centroid at a node, the hub held.

    Parameters
    ----------
    structure : the tensioned wheel
    load : [N]
    node : where it presses, from 0

    Notes
    -----
    Linear: beyond the load that slackens the first spoke the others lose more than this says. The tyre spreads the load
    over neighbouring holes, which is neglected and lies on the safe side.
    """
    changes = structure.tension_changes(structure.load_at(node, radial=-load))
    left = structure.tensions + changes
    weakest = int(np.argmin(left / np.maximum(structure.tensions, np.finfo(float).tiny)))
    return Standing(load, node, np.maximum(left, 0.0), weakest, float(-changes[weakest]))


def turning(structure: Structure, torque: float) -> Floats:
    """Change of every spoke's tension when the hub turns the rim, (n,) [N].

    Parameters
    ----------
    structure : the tensioned wheel
    torque : of the hub on the rim [N mm], + drives forward; negative where the hub brakes

    Notes
    -----
    The road's answer is taken as spread evenly along the rim.
    """
    return np.asarray(structure.tension_changes(structure.even_torque(-torque)))


def rigid_windup_stiffness(wheel: Wheel, tensions: Floats) -> float:
    """Torque that turns the hub in a rigid rim, over the angle [N mm/rad].

    Parameters
    ----------
    wheel : its spokes in space
    tensions : of every spoke, (n,) [N]

    Notes
    -----
    K = sum of k (R r sin g / L)^2 + T (R r cos g / L - (R r sin g)^2 / L^3), k the stiffness of a spoke with its ends,
    g the angle between hub hole and rim hole (D, check against four crossings in tests/published). A rim that gives
    turns further, but not where all spokes are radial.
    """
    angle = np.radians(wheel.lacing.angle_deg)
    radii = np.where(wheel.lacing.is_right, wheel.hub.right.pcd, wheel.hub.left.pcd) / 2
    arms = wheel.rim.erd / 2 * radii
    across, along = arms * np.sin(angle) / wheel.spans, arms * np.cos(angle) / wheel.spans
    stiffness = 1 / (wheel.flexibilities + give.compliance(wheel.end_gives, tensions))
    return float((stiffness * across**2 + tensions * (along - across**2 / wheel.spans)).sum())


def flange_stress(tension: float, pcd: float, hole: float, outside: float, thickness: float) -> float:
    """Mean shear in the two strips of flange that a radial spoke pulls at [N/mm2].

    Parameters
    ----------
    tension : of the spoke [N]
    pcd, hole, outside, thickness : of the flange: hole circle, spoke hole, outside diameter, thickness [mm]

    Notes
    -----
    Tear-out along both sides of the hole: each strip is as long as the metal outside the hole (D, statics).
    """
    strip = max((outside - pcd - hole) / 2, 0.1)  # mm: a hole at the very edge
    return tension / (2 * strip * thickness)


def pedal_torque(rider: float, crank: float, gear: float) -> float:
    """Torque on the hub [N mm] with the rider's weight [g] on one pedal, crank [mm], cog teeth over ring teeth."""
    return rider / 1000 * GRAVITY * crank * gear


def braking_torque(rider: float, bike: float, share: float, wheel_radius: float) -> float:
    """Torque of a hub brake or rotor [N mm]; `share` is the force at the road over the weight of rider and bike [g]."""
    return share * (rider + bike) / 1000 * GRAVITY * wheel_radius
