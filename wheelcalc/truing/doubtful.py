"""Tensions of plucks of which it is doubtful whose spoke sounded: which of them may count."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from wheelcalc.arrays import Bools, Floats

LIKELIER = 0.5  # of a pluck's rim hole: below, it may as well be another spoke's
SURELY = 0.9  # ours, of a pluck's rim hole: nine in ten
# Ours, of the plucks of a side. One pluck too many or too few moves all after it, so a round's plucks are wrong together and weighing
# each less does not help. Of 18 synthetic rounds (three makes of tests/making) 14 had a share of 0.67 to 1 so sure, four 0.09 at most.
MOSTLY = 0.5


def doubtful(assigned: Floats, sides: Iterable[Bools]) -> tuple[Bools, list[bool]]:
    """Which plucks are not to count, (n,), and of each side whether none of its plucks is.

    Parameters
    ----------
    assigned : chance that each tension is of its spoke, (n,); nan where that is no question
    sides : masks of the spokes of each side, (n,) each
    """
    left_out = np.nan_to_num(assigned, nan=1.0) < LIKELIER
    whole = []
    for side in sides:
        heard = side & np.isfinite(assigned)
        whole.append(bool(heard.any() and np.mean(assigned[heard] >= SURELY) < MOSTLY))
        if whole[-1]:
            left_out |= heard
    return left_out, whole


def first_unsure(assigned: Floats, side: Bools) -> int:
    """The first spoke of a side, from 0, from which the plucks are not sure."""
    return int(np.flatnonzero(side & (assigned < SURELY))[0])
