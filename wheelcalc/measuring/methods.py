"""The ways to come by each dimension with a rule and two old spokes: their formulas, and which readings they take."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES, opposite

READ = "readings."
# What is taken for a part's own dimension that nobody measured, and its standard uncertainty [mm]. C: slots of brass
# nipples about 1 deep; M: flange holes for 2.0 mm wire run from 2.3 to 2.6; C: cogs of 6 to 9 are 1.75 to 2.0 thick.
TYPICAL = {"slot_depth": (1.0, 0.25), "hole_diameter": (2.5, 0.1), "cog_thickness": (1.8, 0.1)}


@dataclass(frozen=True)
class Method:
    """One way to come by a dimension.

    Parameters
    ----------
    key : the dimension
    inputs : readings and dimensions that go into it
    formula : from their values, in that order, to the dimension [mm]
    words : how it was found, for "from"
    unless : readings that make it needless
    """

    key: str
    inputs: tuple[str, ...]
    formula: Callable[..., float]
    words: str
    unless: tuple[str, ...] = ()


def two_spokes(length: float, gap: float) -> float:
    """Effective rim diameter from two spokes in opposite holes and the gap between their elbows [mm]."""
    if 2 * length + gap <= length:
        text = f"found {gap:g} mm; spokes of {length:g} mm cannot overlap by a whole spoke: the gap is negative only by as much as the"
        raise InputError(f"{READ}rim.two_spokes.gap", f"{text} elbows pass each other")
    return 2 * length + gap


def over_nipple_tops(circumference: float, head_depth: float, slot_depth: float) -> float:
    """Effective rim diameter from the outside circumference and the depth to the nipple's head and slot [mm]."""
    return circumference / math.pi - 2 * head_depth - 2 * slot_depth


def over_seats(inside: float, wall: float, seat_to_end: float) -> float:
    """Effective rim diameter from the inside diameter, the wall, and nipple seat to spoke end [mm]."""
    return inside + 2 * wall + 2 * seat_to_end


def chord(over: float, length: float, holes: float) -> float:
    """Pitch circle diameter from the distance of two hole centres so many holes apart: c = d sin(pi k / n) (D)."""
    if not 0 < over < holes:
        raise InputError("over", f"found {over:g}; on a flange of {holes:g} holes it is 1 to {holes - 1:g}")
    return length / math.sin(math.pi * over / holes)


def known_spoke(length: float, sticks_out: float, erd: float, offset: float, crosses: float, holes: float) -> float:
    """Pitch circle diameter of the seats of straight heads, from one spoke that was pushed through and laid to its rim hole.

    Notes
    -----
    Law of cosines in the wheel's plane, solved for the hub radius: with S^2 = (length - sticks_out)^2 - offset^2,
    r = R cos a - sqrt(S^2 - R^2 sin^2 a), a = 2 pi k / n (D). The smaller root: the seat lies on the near side of the
    rim's foot point.
    """
    radius, angle = erd / 2, 2 * math.pi * crosses / holes
    under_root = (length - sticks_out) ** 2 - offset**2 - (radius * math.sin(angle)) ** 2
    pcd = 2 * (radius * math.cos(angle) - math.sqrt(under_root)) if under_root >= 0 else -1.0
    if pcd <= 0:
        text = f"found {length:g} mm with {sticks_out:g} mm beyond the intended end; no seat at this rim and {crosses:g} crosses gives that"
        raise InputError("known_spoke", f"{text}: check the crosses, and that rim.erd is to the spoke end")
    return pcd


def _hub_methods(side: str) -> Iterator[Method]:
    hub, raw = f"hub.{side}.", f"{READ}hub.{side}."
    near, far, hole = f"{raw}near_edges", f"{raw}far_edges", f"{hub}hole_diameter"
    pcd, distance = f"{hub}pcd", f"{hub}locknut_to_flange"
    yield Method(hole, (near, far), lambda a, b: (b - a) / 2, "half of far less near hole edges")
    yield Method(pcd, (near, far), lambda a, b: (a + b) / 2, "mean of near and far hole edges")
    yield Method(pcd, (near, hole), lambda a, d: a + d, "near hole edges and one hole", (far,))
    yield Method(pcd, (far, hole), lambda b, d: b - d, "far hole edges less one hole", (near,))
    yield Method(pcd, (f"{raw}chord.over", f"{raw}chord.length", f"{hub}holes"), chord, "chord over several holes")
    face = (f"{raw}locknut_to_outer_face", f"{hub}thickness")
    yield Method(distance, face, lambda a, t: a + t / 2, "locknut to the outer face and half the thickness")


def _other_flange(side: str) -> Method:
    faces = (f"{READ}hub.outer_faces", "hub.left.thickness", "hub.right.thickness")
    return Method(
        f"hub.{side}.locknut_to_flange",
        ("hub.over_locknut", *faces, f"hub.{opposite(side)}.locknut_to_flange"),
        lambda width, over, left, right, other: width - between_flanges(over, left, right) - other,
        "width, outer faces and the other flange",
        (f"{READ}hub.{side}.locknut_to_outer_face",),
    )


def between_flanges(outer_faces: float, left: float, right: float) -> float:
    """Middle of flange to middle of flange, from over their outer faces and both thicknesses [mm]."""
    return outer_faces - (left + right) / 2


def _straight(side: str) -> Method:
    raw = f"{READ}hub.{side}.known_spoke."
    inputs = (
        f"{raw}length",
        f"{raw}sticks_out",
        SPOKE_END,
        OFFSET[side],
        f"lacing.crosses.{side}",
        f"hub.{side}.holes",
    )
    return Method(f"hub.{side}.pcd", inputs, known_spoke, "known spoke laid from its seat to the rim")


# What only joins two methods, never a key of the build file.
SPOKE_END = "erd to the spoke end"
OFFSET = {side: f"offset of the {side} flange" for side in SIDES}


def _methods() -> tuple[Method, ...]:
    """All methods, each after those that it may build on."""
    return (
        Method("hub.over_locknut", (f"{READ}over_locknut",), _as_read, "read over the locknuts"),
        Method("frame.dropout_spacing", (f"{READ}dropout_spacing",), _as_read, "read between the inner faces"),
        *_rim_methods(),
        *(method for side in SIDES for method in _hub_methods(side)),
        Method(
            "hub.flange_distance",
            (f"{READ}hub.outer_faces", "hub.left.thickness", "hub.right.thickness"),
            between_flanges,
            "over the outer faces less half of both thicknesses",
        ),
        *(_other_flange(side) for side in SIDES),
        *(_straight(side) for side in SIDES),
        *_bike_methods(),
    )


def _rim_methods() -> tuple[Method, ...]:
    raw, slot = f"{READ}rim.", "nipple.slot_depth"
    return (
        Method(
            "rim.erd",
            (f"{raw}two_spokes.length", f"{raw}two_spokes.gap"),
            two_spokes,
            "two old spokes and the gap between them",
        ),
        Method(
            "rim.erd",
            (f"{raw}outside_circumference", f"{raw}head_depth", slot),
            over_nipple_tops,
            "outside circumference, head depth and slot",
        ),
        Method(
            "rim.erd",
            (f"{raw}inside_diameter", f"{raw}wall", "nipple.seat_to_end"),
            over_seats,
            "inside diameter, wall and nipple seat to spoke end",
        ),
    )


def _bike_methods() -> tuple[Method, ...]:
    tube = (f"{READ}crank.seat_tube_to_ring", f"{READ}crank.seat_tube_diameter")
    cog = f"{READ}cogs.thickness"
    return (
        Method("hub.rotor_face", (f"{READ}hub.rotor_depth",), _as_read, "read from the left locknut face"),
        Method("hub.body_length", (f"{READ}hub.body_length",), _as_read, "read along the freehub body"),
        Method("crank.chainline", tube, lambda a, d: a + d / 2, "seat tube to ring and half the tube"),
        Method(
            "cogs.locknut_to_smallest",
            (f"{READ}cogs.locknut_to_face", cog),
            lambda a, t: a + t / 2,
            "locknut to the smallest cog's face and half the cog",
        ),
        Method(
            "cogs.pitch",
            (f"{READ}cogs.stack", cog, "cogs.count"),
            _pitch_of_stack,
            "stack of cogs less one cog, over the gaps",
        ),
    )


def _pitch_of_stack(stack: float, thickness: float, count: float) -> float:
    if count < 2:
        raise InputError(
            "readings.cogs.stack", "found it with cogs.count = 1; one cog has no pitch: take the stack out"
        )
    return (stack - thickness) / (count - 1)


def _as_read(value: float) -> float:
    return value


METHODS = _methods()
