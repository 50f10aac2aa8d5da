"""Of `true`: readings that are likelier slips than not; also while a pass is still being read, so that they are asked again."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from wheelcalc.answers.truing.readings import Maker, PassReadings, Stray, pass_readings, reader_of
from wheelcalc.build.whole import Build
from wheelcalc.files.readings import RimReadings
from wheelcalc.joined.at_tensions import at_tensions
from wheelcalc.truing.evidence import Fit, State, System, fitted, state
from wheelcalc.wheel.wheel import Wheel

COLUMNS = ("lateral", "radial", "tension")
PASSES = 2  # ours: what older ones say of this one, the one before says better
# R, ours (22 simulated wheels, one reading in 15 grossly wrong): of good readings one in 60 is doubted with one round of sizes, one
# in 350 with two, one in 700 with three, each time four of five slips are found.
ROUNDS = 3


class LeftOut(NamedTuple):
    """A reading that was taken for grossly wrong: pass (from 1), rim hole, column, what was read, what was expected."""

    number: int
    rim_hole: int
    column: str
    value: float
    likely: float


def left_out(wheel: Wheel, fit: Fit, now: State, first: int, newest: PassReadings) -> list[LeftOut]:
    """Readings that a fit takes for grossly wrong, and those of the newest pass that no wheel has; in the order of passes and holes.

    Parameters
    ----------
    wheel : that was read
    fit, now : of its readings
    first : number of the first pass in it, from 1
    newest : the last pass
    """
    system, nodes = fit.system, fit.system.model.nodes
    out = [
        LeftOut(
            len(system.tables) - 1 + first, each.rim_hole, each.column, each.value, _expected(wheel, fit, now, each)
        )
        for each in newest.strays
    ]
    passes, places = system.at
    for i in np.flatnonzero(fit.causes.gross):
        kind = int(system.kind[i])
        hole = int(wheel.lacing.rim_hole[places[i] - 2 * nodes]) if kind == 2 else int(places[i]) % nodes + 1
        out.append(LeftOut(int(passes[i]) + first, hole, COLUMNS[kind], float(fit.values[i]), float(now.expected[i])))
    return sorted(out)


def _expected(wheel: Wheel, fit: Fit, now: State, stray: Stray) -> float:
    """What was to be read where a reading is none; the zero that the column may have is that of its other readings."""
    model, system = fit.system.model, fit.system
    if stray.column == "tension":
        return float(now.values[model.tension][wheel.lacing.rim_hole == stray.rim_hole][0])
    kind = COLUMNS.index(stray.column)
    here = (system.kind == kind) & (system.at[0] == len(system.tables) - 1) & ~fit.causes.gross
    zero = float(np.median((fit.values - now.values[system.at[1]])[here])) if here.any() else 0.0
    return zero + float(now.values[(model.lateral, model.radial)[kind]][stray.rim_hole - 1])


class Doubting:
    """Looks at readings of a wheel as they are typed.

    Parameters
    ----------
    build, wheel : the build
    """

    def __init__(self, build: Build, wheel: Wheel) -> None:
        self.build, self.wheel = build, wheel

    @cached_property
    def _maker(self) -> Maker:
        return Maker(at_tensions(self.build, self.wheel))

    def of(self, passes: Sequence[RimReadings]) -> list[LeftOut]:
        """Readings of the last pass, be it not all read yet, that look wrong beside the others and the pass before.

        Parameters
        ----------
        passes : oldest first

        Raises
        ------
        InputError
            If a reading cannot be used.
        """
        first = max(0, len(passes) - PASSES)
        read = [pass_readings(self.build, self.wheel, each) for each in passes[first:]]
        tables = [each.table for each in read]
        reader = reader_of(self.build, self.wheel, own_plane=False)
        fit = fitted(System(self._maker(tables[:-1]), tables, reader), rounds=ROUNDS)
        return [
            each for each in left_out(self.wheel, fit, state(fit), first + 1, read[-1]) if each.number == len(passes)
        ]
