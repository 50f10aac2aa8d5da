"""Short rounds of every make of sounds (tests/making/plucked_rounds), whole: from the recording to pitch, hole and how sure."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from tests.benchmarks.rounds import WRONG, Row, rows
from tests.making import plucked_rounds
from tests.making.no_plucks import nothing
from tests.making.rooms_and_phones import Hearing
from wheelcalc.answers.plucking.compute import pluck
from wheelcalc.files.wav import Sound
from wheelcalc.truing.assign import SURE
from wheelcalc.wheel.errors import InputError

CALM = {"again": 0, "pauses": 0, "strays": 0, "how": "finger", "places": (0.2, 0.6), "uneven": 0.12, "gap": 0.9}
# Least shares listed and read within 0.5 % (1 % in pairs), of 12 to 14 plucks: one may be missed; where the rim rings along, two misread.
MAKES = {"grid": (0.9, 0.9), "formula": (0.9, 0.9), "modes": (0.9, 0.9), "wheel": (0.9, 0.8)}


@cache
def heard(make: str, build: str, seed: int = 3, **habits: object):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plucked_rounds, "GRID_SECONDS", 0.35)  # that make takes seconds for each
        one = plucked_rounds.recorded(make, seed, build, Hearing(rate=16_000), **{**CALM, "side": "right", **habits})
    return rows(one)


def none_wrong_surely(found: list[Row]) -> bool:
    listed = [each for each in found if each.listed]
    pitch = any(each.error > WRONG and each.confidence >= SURE for each in listed)
    return not pitch and not any(not each.placed_right and each.assigned >= SURE for each in listed)


@pytest.mark.parametrize(
    ("make", "build"),
    [("grid", "radial 28"), ("formula", "two side 24"), ("modes", "two side 24"), ("wheel", "radial 28")],
)
def test_a_round_of_every_make(make: str, build: str) -> None:
    found, refused = heard(make, build)
    assert not refused
    least_listed, least_within = MAKES[make]
    assert np.mean([each.listed for each in found]) >= least_listed
    assert np.mean([each.listed and each.error < each.allowed for each in found]) >= least_within
    assert none_wrong_surely(found)


@pytest.mark.parametrize(
    ("make", "habits"),
    [
        ("formula", {"unheard": 1}),
        ("modes", {"unheard": 2}),
        ("formula", {"strays": 3}),
        ("modes", {"left_out": 1, "again": 1}),
        ("formula", {"marks": True, "unheard": 1}),
        ("modes", {"ends_early": 4}),
    ],
    ids=str,
)
def test_slips_of_a_round_shift_nothing_unmarked(make: str, habits: dict) -> None:
    found, refused = heard(make, "radial 28", 5, **habits)
    assert not refused
    assert none_wrong_surely(found)


@pytest.mark.parametrize("make", ["formula", "modes"])
def test_a_first_pluck_that_was_not_recorded(make: str) -> None:
    one = plucked_rounds.recorded(make, 7, "radial 28", Hearing(rate=16_000), **CALM, side="right")
    later = one.plucks[1].at - 0.3
    plucks = [replace(each, at=each.at - later) for each in one.plucks[1:]]
    found, refused = rows(replace(one, sound=one.sound[round(later * one.rate) :], plucks=plucks))
    assert not refused
    assert none_wrong_surely(found)


@pytest.mark.parametrize("kind", ["chords", "rim", "talk"])
def test_music_a_tapped_rim_and_talk_are_refused(kind: str) -> None:
    sound, rate = nothing(kind, 900, 16.0)
    with pytest.raises(InputError, match=r"surely ring|a voice or an instrument"):
        pluck(plucked_rounds.BUILDS["rear 36"], Sound(sound, rate))
