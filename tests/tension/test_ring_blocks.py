"""Cyclic reduction against the matrix written out and solved by numpy (label D)."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from wheelcalc.tension.ring_blocks import Factors, RingMatrix, assembled


def some_ring(nodes: int, seed: int) -> RingMatrix:
    """Positive definite: random positive definite matrices of the arcs and of the nodes added up."""
    random = np.random.default_rng(seed)
    arcs = random.normal(size=(nodes, 12, 12))
    at_nodes = random.normal(size=(nodes, 6, 6))
    return assembled(arcs @ np.swapaxes(arcs, -1, -2), at_nodes @ np.swapaxes(at_nodes, -1, -2))


@pytest.mark.parametrize("nodes", [3, 4, 12, 13, 14, 25, 27, 28, 36, 51, 97])
def test_solves_any_number_of_nodes(nodes: int) -> None:
    ring = some_ring(nodes, nodes)
    loads = np.random.default_rng(1).normal(size=(nodes, 6, 5))
    expected = np.linalg.solve(ring.whole(), loads.reshape(-1, 5)).reshape(loads.shape)
    assert_allclose(Factors(ring).solve(loads), expected, atol=1e-8 * np.abs(expected).max())


@pytest.mark.parametrize("nodes", [9, 26, 37])
@pytest.mark.parametrize("node", [0, 4, 8])
def test_what_is_not_positive_definite_is_refused(nodes: int, node: int) -> None:
    """Wherever the one negative way lies: just past losing it by a term at one node, and just short of that."""
    ring = some_ring(nodes, nodes)
    way = np.zeros(6 * nodes)
    way[6 * node + 2] = 1
    critical = 1 / (way @ np.linalg.solve(ring.whole(), way))
    block = np.diag([0, 0, critical, 0, 0, 0])
    Factors(ring.plus(node, -0.999 * block))
    with pytest.raises(np.linalg.LinAlgError):
        Factors(ring.plus(node, -1.001 * block))


def test_whole_has_the_blocks_in_their_places() -> None:
    arcs = np.arange(4 * 144, dtype=float).reshape(4, 12, 12)
    arcs += np.swapaxes(arcs, -1, -2)
    nodes = np.zeros((4, 6, 6))
    expected = np.zeros((24, 24))
    for k in range(4):
        rows = np.r_[6 * k : 6 * k + 6, 6 * ((k + 1) % 4) : 6 * ((k + 1) % 4) + 6]
        expected[np.ix_(rows, rows)] += arcs[k]
    assert_allclose(assembled(arcs, nodes).whole(), expected, rtol=1e-15)
