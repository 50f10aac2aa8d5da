"""What riding does to a build's spokes: the rider standing still, a knock, hard pedalling, hard braking."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.joined import turning
from wheelcalc.page.blocks import Brief
from wheelcalc.tension import load
from wheelcalc.tension.load import Standing
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.joining import LEADING, TRAILING
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

# C: the rear wheel carries a little more than half, rider seated.
SHARE = {"rear": 0.55, "front": 0.45}
# P (J. Brandt, The Bicycle Wheel, quoted second hand): a tyre at 115 psi lowers the hoop force from 5700 to 5300 N.
TYRE_TAKES = 1 - 5300 / 5700


@dataclass(frozen=True, eq=False)
class HubTorque:
    """Hard pedalling or braking.

    Parameters
    ----------
    what : "driving" or "braking"
    torque : on the hub [N mm]
    changes : of every spoke's tension [N]
    """

    what: str
    torque: float
    changes: Floats


@dataclass(frozen=True, eq=False)
class Riding:
    """What riding takes from the spokes and gives them.

    Parameters
    ----------
    weight : static load on this wheel [N]
    share : of rider and bike on it
    impact : times the static load, of a knock
    slack_at : times the static load at which the first spoke goes slack
    still, knock : the wheel under one and under `impact` static loads
    turning : driving and braking, where the hub does either
    assumptions : what was taken, in words
    """

    weight: float
    share: float
    impact: float
    slack_at: float
    still: Standing
    knock: Standing
    turning: Sequence[HubTorque]
    assumptions: Sequence[str]

    def as_json(self, wheel: Wheel) -> dict[str, Any]:
        """Return the loads as plain values."""
        return {
            "wheel_load_N": self.weight,
            "share": self.share,
            "impact": self.impact,
            "slack_at_times": self.slack_at,
            "static": _standing_json(self.still, wheel),
            "with_impact": _standing_json(self.knock, wheel),
            **{each.what: {"torque_Nmm": each.torque, **by_direction(each, wheel)} for each in self.turning},
        }


def riding(build: Build, structure: Structure) -> Riding | None:
    """What riding does to the tensioned wheel; None where rider or bike are unknown."""
    if missing(build):
        return None
    rider, bike = build.load.rider, build.load.bike
    position = build.position
    share = build.load.share or SHARE[position]
    impact = build.load.impact
    weight = load.weight_on(rider, bike, share)
    node = load.weakest_node(structure)
    torques, said = _turning(build, structure)
    taken = (
        []
        if build.given("load.share")
        else [Brief(f"A {position} wheel carries {100 * share:.0f} % of rider and bike (load.share).")]
    )
    return Riding(
        weight=weight,
        share=share,
        impact=impact,
        slack_at=structure.slack_load.load / weight,
        still=load.standing(structure, weight, node),
        knock=load.standing(structure, impact * weight, node),
        turning=torques,
        assumptions=[*taken, *said],
    )


def missing(build: Build) -> list[str]:
    """Keys of the build file that the load still needs."""
    return [key for key in ("load.rider", "load.bike") if key not in build]


def by_direction(hub: HubTorque, wheel: Wheel) -> dict[str, dict[str, float]]:
    """Mean change of tension of each side's trailing and leading spokes [N]."""
    out: dict[str, dict[str, float]] = {}
    for side in SIDES:
        ways = {"trailing_N": TRAILING, "leading_N": LEADING}
        masks = {name: wheel.lacing.on(side) & (wheel.lacing.lean == lean) for name, lean in ways.items()}
        out[side] = {name: float(hub.changes[mask].mean()) for name, mask in masks.items() if mask.any()}
    return out


def _turning(build: Build, structure: Structure) -> tuple[list[HubTorque], list[Brief]]:
    torques = turning.torques(build)
    signs = {"driving": 1.0, "braking": -1.0}
    changes = [load.turning(structure, signs[each.what] * each.torque) for each in torques]
    return [HubTorque(each.what, each.torque, change) for each, change in zip(torques, changes, strict=True)], [
        Brief(each.how) for each in torques
    ]


def _standing_json(standing: Standing, wheel: Wheel) -> dict[str, Any]:
    return {
        "load_N": standing.load,
        "at_rim_hole": standing.node + 1,
        "rim_hole": int(wheel.lacing.rim_hole[standing.weakest]),
        "tension_N": float(standing.tensions[standing.weakest]),
        "lost_N": standing.lost,
        "slack_rim_holes": wheel.lacing.rim_hole[np.asarray(standing.tensions <= 0)].tolist(),
    }
