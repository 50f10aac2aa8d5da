"""Where the chain runs: rings in front, cogs behind, the angle of the chain in every gear, and what moves it.

Chainlines and positions are distances to the right of the bike's middle plane [mm]. Ring 1 and cog 1 are the outermost,
right ones. Limits come from the caller. Error keys are the build file's, section included.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

import numpy as np

from wheelcalc.arrays import Bools, Floats
from wheelcalc.wheel.errors import InputError

Numbers = TypeVar("Numbers", float, Floats)

# C: nothing narrower or wider is a bicycle's; a slip of the unit or the decimal point shows here. The widest row of
# the facts is 76.5 (fat), the narrowest 40.5 (track).
PLAUSIBLE_CHAINLINE = (20.0, 120.0)
WIDEST_HUB = 250.0  # C: the same purpose; the widest row of the facts is 197


class ShellSpacers(NamedTuple):
    """Spacers between the shell's faces and the bearings [mm]; negative: the shell is that much too wide there."""

    left_mm: float
    right_mm: float


@dataclass(frozen=True)
class Rings:
    """The rings of a crank.

    Parameters
    ----------
    chainline : bike's middle plane to the ring (1), midway (2) or the middle ring (3), by standard or measured [mm]
    count : of rings
    pitch : centre to centre [mm]; not used for a single ring

    Raises
    ------
    InputError
        If the chainline is no bicycle's, there is no ring, or the rings have no pitch.
    """

    chainline: float
    count: int = 1
    pitch: float = 0.0

    def __post_init__(self) -> None:
        least, most = PLAUSIBLE_CHAINLINE
        if not least <= self.chainline <= most:
            text = f"found {self.chainline:g} mm; a bicycle's is from {least:g} to {most:g} mm"
            raise InputError("crank.chainline", f"{text}, from the frame's middle plane to the middle of the rings")
        _check_stack("crank.rings", self.count, "crank.ring_pitch", self.pitch)

    @property
    def positions(self) -> Floats:
        """Each ring to the right of the bike's middle plane, ring 1 first [mm], shape (count,)."""
        return positions(self.chainline, self.count, self.pitch)


@dataclass(frozen=True)
class Cogs:
    """The stack of cogs on a hub.

    Parameters
    ----------
    count : of cogs
    pitch : centre to centre [mm]; not used for a single cog
    locknut_to_smallest : right locknut face, without added spacers, to the middle of the smallest cog [mm]

    Raises
    ------
    InputError
        If there is no cog, the cogs have no pitch, or the smallest lies outside the locknut.
    """

    count: int
    pitch: float
    locknut_to_smallest: float

    def __post_init__(self) -> None:
        _check_stack("cogs.count", self.count, "cogs.pitch", self.pitch)
        if not (math.isfinite(self.locknut_to_smallest) and self.locknut_to_smallest > 0):
            text = f"found {self.locknut_to_smallest:g} mm; the smallest cog lies inside the right locknut face"
            raise InputError("cogs.locknut_to_smallest", f"{text}, so it must be more than 0 mm")

    def positions(self, chainline: float) -> Floats:
        """Place the cogs about a rear chainline, right of the bike's middle plane, cog 1 first [mm], shape (count,)."""
        return positions(chainline, self.count, self.pitch)


def rear_chainline(
    over_locknut: float,
    cogs: Cogs,
    left_spacer: float = 0.0,
    right_spacer: float = 0.0,
    wheel_offset: float = 0.0,
) -> float:
    """Bike's middle plane to the middle of the stack of cogs, + right.

    Parameters
    ----------
    over_locknut : of the hub without added spacers [mm]
    cogs : the stack
    left_spacer, right_spacer : added under the locknuts (negative: taken off) [mm]
    wheel_offset : of a frame built with the rim off the middle of its ends, + right [mm]

    Returns
    -------
    The rear chainline [mm].

    Raises
    ------
    InputError
        If the stack would reach past the middle of the hub, or the hub is wider than any.

    Notes
    -----
    Half the width, less what lies between locknut and cogs, less half the stack (C(6)). The rim runs in the bike's
    middle plane, so ends whose middle lies to the right of it (a negative wheel offset) carry the cogs further right.
    """
    if not (math.isfinite(over_locknut) and 0 < over_locknut <= WIDEST_HUB):
        raise InputError(
            "hub.over_locknut", f"found {over_locknut:g} mm; a hub's is more than 0, up to {WIDEST_HUB:g} mm"
        )
    stack = (cogs.count - 1) * cogs.pitch
    if cogs.locknut_to_smallest + stack >= over_locknut / 2:
        text = f"found {cogs.count} cogs {cogs.pitch:g} mm apart, {cogs.locknut_to_smallest:g} mm from the locknut"
        remedy = f"they do not fit in half of hub.over_locknut = {over_locknut:g} mm; measure all three again"
        raise InputError("cogs.count", f"{text}; {remedy}")
    without = over_locknut / 2 - cogs.locknut_to_smallest - stack / 2
    return without + cog_shift(left_spacer, right_spacer) - wheel_offset


def cog_shift(left_spacer: Numbers, right_spacer: Numbers) -> Numbers:
    """How far spacers under the hub's locknuts move the cogs against the bike's middle plane, + right [mm].

    A spacer on the left pushes the whole hub right by half of itself, one on the right pushes it left (D).
    """
    return (left_spacer - right_spacer) / 2


def positions(chainline: float, count: int, pitch: float) -> Floats:
    """Place evenly spaced rings or cogs, the outermost first.

    Parameters
    ----------
    chainline : of the middle of them: to the ring (1), midway (2), the middle ring (3) [mm]
    count : of rings or cogs
    pitch : centre to centre [mm]; not used for a single one

    Returns
    -------
    Distances right of the bike's middle plane [mm], shape (count,).
    """
    return chainline + pitch * ((count - 1) / 2 - np.arange(count, dtype=np.float64))


def chainline_error(front: Numbers, rear: Numbers) -> Numbers:
    """Front chainline less rear: + where the rings stand further right than the cogs [mm]."""
    return front - rear


def chain_angles_deg(rings: Floats, cogs: Floats, distance: float) -> Floats:
    """Sideways angle of the chain in every gear.

    Parameters
    ----------
    rings, cogs : right of the bike's middle plane, outermost first [mm], shapes (rings,) and (cogs,)
    distance : rear axle to bracket, the chainstay's length [mm]

    Returns
    -------
    Angles, + where the cog lies further right than the ring [deg], shape (rings, cogs).

    Raises
    ------
    InputError
        If the distance is not positive.
    """
    if not (math.isfinite(distance) and distance > 0):
        raise InputError("frame.chainstay", f"found {distance:g} mm; it must be more than 0 mm, from axle to bracket")
    return np.degrees(np.arctan((cogs[np.newaxis, :] - rings[:, np.newaxis]) / distance))


def too_steep(angles_deg: Floats, most_deg: float) -> Bools:
    """Mark the gears whose chain runs at more than the caller's limit, to either side."""
    return np.abs(angles_deg) > most_deg


def cross_chained(rings: int, cogs: int, far_cogs: int) -> Bools:
    """Mark the crossed gears: outermost ring with the innermost cogs, innermost ring with the outermost cogs.

    Parameters
    ----------
    rings, cogs : counts
    far_cogs : how many cogs at the far end count as crossed; of few cogs less than half

    Returns
    -------
    Marks, shape (rings, cogs); a single ring crosses with none, a middle ring neither.
    """
    marks = np.zeros((rings, cogs), dtype=np.bool_)
    far = min(far_cogs, (cogs - 1) // 2)
    if rings > 1 and far > 0:
        marks[0, -far:] = True
        marks[-1, :far] = True
    return marks


def shell_spacers(shell_width: float, made_for: float, own: ShellSpacers) -> ShellSpacers:
    """Spacers that put a crank's bearings on another shell without moving the crank.

    Parameters
    ----------
    shell_width : of the frame [mm]
    made_for : shell width that the crank's bearings were made for [mm]
    own : spacers that the crank has on a shell of that width [mm]

    Returns
    -------
    Spacers left and right. A negative one cannot be had: where the sum is negative the crank does not fit, and
    otherwise it fits only moved away from that side by as much.

    Raises
    ------
    InputError
        If a width is not positive.

    Notes
    -----
    The bearings' seats stay as far from the bike's middle plane as on the crank's own shell, and a face of the shell
    is half its width away. D, from the practice for external cups (seats 39.0 right, 36.5 left on 68 and 73).
    """
    for key, width in (("frame.shell_width", shell_width), ("crank.shell_width", made_for)):
        if not (math.isfinite(width) and width > 0):
            raise InputError(key, f"found {width:g} mm; it must be more than 0 mm, between the shell's faces")
    narrower = (made_for - shell_width) / 2
    return ShellSpacers(left_mm=narrower + own.left_mm, right_mm=narrower + own.right_mm)


# D: change of the chainline error per mm of each move; tests/bike/test_chainline.py differentiates the functions above.
ERROR_PER_MM: Mapping[str, float] = {
    "ring to the right": 1.0,  # a spacer between ring and crank, or rings to the other face of their arms
    "crank to the right": 1.0,  # a spacer of the shell moved from left to right, or a longer axle
    "cogs to the right": -1.0,  # on the body: a spacer moved from in front of the stack to behind it
    "hub spacer from left to right": 1.0,  # a spacer of that thickness; the width stays, the rim moves too
    "hub spacer added left": -0.5,  # the width grows, the rim moves too
    "hub spacer added right": 0.5,
}


def corrections(error: float) -> dict[str, float]:
    """How many mm of each move alone would take the chainline error away; negative: the other way (or taken off)."""
    return {move: -error / rate for move, rate in ERROR_PER_MM.items()}


def _check_stack(count_key: str, count: int, pitch_key: str, pitch: float) -> None:
    if count < 1:
        raise InputError(count_key, f"found {count}; there must be 1 or more")
    if not (math.isfinite(pitch) and (pitch > 0 or (count == 1 and pitch == 0))):
        raise InputError(pitch_key, f"found {pitch:g} mm; it must be more than 0 mm, centre to centre")
