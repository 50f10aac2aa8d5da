"""What passes teach about this wheel: how its ends give and how stiff its rim is, besides the reader's errors and the causes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.evidence import Fit, Reader, System, fitted
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import Table

# Ours: standard errors of the logarithms of the factors before any pass.
GIVE_SIGMA, STIFFNESS_SIGMA = 0.35, 0.35
APART = 0.2  # of a logarithm, between two tries
LONGEST = 0.7  # of a logarithm, in one step
STEPS = 1

Maker = Callable[[Sequence[Table], float, float], Model]


@dataclass(frozen=True, eq=False)
class Learned:
    """What is known of a wheel after some passes.

    Parameters
    ----------
    fit : of all readings
    give, stiffness : factors on what was estimated of the ends' give and of the rim's stiffness
    sigma : standard errors of the logarithms of both, (2,)
    """

    fit: Fit
    give: float
    stiffness: float
    sigma: Floats


def learned(make: Maker, tables: Sequence[Table], reader: Reader, steps: int = STEPS) -> Learned:
    """Fit readings of passes, and the wheel's give and stiffness once turns have shown what they do.

    Parameters
    ----------
    make : the wheel's model at the tensions of tables, with factors on give and stiffness
    tables : of all passes, oldest first
    reader : who read them
    steps : of Newton's method for the two factors
    """
    at, before = np.zeros(2), np.array([GIVE_SIGMA, STIFFNESS_SIGMA])
    steps = steps if any(each.turned.any() for each in tables[:-1]) else 0
    fit = fitted(System(make(tables, 1.0, 1.0), tables, reader), rounds=2 if steps else 3)
    sigma = before
    for _ in range(steps):
        slope, curve = _about(make, fit, at, before)
        step = np.clip(np.linalg.solve(curve, slope), -LONGEST, LONGEST)
        at, sigma = at + step, np.sqrt(np.diag(np.linalg.inv(curve)))
        fit = fitted(System(make(tables, *np.exp(at)), tables, reader), fit, rounds=2)
    return Learned(fit, float(np.exp(at[0])), float(np.exp(at[1])), sigma)


def _about(make: Maker, fit: Fit, at: Floats, before: Floats) -> tuple[Floats, Floats]:
    """Slope and (negative) curvature of the logarithm of the evidence in both logarithms, by differences."""

    def evidence(by: tuple[float, float]) -> float:
        here = at + APART * np.array(by)
        model = make(fit.system.tables, math.exp(here[0]), math.exp(here[1]))
        tried = replace(fit, system=System(model, fit.system.tables, fit.system.reader))
        return tried.log_evidence - 0.5 * float(np.sum((here / before) ** 2))

    middle = evidence((0, 0))
    slope, curve = np.zeros(2), np.zeros((2, 2))
    for i, way in enumerate(((1, 0), (0, 1))):
        up, down = evidence(way), evidence((-way[0], -way[1]))
        slope[i] = (up - down) / (2 * APART)
        curve[i, i] = -(up + down - 2 * middle) / APART**2
    cross = evidence((1, 1)) + evidence((-1, -1)) - evidence((1, -1)) - evidence((-1, 1))
    curve[0, 1] = curve[1, 0] = -cross / (4 * APART**2)
    # never less curved than what was known before any pass makes it
    size, vectors = np.linalg.eigh(curve * np.outer(before, before))
    held = vectors @ np.diag(np.maximum(size, 1.0)) @ vectors.T
    return slope, held / np.outer(before, before)
