"""How a wheel stands and will stand, with the doubt in it: figures over many wheels that the readings allow.

A run-out is the distance of two extremes, so that of the likeliest state is too small; its mean over all states that the
readings allow is not. The same draws serve for now and after, so their difference is the turns' own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.evidence import NAMES, TURN_SHARE, TURN_SIGMA, Fit, Reader, State, state
from wheelcalc.truing.faults import LEAST_MEAN, Faults
from wheelcalc.truing.model import Model
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH

DRAWS, SEED = 400, 1  # ours: the mean of a figure is then good to a twentieth of its own doubt


@dataclass(frozen=True, eq=False)
class Spread:
    """Figures of many wheels, (draws,) each; of the sides (draws, 2)."""

    lateral: Floats
    radial: Floats
    dish: Floats
    spread: Floats
    tension: Floats

    @cached_property
    def mean(self) -> Faults:
        """What is to be expected."""
        return self._of(lambda each: each.mean(axis=0))

    @cached_property
    def sigma(self) -> Faults:
        """Standard error of each."""
        return self._of(lambda each: each.std(axis=0))

    def _of(self, measure: Callable[[Floats], Floats]) -> Faults:
        (left, right), (low, high) = (measure(each).tolist() for each in (self.spread, self.tension))
        lateral, radial, dish = (float(measure(each)) for each in (self.lateral, self.radial, self.dish))
        return Faults(lateral, radial, dish, (left, right), (low, high))


def spread_of(model: Model, states: Floats) -> Spread:
    """Figures of states, (draws, 2m + n)."""
    lateral, radial, tension = (states[:, part] for part in (model.lateral, model.radial, model.tension))
    sides = [tension[:, side] for side in model.sides]
    means = np.stack([side.mean(axis=1) for side in sides], axis=1)
    uneven = np.stack([side.std(axis=1) for side in sides], axis=1) / np.maximum(means, LEAST_MEAN)
    return Spread(np.ptp(lateral, axis=1), np.ptp(radial, axis=1), lateral.mean(axis=1), 100 * uneven, means)


def forecast_of(fit: Fit) -> Forecast:
    """What the readings of a fit allow, with the errors of reading and of turning that they show."""
    return Forecast(fit.system.model, state(fit), fit.reader, float(fit.sizes[NAMES.index("turns")]))


@dataclass(frozen=True, eq=False)
class Forecast:
    """What the readings allow.

    Parameters
    ----------
    model : of the wheel
    state : by the readings
    noise : of who reads, errors as learned
    turning : factor on the usual error of a turn, as learned
    """

    model: Model
    state: State
    noise: Reader
    turning: float = 1.0

    @cached_property
    def states(self) -> Floats:
        """As the wheel may stand now, (draws, 2m + n)."""
        size, vectors = np.linalg.eigh(self.state.covariance)
        root = vectors * np.sqrt(np.maximum(size, 0.0))
        drawn = np.random.default_rng(SEED).normal(size=(DRAWS, len(size)))
        return np.asarray(self.state.values + (drawn @ root.T) @ self.state.columns.T)

    @cached_property
    def now(self) -> Spread:
        """As it most likely is."""
        return spread_of(self.model, self.states)

    def turned(self, turns: Floats) -> Floats:
        """As it may stand after turns of its nipples, (draws, 2m + n)."""
        error = self.turning * np.where(turns != 0, np.hypot(TURN_SHARE * turns, TURN_SIGMA), 0.0)
        drawn = np.random.default_rng(SEED + 1).normal(size=(DRAWS, len(turns)))
        return self.states + SPOKE_THREAD_PITCH * (turns + error * drawn) @ self.model.by_spoke.T

    def after(self, turns: Floats) -> Spread:
        """As it most likely will be after turns."""
        return spread_of(self.model, self.turned(turns))

    def read(self, states: Floats) -> Spread:
        """What readings of these states will show."""
        model, noise = self.model, self.noise
        sigma = np.concatenate([np.full(model.nodes, noise.lateral), np.full(model.nodes, noise.radial)])
        tensions = np.maximum(states[:, model.tension], 0.0)
        drawn = np.random.default_rng(SEED + 2).normal(size=states.shape)
        both = np.concatenate([np.broadcast_to(sigma, (DRAWS, len(sigma))), noise.tension * tensions], axis=1)
        return spread_of(model, states + both * drawn)
