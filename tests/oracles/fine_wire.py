"""Oracle of its own: a tensioned stepped wire by finite differences on an even grid, with scipy's sparse eigenvalues.

Moments at the nodes from second differences of the deflection, the bending stiffness of a node the harmonic mean of its
two sides, the end springs in series with the first half cell. Errors fall with the square of the step, so two grids give
the limit (Richardson).
"""

import math

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import eigsh

E, RHO = 200_000.0, 7.9e-9


def operators(lengths: list[float], diameters: list[float], step: float, tension: float, spring: tuple[float, float]):
    """Stiffness and mass of the inner nodes; every length must be a multiple of the step."""
    cells = np.concatenate([np.full(round(part / step), d) for part, d in zip(lengths, diameters, strict=True)])
    ei, mu = E * math.pi / 64 * cells**4, RHO * math.pi / 4 * cells**2
    n = cells.size - 1
    second = sp.diags([1.0, -2.0, 1.0], [-1, 0, 1], shape=(n, n), format="csr") / step**2
    node_ei = 2 / (1 / ei[:-1] + 1 / ei[1:])
    first = sp.diags([1.0, -1.0], [0, -1], shape=(n + 1, n), format="csr") / step
    stiff = second.T @ sp.diags(node_ei * step) @ second + tension * step * (first.T @ first)
    at_ends = np.zeros(n)
    for place, cell, k in ((0, 0, spring[0]), (-1, -1, spring[1])):
        half = 2 * ei[cell] / step
        series = half if math.isinf(k) else half * k / (half + k)
        at_ends[place] += series / step**2
    return stiff + sp.diags(at_ends), sp.diags(mu[:-1] / 2 + mu[1:] / 2) * step


def lowest(stiff: sp.spmatrix, mass: sp.spmatrix, count: int) -> np.ndarray:
    squares = eigsh(stiff.tocsc(), count, mass.tocsc(), sigma=0, which="LM", return_eigenvectors=False)
    return np.sqrt(np.sort(squares)) / (2 * math.pi)


def fine_partials(
    lengths: list[float],
    diameters: list[float],
    tension: float,
    spring: tuple[float, float],
    count: int,
    step: float = 0.5,
) -> np.ndarray:
    coarse, fine = (lowest(*operators(lengths, diameters, h, tension, spring), count) for h in (step, step / 2))
    return fine + (fine - coarse) / 3


def fine_pair(
    lengths: list[float],
    diameters: list[float],
    tensions: tuple[float, float],
    spring: tuple[float, float],
    crossing: float,
    step: float = 0.5,
) -> np.ndarray:
    """First three partials of two such wires that share their deflection where they cross."""
    parts = [operators(lengths, diameters, step, t, spring) for t in tensions]
    n, shared = parts[0][0].shape[0], round(crossing / step) - 1
    columns = np.concatenate([np.arange(n), np.arange(n, 2 * n)])
    columns[n + shared] = shared
    columns[n + shared + 1 :] -= 1
    join = sp.csr_matrix((np.ones(2 * n), (np.arange(2 * n), columns)), shape=(2 * n, 2 * n - 1))
    stiff, mass = (sp.block_diag([part[i] for part in parts]) for i in (0, 1))
    return lowest(join.T @ stiff @ join, join.T @ mass @ join, 3)
