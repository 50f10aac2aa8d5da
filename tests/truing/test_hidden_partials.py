"""What still rings from before hides partials of a new pluck; that they cannot be told apart does not speak against it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from wheelcalc.truing.pitches import evidence_of, peaks_of
from wheelcalc.truing.templates import template

SEGMENTS = ((20, 245, 18), (2.0, 1.8, 2.0))
BIN, BINS = 4.0, 1600  # Hz


def with_peaks(hz, level: float) -> np.ndarray:
    """A spectrum of 1 everywhere with peaks of that power, (bins,)."""
    out = np.ones(BINS)
    for place in np.round(np.asarray(hz) / BIN).astype(int):
        out[place - 1 : place + 2] = level * np.array([0.25, 1.0, 0.25])
    return out


@pytest.fixture(scope="module")
def spoke():
    return template(SEGMENTS, 300, 1500)


def partials(spoke, hz: float) -> np.ndarray:
    return np.exp(spoke.predicted(np.array([np.log(hz)]), np.array([2]))[0][0][:4])


def test_a_peak_no_louder_than_what_rang_there_before_is_hidden_and_not_new() -> None:
    peaks = peaks_of(with_peaks([392, 824, 1300], 1e4), np.ones(BINS), with_peaks([392], 5e3), BIN, 6000)
    assert np.exp(peaks.log_hz) == pytest.approx([824, 1300], rel=1e-6)
    assert np.exp(peaks.hidden) == pytest.approx([392], rel=1e-6)


def test_a_peak_that_sounds_all_the_time_is_not_hidden() -> None:
    steady = with_peaks([392], 5e3)
    peaks = peaks_of(with_peaks([392, 824, 1300], 1e4), steady, np.zeros(BINS), BIN, 6000)
    assert peaks.hidden.size == 0


def test_a_hidden_fundamental_is_not_held_against_a_pitch(spoke) -> None:
    hz = 397.0
    first, *others = partials(spoke, hz).tolist()
    sound = with_peaks([first, *others], 1e4)
    hidden = peaks_of(sound, np.ones(BINS), with_peaks([first], 5e3), BIN, 6000)
    assert hidden.hidden.size == 1
    missing = replace(hidden, hidden=np.empty(0))
    told = [
        float(evidence_of(each, spoke, 6000, np.array([np.log(hz)]), np.array([2]))[0]) for each in (hidden, missing)
    ]
    # D: it then costs nothing; a first partial that lacks is one in four, ln 4 at most.
    assert 0.5 < told[0] - told[1] < np.log(4) + 1e-9


def test_faint_strays_tell_less_than_strong_ones(spoke) -> None:
    hz = 397.0
    strong = with_peaks(partials(spoke, hz), 1e4)
    said = []
    for level in (100, 1e4):
        sound = np.maximum(strong, with_peaks([524, 668, 980], level))
        peaks = peaks_of(sound, np.ones(BINS), np.zeros(BINS), BIN, 6000)
        said.append(float(evidence_of(peaks, spoke, 6000, np.array([np.log(hz)]), np.array([2]))[0]))
    assert said[0] > said[1] + 1
