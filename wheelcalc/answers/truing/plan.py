"""What passes say of a wheel, and what to turn next: the tables one after another, slips, learning, the verdict."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.answers.truing.readings import PassReadings
from wheelcalc.arrays import Floats
from wheelcalc.joined.at_tensions import AtTensions, preferring
from wheelcalc.truing import advice
from wheelcalc.truing.agreement import Disagreeing, disagreeing
from wheelcalc.truing.evidence import Fit, State
from wheelcalc.truing.faults import Faults, faults_of
from wheelcalc.truing.forecast import Forecast, Spread, forecast_of
from wheelcalc.truing.learning import Learned, Past
from wheelcalc.truing.slips import Likelier
from wheelcalc.truing.table import Table
from wheelcalc.truing.turns import Done, Planner
from wheelcalc.truing.verdict import AGAIN, Verdict, decide, left_as_it_is
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

PREFERENCES = ("straight", "both", "even")


@dataclass(frozen=True)
class SideTurns:
    """All nipples of a side alike.

    Parameters
    ----------
    move : of the rim, + right [mm]
    left, right : turns of all left and of all right nipples, + tightens
    """

    move: float
    left: float
    right: float


@dataclass(frozen=True, eq=False)
class Judged:
    """What the readings of all passes come to.

    Parameters
    ----------
    tables : of all passes; the last one's turns are none
    learned : fit, give and stiffness
    state : of the wheel when the last pass was read
    planner : plans for it
    forecast : what the readings allow
    verdict : what to do
    slips : of whole columns, the likeliest first
    disagreeing : columns of the newest pass that are scatter
    """

    tables: Sequence[Table]
    learned: Learned
    state: State
    planner: Planner
    forecast: Forecast
    verdict: Verdict
    slips: Sequence[Likelier]
    disagreeing: Sequence[Disagreeing]

    @property
    def fit(self) -> Fit:
        """Of all readings."""
        return self.learned.fit

    @property
    def turned(self) -> Floats:
        """State after the pass, as it most likely will be, (2m + n,)."""
        return self.state.values + self.planner.per_step @ (self.verdict.turns / self.planner.room.step)


def judged(ready: AtTensions, past: Past, tables: Sequence[Table], slips: Sequence[Likelier] = ()) -> Judged:
    """What tables of readings come to.

    Parameters
    ----------
    ready : all that planning needs
    past : what the passes teach
    tables : oldest first; of the last one no turns were made yet
    slips : of whole columns, the likeliest first
    """
    learned = past.after(tables)
    forecast = forecast_of(learned.fit)
    now = forecast.state
    planner = planner_of(ready, learned, now, tables)
    scatter = list(disagreeing(learned.fit, now))
    if scatter or (slips and slips[0].sure):
        verdict = left_as_it_is(AGAIN, forecast)
    else:
        verdict = decide(planner, forecast, len(tables), replace(planner, stuck=()) if planner.stuck else None)
    return Judged(tables, learned, now, planner, forecast, verdict, slips, scatter)


def history(ready: AtTensions, past: Past, passes: Sequence[PassReadings]) -> tuple[list[Table], list[int]]:
    """Tables of all passes with what was turned after each, and the passes (from 1) whose turns the advice stands in for."""
    lost, tables, computed = np.isin(ready.wheel.lacing.rim_hole, ready.build.truing.stuck), list[Table](), list[int]()
    for number, each in enumerate(passes, 1):
        table = each.table
        if number == len(passes):
            table = replace(table, turned=np.zeros(len(lost)))
        elif each.turned is None:
            advised = judged(ready, past, [*tables, replace(table, turned=np.zeros(len(lost)))])
            table = replace(table, turned=advised.verdict.turns)
            computed.append(number)
        tables.append(replace(table, turned=np.where(lost, 0.0, table.turned)))
    return tables, computed


def planner_of(ready: AtTensions, learned: Learned, now: State, tables: Sequence[Table]) -> Planner:
    """What plans passes for this wheel, by the settings of the file."""
    system, build = learned.fit.system, ready.build
    model = system.model
    doubts = 100 * now.sigma[model.tension] / model.structure.tensions
    left, right = (float(doubts[side].mean()) for side in model.sides)
    said = np.flatnonzero(np.isin(ready.wheel.lacing.rim_hole, build.truing.stuck)).tolist()
    return Planner(
        model=model,
        equal=ready.equal_faults,
        room=ready.room,
        done=_done_as_read(ready, tables),
        dish_known=not system.reader.any_plane and any(np.isfinite(each.lateral).any() for each in tables),
        balance=build.truing.prefer == "both",
        doubt=(left, right),
        stuck=tuple(sorted({*said, *learned.stuck})),
    )


def _done_as_read(ready: AtTensions, tables: Sequence[Table]) -> Done:
    """When the wheel is done, by what was read of it: the rest can neither be seen nor asked for."""
    done = ready.done
    lateral, radial, tension = (
        any(np.isfinite(getattr(each, name)).any() for each in tables) for name in ("lateral", "radial", "tensions")
    )
    return Done(
        lateral=done.lateral if lateral else math.inf,
        radial=done.radial if radial else math.inf,
        dish=done.dish,
        spread=done.spread if tension else math.inf,
    )


def as_read(last: Judged) -> Floats:
    """The state as it was read last, the likeliest where nothing was; zeros that may lie anywhere brought to it."""
    model, now = last.planner.model, last.state.values
    values = last.tables[-1].values.copy()
    for part, floats in ((model.lateral, last.fit.system.reader.any_plane), (model.radial, True)):
        if floats and np.isfinite(values[part]).any():
            values[part] -= np.nanmedian(values[part] - now[part])
    return np.where(np.isfinite(values), values, now)


def promised(past: Past, tables: Sequence[Table]) -> Spread | None:
    """What the readings of the last pass were to show, by the passes before it; None of the first."""
    if len(tables) < 2:
        return None
    forecast = forecast_of(past.glance(tables[:-1]).fit)
    return forecast.read(forecast.turned(tables[-2].turned))


def dish_of(planner: Planner, now: Floats) -> SideTurns:
    """What brings the rim to the middle [turns], the mean tension kept."""
    off = planner.off_dish(faults_of(planner.model, now))
    left, right = planner.to_middle(now)
    return SideTurns(-off, left, right)


def level_of(ready: AtTensions, newest: PassReadings, planner: Planner, now: Floats) -> SideTurns | None:
    """What brings the tension to its target, where it was read and lies outside the evenness asked for."""
    means = newest.means(ready.wheel)
    if len(means) < len(SIDES) or not ready.target.known:
        return None
    low = 1 - ready.build.tension.evenness / 100
    if all(means[side] >= low * ready.target.tension[side] for side in SIDES):
        return None
    sides = planner.sides(now)
    wanted = np.array([ready.target.tension[side] for side in SIDES]) - sides.mean
    left, right = np.rint(np.linalg.solve(sides.tension, wanted)) * ready.room.step
    return SideTurns(0.0, float(left), float(right))


def compromises(ready: AtTensions, planner: Planner, now: Floats) -> dict[str, Faults]:
    """What each preference would end with."""
    plain = replace(ready, build=ready.build.having({"truing.prefer": "both"})).equal_faults
    return {
        name: replace(planner, equal=preferring(name, plain), balance=name == "both").in_the_end(now)
        for name in PREFERENCES
    }


def windup_of(wheel: Wheel, ready: AtTensions) -> float:
    """Twist of the spokes that twist most [turns]."""
    out = []
    for side in SIDES:
        mask = wheel.lacing.on(side)
        tension = float(ready.structure.tensions[mask].mean())
        out.append(advice.windup_turns(wheel.wire(side), float(wheel.spans[mask].mean()), tension))
    return max(out)
