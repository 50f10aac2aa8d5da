"""Sessions with real wheels, run by hand: what is reached, made worse, ended, turned; beside it exact readings of exact wheels.

OPENBLAS_NUM_THREADS=1 .venv/bin/python -m tests.benchmarks.real_wheels FIRST COUNT
"""

from __future__ import annotations

import sys
import time

import numpy as np

from tests.making.real_sessions import COUNTED, Exact, Learner, Session, session


def said(name: str, found: list[Session]) -> str:
    """One line of figures."""
    reached = np.mean([each.reached for each in found], axis=0)
    made, worse = sum(each.made for each in found), sum(each.worse for each in found)
    ended = np.mean([each.ended is not None for each in found])
    keys = np.median([each.keys for each in found])
    return (
        f"{name:8} reached after each pass {np.round(reached, 2).tolist()}, after {COUNTED}: {reached[COUNTED]:.0%}; made worse {worse} "
        f"of {made} passes; ended within six {ended:.0%}; turns of the key {keys:.1f} (median)"
    )


def main(first: int = 7000, count: int = 40) -> None:
    """Print the figures of so many wheels."""
    for name, advisor in (("exact", Exact), ("library", Learner)):
        start = time.process_time()
        found = [session(seed, advisor) for seed in range(first, first + count)]
        print(said(name, found), f"{(time.process_time() - start) / count:.1f} s a wheel", flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
