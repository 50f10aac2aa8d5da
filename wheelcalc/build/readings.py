"""Keys of raw readings, as taken."""

from __future__ import annotations

from wheelcalc.build import declare
from wheelcalc.build.section import Section

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class TwoSpokes(Section):
    """[readings.rim.two_spokes]."""

    length: float | None = declare.raw("of the two old spokes, inside of the elbow to the end", 50, 500)
    gap: float | None = declare.raw("between their elbows, negative where they overlap", -300, 600)


class RimReadings(Section):
    """[readings.rim]."""

    two_spokes: TwoSpokes = declare.section(TwoSpokes)
    outside_circumference: float | None = declare.raw("round the rim by tape", 500, 3000, "tape")
    head_depth: float | None = declare.raw("straight edge on the outside to the nipple's head", 0, 150)
    inside_diameter: float | None = declare.raw("of the rim's inner face", 100, 900)
    wall: float | None = declare.raw("of the rim at the spoke holes", 0.3, 20)


class Chord(Section):
    """Two holes of a flange."""

    over: int | None = declare.count("how many holes further on the second hole is", 1, 71)
    length: float | None = declare.raw("centres of two holes", 3, 350)


class KnownSpoke(Section):
    """A straight spoke of known length, pushed through."""

    length: float | None = declare.raw("of the straight spoke pushed through", 30, 500)
    sticks_out: float | None = declare.raw(
        "how far its end stands beyond the intended end, negative: short of it", -50, 200
    )


class FlangeReadings(Section):
    """[readings.hub.left] and [readings.hub.right]."""

    near_edges: float | None = declare.raw("opposite holes, inner edges", 10, 350)
    far_edges: float | None = declare.raw("opposite holes, outer edges", 10, 360)
    chord: Chord = declare.section(Chord)
    locknut_to_outer_face: float | None = declare.raw("locknut to the flange's outer face", -20, 150)
    known_spoke: KnownSpoke = declare.section(KnownSpoke)


class HubReadings(Section):
    """[readings.hub]."""

    outer_faces: float | None = declare.raw("over the outer faces of both flanges", 10, 250)
    rotor_depth: float | None = declare.raw("left locknut face to the rotor", 0, 60)
    body_length: float | None = declare.raw("of the freehub body, from its shoulder to its end", 5, 80)
    left: FlangeReadings = declare.section(FlangeReadings)
    right: FlangeReadings = declare.section(FlangeReadings)


class CrankReadings(Section):
    """[readings.crank]."""

    seat_tube_to_ring: float | None = declare.raw(
        "face of the seat tube to the middle of the ring's teeth (of several rings: to the middle between them)", 5, 100
    )
    seat_tube_diameter: float | None = declare.raw("of the seat tube where that was read", 20, 60)


class CogsReadings(Section):
    """[readings.cogs]."""

    locknut_to_face: float | None = declare.raw("right locknut face to the outer face of the smallest cog", 0, 60)
    thickness: float | None = declare.raw("of the smallest cog", 1, 4)
    stack: float | None = declare.raw("over all cogs, outer face to outer face", 5, 60)


class Readings(Section):
    """[readings]."""

    over_locknut: float | None = declare.raw("over both locknut faces", 50, 250)
    dropout_spacing: float | None = declare.raw("between the inner faces of the ends", 50, 250)
    rim: RimReadings = declare.section(RimReadings)
    hub: HubReadings = declare.section(HubReadings)
    crank: CrankReadings = declare.section(CrankReadings)
    cogs: CogsReadings = declare.section(CogsReadings)
