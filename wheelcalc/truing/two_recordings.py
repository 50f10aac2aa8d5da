"""What happened between two recordings of one wheel: ratios of the pitches against what each mishap does to this wheel.

No calibration is needed: how a spoke's ends are held and how long it is drop out of the ratio of its own two pitches.
Looked for are single spokes that became longer (a nipple that unwound, a hole that gives) or shorter, and places where
the rim was bent; a pitch that was misread stands alone, its neighbours unmoved. What is left is a change of each side as
a whole, plain bedding in, and scatter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH

SPOKE, LATERAL_BEND, RADIAL_BEND, MISREAD = "spoke", "lateral bend", "radial bend", "misread"
AXLE, FORWARD, OUTWARD = 3, 4, 5  # moments among a node's six loads, by their axis
MOST_EVENTS = 4
# C: real mishaps go before misread pitches where both explain it.
MISREAD_COSTS = 4.0
# C, choices: how much better (in the Bayesian information criterion, which halves the odds every 1.4) an event must
# make it to be named, and how near another explanation must come to be named beside it.
NAMED, ALSO = 10.0, 4.0
# C: less than this is not worth a look: half an eighth of a turn, a tenth of a millimetre, 3 %.
LEAST_AMOUNT = {SPOKE: 0.06, LATERAL_BEND: 0.1, RADIAL_BEND: 0.1, MISREAD: 0.03}
# C: an even loss smaller than this is within what a day's temperature does (2 N/K, check-values 'pitch').
LEAST_LOSS = 0.015


@dataclass(frozen=True)
class Event:
    """One thing that happened.

    Parameters
    ----------
    kind : "spoke", "lateral bend", "radial bend" or "misread"
    place : index of the spoke, or of the rim's node behind which the bend lies
    amount : turns by which the spoke is looser (+) or tighter (-); of a bend how far the rim is off a straight course one
        node further on [mm]; of a misread pitch the ln by which its tension is off
    also : other places that explain it nearly as well
    """

    kind: str
    place: int
    amount: float
    also: tuple[int, ...]


@dataclass(frozen=True)
class Change:
    """What happened to the wheel.

    Parameters
    ----------
    events : surest first
    level : side -> change of its tension as a whole, as a share, with its standard uncertainty
    scatter : of the single spokes that is left, as a share of the tension
    """

    events: tuple[Event, ...]
    level: dict[str, tuple[float, float]]
    scatter: float


def change(
    structure: Structure,
    is_right: Bools,
    tensions: Floats,
    log_ratio: Floats,
    partner: Ints,
    sigma: float,
) -> Change:
    """Match the change of all tensions to what single mishaps do.

    Parameters
    ----------
    structure : the wheel at about its tensions
    is_right : side of each spoke, (n,)
    tensions : of each spoke before, about, (n,) [N]; nan: that of the structure
    log_ratio : ln of each tension after over before, (n,), nan where one was not read
    partner : spoke that each touches and sounds with, -1: none, (n,)
    sigma : standard uncertainty of a log_ratio

    Notes
    -----
    Forward selection: in each round the event that lowers chi-square most, as long as the information criterion pays
    for its parameters and for the number of places it was picked from. Bedding in makes all spokes of a side longer by
    the same, which costs a loose one a larger share of its tension.
    """
    seen = np.isfinite(log_ratio)
    mixed = _mixing(partner)
    before = np.where(np.isfinite(tensions), tensions, structure.tensions)
    over = (mixed / (mixed @ before)[:, None])[seen]
    longer = -shortening(structure).tensions
    sides = [mask for mask in (~is_right, is_right) if mask[seen].any()]
    base = np.stack([over @ longer[:, mask].sum(axis=1) for mask in sides], axis=1)
    base /= np.abs(base).max(axis=0)
    wanted = log_ratio[seen]
    null = wanted - _fitted(base, wanted)
    # D: 1.4826 median absolute deviations are a standard deviation, where errors are normal.
    spread = max(sigma, 1.4826 * float(np.median(np.abs(null - np.median(null)))))
    candidates = _candidates(structure, longer, over, seen)
    events: list[Event] = []
    for _ in range(MOST_EVENTS):
        event, column = _best(base, wanted, candidates, spread)
        if event is None:
            break
        events.append(event)
        base = np.column_stack([base, column])
    return Change(tuple(events), _levels(base, len(sides), wanted, is_right[seen], spread), _scatter(base, wanted))


def _mixing(partner: Ints) -> Floats:
    """What sounds at each spoke: its own tension, or the mean with the one that it touches, (n, n)."""
    alone = np.eye(partner.size)
    return np.where((partner >= 0)[:, None], (alone + alone[np.maximum(partner, 0)]) / 2, alone)


def _candidates(structure: Structure, longer: Floats, over: Floats, seen: Bools) -> list[tuple[str, Floats]]:
    """Kinds of event, and what each does to the ratios, (seen, places)."""
    return [
        (SPOKE, over @ longer * SPOKE_THREAD_PITCH),
        (LATERAL_BEND, over @ bends_about(structure, OUTWARD)),
        (RADIAL_BEND, over @ bends_about(structure, AXLE)),
        (MISREAD, np.eye(structure.tensions.size)[seen]),
    ]


def bends_about(structure: Structure, about: int) -> Floats:
    """Change of the tensions when the rim takes a lasting kink between each node and the next, (n, m).

    Notes
    -----
    A kink of angle a over an arc is to the rest as the pair of moments EI a / length at its ends; the angle is that of
    1 mm over the distance of two nodes. D.
    """
    nodes, section = structure.node_count, structure.section
    angles = structure.node_angles_rad
    spans = np.diff(angles, append=angles[0] + 2 * np.pi)
    inertia = section.inertia_out_of_plane if about == OUTWARD else section.inertia_in_plane
    length = spans * structure.radius
    moment = section.youngs_modulus * inertia / length**2
    loads = np.zeros((nodes, nodes, 6))
    here = np.arange(nodes)
    for node, sign in ((here, 1.0), ((here + 1) % nodes, -1.0)):
        loads[here, node, about] = sign * moment
    if about == OUTWARD:
        # The moment's axis is the radius of the arc's middle; at its ends a share of it lies along the rim.
        loads[here, :, OUTWARD] *= np.cos(spans / 2)[:, None]
        for node in (here, (here + 1) % nodes):
            loads[here, node, FORWARD] = moment * np.sin(spans / 2)
    return structure.tension_changes(loads).T


def _best(
    base: Floats, wanted: Floats, candidates: list[tuple[str, Floats]], spread: float
) -> tuple[Event | None, Floats]:
    """The event that explains most of what is left, if any pays for itself, and its column."""
    rest = wanted - _fitted(base, wanted)
    room = wanted.size - base.shape[1]
    rows = []
    for kind, columns in candidates:
        bare = columns - _fitted(base, columns)
        power = np.sum(bare**2, axis=0)
        usable = power > 1e-12 * np.sum(columns**2, axis=0) + 1e-30
        amount = np.where(usable, (bare.T @ rest) / np.where(usable, power, 1.0), 0.0)
        usable &= np.abs(amount) >= LEAST_AMOUNT[kind]
        gain = np.where(usable, amount**2 * power / spread**2, 0.0)
        price = np.log(max(wanted.size, 2)) + 2 * np.log(columns.shape[1])
        price += MISREAD_COSTS if kind == MISREAD else 0.0
        rows.append((gain - price, amount, kind, columns))
    if room < 3:
        return None, np.empty(0)
    surer, amount, kind, columns = max(rows, key=lambda row: float(row[0].max()))
    place = int(surer.argmax())
    if surer[place] < NAMED:
        return None, np.empty(0)
    near = np.flatnonzero((surer > surer[place] - ALSO) & (np.arange(surer.size) != place))
    also = tuple(near[np.argsort(-surer[near])][:3].tolist())
    return Event(kind, place, float(amount[place]), also), columns[:, place]


def _fitted(base: Floats, wanted: Floats) -> Floats:
    """The part of one or more columns that the base explains."""
    return np.asarray(base @ np.linalg.lstsq(base, wanted, rcond=None)[0])


def _levels(base: Floats, count: int, wanted: Floats, is_right: Bools, spread: float) -> dict[str, tuple[float, float]]:
    """Mean change of each side by the first columns of the base alone, events taken out."""
    solved, *_ = np.linalg.lstsq(base, wanted, rcond=None)
    covariance = spread**2 * np.linalg.pinv(base.T @ base)[:count, :count]
    out = {}
    for name, mask in (("left", ~is_right), ("right", is_right)):
        if mask.any():
            mean = base[mask, :count].mean(axis=0)
            out[name] = (float(np.expm1(mean @ solved[:count])), float(np.sqrt(mean @ covariance @ mean)))
    return out


def _scatter(base: Floats, wanted: Floats) -> float:
    rest = wanted - _fitted(base, wanted)
    return float(np.sqrt(np.sum(rest**2) / max(wanted.size - base.shape[1], 1)))
