"""What passes teach about this wheel: how its ends give and how stiff its rim is, besides the reader's errors and the causes.

The newest passes are weighed reading by reading. What older ones taught of reader, wheel and nipples is believed before.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.evidence import NAMES, USUALLY, Believed, Fit, Reader, System, fitted
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import Table

APART = 0.1  # of a logarithm, between two tries
LONGEST = 0.7  # of a logarithm, in one step
STEPS = 1
REMEMBERED = 4  # passes, ours: what older ones say of where the rim lies, the newer ones say better
ASKED = 0.2  # turns, ours: a nipple asked for less has not shown that it does not turn
SURELY_STUCK = math.log(
    20.0
)  # ours: oil and a day's wait may free a nipple, so no pass makes it surer for those after it
OWN = NAMES.index("spokes")  # what is of the passes themselves, and teaches nothing of later ones

Maker = Callable[[Sequence[Table], float, float], Model]


@dataclass(frozen=True, eq=False)
class Learned:
    """What is known of a wheel after some passes.

    Parameters
    ----------
    fit : of all readings
    model : logarithms of the factors on what was estimated of the ends' give and of the rim's stiffness, (2,)
    sigma : standard errors of both, (2,)
    """

    fit: Fit
    model: Floats
    sigma: Floats

    @property
    def give(self) -> float:
        """Factor on what was estimated of the ends' give."""
        return float(np.exp(self.model[0]))

    @property
    def stiffness(self) -> float:
        """Factor on what was estimated of the rim's stiffness."""
        return float(np.exp(self.model[1]))

    @property
    def stuck(self) -> list[int]:
        """Spokes from 0 whose nipples were asked to turn and did not, in these passes or before."""
        asked = np.sum([np.abs(each.turned) for each in self.fit.system.tables[:-1]], axis=0)
        before = self.fit.system.believed.stuck
        return [spoke for spoke in self.fit.causes.stuck if spoke in before or asked[spoke] >= ASKED]

    def taught(self) -> Believed:
        """What is to be believed before the readings of later passes."""
        fit, believed = self.fit, self.fit.system.believed
        sigma = np.sqrt(np.diag(np.linalg.inv(fit.about[1])))
        sizes = np.log(fit.sizes)
        sizes[OWN], sigma[OWN] = USUALLY.sizes[OWN], USUALLY.sizes_sigma[OWN]
        stuck = {spoke: self._stuck_odds(spoke) for spoke in self.stuck}
        return replace(believed, sizes=sizes, sizes_sigma=sigma, model=self.model, model_sigma=self.sigma, stuck=stuck)

    def _stuck_odds(self, spoke: int) -> float:
        """Logarithm of the odds that a nipple taken for stuck is so: the evidence without that cause beside it."""
        causes = self.fit.causes
        turning = replace(causes, stuck=tuple(each for each in causes.stuck if each != spoke))
        odds = self.fit.log_evidence - replace(self.fit, causes=turning).log_evidence
        return min(max(odds, 0.0), SURELY_STUCK)


def learned(
    make: Maker,
    tables: Sequence[Table],
    reader: Reader,
    believed: Believed = USUALLY,
    start: Learned | None = None,
    steps: int = STEPS,
) -> Learned:
    """Fit readings of passes, and the wheel's give and stiffness once turns have shown what they do.

    Parameters
    ----------
    make : the wheel's model at the tensions of tables, with factors on give and stiffness
    tables : of all passes, oldest first
    reader : who read them
    believed : before them
    start : what the passes but the last came to: near it is looked first
    steps : of Newton's method for the two factors
    """
    at, sigma = (start.model if start else believed.model), believed.model_sigma
    turned = any(each.turned.any() for each in tables[:-1])
    system = System(make(tables, *np.exp(at).tolist()), tables, reader, believed)
    near = Fit(system, start.fit.sizes, system.nothing()) if start else None
    stepped = steps if turned else 0
    fit = fitted(system, near, rounds=2 - (near is not None)) if stepped else fitted(system, near)
    for _ in range(stepped):
        slope, curve = slopes(make, fit, at)
        step = np.clip(np.linalg.solve(curve, slope), -LONGEST, LONGEST)
        at, sigma = at + step, np.sqrt(np.diag(np.linalg.inv(curve)))
        system = replace(system, model=make(tables, *np.exp(at).tolist()))
        # rare causes are looked for anew: two that made up for a wrong model together are not given back one by one
        fit = fitted(system, Fit(system, fit.sizes, system.nothing()), rounds=3)
    return Learned(fit, at, sigma)


def slopes(make: Maker, fit: Fit, at: Floats) -> tuple[Floats, Floats]:
    """Slope and (negative) curvature of the logarithm of the evidence in both logarithms, (2,), (2, 2).

    Notes
    -----
    Of a normal vector y with covariance V, both changing with a parameter: w = V^-1 y, slope w'V'w / 2 - tr(V^-1 V') / 2
    - y'w, and for the curvature the mean of the observed and the expected information, as in `evidence.sized`. V' and y'
    by differences.
    """
    system, inverse = fit.system, fit.inverse
    w = inverse @ fit.left
    believed, rises, pulled, moved = system.believed, [], [], []
    for way in np.eye(2):
        other = replace(system, model=make(system.tables, *np.exp(at + APART * way).tolist()))
        wider = (other.covariance(fit.sizes, fit.causes) - fit.covariance) / APART
        pulled.append(wider @ w)
        moved.append((other.left(fit.causes) - fit.left) / APART)
        rises.append(0.5 * float(w @ pulled[-1] - np.vdot(wider, inverse)) - float(moved[-1] @ w))
    before = 1 / believed.model_sigma**2
    curve = 0.5 * np.array(pulled) @ inverse @ np.array(pulled).T + np.array(moved) @ inverse @ np.array(moved).T
    return np.array(rises) - (at - believed.model) * before, curve + np.diag(before)


class Past:
    """What the passes of a wheel teach, one after another; each is fitted once.

    Parameters
    ----------
    make : the wheel's model
    reader : who read all passes
    """

    def __init__(self, make: Maker, reader: Reader) -> None:
        self._make, self._reader = make, reader
        self._after: dict[int, Learned] = {}
        self._glances: dict[int, Learned] = {}

    def after(self, tables: Sequence[Table]) -> Learned:
        """What is known after the last of all tables so far, oldest first."""
        count = len(tables)
        if count not in self._after:
            start = self._after.get(count - 1) or self._glances.get(count - 1)
            self._after[count] = learned(self._make, tables[-REMEMBERED:], self._reader, self._believed(tables), start)
        return self._after[count]

    def glance(self, tables: Sequence[Table]) -> Learned:
        """The same where it is known, else less closely and by the newest passes alone; `after` one more then begins there."""
        count = len(tables)
        if count in self._after:
            return self._after[count]
        if count not in self._glances:
            newest = tables[-REMEMBERED:]
            fit = fitted(System(self._make(newest, 1.0, 1.0), newest, self._reader), rounds=1)
            self._glances[count] = Learned(fit, USUALLY.model, USUALLY.model_sigma)
        return self._glances[count]

    def _believed(self, tables: Sequence[Table]) -> Believed:
        """What passes before the newest taught; those up to and with the first of the newest, since turns lie between two."""
        older = tables[: 1 - REMEMBERED]
        return self.after(older).taught() if len(older) > 1 else USUALLY
