"""Least squares with every unknown between two bounds."""

from __future__ import annotations

import numpy as np

from wheelcalc.arrays import Floats

MOST_ROUNDS = 20  # times the unknowns: each round frees or fixes one, and none is ever met twice
SMALL = 1e-10


def bounded(hessian: Floats, slope: Floats, low: Floats, high: Floats, start: Floats | None = None) -> Floats:
    """The x between low and high at which x'Hx/2 + g'x is least, by active sets.

    Parameters
    ----------
    hessian : H, positive definite, (n, n)
    slope : g, (n,)
    low, high : bounds, (n,)
    start : an x between them, 0 if left out; the answer is the same from any, sooner from a near one

    Notes
    -----
    C. L. Lawson, R. J. Hanson, Solving Least Squares Problems (1974), ch. 23, widened to two bounds as in P. B. Stark,
    R. L. Parker, Computational Statistics 10 (1995) 129 (M).
    """
    x = np.zeros(len(slope)) if start is None else start
    x, free = _settle(hessian, slope, low, high, x, (low < x) & (x < high))
    for _ in range(MOST_ROUNDS * len(slope) + 1):
        downhill = -(hessian @ x + slope)
        wants = np.where((downhill > 0) & (x < high) | (downhill < 0) & (x > low), np.abs(downhill), 0.0)
        wants[free] = 0
        if not wants.size or wants.max() <= SMALL * (1 + np.abs(slope).max()):
            return x
        free[np.argmax(wants)] = True
        x, free = _settle(hessian, slope, low, high, x, free)
    return x


def _settle(
    hessian: Floats, slope: Floats, low: Floats, high: Floats, x: Floats, free: np.ndarray
) -> tuple[Floats, np.ndarray]:
    """Least over the free unknowns, those that hit a bound on the way fixed there."""
    while free.any():
        fixed = np.where(free, 0.0, x)
        aim = x.copy()
        aim[free] = np.linalg.solve(hessian[free][:, free], -(slope + hessian @ fixed)[free])
        over = free & ((aim < low) | (aim > high))
        if not over.any():
            return aim, free
        bound = np.where(aim < low, low, high)
        way = (bound[over] - x[over]) / (aim[over] - x[over])
        share = float(way.min())
        x = np.where(free, x + share * (aim - x), x)
        stopped = np.flatnonzero(over)[way <= share]
        x[stopped] = bound[stopped]
        free[stopped] = False
    return x, free
