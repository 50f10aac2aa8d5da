"""How bad a wheel is: run-out, dish and uneven tension weighed against each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.model import Model

LEAST_MEAN = 1.0  # N: a spread is a share of the mean, and there must be one


@dataclass(frozen=True)
class EqualFaults:
    """Amounts that count as equally bad.

    Parameters
    ----------
    lateral, radial : root mean square from the mean place [mm]
    dish : of the mean lateral place from where the rim should be [mm]
    tension : root mean square from the mean of the side [N], of the tighter side; of the other the same share
    """

    # C, the defaults of [truing] equal_faults in the build file.
    lateral: float = 0.05
    radial: float = 0.05
    dish: float = 0.05
    tension: float = 60.0


@dataclass(frozen=True)
class Faults:
    """How a wheel stands.

    Parameters
    ----------
    lateral, radial : peak to peak [mm]
    dish : mean lateral place [mm], + right
    spread : standard deviation over mean of the left and the right tensions [per cent]
    tension : mean of the left and of the right spokes [N]
    """

    lateral: float
    radial: float
    dish: float
    spread: tuple[float, float]
    tension: tuple[float, float]


def faults_of(model: Model, state: Floats) -> Faults:
    """How a wheel in this state, (2m + n,), stands."""
    lateral, radial, tension = state[model.lateral], state[model.radial], state[model.tension]
    sides = [tension[side] for side in model.sides]
    left, right = (100 * float(side.std() / max(side.mean(), LEAST_MEAN)) for side in sides)
    means = (float(sides[0].mean()), float(sides[1].mean()))
    return Faults(float(np.ptp(lateral)), float(np.ptp(radial)), float(lateral.mean()), (left, right), means)


def weights(model: Model, equal: EqualFaults, *, dish_known: bool = True) -> tuple[Floats, Floats]:
    """Rows W and a state's target y so that the badness of a state is the sum of the squares of W (state - y).

    Parameters
    ----------
    model : of the wheel
    equal : amounts that count as equally bad: each makes a badness of 1
    dish_known : False leaves the mean lateral place out

    Returns
    -------
    W : (2m + n + 1, 2m + n)
    y : (2m + n,)
    """
    m, rows = model.nodes, np.zeros((len(model.true) + 1, len(model.true)))
    level = np.eye(m) - 1 / m
    rows[model.lateral, model.lateral] = level / (equal.lateral * np.sqrt(m))
    rows[model.radial, model.radial] = level / (equal.radial * np.sqrt(m))
    means = [model.structure.tensions[side].mean() for side in model.sides]
    for side, mean in zip(model.sides, means, strict=True):
        where = 2 * m + np.flatnonzero(side)
        even = np.eye(len(where)) - 1 / len(where)
        rows[np.ix_(where, where)] = even / (equal.tension * mean / max(means) * np.sqrt(model.spokes))
    rows[-1, model.lateral] = dish_known / (m * equal.dish)
    return rows, model.true


def badness(rows: Floats, off: Floats) -> float:
    """Sum of the squares of the weighed faults; 1 for one amount that counts as bad."""
    return float(np.sum((rows @ off) ** 2))
