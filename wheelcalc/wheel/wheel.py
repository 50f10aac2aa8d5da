"""The spokes of a wheel in space, as arrays in rim-hole order.

Frame: x along the axle, + right; y forward; z up; the valve hole is at the top. A point at radius r and angle a
is (x, r sin a, r cos a), so that angles grow clockwise seen from the right, the way the wheel rolls forward.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats, in_rows
from wheelcalc.wheel import give
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.given import COUNT, number, numbers
from wheelcalc.wheel.lacing import Lacing
from wheelcalc.wheel.parts import SIDES, Hub, Rim, Wire, not_below


def span(rim_radius: Any, hub_radius: Any, angle_rad: Any, offset: Any) -> Floats:
    """Distance from hub hole to rim point, in space [mm]; arrays broadcast.

    Parameters
    ----------
    rim_radius, hub_radius : of the spoke end at the rim and of the hub's hole circle [mm]
    angle_rad : between hub hole and rim hole, seen along the axle [rad]
    offset : between them along the axle [mm]

    Notes
    -----
    The law of cosines in the wheel's plane, then Pythagoras across it (D; every handbook, C).
    """
    rim, hub = numbers("rim_radius", rim_radius, "mm"), numbers("hub_radius", hub_radius, "mm")
    plane = rim**2 + hub**2 - 2 * rim * hub * np.cos(numbers("angle_rad", angle_rad, "rad"))
    return np.asarray(np.sqrt(plane + numbers("offset", offset, "mm") ** 2))


def crossing_angle_rad(crosses: Any, flange_holes: Any) -> Floats:
    """Angle between hub hole and rim hole of a k-cross spoke, half-pitch flanges: 2 pi k / n (D) [rad]; arrays broadcast."""
    return np.asarray(2 * np.pi * numbers("crosses", crosses, COUNT) / numbers("flange_holes", flange_holes, COUNT))


@dataclass(frozen=True, eq=False)
class Wheel:
    """Rim, hub and lacing joined: where every spoke runs.

    Parameters
    ----------
    rim, hub, lacing : the parts, whose hole counts must agree
    wires : the spokes' wire, one for both sides or {"left": ..., "right": ...}
    rim_shift : the rim's centre plane from the hub's centre, + right [mm]; 0 unless the frame is built so
    end_give : what the ends of a spoke give for 1000 N more at about 1000 N (`wheel.give`), one for both sides or
        {"left": ..., "right": ...} [mm]; None: by each flange's kind of head. 0 is an ideal spoke

    Raises
    ------
    InputError
        If the parts do not belong together.

    Examples
    --------
    >>> from wheelcalc import Flange, Hub, Rim, Wheel, lacing
    >>> hub = Hub(left=Flange(holes=16, pcd=44.7, offset=34.4), right=Flange(holes=16, pcd=45.1, offset=18.7))
    >>> wheel = Wheel(Rim(holes=32, erd=602.4), hub, lacing.crossed(holes=32, crosses=3))
    >>> wheel.lengths[:2].round(2).tolist()  # rim hole 1 serves the right flange, 2 the left
    [292.66, 294.13]
    >>> wheel.bracing_angles_deg[:2].round(1).tolist()
    [3.6, 6.7]
    """

    rim: Rim
    hub: Hub
    lacing: Lacing
    wires: Wire | Mapping[str, Wire] = field(default_factory=Wire)
    rim_shift: float = 0.0
    end_give: float | Mapping[str, float] | None = None

    def __repr__(self) -> str:
        lengths = " / ".join(f"{self.lengths[self.lacing.on(side)].mean():.1f}" for side in SIDES)
        return f"<Wheel: {len(self.lacing)} spokes, mean geometric length {lengths} mm (left / right), erd {self.rim.erd:g} mm>"

    def __post_init__(self) -> None:
        object.__setattr__(self, "rim_shift", number("rim_shift", self.rim_shift, "mm"))
        if self.lacing.rim_holes != self.rim.holes:
            raise InputError("rim.holes", f"found {self.rim.holes}, but the lacing is for {self.lacing.rim_holes}")
        if self.lacing.first_hole != self.rim.first_hole:
            text = f"found {self.rim.first_hole!r}, but the lacing begins on the {self.lacing.first_hole}"
            raise InputError("rim.first_hole", text)
        for side in SIDES:
            drilled, wanted = self.hub.flange(side).holes, self.lacing.holes_of(side)
            if drilled != wanted:
                raise InputError(f"hub.{side}.holes", f"found {drilled}, but the lacing is for {wanted}")
            not_below("end_give", self.give_of(side), unit="mm per 1000 N")

    def wire(self, side: str) -> Wire:
        """Wire of the spokes of a side."""
        return self.wires if isinstance(self.wires, Wire) else self.wires[side]

    def give_of(self, side: str) -> float:
        """What the ends of a side's spokes give for 1000 N more at about 1000 N [mm]."""
        if self.end_give is None:
            return give.BY_HEAD[self.hub.flange(side).spoke_head].value
        return self.end_give[side] if isinstance(self.end_give, Mapping) else self.end_give

    @cached_property
    def sign(self) -> Floats:
        """1 for spokes of the right flange, -1 for the left."""
        return np.where(self.lacing.is_right, 1.0, -1.0)

    @cached_property
    def leaves_beside(self) -> Floats:
        """How far outward of its flange's middle each spoke leaves, where all heads sit on one face [mm].

        Half of flange and wire, toward the face without heads; 0 where heads alternate or the thickness is unknown.
        """
        out = np.zeros(len(self.lacing))
        for side in SIDES:
            flange, mask = self.hub.flange(side), self.lacing.on(side)
            heads = self.lacing.head_in[mask]
            if flange.spoke_head == "elbow" and flange.thickness and (heads.all() or not heads.any()):
                half = (flange.thickness + self.wire(side).head_end) / 2
                out[mask] = half if heads.all() else -half
        return out

    @cached_property
    def hub_points(self) -> Floats:
        """Where each spoke leaves the hub, shape (n, 3) [mm]."""
        x = self.sign * (self._by_side(lambda side: self.hub.flange(side).offset) + self.leaves_beside)
        return _points(x, self._by_side(lambda side: self.hub.flange(side).pcd / 2), self.lacing.hub_angle_deg)

    @cached_property
    def rim_points(self) -> Floats:
        """Where each spoke ends at the rim, shape (n, 3) [mm]."""
        x = self.rim_shift + self.rim.hole_offset + self.sign * self.rim.hole_stagger
        return _points(x, np.full(len(self.lacing), self.rim.erd / 2), self.lacing.rim_angle_deg)

    @cached_property
    def offsets(self) -> Floats:
        """Sideways from rim point to hub hole, positive where the flange lies outward of the rim point [mm]."""
        return self.sign * (self.hub_points[:, 0] - self.rim_points[:, 0])

    @cached_property
    def spans(self) -> Floats:
        """From hub hole centre to rim point [mm]."""
        pcd = self._by_side(lambda side: self.hub.flange(side).pcd)
        return span(np.asarray(self.rim.erd / 2), pcd / 2, np.radians(self.lacing.angle_deg), self.offsets)

    @cached_property
    def lengths(self) -> Floats:
        """Geometric lengths: from the inside of the elbow, or from under a straight head, to the spoke end [mm]."""
        hole = self._by_side(lambda side: self.hub.flange(side).hole_diameter)
        elbow = self._by_side(lambda side: float(self.hub.flange(side).spoke_head == "elbow"))
        return np.asarray(self.spans - elbow * hole / 2)

    @cached_property
    def bracing_angles_deg(self) -> Floats:
        """Between each spoke and the rim's plane, positive."""
        return np.asarray(np.degrees(np.arcsin(np.abs(self.offsets) / self.spans)))

    @cached_property
    def sideways(self) -> Floats:
        """Share of each spoke's tension that pulls the rim toward its own flange: offset over span."""
        return np.asarray(self.offsets / self.spans)

    @cached_property
    def inward(self) -> Floats:
        """Share of each spoke's tension that pulls the rim toward the axle: the radial direction cosine."""
        pcd = self._by_side(lambda side: self.hub.flange(side).pcd)
        return np.asarray((self.rim.erd / 2 - pcd / 2 * np.cos(np.radians(self.lacing.angle_deg))) / self.spans)

    @cached_property
    def nipple_tilts_deg(self) -> Floats:
        """Angle at the nipple, in the wheel's plane, between each spoke and the radius through its rim hole."""
        angle = np.radians(self.lacing.angle_deg)
        hub = self._by_side(lambda side: self.hub.flange(side).pcd / 2)
        across, along = hub * np.sin(angle), self.rim.erd / 2 - hub * np.cos(angle)
        return np.asarray(np.abs(np.degrees(np.arctan2(across, along))))

    @cached_property
    def flexibilities(self) -> Floats:
        """Stretch of each spoke's wire per newton, butted wire by its segments over the whole span [mm/N]."""
        out = np.empty(len(self.lacing))
        for side in SIDES:
            mask, wire = self.lacing.on(side), self.wire(side)
            unique, where = np.unique(self.spans[mask].round(6), return_inverse=True)
            out[mask] = np.array([wire.flexibility(length) for length in unique])[where]
        return out

    @cached_property
    def end_gives(self) -> Floats:
        """What the ends of each spoke give for 1000 N more at about 1000 N [mm]."""
        return self._by_side(self.give_of)

    def stretches(self, tensions: Floats) -> Floats:
        """How much longer each spoke is under its tension, wire and ends together [mm].

        Parameters
        ----------
        tensions : of every spoke, (n,) [N]
        """
        return np.asarray(tensions * self.flexibilities + give.given(self.end_gives, tensions))

    def rows(self) -> list[dict[str, Any]]:
        """Spoke by spoke, as records that pandas and polars take: lengths [mm], angles [degrees]."""
        own = {"geometric_length_mm": self.lengths, "bracing_angle_deg": self.bracing_angles_deg}
        return in_rows({**self.lacing.columns, **own})

    def _repr_html_(self) -> str:
        """Spoke by spoke, for a notebook."""
        lacing = self.lacing
        names = ("rim hole", "side", "hub hole", "crosses", "length mm", "bracing angle deg")
        columns = (
            lacing.rim_hole.tolist(),
            lacing.sides,
            lacing.hub_labels,
            lacing.crosses.tolist(),
            (f"{value:.2f}" for value in self.lengths),
            (f"{value:.2f}" for value in self.bracing_angles_deg),
        )
        aligns = ["left" if name in ("side", "hub hole") else "right" for name in names]
        head = _html_row("th", names, aligns)
        rows = "".join(_html_row("td", row, aligns) for row in zip(*columns, strict=True))
        return f"<table><caption>{escape(repr(self)[1:-1])}</caption>{head}{rows}</table>"

    def _by_side(self, number: Callable[[str], float]) -> Floats:
        return np.where(self.lacing.is_right, number("right"), number("left"))


def _html_row(tag: str, cells: Iterable[Any], aligns: Iterable[str]) -> str:
    drawn = [f'<{tag} style="text-align: {align}">{cell}</{tag}>' for cell, align in zip(cells, aligns, strict=True)]
    return f"<tr>{''.join(drawn)}</tr>"


def _points(x: Floats, radius: Floats, angle_deg: Floats) -> Floats:
    angle = np.radians(angle_deg)
    return np.column_stack([x, radius * np.sin(angle), radius * np.cos(angle)])
