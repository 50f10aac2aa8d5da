"""Plucks in synthetic recordings that know nothing of the library (pluck_synthesis): found, read, and nothing else.

The shares asked for are those of the issue; the full statistics are in tests/benchmarks/plucks.py.
"""

from __future__ import annotations

import time

import numpy as np
import pytest

from tests.making.pluck_sessions import KINDS_OF_NOTHING, heard, refused, score, session
from tests.making.pluck_synthesis import Pluck, Scene, Spoke, recording
from wheelcalc.truing.templates import template
from wheelcalc.wheel.errors import InputError

RATES = (8000, 16000, 44100)


@pytest.mark.parametrize(
    ("snr_db", "touching", "least_found", "share", "least_within"),
    [
        (20, False, 0.98, 0.005, 0.95),
        (20, True, 0.98, 0.01, 0.9),
        (10, False, 0.9, 0.01, 0.9),
        (10, True, 0.9, 0.01, 0.9),
    ],
)
def test_plucks_are_found_and_read(snr_db, touching, least_found, share, least_within) -> None:
    got = score([session(seed, snr_db, touching, 17, RATES) for seed in (41, 42, 43)])
    assert got.errors.size == 51
    assert np.mean(got.found) >= least_found
    assert got.within(share) >= least_within
    assert got.false == 0
    assert got.unflagged == 0
    if snr_db == 20:
        assert np.all(np.abs(got.errors[got.found]) < 0.3)  # an octave is 0.5 or 1


@pytest.mark.parametrize("kind", KINDS_OF_NOTHING)
def test_a_recording_without_plucks_is_refused(kind: str) -> None:
    assert all(refused(kind, seed) for seed in (11, 12))


def test_it_takes_less_than_a_fifth_of_the_recording() -> None:
    one = session(44, 20, False, 17, (48000,))
    start = time.process_time()
    heard(one.sound, one.rate, [one.table], 17)
    assert time.process_time() - start < 0.2 * one.sound.size / one.rate


def one_pluck(**how):
    spoke = Spoke((20, 245, 18), (2.0, 1.8, 2.0), (870.0,), 0.3)
    rng = np.random.default_rng(5)
    return spoke, recording([(spoke, Pluck(**how), 0.5, 1.0)], Scene(16000), 2.0, rng)


def test_a_single_pluck_and_when_it_was() -> None:
    spoke, sound = one_pluck()
    table = template((spoke.lengths, spoke.diameters), 100, 2500)
    (found,) = heard(sound, 16000, [table], 1).plucks
    assert found.at == pytest.approx(0.5, abs=0.01)
    assert found.pitch == pytest.approx(spoke.pitch, rel=0.003)
    assert found.sure


def test_a_fundamental_that_the_telephone_took_away_is_found_by_the_others() -> None:
    spoke = Spoke((20, 245, 18), (2.0, 1.8, 2.0), (700.0,), 0.3)
    sound = recording([(spoke, Pluck(), 0.5, 1.0)], Scene(44100, telephone_hz=900), 2.0, np.random.default_rng(5))
    (found,) = heard(sound, 44100, [template((spoke.lengths, spoke.diameters), 100, 2500)], 1).plucks
    assert found.pitch == pytest.approx(spoke.pitch, rel=0.01)


def test_a_hard_pluck_reads_less_than_half_of_its_sharpness() -> None:
    spoke, sound = one_pluck(sharp=0.005)
    (found,) = heard(sound, 16000, [template((spoke.lengths, spoke.diameters), 100, 2500)], 1).plucks
    assert -0.001 < found.pitch / spoke.pitch - 1 < 0.0025


def test_loudness_does_not_matter() -> None:
    spoke, sound = one_pluck()
    table = template((spoke.lengths, spoke.diameters), 100, 2500)
    assert heard(sound * 1e-3, 16000, [table], 1).plucks[0].pitch == pytest.approx(
        heard(sound, 16000, [table], 1).plucks[0].pitch, rel=1e-9
    )


@pytest.mark.parametrize(("sound", "words"), [(np.zeros(100), "is 0.01 s long"), (np.zeros(20000), "silent")])
def test_too_short_and_silent(sound: np.ndarray, words: str) -> None:
    with pytest.raises(InputError, match=words):
        heard(sound, 16000, [template(((283,), (2.0,)), 100, 2000)], 1)
