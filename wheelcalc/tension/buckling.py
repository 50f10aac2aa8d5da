"""Buckling: the least factor on a load at which a ring's stiffness is lost, and how it moves then."""

from __future__ import annotations

import math
from typing import NamedTuple, Protocol

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.ring_blocks import Factors, RingMatrix
from wheelcalc.wheel.errors import InputError

HALVINGS = 40  # D: 2^-40 of the load is as good as none
NEVER = 1e6  # ours: what stands so many times the load is not buckled by it
ITERATIONS = 60  # ours: five or six do
MOTIONS = 8  # ours: buckling modes come in pairs, and tension holds some motions by itself; so many at once
NEARER = 0.1  # ours: of what is left up to the factor, where the next share is tried
SETTLED = 1e-9  # of the factor, from one step to the next
JUST_BELOW = 1e-7  # of the factor: where the ring must still stand. D: round-off of its stiffness is far below


class Loaded(Protocol):
    """A ring under a load that a factor multiplies."""

    @property
    def geometric_stiffness(self) -> RingMatrix:
        """What the load adds to the stiffness, at factor 1."""

    def stiffness_at(self, factor: float) -> RingMatrix:
        """Tangent stiffness at a factor on the load."""

    def factor_in(self, motion: Floats) -> float:
        """Factor at which a motion, (m, 6), is no longer resisted; off by the square of what the motion is off."""


class Buckling(NamedTuple):
    """The least factor at which a ring buckles, infinite where none does, and how its nodes move then, (m, 6)."""

    factor: float
    motion: Floats | None


def buckling(ring: Loaded) -> Buckling:
    """Least factor on the load at which the ring's stiffness is lost.

    Raises
    ------
    InputError
        If the ring stands under no share of the load.

    Notes
    -----
    Inverse iteration of several motions at once, from a share s of the load under which the ring stands and with what
    the load adds as measure: a motion lost at f grows by 1 / (f - s). `factor_in` of the first gives the factor from
    above, and the share moves up to it; where the ring still stands just below, no other motion is lost before. Taken
    is that a load which the ring does not stand is not stood again further up.
    """
    added = ring.geometric_stiffness
    if not (added.own.any() or added.ahead.any()):
        return Buckling(math.inf, None)
    share, factors = _standing(ring)
    nodes = len(added.own)
    motions: Floats = np.random.default_rng(0).standard_normal((nodes, 6, min(MOTIONS, 6 * nodes)))
    factor = math.inf
    for _ in range(ITERATIONS):
        motions, loss = _least_resisted(factors, ring.stiffness_at(share), added, motions)
        settled = False
        if loss * NEVER > 1:
            before, factor = factor, ring.factor_in(motions[..., 0])
            settled = abs(factor - before) <= SETTLED * factor
            ahead = (1 - JUST_BELOW) * factor if settled else factor - NEARER * (factor - share)
        elif share > NEVER:
            break
        else:
            ahead = 2 * share
        further = _factors(ring.stiffness_at(ahead))
        if further is not None:
            share, factors = ahead, further
            if settled:
                break
    return Buckling(factor, motions[..., 0] if factor < math.inf else None)


def _least_resisted(
    factors: Factors, stiffness: RingMatrix, added: RingMatrix, motions: Floats
) -> tuple[Floats, float]:
    """Motions nearer to those that the load takes away first, the first of them first, and how much it takes of that.

    Parameters
    ----------
    factors, stiffness : of the ring under its load, positive definite
    added : what the load adds to it
    motions : (m, 6, c)
    """
    nodes, size, count = motions.shape
    basis, _ = np.linalg.qr(factors.solve(added.times(motions)).reshape(-1, count))
    within = basis.reshape(nodes, size, count)
    held, taken = (basis.T @ each.times(within).reshape(-1, count) for each in (stiffness, added))
    inverse = np.linalg.inv(np.linalg.cholesky(held))
    losses, ways = np.linalg.eigh(-inverse @ taken @ inverse.T)
    return (basis @ (inverse.T @ ways[:, ::-1])).reshape(nodes, size, count), float(losses[-1])


def _standing(ring: Loaded) -> tuple[float, Factors]:
    """The largest of 1, 1/2, 1/4 ... under which the ring stands, and its stiffness ready to be solved."""
    for halving in range(HALVINGS):
        share = 0.5**halving
        factors = _factors(ring.stiffness_at(share))
        if factors is not None:
            return share, factors
    raise InputError("tensions", "spokes and tension together do not hold this rim; more spokes or crosses are needed")


def _factors(stiffness: RingMatrix) -> Factors | None:
    """The stiffness ready to be solved; None where it is not positive definite."""
    try:
        return Factors(stiffness)
    except np.linalg.LinAlgError:
        return None
