"""Which spoke each pluck was: in order from the valve, one spoke plucked twice or left out recognised.

The cheapest way to walk along the spokes: a step to the next is free; staying (the same spoke again) and stepping over
one cost something, less where time, pitch or side speak for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wheelcalc.wheel.errors import InputError

Array = NDArray[np.float64]
Ints = NDArray[np.int_]

# Costs are chances: a cost of x stands for exp(-x). C, choices, tried on plucked sequences made up with mistakes.
AGAIN, SKIPPED, LEFT_OVER = 4.0, 4.0, 3.0
PITCH_SPREAD = 0.003  # of the logarithm: two plucks of one spoke agree so well
SIDE_SPREAD = 0.09  # of the logarithm, within one side
GAP_SPREAD = 0.3  # of the logarithm of the time between plucks
MOST_SURE = 6.0  # no single pitch or gap says more than this
APART = 0.12  # of the logarithm: sides nearer in pitch than this say nothing


@dataclass(frozen=True, eq=False)
class Assigned:
    """What the plucks are.

    Parameters
    ----------
    place : of each pluck, in the order of the spokes that were to be plucked, from 0
    again : of each, whether it is the spoke of the pluck before once more
    passed_over : places that seem to have been left out between others
    left : how many at the end were not reached
    """

    place: Ints
    again: NDArray[np.bool_]
    passed_over: list[int]
    left: int


def assign(at: Array, pitch: Array, is_right: NDArray[np.bool_], ratio: float) -> Assigned:
    """Give each pluck its spoke.

    Parameters
    ----------
    at : when each pluck was [s], rising
    pitch : [Hz]
    is_right : side of each spoke, in the order in which they were to be plucked
    ratio : pitch of the left side over that of the right one, as expected

    Raises
    ------
    InputError
        If there are more plucks than two to a spoke.
    """
    if at.size > 2 * is_right.size:
        raise InputError(
            "",
            f"has {at.size} plucks for {is_right.size} spokes; check --side, --from and --skip, or cut it to one round",
        )
    moves = _moves(at, np.log(pitch))
    sides = _side_costs(np.log(pitch), is_right, ratio)
    return _walk(moves, sides)


def _moves(at: Array, log_pitch: Array) -> Array:
    """Cost of staying, of stepping on and of stepping over one, before each pluck but the first: (n - 1, 3)."""
    if at.size < 2:
        return np.empty((0, 3))
    gap = np.log(np.maximum(np.diff(at), 1e-3))
    usual = np.median(gap)
    apart = np.abs(np.diff(log_pitch))
    # Plucked again the pitch is the same; of another spoke it would be so by chance only.
    same = np.minimum(0.5 * (apart / PITCH_SPREAD) ** 2, 2 * MOST_SURE) - np.log(SIDE_SPREAD / PITCH_SPREAD)
    slow = [np.minimum(0.5 * ((gap - usual - np.log(n)) / GAP_SPREAD) ** 2, MOST_SURE) for n in (0.8, 1.0, 2.0)]
    return np.stack([AGAIN + same + slow[0], slow[1], SKIPPED + slow[2]], axis=1)


def _side_costs(log_pitch: Array, is_right: NDArray[np.bool_], ratio: float) -> Array:
    """Cost of each pluck being each spoke, from the side that its pitch belongs to: (plucks, spokes)."""
    out = np.zeros((log_pitch.size, is_right.size))
    if abs(np.log(ratio)) < APART or is_right.all() or not is_right.any():
        return out
    shift = np.log(ratio)
    # The level at which most pitches are near one of the two sides.
    levels = np.concatenate([log_pitch, log_pitch - shift])
    off = np.minimum(np.abs(log_pitch - levels[:, None]), np.abs(log_pitch - levels[:, None] - shift))
    right = levels[np.argmin(np.sum(np.minimum(off, SIDE_SPREAD), axis=1))]
    for column, level in ((is_right, right), (~is_right, right + shift)):
        cost = np.minimum(0.5 * ((log_pitch - level) / SIDE_SPREAD) ** 2, MOST_SURE)
        out[:, column] = cost[:, None]
    return out - out.min(axis=1, keepdims=True)


def _walk(moves: Array, sides: Array) -> Assigned:
    """The cheapest walk that begins at the first spoke (or, at a price, one or two later)."""
    plucks, spokes = sides.shape
    cost = np.full(spokes, np.inf)
    first = min(3, spokes)
    cost[:first] = sides[0, :first] + SKIPPED * np.arange(first)
    came = np.zeros((plucks, spokes), dtype=int)
    for pluck in range(1, plucks):
        options = np.full((3, spokes), np.inf)
        for step in range(min(3, spokes)):
            options[step, step:] = cost[: spokes - step] + moves[pluck - 1, step]
        came[pluck] = options.argmin(axis=0)
        cost = options.min(axis=0) + sides[pluck]
    cost = cost + LEFT_OVER * np.minimum(spokes - 1 - np.arange(spokes), 2)
    place = [int(cost.argmin())]
    for pluck in range(plucks - 1, 0, -1):
        place.append(place[-1] - int(came[pluck][place[-1]]))
    ordered = np.array(place[::-1])
    again = np.append(False, np.diff(ordered) == 0)
    missed = sorted(set(range(int(ordered[-1]) + 1)) - set(ordered.tolist()))
    return Assigned(ordered, again, missed, spokes - 1 - int(ordered[-1]))
