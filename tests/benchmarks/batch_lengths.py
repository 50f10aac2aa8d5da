"""A million spoke lengths in one call, against the bare numpy expression in the same run."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from tests.benchmarks.timing import Row, growth, paired
from wheelcalc.spokes.lengths import geometric_length

COUNT, ROUNDS = 1_000_000, 15


def both(count: int) -> tuple[Callable[[], np.ndarray], Callable[[], np.ndarray]]:
    rng = np.random.default_rng(7)
    erd, pcd, offset = rng.uniform(400, 620, count), rng.uniform(38, 70, count), rng.uniform(15, 40, count)
    crosses = rng.integers(0, 4, count).astype(float)
    holes, hole = np.asarray(16.0), np.asarray(2.5)

    def bare() -> np.ndarray:
        rim, hub = erd / 2, pcd / 2
        return np.sqrt(rim**2 + hub**2 - 2 * rim * hub * np.cos(2 * np.pi * crosses / holes) + offset**2) - hole / 2

    def ours() -> np.ndarray:
        return geometric_length(erd, pcd, offset, crosses, holes, hole)

    return ours, bare


def rows() -> Iterator[Row]:
    ours, bare = both(COUNT)
    np.testing.assert_allclose(ours(), bare(), rtol=1e-13)
    yield paired("a million lengths", ours, "the bare numpy expression", bare, ROUNDS)
    yield growth("lengths", (10_000, 100_000, COUNT), lambda count: both(count)[0])
