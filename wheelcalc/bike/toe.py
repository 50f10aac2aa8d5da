"""Room for the toe before the front tyre as it is steered: the arc that the tyre sweeps, seen from above."""

from __future__ import annotations

import math

import numpy as np

from wheelcalc.bike.geometry import Bike
from wheelcalc.wheel.errors import InputError

ROUND = 1440  # points of the tyre's middle circle that are tried
ACROSS = 81  # points of its width


def swept_toe_room(bike: Bike, pedal_middle: float, tyre_width: float) -> float | None:
    """Pedal's middle, crank level, forward and parallel to the bike to the arc swept by the front tyre.

    Parameters
    ----------
    bike : its bracket height, chainstay and crank length must be known
    pedal_middle : out from the bike's middle plane [mm]
    tyre_width : of the round section [mm]

    Returns
    -------
    The least over all steering angles under a quarter turn [mm], as 16 CFR 1512.17(d) measures it; None where it
    cannot be known.

    Raises
    ------
    InputError
        If the tyre never comes as far out as the pedal.

    Notes
    -----
    D. A point of the wheel's plane a distance d behind the steering axis lies, turned until it is z out from the
    middle plane, sqrt(d^2 - z^2) sin H behind the axis along the ground. The tyre is a row of balls on its middle
    circle, and a ball z out reaches sqrt((width/2)^2 - (z - pedal)^2) further back at the pedal. The frame's sinking
    as it steers is left out: it is a few mm.
    """
    if bike.bracket_ahead is None or bike.crank_length is None:
        return None
    head, half = math.radians(bike.head_angle_deg), tyre_width / 2
    angle = np.linspace(0, 2 * math.pi, ROUND, endpoint=False)[:, np.newaxis]
    out = pedal_middle + half * np.linspace(-1, 1, ACROSS)
    ahead, above = ((bike.front_diameter / 2 - half) * part(angle) for part in (np.cos, np.sin))
    before_axis = bike.fork_offset + ahead * math.sin(head) + above * math.cos(head)
    foot = bike.wheelbase + ahead - before_axis * math.sin(head)
    reached = (before_axis < 0) & (before_axis**2 >= out**2)
    if not reached.any():
        text = f"found {pedal_middle:g} mm, further out than the front tyre comes however it is turned"
        raise InputError("pedal_middle", f"{text}: measure from the bike's middle plane to the pedal's middle")
    behind = np.sqrt(np.where(reached, before_axis**2 - out**2, 0.0)) * math.sin(head)
    ball = np.sqrt(np.maximum(half**2 - (out - pedal_middle) ** 2, 0.0))
    tyre = np.where(reached, foot - behind - ball, np.inf).min()
    return float(tyre - bike.bracket_ahead - bike.crank_length)
