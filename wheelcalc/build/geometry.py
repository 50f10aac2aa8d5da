"""Keys of the bike's geometry."""

from __future__ import annotations

from wheelcalc.build import declare
from wheelcalc.build.section import Section

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class WheelDiameter(Section):
    """Of both wheels."""

    front: float | None = declare.length("tyre on, loaded", 200, 1000)
    rear: float | None = declare.length("tyre on, loaded", 200, 1000)


class BeadSeatDiameter(Section):
    """Of both wheels."""

    front: float | None = declare.length(
        "where wheel_diameter is not known: second number of the tyre's mark", 100, 800
    )
    rear: float | None = declare.length("where wheel_diameter is not known: second number of the tyre's mark", 100, 800)


class TyreWidth(Section):
    """Of both wheels."""

    front: float | None = declare.length("with bead_seat_diameter: first number of the tyre's mark", 15, 150)
    rear: float | None = declare.length("with bead_seat_diameter: first number of the tyre's mark", 15, 150)


class Geometry(Section):
    """[geometry.new]: the bike as it will be."""

    head_angle: float = declare.key("angle", "of the steering axis from the ground", 40, 89, needed=True)
    seat_angle: float = declare.key("angle", "of the seat tube from the ground", 40, 89, needed=True)
    wheelbase: float = declare.length("axle to axle along the ground", 500, 3000, needed=True)
    bracket_height: float = declare.length("middle of the bracket above the ground", 50, 600, needed=True)
    crank_length: float | None = declare.length("axle to pedal", 80, 250)
    fork_length: float = declare.length("axle to crown, along the steering axis", 150, 900, needed=True)
    fork_offset: float = declare.length("axle in front of the steering axis", -50, 150, needed=True)
    pedal_reach: float = declare.length("bike's middle plane to the pedal's outer edge", 80, 300, needed=True)
    pedal_middle: float = declare.length("bike's middle plane to the pedal's middle", 60, 250, needed=True)
    pedal_thickness: float | None = declare.length("of the pedal", 5, 60)
    bar_height: float | None = declare.length("ground to the middle of the bars, where the hands are", 400, 1500)
    bar_ahead: float | None = declare.length("bracket forward to the middle of the bars, level", 0, 1000)
    saddle_height: float | None = declare.length("middle of the bracket to the top of the saddle", 250, 1100)
    wheel_diameter: WheelDiameter = declare.section(WheelDiameter)
    bead_seat_diameter: BeadSeatDiameter = declare.section(BeadSeatDiameter)
    tyre_width: TyreWidth = declare.section(TyreWidth)


class GeometryNow(Geometry):
    """[geometry]: the bike as it is."""

    new: Geometry = declare.section(Geometry)
