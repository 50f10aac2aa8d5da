"""A person who reads a wheel, asks the library, turns the nipples, and reads again."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tests.making.random_wheels import LATERAL_NOISE, RADIAL_NOISE, TENSION_NOISE, Case, untrue
from wheelcalc.arrays import Floats
from wheelcalc.truing.evidence import Reader, System, fitted, state
from wheelcalc.truing.faults import EqualFaults
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import table
from wheelcalc.truing.turns import Done, Pass, Planner, Room

GOOD = (0.3, 0.3, 0.5, 6.0, 6.0)  # issue: lateral, radial, both spreads; the dish is the build file's default
FLOOR, LIMIT = 400.0, 1250.0  # N


class Estimated(NamedTuple):
    """Likeliest state and its standard errors, (2m + n,) each."""

    state: Floats
    sigma: Floats


def estimated(case: Case, rng: np.random.Generator) -> tuple[Model, Estimated]:
    """What the library makes of one round of readings."""
    lateral, radial, tensions = case.read(rng)
    left, right = (tensions[side].mean() for side in (~case.is_right, case.is_right))
    model = Model(case.structure(left, right), case.is_right)
    reader = Reader(LATERAL_NOISE, RADIAL_NOISE, TENSION_NOISE)
    found = state(fitted(System(model, [table(lateral, radial, tensions)], reader)))
    return model, Estimated(found.values, found.sigma)


def planned(case: Case, rng: np.random.Generator, done: Done) -> Pass:
    """The next pass that the library plans."""
    model, found = estimated(case, rng)
    doubts = 100 * found.sigma[model.tension] / model.structure.tensions
    left, right = (float(doubts[side].mean()) for side in model.sides)
    spokes = len(case.is_right)
    room = Room(step=0.125, most=1.0, floor=np.full(spokes, FLOOR), limit=np.full(spokes, LIMIT))
    return Planner(model, EqualFaults(), room, done, doubt=(left, right)).next_pass(found.state)


def passes(seed: int, passes_at_most: int = 3, turned: list[int] | None = None, done: Done | None = None) -> Case:
    """A random wheel after so many passes; how many nipples each turned is added to `turned`."""
    case, rng = untrue(seed), np.random.default_rng(seed + 10**6)
    for _ in range(passes_at_most):
        plan = planned(case, rng, done or Done())
        if turned is not None:
            turned.append(int(np.count_nonzero(plan.turns)))
        if plan.turns.any():
            case.turn(plan.turns, rng)
    return case
