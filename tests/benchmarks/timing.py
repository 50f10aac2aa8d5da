"""Timing against a baseline in the same run: pairs in turn, medians, and how a cost grows with size."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np


class Row(NamedTuple):
    """A line of the table: seconds of ours and of the baseline, medians; the ratio is the median of pairs."""

    what: str
    ours: float
    baseline: str
    theirs: float | None
    note: str

    def __str__(self) -> str:
        return f"| {self.what} | {_time(self.ours)} | {self.baseline} | {'' if self.theirs is None else _time(self.theirs)} | {self.note} |"


HEAD = "| what | ours | baseline | takes | ours to baseline, or growth |\n|---|---|---|---|---|"


def _time(seconds: float) -> str:
    return f"{seconds:.2f} s" if seconds >= 1 else f"{1e3 * seconds:.3g} ms"


def seconds(job: Callable[[], object]) -> float:
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def median(job: Callable[[], object], runs: int) -> float:
    job()
    return statistics.median(seconds(job) for _ in range(runs))


def paired(what: str, ours: Callable[[], object], baseline: str, theirs: Callable[[], object], runs: int) -> Row:
    """Both in turn, so that a busy machine is busy for both."""
    pairs = [(seconds(ours), seconds(theirs)) for _ in range(runs + 1)][1:]
    own, base = (statistics.median(each) for each in zip(*pairs, strict=True))
    ratios = sorted(a / b for a, b in pairs)
    note = f"{statistics.median(ratios):.2f} (least {ratios[0]:.2f}, {runs} pairs)"
    return Row(what, own, baseline, base, note)


def growth(what: str, sizes: Sequence[int], job_of: Callable[[int], Callable[[], object]], runs: int = 5) -> Row:
    """The largest size's time, and the power of the size that fits the times (least squares of the logarithms)."""
    times = [median(job_of(size), runs) for size in sizes]
    power = np.polyfit(np.log(sizes), np.log(times), 1)[0]
    shown = ", ".join(f"{size}: {_time(each)}" for size, each in zip(sizes, times, strict=True))
    return Row(f"{what}, {sizes[-1]}", times[-1], "itself, smaller", None, f"size to the {power:.2f} ({shown})")
