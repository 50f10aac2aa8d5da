"""A million spoke lengths in one call, against the bare numpy expression in the same run.

python tests/benchmarks/batch_lengths.py
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np

from wheelcalc.spokes.lengths import geometric_length

COUNT, ROUNDS = 1_000_000, 15


def median_seconds(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    rng = np.random.default_rng(7)
    erd, pcd, offset = rng.uniform(400, 620, COUNT), rng.uniform(38, 70, COUNT), rng.uniform(15, 40, COUNT)
    crosses = rng.integers(0, 4, COUNT).astype(float)
    holes, hole = np.asarray(16.0), np.asarray(2.5)

    def bare() -> np.ndarray:
        rim, hub = erd / 2, pcd / 2
        return np.sqrt(rim**2 + hub**2 - 2 * rim * hub * np.cos(2 * np.pi * crosses / holes) + offset**2) - hole / 2

    def ours() -> np.ndarray:
        return geometric_length(erd, pcd, offset, crosses, holes, hole)

    np.testing.assert_allclose(ours(), bare(), rtol=1e-13)
    base, own = median_seconds(bare), median_seconds(ours)
    print(
        f"{COUNT} lengths, median of {ROUNDS}: bare numpy {base * 1e3:.1f} ms, ours {own * 1e3:.1f} ms, ratio {own / base:.2f}"
    )


if __name__ == "__main__":
    main()
