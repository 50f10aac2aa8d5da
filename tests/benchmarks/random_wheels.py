"""200 random untrue wheels, trued by the library: run by hand, prints what is left after each pass.

OPENBLAS_NUM_THREADS=1 makes it several times faster: the matrices are small.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from tests.making.random_wheels import untrue
from tests.making.true_by_readings import GOOD, planned
from wheelcalc.truing.turns import Done

NAMES = ("lateral mm", "radial mm", "dish mm", "left %", "right %")


def trued(seed: int, passes: int = 3) -> tuple[list[tuple[float, ...]], list[int]]:
    """Figures before and after each pass, and how many nipples each turned."""
    case, rng = untrue(seed), np.random.default_rng(seed + 10**6)
    figures, nipples = [case.figures()], []
    for _ in range(passes):
        turns = planned(case, rng, Done()).turns
        nipples.append(int(np.count_nonzero(turns)))
        if turns.any():
            case.turn(turns, rng)
        figures.append(case.figures())
    return figures, nipples


def main(count: int = 200) -> None:
    start = time.perf_counter()
    figures, nipples = zip(*(trued(seed) for seed in range(count)), strict=True)
    found = np.abs(np.array(figures))
    good = np.all(found <= np.array(GOOD), axis=2)
    print(
        f"{count} wheels in {time.perf_counter() - start:.0f} s; nipples per pass {np.mean(nipples, axis=0).round(1)}"
    )
    print(f"good before and after each pass: {good.mean(axis=0).round(3)}")
    for name, values in zip(NAMES, np.moveaxis(found, 2, 0), strict=True):
        print(
            f"{name:12} median {np.median(values, axis=0).round(2)}, 95 % {np.quantile(values, 0.95, axis=0).round(2)}"
        )
    print("seeds not good:", np.flatnonzero(~good[:, -1]).tolist())


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
