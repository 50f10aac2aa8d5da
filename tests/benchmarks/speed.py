"""One table of what everything costs, each line against its baseline in the same run (needs the extra `test`).

    .venv/bin/python -m tests.benchmarks.speed          # all, some minutes; best on a machine with nothing else to do

The figures of the day stand in DEVELOPERS.md.
"""

# ruff: noqa: E402  the threads must be set before numpy is imported
from __future__ import annotations

import os

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"
os.environ.pop("OPENBLAS_CORETYPE", None)

from collections import deque
from collections.abc import Iterator
from functools import partial

import numpy as np

from tests.benchmarks import batch_lengths, start_up, structure
from tests.benchmarks.timing import HEAD, Row, growth, median, paired
from tests.making.pluck_sessions import heard, session
from tests.making.random_jars import WINDOW, random_jar, random_shed
from tests.making.random_wheels import untrue
from tests.making.true_by_readings import estimated
from tests.oracles.whole_wheels import every_wheel
from wheelcalc.answers import salvage
from wheelcalc.salvage.jar import pooled, search


def jars() -> Iterator[Row]:
    def job_of(spokes: int) -> partial[object]:
        rims, hubs, _ = random_jar(5, rims=8, hubs=8)
        return partial(search, rims, hubs, pooled(random_jar(5, spokes=spokes)[2]), WINDOW, 90.0)

    def whole() -> None:
        """The same patterns laced and computed as wheels, one after the other, and not yet held against any spoke."""
        rims, hubs, spokes = random_jar(5, rims=8, hubs=8, spokes=24)
        deque(every_wheel(rims, hubs, pooled(spokes)), maxlen=0)

    tried = job_of(24)().tried
    yield paired(f"jar search, {tried} patterns", job_of(24), "each laced and computed whole", whole, 3)
    yield growth("jar search, lots of spokes", (12, 24, 48, 96), job_of)
    tree = random_shed(7)
    shed = median(lambda: salvage(tree), 5)
    yield Row("salvage, 40 lots, 10 rims, 10 hubs", shed, "asked", 2.0, f"{shed / 2:.2f}")
    yield growth(
        "salvage, 10 rims, 10 hubs, lots", (10, 20, 40, 80), lambda lots: partial(salvage, random_shed(7, lots))
    )


def truing() -> Iterator[Row]:
    case = untrue(1)
    yield Row(
        f"estimate from readings, {len(case.is_right)} spokes",
        median(lambda: estimated(case, np.random.default_rng(1)), 9),
        "",
        None,
        "",
    )


def plucks() -> Iterator[Row]:
    one = session(20_000, 20, False, rates=(44_100,))
    lasts = one.sound.size / one.rate
    took = median(lambda: heard(one.sound, one.rate, [one.table], 30), 3)
    yield Row(f"plucks heard in {lasts:.0f} s of sound", took, "the sound's own length", lasts, f"{took / lasts:.3f}")

    def job_of(times: int) -> partial[object]:
        return partial(heard, np.tile(one.sound, times), one.rate, [one.table])

    yield growth("plucks heard, times that recording", (1, 2, 4), job_of, 3)


def main() -> None:
    print(HEAD)
    for rows in (start_up.rows, batch_lengths.rows, structure.rows, jars, truing, plucks):
        for row in rows():
            print(row, flush=True)


if __name__ == "__main__":
    main()
