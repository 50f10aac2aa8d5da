"""What the page lets be heard: a recording of a round, or of a few spokes once more, spoke by spoke."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from wheelcalc import answers
from wheelcalc.answers.plucking.answer import PluckAnswer
from wheelcalc.answers.plucking.content import Round
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.files.wav import sound_of
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

WHICH = ("both", *SIDES)


def heard(file: BuildFile, recording: bytes, asked: Mapping[str, str], holes: int) -> dict[str, Any]:
    """Return what each spoke of a round was heard to have.

    Parameters
    ----------
    file : the build
    recording : WAV
    asked : "side" (left, right, both), "start" (rim hole plucked first), "only" (rim holes, 3,7,12: no others were plucked)
    holes : of the rim

    Raises
    ------
    InputError
        If that is no round of this wheel, or nothing of it can be heard.
    """
    answer = answers.pluck(file, sound_of(recording), round_=_round(asked, holes))
    return {
        "spokes": _spokes(answer),
        "findings": [vars(each) for each in answer.findings],
        "seconds": answer.sound.seconds,
    }


def _round(asked: Mapping[str, str], holes: int) -> Round:
    side, start = asked.get("side", "both"), _hole("start", asked.get("start", "1"))
    if side not in WHICH:
        raise InputError("side", f"found no side; write {', '.join(WHICH)}")
    only = [_hole("only", each) for each in asked.get("only", "").split(",") if each]
    return Round(start, side, [hole for hole in range(1, holes + 1) if only and hole not in only])


def _hole(name: str, text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 5):
        raise InputError(name, "found no number of a rim hole")
    return int(text)


def _spokes(answer: PluckAnswer) -> list[dict[str, Any]]:
    """Every spoke of the round, in its order; null where it was not heard; sure where pitch and spoke are."""
    lacing = answer.wheel.lacing
    sure = {each.spoke for each in answer.heard if each.pluck.sure and each.pluck.placed}
    return [
        {
            "rim_hole": int(lacing.rim_hole[spoke]),
            "side": lacing.sides[spoke],
            "pitch_hz": _known(answer.pitch_hz[spoke]),
            "tension_N": _known(answer.tension[spoke]),
            "sure": spoke in sure,
        }
        for spoke in answer.round.spokes(answer.wheel).tolist()
    ]


def _known(value: np.float64) -> float | None:
    return float(value) if np.isfinite(value) else None
