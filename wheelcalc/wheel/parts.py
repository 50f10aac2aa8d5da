"""Flange, hub, rim, section, wire and nipple: frozen, validated, plain numbers in mm, N, N/mm2, g."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.given import COUNT, plain_fields

SIDES = ("left", "right")


def opposite(side: str) -> str:
    """Name the other side."""
    return "left" if side == "right" else "right"


def one_of(key: str, value: str, choices: tuple[str, ...]) -> None:
    """Refuse a word that is not one of the choices."""
    if value not in choices:
        raise InputError(key, f"found {value!r}; write one of {', '.join(choices)}")


def above(key: str, value: float, least: float = 0.0, unit: str = "mm") -> None:
    """Refuse a number that is not finite or not above `least`."""
    if not (math.isfinite(value) and value > least):
        raise InputError(key, f"found {value:g} {unit}; it must be more than {least:g} {unit}")


def not_below(key: str, value: float, least: float = 0.0, unit: str = "mm") -> None:
    """Refuse a number that is not finite or below `least`."""
    if not (math.isfinite(value) and value >= least):
        raise InputError(key, f"found {value:g} {unit}; it must be {least:g} {unit} or more")


@dataclass(frozen=True)
class Flange:
    """One flange of a hub.

    Parameters
    ----------
    holes : count of spoke holes (or seats of straight heads)
    pcd : pitch circle diameter of the holes [mm]
    offset : from the hub's centre to the middle of the flange, positive outward [mm]
    hole_diameter : of a spoke hole [mm]; taken off the length of an elbow spoke by half
    thickness : [mm], None where unknown
    outside_diameter : of the flange [mm], None where unknown
    spoke_head : "elbow" or "straight"

    Raises
    ------
    InputError
        If a number is not positive or a hole circle is smaller than its holes.

    Examples
    --------
    >>> Flange(holes=16, pcd=44.7, offset=34.4).hole_diameter
    2.5
    """

    holes: int
    pcd: float
    offset: float
    hole_diameter: float = 2.5  # C: flange hole for a 2.0 wire
    thickness: float | None = None
    outside_diameter: float | None = None
    spoke_head: str = "elbow"

    def __post_init__(self) -> None:
        lengths = ("pcd", "offset", "hole_diameter", "thickness", "outside_diameter")
        plain_fields(self, {"holes": COUNT, **dict.fromkeys(lengths, "mm")})
        if self.holes < 3:
            raise InputError("holes", f"found {self.holes}; a flange has 3 spoke holes or more")
        above("pcd", self.pcd)
        if not math.isfinite(self.offset):
            raise InputError("offset", f"found {self.offset:g} mm; write a finite number")
        not_below("hole_diameter", self.hole_diameter)
        if self.thickness is not None:
            above("thickness", self.thickness)
        one_of("spoke_head", self.spoke_head, ("elbow", "straight"))
        pitch = self.pcd * math.sin(math.pi / self.holes)
        if self.spoke_head == "elbow" and pitch <= self.hole_diameter:
            text = f"found {self.pcd:g} mm; {self.holes} holes of {self.hole_diameter:g} mm do not fit on that circle"
            raise InputError("pcd", f"{text}: measure hole centre to opposite hole centre")


@dataclass(frozen=True)
class Hub:
    """A hub as it sits in the frame.

    Parameters
    ----------
    over_locknut : outer locknut (or end-cap) face to outer locknut face [mm]
    left, right : the flanges, their offsets counted from half-way between the locknut faces
    phase : "staggered" (holes of one side half a pitch from the other's) or "aligned"

    Examples
    --------
    >>> left, right = Flange(holes=16, pcd=44.7, offset=34.4), Flange(holes=16, pcd=45.1, offset=18.7)
    >>> wider = Hub(left, right, over_locknut=130.0).with_spacers(left=4.0, right=0.0)
    >>> wider.over_locknut, wider.left.offset, wider.right.offset
    (134.0, 32.4, 20.7)
    """

    left: Flange
    right: Flange
    over_locknut: float | None = None
    phase: str = "staggered"

    def __post_init__(self) -> None:
        for side in SIDES:
            if not isinstance(getattr(self, side), Flange):
                raise InputError(side, f"found {type(getattr(self, side)).__name__}; give a Flange")
        plain_fields(self, {"over_locknut": "mm"})
        one_of("phase", self.phase, ("staggered", "aligned"))
        if self.over_locknut is not None:
            above("over_locknut", self.over_locknut)

    def __repr__(self) -> str:
        left, right = self.left, self.right
        width = "" if self.over_locknut is None else f", {self.over_locknut:g} mm over locknuts"
        return (
            f"<Hub: {left.holes} + {right.holes} holes on pcd {left.pcd:g} / {right.pcd:g} mm, "
            f"offsets {left.offset:g} / {right.offset:g} mm (left / right){width}>"
        )

    def flange(self, side: str) -> Flange:
        """Return the flange of a side ("left" or "right")."""
        return self.left if side == "left" else self.right

    @property
    def holes(self) -> int:
        """Count of spoke holes on both flanges."""
        return self.left.holes + self.right.holes

    def with_spacers(self, left: float, right: float) -> Hub:
        """Return the hub with spacers added under the locknuts (negative: taken off) [mm].

        A spacer on one side moves the hub's centre half its thickness that way, so the flange of that side
        sits nearer to the centre and the other one further from it.
        """
        move = (left - right) / 2
        width = None if self.over_locknut is None else self.over_locknut + left + right
        return replace(
            self,
            over_locknut=width,
            left=replace(self.left, offset=self.left.offset - move),
            right=replace(self.right, offset=self.right.offset + move),
        )

    def mirrored(self) -> Hub:
        """Return the hub with its sides changed."""
        return replace(self, left=self.right, right=self.left)


@dataclass(frozen=True)
class Section:
    """Cross section of a rim, as the structure needs it.

    Parameters
    ----------
    area : [mm2]
    inertia_in_plane, inertia_out_of_plane, torsion_constant : [mm4]; bending in the wheel's plane, out of it, twist
    youngs_modulus, shear_modulus : [N/mm2]
    centroid_diameter : of the ring through the section's centroid [mm]
    """

    area: float
    inertia_in_plane: float
    inertia_out_of_plane: float
    torsion_constant: float
    youngs_modulus: float
    shear_modulus: float
    centroid_diameter: float

    def __post_init__(self) -> None:
        units = dict.fromkeys(("inertia_in_plane", "inertia_out_of_plane", "torsion_constant"), "mm**4")
        moduli = dict.fromkeys(("youngs_modulus", "shear_modulus"), "N/mm**2")
        plain_fields(self, {"area": "mm**2", "centroid_diameter": "mm", **units, **moduli})
        for name in self.__dataclass_fields__:
            above(name, getattr(self, name), unit="")


@dataclass(frozen=True)
class Rim:
    """A rim.

    Parameters
    ----------
    holes : count of spoke holes
    erd : effective rim diameter, always to the intended spoke end [mm]
    hole_offset : of the line of spoke holes from the rim's centre plane, + right [mm]
    hole_stagger : of each hole from that line toward the flange it serves [mm]
    first_hole : side of the flange that rim hole 1 serves
    section : its cross section, None where unknown

    Examples
    --------
    >>> Rim(holes=32, erd=602.4, hole_offset=2.5).turned_round().hole_offset
    -2.5
    """

    holes: int
    erd: float
    hole_offset: float = 0.0
    hole_stagger: float = 0.0
    first_hole: str = "right"
    section: Section | None = None

    def __post_init__(self) -> None:
        plain_fields(self, {"holes": COUNT, "erd": "mm", "hole_offset": "mm", "hole_stagger": "mm"})
        if self.holes < 6:  # ours: fewer are no bicycle wheel
            raise InputError("holes", f"found {self.holes}; a rim has 6 spoke holes or more")
        above("erd", self.erd)
        for name in ("hole_offset", "hole_stagger"):
            if not math.isfinite(getattr(self, name)):
                raise InputError(name, f"found {getattr(self, name):g} mm; write a finite number")
        one_of("first_hole", self.first_hole, SIDES)

    def turned_round(self) -> Rim:
        """Return the rim mounted the other way round."""
        return replace(self, hole_offset=-self.hole_offset, first_hole=opposite(self.first_hole))


@dataclass(frozen=True)
class Wire:
    """The wire of a spoke.

    Parameters
    ----------
    head_end, middle, thread_end : diameters [mm]
    butts : lengths of the thick ends at head and thread [mm]
    thread_length : [mm]
    youngs_modulus : [N/mm2]
    """

    head_end: float = 2.0
    middle: float = 2.0
    thread_end: float = 2.0
    # C: usual lengths; the answers state what they took.
    butts: tuple[float, float] = (20.0, 25.0)
    thread_length: float = 10.0
    youngs_modulus: float = SPOKE_STEEL_MODULUS

    def __post_init__(self) -> None:
        lengths = ("head_end", "middle", "thread_end", "thread_length")
        plain_fields(self, {**dict.fromkeys(lengths, "mm"), "youngs_modulus": "N/mm**2"})
        for name in ("head_end", "middle", "thread_end"):
            diameter = getattr(self, name)
            if not 0.5 <= diameter <= 5.0:
                raise InputError("wire", f"found {diameter:g} mm; spoke wire is between 0.5 and 5 mm thick")
        for length in self.butts:
            not_below("butts", length)
        above("thread_length", self.thread_length)
        above("youngs_modulus", self.youngs_modulus, unit="N/mm2")

    def segments(self, length: float) -> tuple[tuple[float, float], ...]:
        """Lengths and diameters from head to thread [mm]; thick ends longer than the spoke share it in proportion."""
        head, thread = self.butts
        share = min(1.0, length / (head + thread)) if head + thread > 0 else 1.0
        parts = ((head * share, self.head_end), (length - (head + thread) * share, self.middle))
        return (*parts, (thread * share, self.thread_end))

    def flexibility(self, length: float) -> float:
        """Stretch per newton of a spoke of this wire: the sum of L / (E A) over its segments [mm/N]."""
        return sum(part / (self.youngs_modulus * math.pi / 4 * diameter**2) for part, diameter in self.segments(length))

    def __str__(self) -> str:
        if self.head_end == self.middle == self.thread_end:
            return f"{self.middle:.1f}" if round(self.middle, 1) == self.middle else f"{self.middle:g}"
        return "/".join(
            f"{d:.1f}" if round(d, 1) == d else f"{d:g}" for d in (self.head_end, self.middle, self.thread_end)
        )


@dataclass(frozen=True)
class Nipple:
    """A nipple.

    Parameters
    ----------
    length : over all [mm]
    material : "brass" or "aluminium"
    for_wire : the wire that its thread is for [mm], None where unknown
    seat_to_end : bearing face of the head to the bottom of the slot [mm]
    slot_depth : bottom of the slot to the top of the head [mm]
    thread_depth : bottom of the slot to the end of the nipple's own thread [mm]
    washer : thickness under the head that was not there when erd was read [mm]
    """

    length: float = 12.0  # C: the usual nipple
    material: str = "brass"
    for_wire: float | None = None
    seat_to_end: float = 2.5  # C: no default where erd is read to the seat
    slot_depth: float = 1.0
    thread_depth: float = 7.0  # C: of a 12 mm nipple; its maker rules
    washer: float = 0.0
    body_diameter: float = field(default=4.0)

    def __post_init__(self) -> None:
        lengths = ("length", "for_wire", "seat_to_end", "slot_depth", "thread_depth", "washer", "body_diameter")
        plain_fields(self, dict.fromkeys(lengths, "mm"))
        one_of("material", self.material, ("brass", "aluminium"))
        for name in ("length", "thread_depth", "body_diameter"):
            above(name, getattr(self, name))
        for name in ("seat_to_end", "slot_depth", "washer"):
            not_below(name, getattr(self, name))
