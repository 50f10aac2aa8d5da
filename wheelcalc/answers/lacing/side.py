"""What the lacing of one flange does."""

from __future__ import annotations

from dataclasses import dataclass

from wheelcalc.wheel.facts import Turning, Weave


@dataclass(frozen=True)
class SideFacts:
    """What the lacing of one flange does.

    Parameters
    ----------
    spokes : count
    crosses : least and most that a spoke passes
    nearest_gap : narrowest free width between two crossing wires if they run straight [mm], None where none cross
    weave : whether they can be interlaced, None where none cross
    head_gap : least distance from a spoke's line to the middle of the next hole [mm], None where it passes none
    nipple_tilt_deg : largest angle from straight inward at a nipple
    nipple_tilt_left_deg : what of it stays when the spokes were bent there by hand
    turning : moments of trailing and leading spokes at the target tension
    """

    spokes: int
    crosses: tuple[int, int]
    nearest_gap: float | None
    weave: Weave | None
    head_gap: float | None
    nipple_tilt_deg: float
    nipple_tilt_left_deg: float
    turning: Turning
