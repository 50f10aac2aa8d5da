"""Buckling of anything written as a ring of nodes, against springs by hand and eigenvalues of another library."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.stats import ortho_group

from tests.oracles.dense_buckling import dense_factor
from wheelcalc.tension.buckling import buckling
from wheelcalc.tension.ring_blocks import RingMatrix
from wheelcalc.wheel.errors import InputError

STIFF = np.arange(20.0, 36.0)  # of the other sixteen motions of three nodes


@dataclass
class Springs:
    """Three nodes, each joined to both others: any symmetric matrix of eighteen rows is such a ring."""

    elastic: np.ndarray
    geometric: np.ndarray

    @property
    def geometric_stiffness(self) -> RingMatrix:
        return as_ring(self.geometric)

    def stiffness_at(self, factor: float) -> RingMatrix:
        return as_ring(self.elastic + factor * self.geometric)

    def factor_in(self, motion: np.ndarray) -> float:
        moved = motion.ravel()
        return float(-(moved @ self.elastic @ moved) / (moved @ self.geometric @ moved))


def as_ring(matrix: np.ndarray) -> RingMatrix:
    blocks = matrix.reshape(3, 6, 3, 6)
    here = np.arange(3)
    return RingMatrix(blocks[here, :, here], blocks[here, :, np.roll(here, -1)])


BUCKLED = {
    "by hand": ([3.0, 5.0], [-1.5, 4.0], 2.0),
    "the second first": ([3.0, 5.0], [-0.5, -4.0], 1.25),
    "below the load": ([3.0, 7.0], [-30.0, 2.0], 0.1),
    "just above it": ([3.1, 7.0], [-3.0, -0.1], 3.1 / 3),
    "held by the load alone": ([0.0, 4.0], [1.0, -2.0], 2.0),
    "never": ([3.0, 5.0], [0.7, 0.0], math.inf),
    "no load": ([3.0, 5.0], [0.0, 0.0], math.inf),
}


@pytest.mark.parametrize(("elastic", "geometric", "factor"), BUCKLED.values(), ids=BUCKLED)
def test_buckling_of_two_springs(elastic: list[float], geometric: list[float], factor: float) -> None:
    """D: k + f g = 0 at f = -k / g, the least above 0; seen from other axes it is the same."""
    k, g = np.diag([*elastic, *STIFF]), np.diag([*geometric, *np.zeros(16)])
    assert buckling(Springs(k, g)).factor == pytest.approx(factor, rel=1e-9)
    turned = ortho_group.rvs(18, random_state=np.random.default_rng(5))
    if elastic[0]:  # turned, a stiffness of nothing is round-off of either sign
        assert buckling(Springs(turned @ k @ turned.T, turned @ g @ turned.T)).factor == pytest.approx(factor, rel=1e-9)


def test_what_no_share_of_the_load_holds_is_refused() -> None:
    with pytest.raises(InputError, match=r"^tensions: spokes and tension together do not hold this rim"):
        buckling(Springs(np.diag([0.0, 4.0, *STIFF]), np.diag([-1.0, 1.0, *np.zeros(16)])))


@pytest.mark.parametrize("seed", range(12))
def test_any_ring_against_eigenvalues_of_another_library(seed: int) -> None:
    """D: the least positive root of det(K + f G), as scipy finds it, and the motion is the one that is lost."""
    draw = np.random.default_rng(seed)
    root, added = draw.standard_normal((18, 18)), draw.standard_normal((18, 18))
    ring = Springs(root @ root.T + 0.3 * np.eye(18), 0.2 * (added + added.T))
    found = buckling(ring)
    assert found.factor == pytest.approx(dense_factor(ring.elastic, ring.geometric), rel=1e-8)
    assert found.motion is not None
    left = (ring.elastic + found.factor * ring.geometric) @ found.motion.ravel()
    assert np.abs(left).max() < 1e-3 * np.abs(ring.elastic @ found.motion.ravel()).max()
