"""Linear buckling: the factor on a load at which a structure's stiffness is lost."""

from __future__ import annotations

import math

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.wheel.errors import InputError

HALVINGS = 40  # D: 2^-40 of the bracket is below 1e-12


def buckling_factor(elastic: Floats, geometric: Floats) -> float:
    """Least positive factor f that makes elastic + f * geometric singular.

    Parameters
    ----------
    elastic : stiffness without load, positive definite or (held by the load alone) semidefinite, (k, k)
    geometric : what the load adds at factor 1, symmetric, (k, k)

    Returns
    -------
    The factor; infinite where no load of this kind buckles the structure.

    Raises
    ------
    InputError
        If the structure stands under no share of the load.

    Notes
    -----
    The least eigenvalue of elastic + f * geometric is concave in f, so from a share s that stands there is one loss of
    stiffness upward: with K(s) = L L', f = s + 1 / (largest eigenvalue of -L^-1 geometric L^-T).
    """
    if not geometric.any():
        return math.inf
    share, factor = _standing(elastic, geometric)
    inverse = np.linalg.inv(factor)
    largest = float(np.linalg.eigvalsh(-inverse @ geometric @ inverse.T)[-1])
    return share + 1 / largest if largest > 0 else math.inf


def _standing(elastic: Floats, geometric: Floats) -> tuple[float, Floats]:
    """The largest of 1, 1/2, 1/4 ... under which the structure stands, and the Cholesky factor of its stiffness."""
    for halving in range(HALVINGS):
        share = 0.5**halving
        try:
            factor: Floats = np.asarray(np.linalg.cholesky(elastic + share * geometric))
        except np.linalg.LinAlgError:
            continue
        return share, factor
    raise InputError("tensions", "spokes and tension together do not hold this rim; more spokes or crosses are needed")
