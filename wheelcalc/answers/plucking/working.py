"""Of `pluck`: how a pitch became a tension, with the numbers put in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.plucking.content import PluckContent
from wheelcalc.joined import tone as spoke_tone
from wheelcalc.tension.tone import mass_per_length

GRAMS = 1e6  # D: in a tonne, the unit of mass that goes with N, mm and s
PER_METRE = 1e3  # D: mm in a metre


def working(answer: PluckContent) -> Iterator[str]:
    """For a middling spoke of each side: its pieces, the flexible string of its mass, and the stiff, stepped wire."""
    for side in answer.sides:
        heard = np.flatnonzero(answer.wheel.lacing.on(side) & np.isfinite(answer.pitch_hz))
        spoke = int(heard[np.argsort(answer.pitch_hz[heard])[(len(heard) - 1) // 2]])
        yield from _of_spoke(answer, side, spoke)


def _of_spoke(answer: PluckContent, side: str, spoke: int) -> Iterator[str]:
    lengths, diameters = (np.asarray(each) for each in spoke_tone.segments(answer.build, answer.wheel, side))
    free, pitch = float(lengths.sum()), float(answer.pitch_hz[spoke])
    mass = float((lengths * mass_per_length(diameters)).sum()) / free
    pieces = ", ".join(f"{length:.1f} of {wide:g}" for length, wide in zip(lengths, diameters, strict=True))
    per_metre = mass * GRAMS * PER_METRE
    yield f"{side}: {free:.1f} mm free from elbow to nipple (mm: {pieces}), {per_metre:.2f} g for each metre on average"
    yield (
        f"rim hole {answer.wheel.lacing.rim_hole[spoke]} as an even string that does not mind bending: T = m (2 L f)^2 = "
        f"{per_metre / 1000:.5f} kg/m x (2 x {free / PER_METRE:.4f} m x {pitch:.1f} Hz)^2 = {mass * (2 * free * pitch) ** 2:.0f} N"
    )
    how = answer.sides[side].how
    ends = f"calibrated by {how}" if how else f"ends held {answer.build.pluck.end_hold:g} (0 free, 1 clamped)"
    own, all_of_it = answer.within(float(answer.own[spoke])), answer.within(float(answer.sigma[spoke]))
    yield (
        f"as the stiff, stepped wire that it is, {ends}: {answer.tension[spoke]:.0f} N, +-{own:.0f} against its side, +-{all_of_it:.0f} "
        "in all (19 times in 20)"
    )
