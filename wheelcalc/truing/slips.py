"""Slips of a whole column of readings: the wrong sign, counted backwards, another first hole, columns or units swapped.

What each slip would have been without it is tried against the readings as typed. A wheel's model says how lateral,
radial and tension hang together, and what turns do, so the right one is the likelier.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.truing.evidence import NAMES, SIZE_SIGMA, Fit, Reader, System, likeliest
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import Table
from wheelcalc.wheel.constants import INCH, NEWTON_PER_KGF
from wheelcalc.wheel.errors import InputError

# Ours: odds of each slip before any reading, 5 % together.
PRIOR = {
    "lateral sign": 0.01,
    "radial sign": 0.01,
    "counted backwards": 0.008,
    "started at another hole": 0.008,
    "columns swapped": 0.005,
    "units": 0.004,
    "turned the wrong way": 0.005,
}
UNITS = {
    "tension in kgf": (1.0, 1.0, NEWTON_PER_KGF),
    "lateral in tenths of a millimetre": (0.1, 1.0, 1.0),
    "radial in tenths of a millimetre": (1.0, 0.1, 1.0),
    "lateral and radial in tenths of a millimetre": (0.1, 0.1, 1.0),
    "lateral and radial in inches": (INCH, INCH, 1.0),
}
MOST_LOOKED = 8  # slips, ours: the likeliest at a first glance are looked at again
LEAST_RUN_OUT = 0.5  # mm
NOT_WORTH = 8.0  # of the logarithm of the odds, at a first glance: less likely is not looked at again
GLANCE = 1.5  # ours, times the usual sizes: what a first glance takes them for
AT_A_GLANCE = 0.03  # ours, of what a gross reading has more: a share of them is gross
WAYS_BACKWARDS = 4  # of counting backwards, alike likely
USUAL_TENSION, TENSION_SPREAD = 900.0, 0.5  # N, and of the logarithm: the mean of wheels, C
NEWEST, ALL = "newest", "all"

SURE_SLIP = 20.0  # times likelier, by the contract: from there on nothing is turned
# Ours: two errors of reading at 1.8 times the usual. Readings that even without the slip are no wheel's (invented ones,
# smooth round the rim) do not tell which slip made them so.
MOST_STRAIN = 3.2
MOST_LOG = 50.0  # beyond, it is as good as sure
ModelOf = Callable[[Sequence[Table]], Model]
Change = Callable[[Table], Table | None]


@dataclass(frozen=True)
class Slip:
    """One way to slip.

    Parameters
    ----------
    what : one of `PRIOR`
    scope : which tables have it: "newest", or "all" against what was turned
    detail : what was done, for words: "by 3", "lateral and radial"
    odds : before any reading
    scale : logarithm of how much wider the mended readings lie than those typed: likelihoods are per millimetre and newton
    """

    what: str
    scope: str
    detail: str
    odds: float
    scale: float = 0.0

    @property
    def log_odds(self) -> float:
        """Logarithm of the odds before any reading, per unit of the readings as typed."""
        return math.log(self.odds) + self.scale


@dataclass(frozen=True)
class Likelier:
    """A slip, how many times likelier it is than the readings as typed, and the errors of reading that it leaves.

    Parameters
    ----------
    slip : what was done
    times : posterior odds against the readings as typed
    worst : the largest of the errors of reading then, over the usual
    strain : how far beyond the usual they are together
    """

    slip: Slip
    times: float
    worst: float
    strain: float

    @property
    def sure(self) -> bool:
        """Whether nothing is turned for it."""
        return self.times > SURE_SLIP


class Undo(NamedTuple):
    """What undoes a slip within a table: what, detail, share of the slip's odds, the change; what readings are multiplied by."""

    what: str
    detail: str
    share: float
    change: Change
    times: tuple[float, float, float] = (1.0, 1.0, 1.0)


def changes(model: Model, *, several: bool) -> Iterator[Undo]:
    """What undoes each slip.

    Parameters
    ----------
    model : of the wheel
    several : whether turns were made between tables, so that moves that look like another true wheel can be told
    """
    nodes, m = model.structure.spoke_nodes, model.nodes
    yield Undo("lateral sign", "", 1.0, partial(_times, times=(-1.0, 1.0, 1.0)))
    yield Undo("radial sign", "", 1.0, partial(_times, times=(1.0, -1.0, 1.0)))
    for words, first in (("from the last hole", m - 1), ("from the first hole", 0)):
        for also, sign in (("", 1.0), (", left taken for right", -1.0)):
            if several or first or sign < 0:
                way = (first - np.arange(m)) % m
                moved = partial(moved_rows, nodes=nodes, way=way, sign=sign)
                yield Undo("counted backwards", words + also, 1 / WAYS_BACKWARDS, moved)
    # Of one reading, moves that bring each side to itself look like another true wheel, and are no slip that can be told.
    serves = np.full(m, -1)
    serves[nodes] = model.is_right
    shifts = [*range(1, m)] if several else [by for by in (1, 2, m - 1) if (np.roll(serves, by) != serves).any()]
    for shift in shifts:
        moved = partial(moved_rows, nodes=nodes, way=(np.arange(m) + shift) % m)
        yield Undo("started at another hole", f"by {min(shift, m - shift)}", 1 / len(shifts), moved)
    yield Undo("columns swapped", "lateral and radial", 0.5, lambda t: replace(t, lateral=t.radial, radial=t.lateral))
    if m % 2 == 0:
        swapped = partial(_tensions, nodes=nodes, way=np.arange(m) ^ 1)
        yield Undo("columns swapped", "left and right tensions", 0.5, swapped)
    for detail, times in UNITS.items():
        yield Undo("units", detail, 1 / len(UNITS), partial(_times, times=times), times)


def _times(table: Table, times: tuple[float, float, float]) -> Table:
    lateral, radial, tension = times
    return replace(
        table,
        lateral=lateral * table.lateral,
        radial=radial * table.radial,
        tensions=tension * table.tensions,
        own_sigma=tension * table.own_sigma,
    )


def moved_rows(table: Table, nodes: Ints, way: Ints, sign: float = 1.0) -> Table | None:
    """A table whose rows are moved among the rim holes; None where a tension would land at a hole without a spoke."""
    moved = _tensions(table, nodes, way)
    return moved and replace(moved, lateral=sign * table.lateral[way], radial=table.radial[way])


def _tensions(table: Table, nodes: Ints, way: Ints) -> Table | None:
    whole = np.full((2, len(table.lateral)), np.nan)
    whole[0, nodes], whole[1, nodes] = table.tensions, table.own_sigma
    moved = whole[:, way]
    if np.isfinite(moved[0]).sum() > np.isfinite(moved[0, nodes]).sum():
        return None
    return replace(table, tensions=moved[0, nodes], own_sigma=moved[1, nodes])


def variants(model: Model, tables: Sequence[Table]) -> Iterator[tuple[Slip, list[Table]]]:
    """Every slip with the tables as they would be without it."""
    several = len(tables) > 1
    for what, detail, share, change, times in changes(model, several=several):
        for scope, slipped in ((NEWEST, tables[-1:]), (ALL, tables))[: 1 + several]:
            mended = [table for each in slipped if (table := change(each)) is not None]
            if len(mended) < len(slipped) or not all(tells_of_unit(each, times) for each in mended):
                continue
            odds = PRIOR[what] * share / (1 + several)
            scale = sum(widened(each, times) for each in slipped)
            yield Slip(what, scope, detail, odds, scale), [*tables[: len(tables) - len(slipped)], *mended]
    if several and tables[-2].turned.any():
        back = replace(tables[-2], turned=-tables[-2].turned)
        yield Slip("turned the wrong way", ALL, "", PRIOR["turned the wrong way"]), [*tables[:-2], back, tables[-1]]


def likelier(model_of: ModelOf, tables: Sequence[Table], reader: Reader) -> list[Likelier]:
    """How much likelier each slip of the newest of at most two tables is than none, the likeliest first.

    Parameters
    ----------
    model_of : the wheel's model at the tensions of tables
    tables : the newest, and the one before where there is one
    reader : who read them
    """
    models: dict[tuple[float, ...], Model] = {}

    def system(some: Sequence[Table]) -> System:
        model = model_of(some)
        return System(models.setdefault(tuple(model.structure.tensions), model), some, reader)

    typed = system(tables)
    glances = Glances()
    plain = glances.log(typed) + mean_tension(tables)
    worth: list[tuple[float, Slip, list[Table], System]] = []
    for slip, some in variants(typed.model, tables):
        before = mean_tension(some) + slip.log_odds
        with suppress(InputError):  # readings that no wheel can have are no slip either
            glance = glances.log(mended := system(some)) + before
            if glance > plain - NOT_WORTH:
                worth.append((glance, slip, some, mended))
    if not worth:
        return []
    as_typed = likeliest(typed).log_marginal + mean_tension(tables)
    same_slip: dict[tuple[str, str], list[Likelier]] = {}
    for _, slip, some, mended in sorted(worth, key=lambda each: -each[0])[:MOST_LOOKED]:
        fit = likeliest(mended)
        log = fit.log_marginal + mean_tension(some) + slip.log_odds - as_typed
        tried = Likelier(slip, math.exp(min(log, MOST_LOG)), float(fit.sizes[-3:].max()), strain(fit))
        same_slip.setdefault((slip.what, slip.scope), []).append(tried)
    summed = [together(each) for each in same_slip.values()]
    return sorted(summed, key=lambda each: -each.times)


def together(ways: Sequence[Likelier]) -> Likelier:
    """All ways of one slip: the likeliest, with the odds of all; never sure where its readings are still no wheel's."""
    best, times = max(ways, key=lambda each: each.times), sum(each.times for each in ways)
    return replace(best, times=times if best.strain <= MOST_STRAIN else min(times, SURE_SLIP))


def strain(fit: Fit) -> float:
    """Squares of the errors of reading beyond the usual, in what was believed of their size, summed."""
    beyond = np.maximum(np.log(fit.sizes[-4:]), 0) / SIZE_SIGMA[-4:]
    return float(np.sum(beyond**2))


def tells_of_unit(mended: Table, times: tuple[float, float, float]) -> bool:
    """Whether columns made larger then run out by more than readings scatter: zeros are zeros in every unit."""
    read = (column[np.isfinite(column)] for column in (mended.lateral, mended.radial))
    return all(
        each <= 1 or (len(column) > 0 and np.ptp(column) > LEAST_RUN_OUT)
        for each, column in zip(times, read, strict=False)
    )


def widened(table: Table, times: tuple[float, float, float]) -> float:
    """Logarithm of what a table's readings were multiplied by, their product. D: change of variables."""
    columns = (table.lateral, table.radial, table.tensions)
    return sum(math.log(each) * int(np.isfinite(column).sum()) for each, column in zip(times, columns, strict=True))


def mean_tension(tables: Sequence[Table]) -> float:
    """Logarithm of how likely the mean of the tensions is for a wheel; nothing where none was read."""
    read = np.concatenate([each.tensions for each in tables])
    if not np.isfinite(read).any():
        return 0.0
    off = math.log(max(float(np.nanmean(read)), 1.0) / USUAL_TENSION) / TENSION_SPREAD
    return -0.5 * off**2


class Glances:
    """Evidence without rare causes; for tables read at the same places the covariance is worked out once."""

    def __init__(self) -> None:
        self._roots: dict[tuple[int, bytes], Floats] = {}
        self._inverse_roots: dict[tuple[int, bytes], Floats] = {}

    def log(self, system: System) -> float:
        """Logarithm of how likely a system's readings are."""
        key, left = (id(system.model), system.read.tobytes()), system.left(system.nothing())
        if key not in self._roots:
            sizes = np.full(len(NAMES), GLANCE)
            covariance = Fit(system, sizes, system.nothing()).covariance + np.diag(AT_A_GLANCE * system.gross_variance)
            self._roots[key] = np.asarray(np.linalg.cholesky(covariance))
            off = np.linalg.solve(self._roots[key], left)
        else:
            if key not in self._inverse_roots:
                self._inverse_roots[key] = np.asarray(np.linalg.inv(self._roots[key]))
            off = self._inverse_roots[key] @ left
        return -0.5 * float(off @ off) - float(np.log(np.diag(self._roots[key])).sum())
