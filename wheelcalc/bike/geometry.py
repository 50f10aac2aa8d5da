"""The bike with a wheel or fork of another size: the rigid frame turned until both wheels stand on the road again.

Side view from the right, x forward and y up. Rear axle, bracket, seat tube and steering axis are fixed in the frame;
the front axle is found from the steering axis: along it by the fork's length, square to it by the fork's offset. The
turn is exact, not a rule of thumb. Error keys are those of the build file's section [geometry].
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from wheelcalc.wheel.errors import InputError, under

# Field -> key in the build file, least, most. C: what is a bicycle at all; wide limits that catch a slip of the pen or
# of the unit, no judgement of a frame.
PLAUSIBLE = {
    "head_angle_deg": ("head_angle", 45.0, 90.0),
    "seat_angle_deg": ("seat_angle", 45.0, 100.0),
    "wheelbase": ("wheelbase", 500.0, 3000.0),
    "bracket_height": ("bracket_height", 50.0, 700.0),
    "crank_length": ("crank_length", 50.0, 300.0),
    "chainstay": ("chainstay", 150.0, 1500.0),
    "fork_length": ("fork_length", 100.0, 1000.0),
    "fork_offset": ("fork_offset", -150.0, 200.0),
    "front_diameter": ("wheel_diameter.front", 100.0, 1000.0),
    "rear_diameter": ("wheel_diameter.rear", 100.0, 1000.0),
}
LEVEL = 1e-9  # rad; a turn below it moves nothing on a bicycle by as much as a thousandth of a micrometre

# P: ISO 5775 as an encyclopaedia quotes it [mm].
NARROW, NARROW_MORE = 28.0, 2.5


@dataclass(frozen=True)
class Bike:
    """A bike standing on level ground, as far as its steering geometry goes.

    Parameters
    ----------
    head_angle_deg, seat_angle_deg : from the level, the usual way (73, not 107) [deg]
    wheelbase : between the points where the wheels touch the ground [mm]
    fork_offset : front axle in front of the steering axis, square to it [mm]
    front_diameter, rear_diameter : of the wheels with the tyre on, loaded [mm]
    fork_length : axle to crown along the steering axis, a suspension fork with the rider on [mm]
    bracket_height : middle of the bottom bracket above the ground [mm]
    crank_length : [mm]
    chainstay : rear axle to bracket, measured straight, not along the ground [mm]

    What is None is unknown; whatever follows from it is None too.

    Raises
    ------
    InputError
        If a number is no bicycle's, the wheels overlap, or the chainstay cannot reach the bracket.
    """

    head_angle_deg: float
    wheelbase: float
    fork_offset: float
    front_diameter: float
    rear_diameter: float
    seat_angle_deg: float | None = None
    fork_length: float | None = None
    bracket_height: float | None = None
    crank_length: float | None = None
    chainstay: float | None = None

    def __post_init__(self) -> None:
        for field in PLAUSIBLE:
            _refuse_implausible(field, getattr(self, field))
        if self.wheelbase <= (self.front_diameter + self.rear_diameter) / 2:
            text = f"found {self.wheelbase:g} mm, but wheels of {self.front_diameter:g} and {self.rear_diameter:g} mm"
            raise InputError(
                "wheelbase", f"{text} would overlap: it is the distance between the axles along the ground"
            )
        drop = self.bracket_drop
        if self.chainstay is not None and drop is not None and abs(drop) >= self.chainstay:
            text = (
                f"found {self.chainstay:g} mm, but bracket_height puts the bracket {abs(drop):g} mm off the rear axle's"
            )
            raise InputError("chainstay", f"{text} height: check both; the stay is measured from axle to bracket")

    @property
    def bracket_drop(self) -> float | None:
        """Bracket below the rear axle [mm]."""
        return None if self.bracket_height is None else self.rear_diameter / 2 - self.bracket_height

    @property
    def bracket_ahead(self) -> float | None:
        """Bracket in front of the rear axle, along the ground [mm]."""
        if self.chainstay is None or self.bracket_drop is None:
            return None
        return math.sqrt(self.chainstay**2 - self.bracket_drop**2)


@dataclass(frozen=True)
class Stance:
    """What follows from a bike's geometry; None where a dimension it rests on is unknown.

    Parameters
    ----------
    head_angle_deg, seat_angle_deg : [deg]
    trail_mm : on the ground, of the wheel's contact behind the steering axis
    wheelbase_mm, bracket_height_mm : as in `Bike`
    pedal_height_mm : middle of the pedal above the ground, at its lowest
    bracket_drop_mm : bracket below the rear axle
    crown_height_mm : crown above the ground, on the steering axis
    toe_room_mm : pedal's middle, crank pointing at the front axle, to the front tyre, wheel straight ahead;
        `toe.swept_toe_room` has the turned one
    """

    head_angle_deg: float
    seat_angle_deg: float | None
    trail_mm: float
    wheelbase_mm: float
    bracket_height_mm: float | None
    pedal_height_mm: float | None
    bracket_drop_mm: float | None
    crown_height_mm: float | None
    toe_room_mm: float | None


def trail(head_angle_deg: float, fork_offset: float, radius: float) -> float:
    """Distance of the front wheel's contact behind the steering axis, along the ground.

    Parameters
    ----------
    head_angle_deg : steering axis from the level [deg]
    fork_offset : front axle in front of the steering axis, square to it [mm]
    radius : of the front wheel, loaded [mm]

    Returns
    -------
    Trail [mm]; negative where the contact lies ahead of the axis.

    Notes
    -----
    (R cos H - offset) / sin H: the axle is offset * sin H ahead of its foot on the axis and the axis goes on down
    to the ground; D, and the published table in tests/published/test_frame_geometry.py.
    """
    head = math.radians(head_angle_deg)
    return (radius * math.cos(head) - fork_offset) / math.sin(head)


def changed(
    before: Bike,
    *,
    fork_length: float | None = None,
    fork_offset: float | None = None,
    front_diameter: float | None = None,
    rear_diameter: float | None = None,
    crank_length: float | None = None,
) -> Bike:
    """Return the bike with another fork, other wheels or other cranks, standing on the ground again.

    Parameters
    ----------
    before : the bike as it is
    fork_length, fork_offset, front_diameter, rear_diameter, crank_length : the new ones [mm]; None keeps the old

    Returns
    -------
    The same frame, turned as a whole: head and seat angle change alike. The bracket's height is None where it is
    unknown, or where the frame turns and the chainstay is unknown.

    Raises
    ------
    InputError
        If a new dimension is no bicycle's, a new fork length has no old one to compare with, or the frame would
        have to turn further than a bicycle can.

    Notes
    -----
    In the frame's own axes the new front axle stands at d from the rear one. The frame turns until d climbs by the
    difference of the wheels' radii: turn = asin(climb / |d|) - atan2(d_y, d_x), and the new wheelbase is what is left
    of |d| along the ground. Closed form; checked against a root finder on the wheels' contact with the ground.
    """
    given = {
        "fork_length": fork_length,
        "fork_offset": fork_offset,
        "front_diameter": front_diameter,
        "rear_diameter": rear_diameter,
        "crank_length": crank_length,
    }
    new = {field: value for field, value in given.items() if value is not None}
    with under("new"):
        for field, value in new.items():
            _refuse_implausible(field, value)
    turn, wheelbase = _turn(before, new)
    turn_deg = math.degrees(turn)
    with under("new"):
        return replace(
            before,
            **new,
            head_angle_deg=before.head_angle_deg - turn_deg,
            seat_angle_deg=None if before.seat_angle_deg is None else before.seat_angle_deg - turn_deg,
            wheelbase=wheelbase,
            bracket_height=_turned_bracket(before, new, turn),
        )


def stance(bike: Bike) -> Stance:
    """Work out what follows from a bike's geometry."""
    height, crank = bike.bracket_height, bike.crank_length
    crown = _on_steering_axis(bike, 0.0)
    return Stance(
        head_angle_deg=bike.head_angle_deg,
        seat_angle_deg=bike.seat_angle_deg,
        trail_mm=trail(bike.head_angle_deg, bike.fork_offset, bike.front_diameter / 2),
        wheelbase_mm=bike.wheelbase,
        bracket_height_mm=height,
        pedal_height_mm=None if height is None or crank is None else height - crank,
        bracket_drop_mm=bike.bracket_drop,
        crown_height_mm=None if crown is None else crown[1],
        toe_room_mm=_toe_room(bike),
    )


def stack_and_reach(bike: Bike, above_crown: float = 0.0) -> tuple[float, float] | None:
    """Stack and reach of a point on the steering axis: how far above and in front of the bracket it stands.

    Parameters
    ----------
    bike : its fork length, bracket height and chainstay must be known
    above_crown : the point's distance from the crown, up along the steering axis; the lower bearing's height and
        the head tube's length give its top [mm]

    Returns
    -------
    (stack, reach) [mm], or None where they cannot be known.
    """
    point = _on_steering_axis(bike, above_crown)
    if point is None or bike.bracket_height is None or bike.bracket_ahead is None:
        return None
    return point[1] - bike.bracket_height, point[0] - bike.bracket_ahead


def lean_angle_deg(pedal_height: float, pedal_reach: float, tyre_width: float = 0.0) -> float:
    """How far the bike leans before the pedal at its lowest touches the ground.

    Parameters
    ----------
    pedal_height : the pedal's lower outer edge above the ground, bike upright: the pedal's middle less half the
        pedal's thickness [mm]
    pedal_reach : the same edge out from the bike's middle plane [mm]
    tyre_width : the bike rolls over on a tyre of round section; 0 leans about a line [mm]

    Returns
    -------
    Lean from upright [deg]; 0 or less where the pedal touches an upright bike's ground.

    Raises
    ------
    InputError
        If the pedal does not stand out beyond half the tyre.

    Notes
    -----
    The ground is the tangent to the tyre's section through the pedal's edge. D; on a line it is atan(height / reach).
    """
    radius = tyre_width / 2
    if not (math.isfinite(pedal_reach) and 0 <= radius < pedal_reach):
        text = f"found {pedal_reach:g} mm; it must be more than half the tyre's width, {radius:g} mm"
        raise InputError("pedal_reach", f"{text}: measure from the bike's middle plane to the pedal's outer edge")
    up = pedal_height - radius
    return math.degrees(math.atan2(up, pedal_reach) + math.asin(radius / math.hypot(up, pedal_reach)))


def tyre_diameter(bead_seat_diameter: float, section: float) -> float:
    """Outside diameter of an unloaded tyre: bead seat + 2 x height [mm].

    P: ISO 5775 as an encyclopaedia quotes it: the height is the section, below a section of 28 mm the section + 2.5 mm.
    Measured tyres lie within 8 mm (W. Zorn); over about 60 mm of section they come out smaller still.
    """
    height = section + NARROW_MORE if section < NARROW else section
    return bead_seat_diameter + 2 * height


def gap_change(before: float, after: float) -> float:
    """Change of the gap on either side, or all round, of something centred that changed its size [mm].

    Tyre or rotor diameters, or tyre widths: the gap to stay, fork or crown loses half of what the part gains.
    Where the fork is longer as well, the gap under the crown gains that.
    """
    return (before - after) / 2


def brake_reach_change(bead_seat_before: float, bead_seat_after: float) -> float:
    """Change of the reach that a rim brake needs, + longer: half the difference of the bead seats [mm].

    P: touring-club tyre guide (630 to 622: 4). Same fork or frame, so the axle stays where it was under the brake;
    a fork that is longer by so much to its crown takes a brake in the crown as much further away (D).
    """
    return (bead_seat_before - bead_seat_after) / 2


def reach_misfit(needed: float, brake_reach: tuple[float, float]) -> float:
    """How far the reach needed, bolt to middle of brake track, lies outside a brake's (shortest, longest) reach [mm].

    0 inside the range; + by how much the arms are too short, - by how much they are too long.
    """
    shortest, longest = _reach_range(brake_reach)
    return needed - min(max(needed, shortest), longest)


def reach_now_that_serves(change: float, brake_reach: tuple[float, float]) -> tuple[float, float] | None:
    """(least, most) reach that the brake may be set to now, if it is to serve after the reach needed has changed [mm].

    `change` is + longer; None where it is more than the brake's whole range of (shortest, longest) reach.
    """
    shortest, longest = _reach_range(brake_reach)
    least, most = max(shortest, shortest - change), min(longest, longest - change)
    return (least, most) if least <= most else None


def _reach_range(brake_reach: tuple[float, float]) -> tuple[float, float]:
    shortest, longest = brake_reach
    if not (math.isfinite(longest) and 0 < shortest <= longest):
        text = f"found [{shortest:g}, {longest:g}]; write the shortest and the longest reach of the brake in mm"
        raise InputError("brake_reach", text)
    return shortest, longest


def _refuse_implausible(field: str, value: float | None) -> None:
    key, least, most = PLAUSIBLE[field]
    if value is not None and not least <= value <= most:
        unit = "degrees" if field.endswith("_deg") else "mm"
        raise InputError(key, f"found {value:g} {unit}; a bicycle's is from {least:g} to {most:g} {unit}")


def _turn(before: Bike, new: dict[str, float]) -> tuple[float, float]:
    """Return how far the frame turns, front up [rad], and the new wheelbase [mm]."""
    ahead, above = _front_axle(before, new)
    climb = (new.get("front_diameter", before.front_diameter) - new.get("rear_diameter", before.rear_diameter)) / 2
    span = math.hypot(ahead, above)
    if ahead <= 0 or span <= abs(climb):
        raise InputError(
            "new", "found a fork that puts the front wheel under the rear one; check its length and offset"
        )
    return math.asin(climb / span) - math.atan2(above, ahead), math.sqrt(span**2 - climb**2)


def _front_axle(before: Bike, new: dict[str, float]) -> tuple[float, float]:
    """Return the new front axle from the rear one, in the axes of the frame as it stood before [mm]."""
    head = math.radians(before.head_angle_deg)
    longer = new.get("fork_length", 0.0)
    if "fork_length" in new:
        if before.fork_length is None:
            text = f"found none, but new.fork_length = {longer:g} mm; only the difference counts"
            raise InputError("fork_length", f"{text}: measure both forks from axle to crown, along the steering axis")
        longer -= before.fork_length
    further = new.get("fork_offset", before.fork_offset) - before.fork_offset
    ahead = before.wheelbase + longer * math.cos(head) + further * math.sin(head)
    above = (before.front_diameter - before.rear_diameter) / 2 - longer * math.sin(head) + further * math.cos(head)
    return ahead, above


def _turned_bracket(before: Bike, new: dict[str, float], turn: float) -> float | None:
    drop, ahead = before.bracket_drop, before.bracket_ahead
    radius = new.get("rear_diameter", before.rear_diameter) / 2
    if drop is None or (ahead is None and abs(turn) > LEVEL):
        return None
    return radius - drop * math.cos(turn) + (ahead or 0.0) * math.sin(turn)


def _on_steering_axis(bike: Bike, above_crown: float) -> tuple[float, float] | None:
    """Return a point of the steering axis: in front of the rear axle, above the ground [mm]."""
    if bike.fork_length is None:
        return None
    head = math.radians(bike.head_angle_deg)
    along = bike.fork_length + above_crown
    ahead = bike.wheelbase - bike.fork_offset * math.sin(head) - along * math.cos(head)
    return ahead, bike.front_diameter / 2 - bike.fork_offset * math.cos(head) + along * math.sin(head)


def _toe_room(bike: Bike) -> float | None:
    if bike.bracket_height is None or bike.bracket_ahead is None or bike.crank_length is None:
        return None
    radius = bike.front_diameter / 2
    front_centre = math.hypot(bike.wheelbase - bike.bracket_ahead, radius - bike.bracket_height)
    return front_centre - bike.crank_length - radius
