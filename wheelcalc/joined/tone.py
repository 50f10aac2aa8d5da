"""The spokes of a build as strings: their free length, their segments, the pitch that a tension gives."""

from __future__ import annotations

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.measuring import assemble
from wheelcalc.tension import stepped
from wheelcalc.tension.stepped import Segments
from wheelcalc.wheel.wheel import Wheel


def free_length(known: Build, wheel: Wheel, side: str) -> float:
    """Elbow to nipple [mm], mean of the side: as given in [pluck], else the geometric length less what the nipple hides."""
    given = known.pluck.free_length[side]
    if given is not None:
        return float(given)
    return float(wheel.lengths[wheel.lacing.on(side)].mean()) - hidden(known)


def hidden(known: Build) -> float:
    """How much of the spoke's end the nipple hides [mm]: its length less what stands beyond the bottom of the slot."""
    nipple = assemble.nipple(known)
    return max(0.0, nipple.length - nipple.slot_depth)


def segments(known: Build, wheel: Wheel, side: str) -> Segments:
    """Lengths and diameters of the vibrating spoke from head to nipple [mm], mean of the side."""
    wire = wheel.wire(side)
    diameters = (wire.head_end, wire.middle, wire.thread_end)
    return stepped.segments_of(free_length(known, wheel, side), diameters, wire.butts, hidden(known))


def pitches(known: Build, wheel: Wheel, side: str, tensions: Floats) -> Floats:
    """Pitch of a whole spoke of a side, held apart from one that touches it, at each tension [Hz]."""
    return stepped.pitch(
        segments(known, wheel, side),
        tensions,
        known.pluck.end_hold,
        youngs_modulus=wheel.wire(side).youngs_modulus,
    )


def per_semitone(known: Build, wheel: Wheel, side: str, tension: float) -> float:
    """Tension to add for a pitch one semitone higher [N]."""
    return float(
        stepped.force_per_semitone(
            segments(known, wheel, side),
            tension,
            known.pluck.end_hold,
            youngs_modulus=wheel.wire(side).youngs_modulus,
        )
    )
