"""From readings to a plan: the likeliest state without misread values, and what whole sides and preferences would do."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.answers.truing.readings import Taken
from wheelcalc.arrays import Floats
from wheelcalc.joined.at_tensions import Setup, preferring
from wheelcalc.truing import advice
from wheelcalc.truing.estimate import Estimate, Readings, estimate
from wheelcalc.truing.faults import Figures, figures
from wheelcalc.truing.model import Model
from wheelcalc.truing.turns import Done, Planner
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

PREFERENCES = ("straight", "both", "even")
NO_WHEEL = 3.0  # times the limit for a misread one: readings that cannot be a wheel's at all
ONE_BY_ONE, AT_ONCE = 5, 4  # so many go one by one; then one in so many of those that do not fit
MOST_LEFT_OUT = 0.1  # of the readings: where more do not fit, it is not the readings


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


def fitted(model: Model, readings: Readings, limit: float) -> tuple[Readings, Estimate, dict[str, list[int]]]:
    """Estimate without the readings that rim and spokes cannot explain, the worst left out first.

    The first go one by one, since one misread spoils the look of its neighbours; where many more do not fit, a part of
    them goes at once.

    Raises
    ------
    InputError
        If they are many.
    """
    out: dict[str, list[int]] = {name: [] for name in advice.QUANTITIES}
    parts = dict(zip(advice.QUANTITIES, (model.lateral, model.radial, model.tension), strict=True))
    found = estimate(model, readings)
    most = int(MOST_LEFT_OUT * np.isfinite(readings.values).sum())
    while (left := most - (gone := sum(map(len, out.values())))) > 0:
        misfits = np.nan_to_num(np.abs(found.misfits))
        off = int(np.count_nonzero(misfits >= limit))
        if not off:
            break
        at_once = off // AT_ONCE if gone >= ONE_BY_ONE else 1
        for worst in np.argsort(-misfits, kind="stable")[: min(left, max(1, at_once))]:
            name = next(name for name, part in parts.items() if part.start <= worst < part.stop)
            place = int(worst) - parts[name].start
            out[name].append(place)
            field = "tensions" if name == "tension" else name
            values = getattr(readings, field).copy()
            values[place] = np.nan
            readings = replace(readings, **{field: values})
        found = estimate(model, readings)
    if np.nanmax(np.abs(found.misfits)) > NO_WHEEL * limit:
        raise InputError(
            "",
            "no rim on spokes lies as these readings have it, even without the worst of them; check that they are in mm and N, each "
            "beside its own rim hole, counted forward from the valve",
        )
    return readings, found, out


def holes_of(wheel: Wheel, name: str, places: list[int]) -> list[int]:
    """Rim holes of places in a list of readings, in order."""
    holes = wheel.lacing.rim_hole if name == "tension" else np.arange(1, wheel.rim.holes + 1)
    return sorted(int(holes[place]) for place in places)


def _done_as_read(ready: Setup, readings: Readings) -> Done:
    """When the wheel is done, by what was read of it: the rest can neither be seen nor asked for."""
    done = ready.done
    return Done(
        lateral=done.lateral if np.isfinite(readings.lateral).any() else math.inf,
        radial=done.radial if np.isfinite(readings.radial).any() else math.inf,
        dish=done.dish,
        spread=done.spread if np.isfinite(readings.tensions).any() else math.inf,
    )


def planner_of(ready: Setup, model: Model, found: Estimate, readings: Readings, dish_known: bool) -> Planner:
    """What plans passes for this wheel, by the settings of the file."""
    doubts = 100 * found.sigma[model.tension] / model.structure.tensions
    left, right = (float(doubts[side].mean()) for side in model.sides)
    return Planner(
        model=model,
        equal=ready.equal_faults,
        room=ready.room,
        done=_done_as_read(ready, readings),
        dish_known=dish_known,
        balance=ready.build.truing.prefer == "both",
        doubt=(left, right),
    )


def as_read(model: Model, readings: Readings, found: Estimate) -> Floats:
    """The state as it was read, the likeliest where nothing was; zeros that may lie anywhere brought to the estimate's."""
    values, state = readings.values.copy(), found.state
    for part, floats in ((model.lateral, readings.any_plane), (model.radial, True)):
        if floats and np.isfinite(values[part]).any():
            values[part] -= np.nanmean(values[part] - state[part])
    return np.where(np.isfinite(values), values, state)


def dish_of(planner: Planner, state: Floats) -> SideTurns:
    """What brings the rim to the middle [turns], the mean tension kept."""
    off = planner.off_dish(figures(planner.model, state))
    left, right = planner.to_middle(state)
    return SideTurns(-off, left, right)


def level_of(ready: Setup, arrays: Taken, planner: Planner, state: Floats) -> SideTurns | None:
    """What brings the tension to its target, where it was read and lies outside the evenness asked for."""
    means = arrays.means(ready.wheel)
    if len(means) < len(SIDES) or not ready.target.known:
        return None
    low = 1 - ready.build.tension.evenness / 100
    if all(means[side] >= low * ready.target.tension[side] for side in SIDES):
        return None
    sides = planner.sides(state)
    wanted = np.array([ready.target.tension[side] for side in SIDES]) - sides.mean
    left, right = np.rint(np.linalg.solve(sides.tension, wanted)) * ready.room.step
    return SideTurns(0.0, float(left), float(right))


def compromises(ready: Setup, planner: Planner, state: Floats) -> dict[str, Figures]:
    """What each preference would end with."""
    plain = replace(ready, build=ready.build.having({"truing.prefer": "both"})).equal_faults
    return {
        name: replace(planner, equal=preferring(name, plain), balance=name == "both").in_the_end(state)
        for name in PREFERENCES
    }


def windup_of(wheel: Wheel, ready: Setup) -> float:
    """Twist of the spokes that twist most [turns]."""
    out = []
    for side in SIDES:
        mask = wheel.lacing.on(side)
        tension = float(ready.structure.tensions[mask].mean())
        out.append(advice.windup_turns(wheel.wire(side), float(wheel.spans[mask].mean()), tension))
    return max(out)
