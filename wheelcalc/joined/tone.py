"""The spokes of a build as strings: their free length, their segments, the pitch that a tension gives."""

from __future__ import annotations

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.measuring import assemble
from wheelcalc.tension import stepped
from wheelcalc.tension.stepped import Segments
from wheelcalc.wheel.wheel import Wheel


def free_length(build: Build, wheel: Wheel, side: str) -> float:
    """Elbow to nipple [mm], mean of the side: as given in [pluck], else the geometric length less what the nipple hides."""
    given = build.pluck.free_length[side]
    if given is not None:
        return float(given)
    return float(wheel.lengths[wheel.lacing.on(side)].mean()) - hidden(build)


def hidden(build: Build) -> float:
    """How much of the spoke's end the nipple hides [mm]: its length less what stands beyond the bottom of the slot."""
    nipple = assemble.nipple(build)
    return max(0.0, nipple.length - nipple.slot_depth)


def segments(build: Build, wheel: Wheel, side: str) -> Segments:
    """Lengths and diameters of the vibrating spoke from head to nipple [mm], mean of the side."""
    wire = wheel.wire(side)
    diameters = (wire.head_end, wire.middle, wire.thread_end)
    return stepped.segments_of(free_length(build, wheel, side), diameters, wire.butts, hidden(build))


def pitches(build: Build, wheel: Wheel, side: str, tensions: Floats) -> Floats:
    """Pitch of a whole spoke of a side, held apart from one that touches it, at each tension [Hz]."""
    return stepped.pitch(
        segments(build, wheel, side),
        tensions,
        build.pluck.end_hold,
        youngs_modulus=wheel.wire(side).youngs_modulus,
    )


def per_semitone(build: Build, wheel: Wheel, side: str, tension: float) -> float:
    """Tension to add for a pitch one semitone higher [N]."""
    return float(
        stepped.force_per_semitone(
            segments(build, wheel, side),
            tension,
            build.pluck.end_hold,
            youngs_modulus=wheel.wire(side).youngs_modulus,
        )
    )
