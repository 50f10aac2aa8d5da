"""The structure against PyNiteFEA in one run, one thread; and how its cost grows. Run by hand: python tests/benchmarks/structure.py.

PyNiteFEA gets the fewest straight elements per gap that bring it within 0.1 % of its own fine mesh, and only what it has to do:
build the model, solve the load cases that both solve.
"""

# ruff: noqa: E402  the threads must be set before numpy is imported
from __future__ import annotations

import os

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"
os.environ.pop("OPENBLAS_CORETYPE", None)

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from uneven_wheels import wheel
from wheel_solvers import pynite_solved

from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.structure import Structure

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


def milliseconds(job: Callable[[], object], runs: int) -> float:
    job()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return 1e3 * float(np.median(times))


def error(result: tuple[np.ndarray, np.ndarray], exact: tuple[np.ndarray, np.ndarray]) -> float:
    """Largest of displacements and tension changes, as a share of the largest that each load causes."""
    pairs = zip(result, exact, strict=True)
    return max(float((np.abs(a - b).max(axis=1) / np.abs(b).max(axis=1)).max()) for a, b in pairs)


def main() -> None:
    built = crossed(36)
    print(
        f"36 spokes: stiffness, slack load, tension changes {milliseconds(lambda: stiffness_and_changes(built), 50):.2f} ms"
    )
    print(f"36 spokes: buckling {milliseconds(partial(buckling, built), 50):.2f} ms")
    print(f"36 spokes: influence of every spoke {milliseconds(lambda: shortening(fresh(built)), 50):.2f} ms")

    slack = replace(built, tensions=np.zeros(36))
    fine = pynite_solved(slack, 32, 0, FORCES)
    for pieces in range(1, 33):
        other = pynite_solved(slack, pieces, 0, FORCES)
        if error(other, fine) < 1e-3:
            break
    ours = milliseconds(lambda: displaced(slack), 50)
    theirs = milliseconds(lambda: pynite_solved(slack, pieces, 0, FORCES), 7)
    print(
        f"against PyNiteFEA at 32 per gap: ours {error(displaced(slack), fine):.5%}, theirs at {pieces} {error(other, fine):.5%}"
    )
    print(f"PyNiteFEA, {pieces} elements per gap: {theirs:.1f} ms; ours {ours:.2f} ms; {theirs / ours:.0f} times")

    counts = np.array([36, 72, 144, 288])
    for name, job in (("stiffness", stiffness_and_changes), ("buckling", buckling)):
        wheels = [crossed(n, 400.0) for n in counts]
        times = [milliseconds(partial(job, wheel), 5) for wheel in wheels]
        slopes = np.diff(np.log(times)) / np.diff(np.log(counts))
        print(name, [f"{n}: {t:.1f} ms" for n, t in zip(counts, times, strict=True)], "power", slopes.round(2))


if __name__ == "__main__":
    main()
