"""How tight one side is to be."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SideTension:
    """How tight one side is to be; None where no target can be set.

    Parameters
    ----------
    count : spokes
    target, low, high : [N]
    pitch, low_pitch, high_pitch : of a whole spoke held apart from one that touches it [Hz]
    note : nearest to the pitch, "F4"
    semitone : tension to add for a pitch one semitone higher [N]
    """

    count: int
    target: float | None = None
    low: float | None = None
    high: float | None = None
    pitch: float | None = None
    low_pitch: float | None = None
    high_pitch: float | None = None
    note: str | None = None
    semitone: float | None = None
