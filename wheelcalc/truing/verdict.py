"""Whether to turn on: what a pass is for, whether readings could see what it brings, and why a wheel is left as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.faults import Faults
from wheelcalc.truing.forecast import Forecast, Spread, spread_of
from wheelcalc.truing.turns import Done, Pass, Planner

WITHIN, END, BENT, STUCK, AGAIN, NOT_YET = (
    "within limits",
    "the readings end here",
    "the rim is bent",
    "stuck",
    "read again",
    "not yet",
)
# Ours, tried on simulated wheels (tests/making/real_wheels.py) and judged on others.
# At first the next reading takes doubt away as well; the more passes were read, the more another one must bring.
SEEN = 0.12  # times the passes read: of the error of the next readings' figure, that a pass must gain
LIKELY, LIKELIER, LIKELIEST = (
    0.5,
    0.04,
    0.8,
)  # probability that it leaves less beyond the limits, more with each, at most
WEIGHED = (0.5, 2.0)  # times what counts as equally bad: other weights that are tried too
PER_TURN = 0.004  # of what is beyond the limits, squares summed, that a turn of the key must be worth
WORSE = 0.02  # of what counts as done: less is round-off
FAR_END = (
    1.1  # of what counts as done: where turning without end would leave the wheel further out, it is not the readings
)
NAMES = ("lateral", "radial", "dish", "spread")


@dataclass(frozen=True, eq=False)
class Verdict:
    """What is advised.

    Parameters
    ----------
    why : one of the words above
    turns : of every nipple, (n,); none where the wheel is left as it is
    side_turns : of these, what all left and all right nipples have in common
    aims : what the pass is for, of `NAMES`
    now, after, after_reads : figures as the wheel most likely is, will be, and as the next readings will show
    """

    why: str
    turns: Floats
    side_turns: tuple[float, float]
    aims: tuple[str, ...]
    now: Spread
    after: Spread
    after_reads: Spread


def shares(figures: Spread, done: Done, middle: float) -> Mapping[str, Floats]:
    """Each figure over what counts as done, (draws,) each."""
    return {
        "lateral": figures.lateral / done.lateral,
        "radial": figures.radial / done.radial,
        "dish": np.abs(figures.dish - middle) / done.dish,
        "spread": figures.spread.max(axis=1) / done.spread,
    }


def within(figures: Faults, planner: Planner) -> bool:
    """Whether a wheel is as true and even as was asked."""
    return planner.done.share(figures) <= 1 and abs(planner.off_dish(figures)) <= planner.done.dish


def surely_within(figures: Spread, planner: Planner) -> bool:
    """Whether its run-outs are so by their standard error too; how even it is no eye sees, and it is not turned for that."""
    mean, sigma, done = figures.mean, figures.sigma, planner.done
    return mean.lateral + sigma.lateral <= done.lateral and mean.radial + sigma.radial <= done.radial


def decide(planner: Planner, forecast: Forecast, read: int, freely: Planner | None = None) -> Verdict:
    """The next pass, or why there is none.

    Parameters
    ----------
    planner : plans for the wheel as it most likely is
    forecast : what the readings allow
    read : how many passes were read
    freely : the same planner without stuck nipples, where there are any
    """
    done = within(forecast.now.mean, planner)
    if done and surely_within(forecast.now, planner):
        return left_as_it_is(WITHIN, forecast)
    plans = {each.turns.tobytes(): each for each in (some.next_pass(forecast.state.values) for some in ways(planner))}
    tried = [weighed(planner, forecast, planned, read) for planned in plans.values() if planned.turns.any()]
    best = min(tried, key=lambda each: each.left + PER_TURN * float(np.abs(each.planned.turns).sum()), default=None)
    # Where tensions as a whole are out of order, sides are turned whatever single readings see.
    level = not planner.sides(forecast.state.values).in_order
    if best is None or not (best.aims or (level and any(best.planned.side_turns))):
        return left_as_it_is(WITHIN if done else why_left(planner, forecast, freely), forecast)
    aims, turns, sides = best.aims or ("tension",), best.planned.turns, best.planned.side_turns
    return Verdict(NOT_YET, turns, sides, aims, forecast.now, best.after, best.reads)


@dataclass(frozen=True, eq=False)
class Tried:
    """A pass and what it is good for.

    Parameters
    ----------
    planned, after, reads : the pass, how the wheel will stand then, and what will be read
    aims : what it gains that the readings can see
    worse : what is or comes out of limits and gets worse
    left : what it leaves beyond the limits, squares summed
    """

    planned: Pass
    after: Spread
    reads: Spread
    aims: tuple[str, ...]
    worse: tuple[str, ...]
    left: float


def weighed(planner: Planner, forecast: Forecast, planned: Pass, read: int) -> Tried:
    """What a pass is good for, after so many passes read."""
    states = forecast.turned(planned.turns)
    after, reads = spread_of(forecast.model, states), forecast.read(states)
    middle = planner.model.structure.rim_plane_x if planner.dish_known else float(forecast.now.dish.mean())
    old, new, seen = (shares(each, planner.done, middle) for each in (forecast.now, after, reads))
    gains = {name: float((old[name] - new[name]).mean()) for name in NAMES}
    out = {name: float(old[name].mean() + old[name].std()) > 1 for name in NAMES}
    least = {name: max(SEEN * read * float((seen[name] - new[name]).std()), WORSE) for name in NAMES}
    aims = tuple(name for name in NAMES if gains[name] > least[name] and out[name])
    worse = tuple(name for name in NAMES if -gains[name] > WORSE and new[name].mean() > 1)
    if aims == ("spread",) and not {"lateral", "radial"}.isdisjoint(worse):
        aims = ()  # straightness is not given up for evenness
    better = float(np.mean(beyond(new) < beyond(old))) >= min(LIKELY + LIKELIER * read, LIKELIEST)
    return Tried(planned, after, reads, aims if better else (), worse, float(beyond(new).mean()))


def beyond(each: Mapping[str, Floats]) -> Floats:
    """What is beyond the limits, squares summed, (draws,)."""
    return np.asarray(sum(np.maximum(value - 1, 0) ** 2 for value in each.values()))


def ways(planner: Planner) -> list[Planner]:
    """The planner, and (where no fault is preferred) others that weigh one of the faults higher or lower."""
    out = [planner]
    if not planner.balance:
        return out
    for name, factor in product(("lateral", "radial", "tension"), WEIGHED):
        equal = replace(planner.equal, **{name: getattr(planner.equal, name) * factor})
        out.append(replace(planner, equal=equal))
    return out


def why_left(planner: Planner, forecast: Forecast, freely: Planner | None) -> str:
    """Why a wheel that is not done is left as it is: what turning without end would come to."""
    state = forecast.state.values
    if freely is not None and planner.done.share(freely.in_the_end(state)) * FAR_END < planner.done.share(
        planner.in_the_end(state)
    ):
        return STUCK
    return BENT if planner.done.share(planner.in_the_end(state)) > FAR_END else END


def left_as_it_is(why: str, forecast: Forecast) -> Verdict:
    """Nothing to turn."""
    none = np.zeros(forecast.model.spokes)
    return Verdict(why, none, (0.0, 0.0), (), forecast.now, forecast.now, forecast.read(forecast.states))
