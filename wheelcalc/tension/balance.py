"""A wheel at rest: the hub turned and the tensions shared out so that the spokes leave no force on the rim."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.parts import Section
from wheelcalc.wheel.wheel import Wheel

STEPS = 8  # of Newton's method, which doubles its right digits in each
ALMOST_NONE = 1e-9  # of the largest way to load the rim: less is round-off


@dataclass(frozen=True, eq=False)
class Rest:
    """A wheel whose spokes leave no force and no moment on the rim.

    Parameters
    ----------
    hub_points : where the spokes leave the hub, (n, 3) [mm]
    tensions : of the spokes, (n,) [N]; one below 0 says that these spokes cannot hold the rim there
    """

    hub_points: Floats
    tensions: Floats


def at_rest(wheel: Wheel, tensions: Floats) -> Rest:
    """Tensions nearest to the given ones (least squares) under which the wheel is at rest.

    Parameters
    ----------
    wheel : spokes in space
    tensions : wanted, (n,) [N]

    Notes
    -----
    Where every spoke is radial none of them stretches when the hub turns, so first the hub turns to where the torques of
    the sides cancel (it moves where the holes of the flanges face each other). Statics, D.
    """
    hub, wanted = (wheel.hub_points, tensions) if wheel.lacing.lean.any() else _turned(wheel, tensions)
    wrenches = _wrenches(hub, wheel.rim_points)
    correction, *_ = np.linalg.lstsq(wrenches.T, wanted @ wrenches, rcond=ALMOST_NONE)
    return Rest(hub, wanted - correction)


def structure_at(wheel: Wheel, rest: Rest, section: Section) -> Structure:
    """The tensioned wheel as a structure, one node at every rim hole, an empty one too."""
    holes = wheel.rim.holes
    return Structure(
        section=section,
        node_angles_rad=(np.arange(holes) + 0.5) * 2 * np.pi / holes,
        spoke_nodes=wheel.lacing.rim_hole - 1,
        hub_points=rest.hub_points,
        rim_points=wheel.rim_points,
        spoke_stiffness=1 / wheel.flexibilities,
        tensions=rest.tensions,
        rim_plane_x=wheel.rim_shift,
        end_give=wheel.end_gives,
    )


def _wrenches(hub: Floats, rim: Floats) -> Floats:
    """Force and moment on the rim, about the hub's centre, per unit of each spoke's tension, (n, 6)."""
    spans = hub - rim
    directions = spans / np.linalg.norm(spans, axis=1, keepdims=True)
    return np.concatenate([directions, np.cross(rim, directions)], axis=1)


def _turned(wheel: Wheel, tensions: Floats) -> tuple[Floats, Floats]:
    """Hub points after the hub has turned to where the spokes leave no torque, and tensions without sideways force."""
    hub, rim, right = wheel.hub_points, wheel.rim_points, wheel.lacing.is_right
    for _ in range(STEPS):
        spans = np.linalg.norm(hub - rim, axis=1)
        sideways = tensions * (hub - rim)[:, 0] / spans
        tensions = np.where(right, tensions, -tensions * sideways[right].sum() / sideways[~right].sum())
        # The torque of a spoke is -T/L R r sin(a), a by which the hub hole leads; its slope is near -T/L R r cos(a).
        pull = tensions / spans
        slope = float(pull @ (rim[:, 1:] * hub[:, 1:]).sum(axis=1))
        hub = _about_axle(hub, float(pull @ np.cross(rim, hub)[:, 0]) / slope)
    return hub, tensions


def _about_axle(points: Floats, angle: float) -> Floats:
    """Points turned about the axle, + forward [rad]."""
    x, y, z = points.T
    cos, sin = np.cos(angle), np.sin(angle)
    return np.column_stack([x, y * cos + z * sin, z * cos - y * sin])
