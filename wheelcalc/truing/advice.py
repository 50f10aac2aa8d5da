"""How sure an estimate is, what to read next, how bent the rim is, and how far a spoke winds up."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.arc import LATERAL, RADIAL
from wheelcalc.truing.evidence import TURN_SHARE, TURN_SIGMA, Reader, State
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import Table
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH
from wheelcalc.wheel.parts import Wire

QUANTITIES = ("lateral", "radial", "tension")
# C: friction of a nipple's thread, a little grease; dry ones have 0.2 and more.
THREAD_FRICTION = 0.15
LEAST_WORTH = 0.001  # ours, of the doubt: of the hundred readings of a wheel about half are worth taking again
# C: parts of a turn that a hand finds by halving a quarter, or by the hours of a clock's face; 0: none worth turning past.
HAND_PARTS = (0, 1 / 16, 1 / 12, 1 / 8, 1 / 6, 1 / 4, 1 / 3, 1 / 2)
# D: of an isotropic metal with Poisson's ratio 0.3, E over G.
E_OVER_G = 2.6


class Next(NamedTuple):
    """The reading that would tell most: what, at which node or spoke (from 0), and its share of the doubt that it takes."""

    quantity: str
    place: int
    share: float


class Bent(NamedTuple):
    """A free rim, peak to peak [mm], and the standard uncertainty of that."""

    lateral: float
    radial: float
    lateral_sigma: float
    radial_sigma: float


def read_next(model: Model, table: Table, state: State, reader: Reader, rows: Floats) -> Next | None:
    """The reading not yet taken that would take most of the doubt in what counts as bad; None where all are taken.

    Parameters
    ----------
    model, table, state : of the wheel
    reader : who reads
    rows : weighed faults of a state, as `faults.weights` gives them

    Notes
    -----
    One more reading c of error r takes P c (P c)' / (c'P c + r^2) from the covariance P (D); what that takes from the
    expected badness, trace(W P W'), decides.
    """
    unread = np.flatnonzero(~np.isfinite(table.values))
    if not len(unread):
        return None
    taken = _taken(rows, state.doubt, _noise(model, reader))[unread]
    best = int(np.argmax(taken))
    index, doubt = int(unread[best]), float(np.einsum("ij,ij->", rows @ state.doubt, rows))
    for name, part in zip(QUANTITIES, (model.lateral, model.radial, model.tension), strict=True):
        if part.start <= index < part.stop:
            return Next(name, index - part.start, float(taken[best]) / max(doubt, 1e-12))
    raise AssertionError(index)


def worth_reading(
    model: Model, state: State, reader: Reader, rows: Floats, turned: Floats, least: float = LEAST_WORTH
) -> np.ndarray:
    """Which readings of the next pass are worth taking, by what is known before it, (2m + n,).

    Parameters
    ----------
    model, state : of the wheel before the turns
    reader : who reads
    rows : weighed faults of a state, as `faults.weights` gives them
    turned : turns of every nipple that were made since, (n,)
    least : share of the doubt before, in what counts as bad, that a reading must take to be worth it

    Notes
    -----
    One after another the reading that takes most, as in `read_next`, until the best of the rest takes too little.
    """
    error = SPOKE_THREAD_PITCH * np.where(turned != 0, np.hypot(TURN_SHARE * turned, TURN_SIGMA), 0.0)
    by_turns = model.by_spoke * error
    left = state.doubt + by_turns @ by_turns.T
    noise = _noise(model, reader)
    out = np.zeros(len(noise), dtype=bool)
    before = float(np.einsum("ij,ij->", rows @ left, rows))
    while not out.all():
        taken = _taken(rows, left, noise)
        best = int(np.argmax(np.where(out, -1.0, taken)))
        if taken[best] < least * before:
            break
        out[best] = True
        left = left - np.outer(left[:, best], left[:, best]) / (left[best, best] + noise[best])
    return out


def _noise(model: Model, reader: Reader) -> Floats:
    """Variance of every reading that can be taken, (2m + n,)."""
    tension = reader.tension * model.structure.tensions
    return np.concatenate([np.full(model.nodes, reader.lateral), np.full(model.nodes, reader.radial), tension]) ** 2


def _taken(rows: Floats, doubt: Floats, noise: Floats) -> Floats:
    """What each reading would take of the doubt in what counts as bad, see `read_next`."""
    return np.asarray(((rows @ doubt) ** 2).sum(axis=0) / (np.diag(doubt) + noise))


def bent(model: Model, state: State) -> Bent:
    """How far the free rim is out of flat and out of round."""
    shapes = model.free_bends.reshape(model.nodes, 6, -1)
    spans, sigmas = [], []
    bends, doubt = state.causes[model.spokes :], state.covariance[model.spokes :, model.spokes :]
    for component in (LATERAL, RADIAL):
        shape = shapes[:, component]
        heights = shape @ bends
        highest, lowest = int(np.argmax(heights)), int(np.argmin(heights))
        between = shape[highest] - shape[lowest]
        spans.append(float(heights[highest] - heights[lowest]))
        sigmas.append(float(np.sqrt(max(between @ doubt @ between, 0.0))))
    return Bent(spans[0], spans[1], sigmas[0], sigmas[1])


def windup_turns(wire: Wire, length: float, tension: float) -> float:
    """How far a spoke twists before its nipple moves on the thread [turns].

    Parameters
    ----------
    wire : of the spoke
    length : hub to rim [mm]
    tension : [N]

    Notes
    -----
    The thread's torque is T (p / 2 pi + mu r), r the thread's radius; a bar of length L twists by 32 M L / (pi d^4 G).
    D (statics of a screw, torsion of a round bar).
    """
    torque = tension * (SPOKE_THREAD_PITCH / (2 * math.pi) + THREAD_FRICTION * wire.thread_end / 2)
    head, thread = wire.butts if wire.middle != wire.head_end or wire.middle != wire.thread_end else (0.0, 0.0)
    parts = ((head, wire.head_end), (length - head - thread, wire.middle), (thread, wire.thread_end))
    shear = wire.youngs_modulus / E_OVER_G
    twist = sum(32 * torque * part / (math.pi * diameter**4 * shear) for part, diameter in parts)
    return twist / (2 * math.pi)


def hand_part(turns: float) -> float:
    """The part of a turn that a hand knows and that is nearest: a thirteenth becomes a twelfth, a fortieth nothing."""
    return min(HAND_PARTS, key=lambda part: abs(part - turns))
