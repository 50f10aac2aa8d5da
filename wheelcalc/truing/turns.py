"""Which nipples to turn, and how far: few, in whole steps, within what the tensions allow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import hypot

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.faults import EqualFaults, Faults, faults_of, weights
from wheelcalc.truing.model import Model
from wheelcalc.truing.sides import Sides
from wheelcalc.truing.task import ALMOST, Steps, Task, fewest, in_whole_steps
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH

# C, choices that were tried on simulated wheels (tests/truing/test_random_wheels.py).
FAR = 3.0  # times what counts as done: from there on a pass is a coarse one
LEFT_OVER = {True: 0.10, False: 0.03}  # share of the badness that a coarse and a fine pass may leave, to turn few
GOOD_ENOUGH = 0.05  # badness: no nipple more is turned for less
WORTH_IT = 1.0  # badness that a wheel which is done must lose before turns are offered
CLOSE = 0.75  # of what counts as done: a pass of few nipples that comes so near is left at that
AIM = 0.5  # of what counts as done: what a pass aims at, since readings and turns are never exact
BALANCING = 4  # rounds of weighing up what is furthest from done
MOST_SHIFT = 2.0  # times that a fault weighs more after a round
SLACK = 20.0  # N: below, a spoke is slack and cannot become slacker
FREE = 1e6  # N: no bound
KEEP = 1e-3  # badness of a whole turn of a nipple, which settles what no fault settles


@dataclass(frozen=True)
class Room:
    """Within what the nipples may be turned.

    Parameters
    ----------
    step : smallest part of a turn
    most : turns of one nipple in one pass
    floor : tension under which no spoke is brought [N], (n,)
    limit : tension over which no spoke is brought [N], (n,)
    """

    step: float
    most: float
    floor: Floats
    limit: Floats

    @property
    def most_steps(self) -> int:
        """Whole steps in one pass."""
        return max(1, int(self.most / self.step + ALMOST))


@dataclass(frozen=True)
class Done:
    """When a wheel is true enough: run-outs and dish [mm], spread [per cent]."""

    # C, the defaults of [truing] done in the build file; the spread is ours.
    lateral: float = 0.3
    radial: float = 0.5
    dish: float = 0.5
    spread: float = 6.0

    def share(self, faults: Faults) -> float:
        """The worst of run-outs and spread over what is enough; the dish is not counted."""
        return max(faults.lateral / self.lateral, faults.radial / self.radial, max(faults.spread) / self.spread)


@dataclass(frozen=True, eq=False)
class Pass:
    """One round of nipple turns.

    Parameters
    ----------
    side_turns : turns of all left and of all right nipples, for the dish or the tension as a whole
    turns : of every nipple, those of its side included, (n,), + tightens
    state : predicted after it
    faults : of that state
    """

    side_turns: tuple[float, float]
    turns: Floats
    state: Floats
    faults: Faults


@dataclass(frozen=True, eq=False)
class Planner:
    """Plans passes for one wheel.

    Parameters
    ----------
    model : of the wheel
    equal : amounts that count as equally bad
    room : bounds
    done : when to stop
    dish_known : False leaves the dish as it is
    balance : weigh what is far from done higher, so that all of it comes near; False weighs by `equal` alone
    doubt : standard error of a single left and a single right tension [per cent]: it counts as spread
    stuck : spokes from 0 whose nipples do not turn
    """

    model: Model
    equal: EqualFaults
    room: Room
    done: Done
    dish_known: bool = True
    balance: bool = True
    doubt: tuple[float, float] = (0.0, 0.0)
    stuck: tuple[int, ...] = ()

    @cached_property
    def free(self) -> np.ndarray:
        """Which nipples turn, (n,)."""
        return ~np.isin(np.arange(self.model.spokes), self.stuck)

    @property
    def per_step(self) -> Floats:
        """Change of the state with a step of each nipple, (2m + n, n)."""
        return self.model.by_spoke * self.room.step * SPOKE_THREAD_PITCH

    def off_dish(self, faults: Faults) -> float:
        """How far right of its place the rim is [mm]; 0 where that is unknown."""
        return faults.dish - self.model.structure.rim_plane_x if self.dish_known else 0.0

    def is_done(self, faults: Faults) -> bool:
        """Whether a wheel is true enough."""
        left, right = (hypot(spread, doubt) for spread, doubt in zip(faults.spread, self.doubt, strict=True))
        doubted = replace(faults, spread=(left, right))
        return self.done.share(doubted) <= 1 and abs(self.off_dish(faults)) <= self.done.dish

    def passes(self, state: Floats) -> Iterator[Pass]:
        """Passes one after another as predicted, until the wheel is done or nothing more is won."""
        while (planned := self.next_pass(state)).turns.any():
            yield planned
            if self.is_done(planned.faults):
                return
            state = planned.state

    def next_pass(self, state: Floats) -> Pass:
        """The nipples to turn next, from a state; none where the wheel is done and little can be won."""
        sides = self._side_steps(state)
        base = np.where(self.model.is_right, sides[1], sides[0]) * self.free
        steps = base + self._few(state, base)
        after = state + self.per_step @ steps
        turned = (float(sides[0] * self.room.step), float(sides[1] * self.room.step))
        return Pass(turned, steps * self.room.step, after, faults_of(self.model, after))

    # Whole sides

    def sides(self, state: Floats) -> Sides:
        """What whole sides do from a state."""
        model = self.model
        both = np.stack([self.per_step[:, side].sum(axis=1) for side in model.sides], axis=1)
        by_side = both[model.tension]
        return Sides(
            dish=both[model.lateral].mean(axis=0),
            tension=np.stack([by_side[side].mean(axis=0) for side in model.sides]),
            mean=np.array(faults_of(model, state).tension),
            low=np.array([self.room.floor[side].max() for side in model.sides]),
            high=np.array([self.room.limit[side].min() for side in model.sides]),
            most=self.room.most_steps,
        )

    def _side_steps(self, state: Floats) -> Steps:
        """Steps for all left and all right nipples; none while dish and tension as a whole are in order."""
        sides, off = self.sides(state), self.off_dish(faults_of(self.model, state))
        if sides.in_order and abs(off) <= self.done.dish:
            return np.zeros(2)
        choices = sides.choices
        by_spoke = np.where(self.model.is_right, choices[:, 1:], choices[:, :1])
        now = state[self.model.tension]
        allowed = self.task_at(state, np.zeros(len(now))).allows(by_spoke @ self.per_step[self.model.tension].T)
        return np.array(sides.best(off, self.done.dish, self.equal.tension, choices[allowed]))

    def to_middle(self, state: Floats) -> tuple[float, float]:
        """Turns of all left and of all right nipples that bring the rim to its place, however far, tension kept."""
        off, sides = self.off_dish(faults_of(self.model, state)), self.sides(state)
        far = int(abs(off) / np.abs(sides.dish).min()) + 2
        freely = replace(sides, low=sides.mean - FREE, high=sides.mean + FREE, most=far)
        left, right = freely.best(off, self.done.dish, self.equal.tension, freely.choices)
        return left * self.room.step, right * self.room.step

    def in_the_end(self, state: Floats) -> Faults:
        """How the wheel would stand with nipples turned without end and in no steps."""
        base = np.zeros(self.model.spokes)
        task = self.task_at(state, base, self.balanced_faults(state, base) if self.balance else self.equal)
        return faults_of(self.model, state + self.per_step @ self._unbounded(task))

    def _unbounded(self, task: Task) -> Steps:
        """Steps of least badness, any of the nipples that turn, whatever the tensions."""
        steps = np.zeros(self.model.spokes)
        part = task.only(np.flatnonzero(self.free))
        steps[self.free] = np.linalg.solve(part.hessian, -part.slope)
        return steps

    # Single nipples

    def task_at(self, state: Floats, base: Steps, equal: EqualFaults | None = None) -> Task:
        """Badness and bounds for steps on top of those of the sides."""
        model, per_step = self.model, self.per_step
        rows, target = weights(model, equal or self.equal, dish_known=self.dish_known)
        faults = rows @ per_step
        level = per_step[model.tension].mean(axis=0) / self.equal.tension
        start = state + per_step @ base
        now, then = state[model.tension], start[model.tension]
        return Task(
            hessian=faults.T @ faults + np.outer(level, level) + KEEP * self.room.step**2 * np.eye(len(base)),
            slope=faults.T @ (rows @ (start - target)),
            low=np.where(self.free, np.minimum(-self.room.most_steps - base, 0), 0.0),
            high=np.where(self.free, np.maximum(self.room.most_steps - base, 0), 0.0),
            tensions=per_step[model.tension],
            loss=np.where(now < SLACK, np.inf, np.maximum(then - np.minimum(self.room.floor, now), 0)),
            gain=np.maximum(np.maximum(self.room.limit, now) - then, 0),
        )

    def _few(self, state: Floats, base: Steps) -> Steps:
        """Steps of single nipples besides those of the sides: as few as do the job."""
        equal = self.balanced_faults(state, base) if self.balance else self.equal
        task, start = self.task_at(state, base, equal), state + self.per_step @ base
        best, _ = task.best()
        won = -task.change(best)
        least_won = WORTH_IT if self.is_done(faults_of(self.model, start)) else GOOD_ENOUGH
        if won < least_won:
            return np.zeros(len(base))
        coarse = self.done.share(faults_of(self.model, start)) > FAR
        leave = max(LEFT_OVER[coarse] * won, GOOD_ENOUGH)
        steps = in_whole_steps(task, fewest(task, best, leave - won), best)
        close = self.done.share(faults_of(self.model, start + self.per_step @ steps)) <= CLOSE
        if close or (coarse and -task.change(steps) > won / 2):
            return steps
        return in_whole_steps(task, np.flatnonzero(self.free), steps if steps.any() else best)

    def balanced_faults(self, state: Floats, base: Steps) -> EqualFaults:
        """Faults weighed so that what would end furthest from done comes nearer to it."""
        equal, start = self.equal, state + self.per_step @ base
        for _ in range(BALANCING):
            task = self.task_at(state, base, equal)
            faults = faults_of(self.model, start + self.per_step @ self._unbounded(task))
            lateral, radial, spread = (
                min(max(1.0, value / (AIM * enough)), MOST_SHIFT)
                for value, enough in (
                    (faults.lateral, self.done.lateral),
                    (faults.radial, self.done.radial),
                    (max(faults.spread), self.done.spread),
                )
            )
            equal = replace(
                equal,
                lateral=equal.lateral / lateral,
                radial=equal.radial / radial,
                tension=equal.tension / spread,
            )
        return equal
