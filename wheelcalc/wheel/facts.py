"""What a lacing does: where spokes cross and how close, the opening at the valve, the balance of its pulls."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.wheel.wheel import Wheel

VALVE_DEPTH = 50.0  # mm below the rim holes, where the opening at the valve is given
LONG_WAVES = range(1, 5)  # waves round the rim that count as long
# C: flanges are 3 to 3.5 mm thick at the spoke holes; taken where the thickness is unknown.
USUAL_THICKNESS = 3.2


@dataclass(frozen=True, eq=False)
class Crossings:
    """Pairs of spokes of one flange that cross, seen along the axle; one entry a pair.

    Parameters
    ----------
    one, other : the spokes' places in rim-hole order, from 0
    radius : of the crossing [mm]
    along_one, along_other : hub hole to crossing, along each spoke in the wheel's plane [mm]
    gap : free width between the two wires there if they run straight; negative: they press on each other [mm]
    """

    one: Ints
    other: Ints
    radius: Floats
    along_one: Floats
    along_other: Floats
    gap: Floats

    def of(self, spoke: int) -> Bools:
        """Mask of the crossings of a spoke."""
        return np.asarray((self.one == spoke) | (self.other == spoke))


def crossings(wheel: Wheel) -> Crossings:
    """Where spokes of the same flange cross, the wheel seen along the axle.

    Notes
    -----
    A spoke leaves on the face of the flange that its head does not sit on, half of flange and wire beside the middle,
    and runs straight to the rim; at the crossing the two stand apart by the difference of their sideways places (D).
    """
    hub, rim = wheel.hub_points[:, 1:], wheel.rim_points[:, 1:]
    one, other = np.triu_indices(len(wheel.lacing), 1)
    same = wheel.lacing.is_right[one] == wheel.lacing.is_right[other]
    one, other = one[same], other[same]
    along, across = rim[one] - hub[one], rim[other] - hub[other]
    between = hub[other] - hub[one]
    area = along[:, 0] * across[:, 1] - along[:, 1] * across[:, 0]
    area = np.where(np.abs(area) > 1e-9, area, np.inf)
    share_one = (between[:, 0] * across[:, 1] - between[:, 1] * across[:, 0]) / area
    share_other = (between[:, 0] * along[:, 1] - between[:, 1] * along[:, 0]) / area
    cross = (share_one > 0) & (share_one < 1) & (share_other > 0) & (share_other < 1)
    one, other, share_one, share_other = (each[cross] for each in (one, other, share_one, share_other))
    place, length = hub[one] + share_one[:, None] * (rim - hub)[one], np.linalg.norm(rim - hub, axis=1)
    x = sideways_at_hub(wheel)
    at_one = x[one] + share_one * (wheel.rim_points[one, 0] - x[one])
    at_other = x[other] + share_other * (wheel.rim_points[other, 0] - x[other])
    wire = np.where(wheel.lacing.is_right, wheel.wire("right").middle, wheel.wire("left").middle)
    return Crossings(
        one=one,
        other=other,
        radius=np.linalg.norm(place, axis=1),
        along_one=share_one * length[one],
        along_other=share_other * length[other],
        gap=np.abs(at_one - at_other) - (wire[one] + wire[other]) / 2,
    )


def sideways_at_hub(wheel: Wheel) -> Floats:
    """Where each spoke leaves the hub along the axle, + right [mm]: on the face that its head does not sit on."""
    out = np.empty(len(wheel.lacing))
    for side, sign in (("left", -1.0), ("right", 1.0)):
        flange, mask = wheel.hub.flange(side), wheel.lacing.on(side)
        half = 0.0
        if flange.spoke_head == "elbow":
            half = ((flange.thickness or USUAL_THICKNESS) + wheel.wire(side).head_end) / 2
        out[mask] = sign * (flange.offset + np.where(wheel.lacing.head_in[mask], half, -half))
    return out


@dataclass(frozen=True)
class Weave:
    """Whether the outermost crossings of a flange can be interlaced.

    Parameters
    ----------
    possible : whether the bend stays below the limit and the two heads sit on opposite faces
    from_hub : hub hole to the nearest of the outermost crossings [mm]
    bend_deg : by how much the woven spokes bend at most
    """

    possible: bool
    from_hub: float
    bend_deg: float


def weave(wheel: Wheel, side: str, met: Crossings, most_bend_deg: float) -> Weave | None:
    """Whether the spokes of a side can be woven at their outermost crossing; None where none cross or heads are straight.

    Notes
    -----
    Woven, each of the two gives way by half the sideways distance of their axes, and half a wire to change places,
    over the way from its elbow (D, plane geometry).
    """
    mask = wheel.lacing.on(side)
    if wheel.hub.flange(side).spoke_head == "straight":  # the seats decide how far apart crossing spokes lie
        return None
    outermost = [
        _outermost(spoke, met, wheel)
        for spoke in np.flatnonzero(mask & (wheel.lacing.lean != 0)).tolist()
        if met.of(spoke).any()
    ]
    if not outermost:
        return None
    along = min(each[0] for each in outermost)
    bend = max(each[1] for each in outermost)
    faces = all(each[2] for each in outermost)
    return Weave(faces and bend <= most_bend_deg, along, bend)


def _outermost(spoke: int, met: Crossings, wheel: Wheel) -> tuple[float, float, bool]:
    mine = np.flatnonzero(met.of(spoke))
    last = mine[int(met.radius[mine].argmax())]
    is_one = met.one[last] == spoke
    along = float(met.along_one[last] if is_one else met.along_other[last])
    partner = int(met.other[last] if is_one else met.one[last])
    side = "right" if wheel.lacing.is_right[spoke] else "left"
    wire = wheel.wire(side).middle
    give = (max(met.gap[last], 0.0) + wire + wire) / 2
    opposite_faces = bool(wheel.lacing.head_in[spoke] != wheel.lacing.head_in[partner])
    return along, float(np.degrees(np.arctan2(give, along))), opposite_faces


def valve_opening(wheel: Wheel, depth: float = VALVE_DEPTH, turn_rim_holes: int = 0) -> float:
    """Free width between the two spokes beside the valve, in the wheel's plane, wire deducted [mm].

    Parameters
    ----------
    depth : below the rim holes, toward the axle [mm]
    turn_rim_holes : measure it at another place: so many rim holes further forward than the valve
    """
    turned = _turned(wheel, turn_rim_holes)
    first, last = _beside(wheel, turn_rim_holes)
    wires = [wheel.wire(wheel.lacing.sides[spoke]).middle for spoke in (first, last)]
    return _across(*turned, first, depth)[0] - _across(*turned, last, depth)[0] - sum(wires) / 2


def _beside(wheel: Wheel, turn_rim_holes: int) -> tuple[int, int]:
    """The first spoke forward of the valve (or another place) and the last one behind it."""
    ahead = np.mod(wheel.lacing.rim_angle_deg - turn_rim_holes * 360 / wheel.rim.holes, 360)
    return int(ahead.argmin()), int(ahead.argmax())


def _turned(wheel: Wheel, rim_holes: int) -> tuple[Floats, Floats]:
    """Hub and rim points in the wheel's plane, a place so many rim holes forward brought to the top."""
    angle = np.radians(rim_holes * 360 / wheel.rim.holes)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return wheel.hub_points[:, 1:] @ turn.T, wheel.rim_points[:, 1:] @ turn.T


def _across(hub: Floats, rim: Floats, spoke: int, depth: float) -> tuple[float, float]:
    """Where a spoke passes `depth` below its rim hole [mm]."""
    share = depth / (rim[spoke, 1] - hub[spoke, 1])
    y, z = rim[spoke] + share * (hub[spoke] - rim[spoke])
    return float(y), float(z)


@dataclass(frozen=True)
class Turning:
    """What leading and trailing spokes of a flange do to the hub.

    Parameters
    ----------
    trailing, leading : moment of their pulls about the axle, each positive [N mm]
    """

    trailing: float
    leading: float

    @property
    def left_over(self) -> float:
        """Share of the larger that the other does not balance."""
        most = max(self.trailing, self.leading)
        return abs(self.trailing - self.leading) / most if most else 0.0


def turning(wheel: Wheel, side: str, tensions: Floats) -> Turning:
    """Moments about the axle of a side's spokes under these tensions, in rim-hole order (statics, D)."""
    (_, y, z), (_, along_y, along_z) = wheel.hub_points.T, _unit(wheel).T
    moment = tensions * (y * along_z - z * along_y)
    mask = wheel.lacing.on(side)
    lean = wheel.lacing.angle_deg
    return Turning(float(np.abs(moment[mask & (lean > 0)].sum())), float(np.abs(moment[mask & (lean < 0)].sum())))


def _unit(wheel: Wheel) -> Floats:
    return np.asarray((wheel.rim_points - wheel.hub_points) / wheel.spans[:, None])


def sideways_waves(wheel: Wheel, tensions: Floats) -> dict[int, float]:
    """How far the spokes' sideways pulls come in long waves round the rim: waves -> share of one side's whole pull.

    Notes
    -----
    The amplitude of each whole number of waves in the sideways pulls on the rim, which even tensions leave to the rim
    to bear; 0 for a pattern that repeats often (D, Fourier sum).
    """
    pull = -_unit(wheel)[:, 0] * tensions
    angle = np.radians(wheel.lacing.rim_angle_deg)
    whole = np.abs(pull).sum() / 2
    if not whole:
        return dict.fromkeys(LONG_WAVES, 0.0)
    return {n: float(np.abs((pull * np.exp(-1j * n * angle)).sum()) / whole) for n in LONG_WAVES}
