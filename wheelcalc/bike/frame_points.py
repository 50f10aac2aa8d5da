"""What turns with the frame when a wheel or the fork changes: bars, saddle, top tube."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wheelcalc.bike.geometry import Bike

# C: a bike for everyday use; a tenth more or less moves what follows by as much.
BAR_ABOVE_BRACKET = 690.0  # mm
BAR_AHEAD_OF_BRACKET = 470.0  # mm
SADDLE_FROM_BRACKET = 700.0  # mm, along the seat tube
SEAT_ANGLE = 73.0  # deg


@dataclass(frozen=True)
class Moved:
    """How far a point of the frame moves [mm]: forward against the bracket, up against it, up against the ground."""

    forward_mm: float
    above_bracket_mm: float
    above_ground_mm: float


@dataclass(frozen=True)
class Moves:
    """What the rider meets: the frame's turn (+ front up) [deg], and how far bars, saddle and top tube move.

    Parameters
    ----------
    turn_deg : the saddle tilts by as much
    bars, saddle : their middles
    standover_mm : the top tube half-way between the axles, + higher
    """

    turn_deg: float
    bars: Moved
    saddle: Moved
    standover_mm: float


def turned(ahead: float, above: float, turn_deg: float, bracket_rise: float) -> Moved:
    """Move a point that the frame carries round the bracket.

    Parameters
    ----------
    ahead, above : of the point, from the bracket [mm]
    turn_deg : of the frame, + front up [deg]
    bracket_rise : of the bracket over the ground [mm]

    Notes
    -----
    A rigid turn about the bracket (D).
    """
    angle = math.radians(turn_deg)
    forward = ahead * math.cos(angle) - above * math.sin(angle) - ahead
    up = ahead * math.sin(angle) + above * math.cos(angle) - above
    return Moved(forward, up, up + bracket_rise)


def moves(before: Bike, after: Bike, bar: tuple[float, float], saddle: float) -> Moves | None:
    """What moves with the frame; None where the bracket's height is unknown.

    Parameters
    ----------
    before, after : the bike
    bar : middle of the bars ahead of and above the bracket, before [mm]
    saddle : top of the saddle from the bracket, along the seat tube [mm]
    """
    if before.bracket_height is None or after.bracket_height is None:
        return None
    turn = before.head_angle_deg - after.head_angle_deg
    rise = after.bracket_height - before.bracket_height
    seat = math.radians(before.seat_angle_deg or SEAT_ANGLE)
    lift = math.tan(math.radians(turn)) * before.wheelbase / 2
    rear = (after.rear_diameter - before.rear_diameter) / 2
    return Moves(
        turn_deg=turn,
        bars=turned(*bar, turn, rise),
        saddle=turned(-saddle * math.cos(seat), saddle * math.sin(seat), turn, rise),
        standover_mm=rear + lift,
    )
