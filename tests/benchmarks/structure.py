"""The structure against PyNiteFEA in one run, and how its cost grows.

PyNiteFEA gets the fewest straight elements per gap that bring it within 0.1 % of its own fine mesh, and only what it has to do:
build the model, solve the load cases that both solve.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from tests.benchmarks.timing import Row, growth, median, paired
from tests.making.uneven_wheels import wheel
from tests.oracles.wheel_solvers import pynite_solved
from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.structure import Structure

NEAR = 1e-3  # of its own fine mesh
FORCES = np.diag([100.0, 100.0, -500.0])


def crossed(spokes: int, tension: float = 1000.0) -> Structure:
    """Alternating sides, each side trailing and leading by 60 degrees; wire shared out from that of 36."""
    i = np.arange(spokes)
    sides = np.where(i % 2 == 0, 1, -1)
    turns = np.where(i // 2 % 2 == 0, 60.0, -60.0)
    wire = np.full(spokes, 2.0 * (36 / spokes) ** 0.5)
    tensions = np.where(sides > 0, 1.0, 0.62) * tension * 36 / spokes
    return wheel(360 / spokes * (i + 0.5), sides, turns, (34.0, 21.0), wire, tensions, stagger=1.0)


def fresh(built: Structure) -> Structure:
    """Without anything computed before."""
    return replace(built)


def stiffness_and_changes(built: Structure) -> tuple[object, ...]:
    wheel = fresh(built)
    changes = wheel.tension_changes(np.array([wheel.load_at(0, *force) for force in FORCES]))
    all_stiffness = (
        wheel.lateral_stiffness,
        wheel.radial_stiffness,
        wheel.tangential_stiffness,
        wheel.windup_stiffness,
    )
    return changes, all_stiffness, wheel.slack_load


def buckling(built: Structure) -> float:
    return fresh(built).buckling_factor


def displaced(built: Structure) -> tuple[np.ndarray, np.ndarray]:
    """What PyNiteFEA computes too."""
    wheel = fresh(built)
    loads = np.array([wheel.load_at(0, *force) for force in FORCES])
    return wheel.displacements(loads)[:, 0, :3], wheel.tension_changes(loads)


def error(result: tuple[np.ndarray, np.ndarray], exact: tuple[np.ndarray, np.ndarray]) -> float:
    """Largest of displacements and tension changes, as a share of the largest that each load causes."""
    pairs = zip(result, exact, strict=True)
    return max(float((np.abs(a - b).max(axis=1) / np.abs(b).max(axis=1)).max()) for a, b in pairs)


def rows() -> Iterator[Row]:
    built = crossed(36)
    jobs = {"stiffness, slack load, tension changes": stiffness_and_changes, "buckling": buckling}
    for name, job in {**jobs, "influence of every spoke": lambda wheel: shortening(fresh(wheel))}.items():
        yield Row(f"36 spokes: {name}", median(partial(job, built), 50), "", None, "")

    slack = replace(built, tensions=np.zeros(36))
    fine = pynite_solved(slack, 32, 0, FORCES)
    pieces = next(n for n in range(1, 33) if error(pynite_solved(slack, n, 0, FORCES), fine) < NEAR)
    theirs = partial(pynite_solved, slack, pieces, 0, FORCES)
    against = f"PyNiteFEA, {pieces} elements a gap, off by {error(theirs(), fine):.2%} (ours {error(displaced(slack), fine):.4%})"
    yield paired("36 spokes: displacements and tension changes", partial(displaced, slack), against, theirs, 9)

    for name, job in jobs.items():
        yield growth(f"{name}, spokes", (36, 72, 144, 288), lambda n, job=job: partial(job, crossed(n, 400.0)))
