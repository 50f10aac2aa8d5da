"""Whether readings round a rim agree with one another: single ones that no wheel has, and columns that are scatter."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Bools, Floats
from wheelcalc.truing.evidence import Fit, State

AROUND = 7  # ours: readings, of whose median no rim lies far: three wrong ones among them do not move it much
FEWEST = 5  # ours, readings: of fewer no median tells which is wrong
# Ours: two readings, or one in twelve, may be read wrongly so; where it is more, the column is another.
FEW, SHARE = 2, 12
# Ours. Of 62 simulated wheels read to 0.1 mm by two makes of people the learned error was at most 1.5 times the usual, read to 0.2 mm
# at most 3.1 times; of pure scatter of 0.4 mm 3.5 times and more.
SCATTER = 3.2  # times the usual error of reading: beyond, a column may be scatter
EXPLAINED = 0.3  # of a column's variance, by all other readings: less, and it is no wheel's
GROWN = 2.0  # ours, times the scatter of the passes before: one who reads so coarsely is known then
# Ours: of a column of so many readings, grossly wrong; of 1 in 30 wrong, 1 in 6 were taken for it at most.
MOST_LEFT_OUT, LEAST_READ = 1 / 4, 20


class Disagreeing(NamedTuple):
    """A column whose readings do not agree with one another: "lateral" or "radial", its error as learned [mm], readings left out."""

    column: str
    scatter: float
    left_out: int


def strays(column: Floats, most: float, kept: Bools) -> Bools:
    """Which of a few readings round the rim no wheel has beside the others, (m,); none where there are many of them.

    Parameters
    ----------
    column : readings at every rim hole, nan where nothing was read, (m,) [mm]
    most : distance from the median of those around, beyond which no rim lies [mm]
    kept : readings that were read again and are right, (m,)
    """
    read = np.flatnonzero(np.isfinite(column))
    out = np.zeros(len(column), dtype=bool)
    if len(read) < FEWEST:
        return out
    width = min(AROUND, len(read))
    around = column[read][(np.arange(len(read))[:, None] + np.arange(width) - width // 2) % len(read)]
    far = read[np.abs(column[read] - np.median(around, axis=1)) > most]
    if len(far) <= max(FEW, len(read) // SHARE):
        out[far] = True
    return out & ~kept


def disagreeing(fit: Fit, state: State) -> Iterator[Disagreeing]:
    """Columns of the newest pass that are scatter, or of which many readings had to be left out.

    Parameters
    ----------
    fit : of all passes
    state : of the wheel by it

    Notes
    -----
    A reading is expected by all the others (D: conditional mean). Where readings lie no nearer to that than to their mean,
    and their error as learned is far beyond the usual, they are no wheel's.
    """
    system, usual = fit.system, fit.system.reader
    newest = len(system.tables) - 1
    for kind, name, error, learned in (
        (0, "lateral", usual.lateral, fit.reader.lateral),
        (1, "radial", usual.radial, fit.reader.radial),
    ):
        here = (system.kind == kind) & (system.at[0] == newest)
        gross = int(fit.causes.gross[here].sum())
        many = gross > MOST_LEFT_OUT * max(int(here.sum()), LEAST_READ)
        right = here & ~fit.causes.gross
        if right.sum() < FEWEST:
            continue
        before = (system.kind == kind) & (system.at[0] < newest) & ~fit.causes.gross
        off = fit.values - state.expected
        scattered = off[right].var() > (1 - EXPLAINED) * fit.values[right].var()
        grown = not before.any() or off[right].std() > GROWN * off[before].std()
        if many or (learned > SCATTER * error and scattered and grown):
            yield Disagreeing(name, learned, gross)
