"""Spokes have broken: where the rim goes, what the others carry, and which nipples bring the rim back within a gap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.arc import LATERAL, RADIAL
from wheelcalc.tension.structure import Structure
from wheelcalc.truing.task import Steps, Task, fewest, in_whole_steps
from wheelcalc.truing.turns import Room
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH
from wheelcalc.wheel.errors import InputError

# C, choices: amounts that count as equally bad on the way home, where only the place of the rim matters.
LATERAL_FAULT, RADIAL_FAULT, TENSION_FAULT = 0.2, 0.4, 300.0  # mm, mm, N
LEFT_OVER = np.append(np.arange(95, 0, -5), [3, 1, 0]) / 100  # share of the badness, tried until the rim is home
NEAR = 16  # spokes nearest to the gap, of which some are turned
KEEP = 1e-2  # badness of a whole turn


@dataclass(frozen=True, eq=False)
class Gone:
    """A wheel without some of its spokes.

    Parameters
    ----------
    structure : what is left of it: spokes that broke or went slack are not in it
    kept : which spokes are in it, (n,)
    slack : spokes that went slack, from 0
    lateral, radial : how far the rim moved at its nodes, (m,) [mm], + to the right, + outward
    tensions : of all n spokes [N]
    """

    structure: Structure
    kept: np.ndarray
    slack: tuple[int, ...]
    lateral: Floats
    radial: Floats
    tensions: Floats


@dataclass(frozen=True, eq=False)
class Home:
    """Turns that bring the rim back.

    Parameters
    ----------
    turns : of every nipple, (n,), + tightens
    lateral, radial : place of the rim then, (m,) [mm], against the whole wheel's
    tensions : then, (n,) [N]
    """

    turns: Floats
    lateral: Floats
    radial: Floats
    tensions: Floats


def without(wheel: Structure, broken: Sequence[int]) -> Gone:
    """The wheel without broken spokes; others that would have to push are slack and leave it too.

    Parameters
    ----------
    wheel : whole, true and even
    broken : spokes, from 0

    Raises
    ------
    InputError
        If the others do not hold the rim.

    Notes
    -----
    What the gone spokes pulled is let go on the wheel without them; the rim is taken as linear about where it was.
    """
    gone = np.zeros(len(wheel.tensions), dtype=bool)
    gone[list(broken)] = True
    while True:
        left = held_without(wheel, gone)
        released = np.zeros((wheel.node_count, 6))
        np.add.at(released, wheel.spoke_nodes[gone], -(wheel.tensions[:, None] * wheel.pulls)[gone])
        moved = left.solve(released[..., None])[..., 0]
        tensions = np.where(gone, 0.0, wheel.tensions + wheel.stretched(moved))
        if tensions.min() >= 0:
            break
        gone = gone | (tensions < 0)
    slack = tuple(int(i) for i in np.setdiff1d(np.flatnonzero(gone), broken))
    after = replace(left, tensions=tensions[~gone])
    return Gone(after, ~gone, slack, moved[:, LATERAL], moved[:, RADIAL], tensions)


def held_without(wheel: Structure, gone: np.ndarray) -> Structure:
    """The structure without some spokes; `InputError` where the others do not hold the rim."""
    names = ("spoke_nodes", "hub_points", "rim_points", "spoke_stiffness", "tensions", "end_give")
    left = replace(wheel, **{name: getattr(wheel, name)[~gone] for name in names})
    try:
        left.solve(np.zeros((wheel.node_count, 6, 1)))
    except InputError:
        raise InputError(
            "rim_holes", "without these spokes the others do not hold the rim; do not roll on it"
        ) from None
    return left


def home(gone: Gone, room: Room, lateral_gap: float, radial_gap: float) -> Home:
    """The fewest nipples that bring the rim within the gaps; as near as they can, if they cannot.

    Parameters
    ----------
    gone : the wheel without its spokes
    room : bounds of turns and tensions of all n spokes
    lateral_gap, radial_gap : how far the rim may lie from where it ran before, either way and outward [mm]
    """
    if within_gaps(gone.lateral, gone.radial, lateral_gap, radial_gap):
        return Home(np.zeros(len(gone.kept)), gone.lateral, gone.radial, gone.tensions)
    task, per_step = task_of(gone, room)
    near = np.sort(np.argsort(nodes_away(gone), kind="stable")[:NEAR])
    part, steps = task.only(near), np.zeros(len(task.low))
    best, _ = part.best()
    won = -part.change(best)
    for share in LEFT_OVER:
        steps[near] = in_whole_steps(part, fewest(part, best, (share - 1) * won), best)
        after = _after(gone, room, per_step, steps)
        if within_gaps(after.lateral, after.radial, lateral_gap, radial_gap):
            break
    return after


def nodes_away(gone: Gone) -> Floats:
    """How many nodes each spoke that is left lies from the nearest one that is not, (n',)."""
    count, nodes = gone.structure.node_count, gone.structure.spoke_nodes
    missing = np.setdiff1d(np.arange(count), nodes)
    apart = np.abs(nodes[:, None] - missing[None, :])
    return np.asarray(np.minimum(apart, count - apart).min(axis=1), dtype=float)


def within_gaps(lateral: Floats, radial: Floats, lateral_gap: float, radial_gap: float) -> bool:
    """Whether the rim rubs nowhere; inward there is room."""
    return bool(np.abs(lateral).max() <= lateral_gap and radial.max() <= radial_gap)


def task_of(gone: Gone, room: Room) -> tuple[Task, tuple[Floats, Floats, Floats]]:
    """Badness of the rim's place in steps of the nipples that are left."""
    influence = shortening(gone.structure)
    step = room.step * SPOKE_THREAD_PITCH
    lateral, radial, tensions = (step * each for each in influence)
    m, n = lateral.shape
    rows = np.concatenate(
        [
            lateral / (LATERAL_FAULT * np.sqrt(m)),
            radial / (RADIAL_FAULT * np.sqrt(m)),
            tensions / (TENSION_FAULT * np.sqrt(n)),
        ]
    )
    off = np.concatenate(
        [gone.lateral / (LATERAL_FAULT * np.sqrt(m)), gone.radial / (RADIAL_FAULT * np.sqrt(m)), np.zeros(n)]
    )
    now, most = gone.tensions[gone.kept], np.full(n, float(room.most_steps))
    task = Task(
        hessian=rows.T @ rows + KEEP * room.step**2 * np.eye(n),
        slope=rows.T @ off,
        low=-most,
        high=most,
        tensions=tensions,
        loss=np.maximum(now - np.minimum(room.floor[gone.kept], now), 0),
        gain=np.maximum(np.maximum(room.limit[gone.kept], now) - now, 0),
    )
    return task, (lateral, radial, tensions)


def _after(gone: Gone, room: Room, per_step: tuple[Floats, Floats, Floats], steps: Steps) -> Home:
    lateral, radial, tensions = (each @ steps for each in per_step)
    turns, pulled = np.zeros(len(gone.kept)), gone.tensions.copy()
    turns[gone.kept] = steps * room.step
    pulled[gone.kept] += tensions
    return Home(turns, gone.lateral + lateral, gone.radial + radial, pulled)
