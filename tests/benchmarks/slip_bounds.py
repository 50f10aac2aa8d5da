"""What nobody can do better: how often a slip of a whole column can be told at the first reading, the wheel known exactly.

The observer knows the structure, the size of every error of reading, that no reading is gross, and the very distribution
from which spokes and bends were drawn (their sizes not: they are integrated out). It asks for the same odds as the
library, 20 to 1 against a slip of 1 %. Run by hand: .venv/bin/python -m tests.benchmarks.slip_bounds real|other FIRST COUNT
The record: real_wheels.md.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, field
from itertools import product

import numpy as np
from scipy.special import logsumexp

from tests.benchmarks.real_wheels import LEAST, MAKES, SLIPS, Read
from tests.making.real_sessions import exactly
from tests.making.real_wheels import RealCase, kink
from wheelcalc.arrays import Floats
from wheelcalc.truing.evidence import ANY
from wheelcalc.truing.model import Model

PRIORS = {"lateral sign": 0.01, "radial sign": 0.01, "by three holes": 0.008, "backwards": 0.008}
NO_SLIP, ODDS = 0.95, 20.0
NOISE = {"real": (0.1, 0.1, 0.05), "other": (0.1, 0.1, 0.052)}
SPOKES = np.geomspace(0.01, 0.8, 10)  # mm: sizes of the spokes' errors
SIZES = {  # grids of: share of waves that lie outward, lateral bend, radial bend
    "real": ((0.02, 0.25, 0.5, 0.75, 1.0), (0.04, 0.08, 0.14, 0.22), (0.015, 0.03, 0.06)),
    "other": ((0.0,), (0.4,), (0.15,)),
}


@dataclass(frozen=True)
class Observer:
    """Knows a make of wheels and one wheel of it."""

    case: RealCase
    make: str
    model: Model = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "model", exactly(self.case))

    def roots(self) -> list[Floats]:
        """Inverse roots of the covariance of all readings, for every size on the grid."""
        model, sign = self.model, self.case.wheel.sign
        angle = np.radians(self.case.wheel.lacing.rim_angle_deg)
        k = np.arange(1, 5)[:, None] if self.make == "real" else np.ones((1, 1))
        waves = np.concatenate([np.cos(k * angle), np.sin(k * angle)])
        sideways, outward = model.by_spoke @ (sign * waves).T, model.by_spoke @ waves.T
        if self.make == "real":
            alone, along, out = (
                model.by_spoke @ model.by_spoke.T,
                0.125 * sideways @ sideways.T,
                2 * outward @ outward.T,
            )
        else:  # Student's t of three degrees of freedom has three times the variance; one wave of cosines
            alone, along, out = 3 * model.by_spoke @ model.by_spoke.T, np.outer(sideways[:, 0], sideways[:, 0]), 0.0
        always, (lateral, radial) = self.errors(), self.bends()
        shares, flat, round_ = SIZES[self.make]
        return [
            np.linalg.inv(
                np.linalg.cholesky(always + s**2 * (alone + along + u**2 * out) + a**2 * lateral + b**2 * radial)
            )
            for s, u, a, b in product(SPOKES, shares, flat, round_)
        ]

    def errors(self) -> Floats:
        """Covariance of the errors of reading, the zero of radial, dish and level."""
        model, (lateral, radial, tension) = self.model, NOISE[self.make]
        m, mean = model.nodes, float(model.structure.tensions.mean())
        dish, level = model.dish_and_level
        zero = np.zeros(len(model.true))
        zero[model.radial] = ANY
        columns = np.stack([model.by_spoke @ (0.06 * dish), model.by_spoke @ (0.02 * mean * level), zero], axis=1)
        sigma = np.concatenate([np.full(m, lateral), np.full(m, radial), tension * model.structure.tensions])
        return np.asarray(columns @ columns.T + np.diag(sigma**2))

    def bends(self) -> tuple[Floats, Floats]:
        """Covariance of all readings by lateral and by radial bends of size 1."""
        model, (waves, lateral) = self.model, self.model.bends
        if self.make == "real":
            columns = model.by_bend * (2 / waves) ** 2 * (waves <= 8)
            return columns[:, lateral] @ columns[:, lateral].T, columns[:, ~lateral] @ columns[:, ~lateral].T
        rng, m = np.random.default_rng(1), model.nodes
        dents = np.array([kink(m, rng.uniform(0, m), rng.uniform(3, 9), 1.0) for _ in range(600)]).T
        both = model.as_bends(dents) * math.sqrt(3.5 / 600)  # two to five dents a rim
        columns = model.by_bend @ (both * lateral[:, None]), model.by_bend @ (both * ~lateral[:, None])
        return columns[0] @ columns[0].T, columns[1] @ columns[1].T

    def gains(self, read: Read) -> dict[str, float]:
        """Logarithm of how much likelier the readings as they are, than with each slip."""
        some = [read, *(slip(read) for name, (slip, _) in SLIPS.items() if name != "none")]
        off = np.stack([np.concatenate(each) for each in some], axis=1) - self.model.true[:, None]
        logs = [-0.5 * ((root @ off) ** 2).sum(axis=0) + np.log(np.diag(root)).sum() for root in self.roots()]
        right, *slipped = logsumexp(logs, axis=0)
        return dict(zip([name for name in SLIPS if name != "none"], (right - np.array(slipped)).tolist(), strict=True))


def main(make: str, first: int, count: int) -> None:
    """Print how often each slip can be told."""
    maker, person = MAKES[make]
    rows, figures = [], []
    for seed in range(first, first + count):
        case = maker(seed, run_out=(LEAST, 4.0))
        figures.append(case.figures()[:2])
        rows.append(Observer(case, make).gains(person(gross=0.0).read(case.real, np.random.default_rng(seed))))
    radial = np.array(figures)[:, 1] >= LEAST
    for name, prior in PRIORS.items():
        told = np.array([row[name] > math.log(ODDS * NO_SLIP / prior) for row in rows])
        print(
            f"{name:15} {told.mean():.0%} of {count}; where radial runs out by {LEAST} mm {told[radial].mean():.0%} of {radial.sum()}"
        )


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
