"""How tight one side is to be."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SideTension:
    """How tight one side is to be; None where no target can be set.

    Parameters
    ----------
    count : spokes
    target_N, low_N, high_N : [N]
    pitch_hz, low_pitch_hz, high_pitch_hz : of a whole spoke held apart from one that touches it [Hz]
    note : nearest to the pitch, "F4"
    semitone_N : tension to add for a pitch one semitone higher [N]
    """

    count: int
    target_N: float | None = None
    low_N: float | None = None
    high_N: float | None = None
    pitch_hz: float | None = None
    low_pitch_hz: float | None = None
    high_pitch_hz: float | None = None
    note: str | None = None
    semitone_N: float | None = None
