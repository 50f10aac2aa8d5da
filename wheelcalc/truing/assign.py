"""Which spoke each pluck was: in order from the valve; one plucked twice or left out, and a stray sound, are recognised.

The cheapest way to walk along the spokes: a step to the next is free; staying (the same spoke again), stepping over one
and leaving a pluck out cost something, less where time, pitch or side speak for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.wheel.errors import InputError

# Costs are chances: a cost of x stands for exp(-x). C, choices, tried on plucked sequences made up with mistakes.
AGAIN, SKIPPED, LEFT_OVER = 4.0, 4.0, 3.0
STRAY, STRAY_DOUBTFUL = 9.0, 2.0
PITCH_SPREAD = 0.003  # of the logarithm: two plucks of one spoke agree so well
SIDE_SPREAD = 0.09  # of the logarithm, within one side
GAP_SPREAD = 0.3  # of the logarithm of the time between plucks
MOST_SURE = 6.0  # no single pitch or gap says more than this
APART = 0.12  # of the logarithm: sides nearer in pitch than this say nothing
STEPS = 3  # stay, next, over one
MOST_STRAYS = 3  # in a row


@dataclass(frozen=True, eq=False)
class Played:
    """The plucks: when [s], rising; pitch [Hz]; whether each is doubtful; all (n,)."""

    at: Floats
    pitch: Floats
    doubtful: Bools


@dataclass(frozen=True, eq=False)
class Spokes:
    """The spokes in the order in which they were to be plucked, (m,).

    Parameters
    ----------
    is_right : side
    sounds_with_next : whether it touches the next one and so has the same pitch
    ratio : pitch of the left side over that of the right one, as expected
    """

    is_right: Bools
    sounds_with_next: Bools
    ratio: float


@dataclass(frozen=True, eq=False)
class Assigned:
    """What the plucks are.

    Parameters
    ----------
    place : of each pluck, in the order of the spokes that were to be plucked, from 0; -1: none of them
    again : of each, whether it is the spoke of the pluck before once more
    passed_over : places that seem to have been left out between others
    left : how many at the end were not reached
    """

    place: Ints
    again: Bools
    passed_over: list[int]
    left: int


def assign(played: Played, spokes: Spokes) -> Assigned:
    """Give each pluck its spoke.

    Raises
    ------
    InputError
        If there are more plucks than two to a spoke.
    """
    plucks, count = played.at.size, spokes.is_right.size
    if plucks > 2 * count:
        raise InputError(
            "", f"has {plucks} plucks for {count} spokes; check --side, --from and --skip, or cut it to one round"
        )
    sides = _side_costs(np.log(played.pitch), spokes)
    stray = np.where(played.doubtful, STRAY_DOUBTFUL, STRAY)
    kept, places = _cheapest(played, spokes, sides, np.append(0.0, np.cumsum(stray)))
    place = np.full(plucks, -1)
    place[kept] = places
    again = np.zeros(plucks, dtype=bool)
    again[kept[1:]] = np.diff(places) == 0
    missed = sorted(set(range(int(places[-1]) + 1)) - set(places.tolist()))
    return Assigned(place, again, missed, count - 1 - int(places[-1]))


def _side_costs(log_pitch: Floats, spokes: Spokes) -> Floats:
    """Cost of each pluck being each spoke, from the side that its pitch belongs to: (plucks, spokes)."""
    is_right, shift = spokes.is_right, float(np.log(spokes.ratio))
    out = np.zeros((log_pitch.size, is_right.size))
    if abs(shift) < APART or is_right.all() or not is_right.any():
        return out
    # The level at which most pitches are near one of the two sides.
    levels = np.concatenate([log_pitch, log_pitch - shift])
    off = np.minimum(np.abs(log_pitch - levels[:, None]), np.abs(log_pitch - levels[:, None] - shift))
    right = levels[np.argmin(np.sum(np.minimum(off, SIDE_SPREAD), axis=1))]
    for column, level in ((is_right, right), (~is_right, right + shift)):
        cost = np.minimum(0.5 * ((log_pitch - level) / SIDE_SPREAD) ** 2, MOST_SURE)
        out[:, column] = cost[:, None]
    return np.asarray(out - out.min(axis=1, keepdims=True))


def _cheapest(played: Played, spokes: Spokes, sides: Floats, strays: Floats) -> tuple[Ints, Ints]:
    """The cheapest walk: which plucks are kept, and the spoke of each.

    Parameters
    ----------
    sides : cost of each pluck being each spoke, (n, m)
    strays : cost of leaving out the first k plucks, (n + 1,)
    """
    plucks, count = sides.shape
    usual = float(np.median(np.log(np.maximum(np.diff(played.at), 1e-3)))) if plucks > 1 else 0.0
    late = SKIPPED * np.arange(count)
    late[STEPS:] = np.inf
    cost = strays[:-1, None] + late + sides
    came = np.full((plucks, count, 2), -1)
    for pluck in range(1, plucks):
        for before in range(max(pluck - 1 - MOST_STRAYS, 0), pluck):
            moves = _moves(played, spokes, before, pluck, usual) + strays[pluck] - strays[before + 1]
            for step in range(min(STEPS, count)):
                there = cost[before, : count - step] + moves[step, : count - step] + sides[pluck, step:]
                better = there < cost[pluck, step:]
                cost[pluck, step:][better] = there[better]
                came[pluck, step:][better] = np.stack([np.full(count - step, before), np.arange(count - step)], 1)[
                    better
                ]
    left = np.minimum(count - 1 - np.arange(count), 2)
    end = cost + LEFT_OVER * left + (strays[-1] - strays[1:])[:, None]
    pluck, place = (int(i) for i in np.unravel_index(int(end.argmin()), end.shape))
    walk = []
    while pluck >= 0:
        walk.append((pluck, place))
        pluck, place = (int(i) for i in came[pluck, place])
    kept, places = np.array(walk[::-1]).T
    return kept, places


def _moves(played: Played, spokes: Spokes, before: int, pluck: int, usual: float) -> Floats:
    """Cost of staying, of stepping on and of stepping over one, from each spoke: (3, m)."""
    gap = np.log(max(played.at[pluck] - played.at[before], 1e-3)) - usual
    apart = abs(np.log(played.pitch[pluck] / played.pitch[before]))
    # Of one spoke, or of two that touch, the pitch is the same; of others it would be so by chance only.
    same = min(0.5 * (apart / PITCH_SPREAD) ** 2, 2 * MOST_SURE) - np.log(SIDE_SPREAD / PITCH_SPREAD)
    slow = [
        min(0.5 * ((gap - np.log(n)) / GAP_SPREAD) ** 2, MOST_SURE) for n in (0.8, 1.0, 2.0)
    ]  # C, a choice: usual gaps
    stay = np.full(spokes.is_right.size, AGAIN + same + slow[0])
    return np.stack([stay, np.where(spokes.sounds_with_next, same, 0.0) + slow[1], 0 * stay + SKIPPED + slow[2]])
