"""From a recording of something tapped to the frequencies that ring after every tap; what sounds all the time is none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from wheelcalc.arrays import Floats
from wheelcalc.wheel.errors import InputError

LOWEST_HZ, HIGHEST_HZ = 45.0, 1250.0  # C: phones hear nothing below; above, modes of a rim lie too close to be named
WORKING_RATE = 3000.0  # Hz
FILTER = 32  # samples of the filter, times the decimation
LEAST_SECONDS = 0.8
# C, choices: energy in steps of so long; a tap rises so far above what was before it and is no weaker than so much below
# the loudest; taps are further apart than this; a spectrum takes so long after a tap, at least so long.
STEP, RISE_DB, WEAKEST_DB = 0.01, 6.0, 25.0
APART, WINDOW, LEAST_WINDOW, SKIP = 0.3, 0.75, 0.3, 0.012
# C, choices: a peak stands so far above what lies around it (within AROUND_HZ); after taps it is so much louder than in
# the quietest moments before them; it fell so far from a tap to the next; it is there after so many of the taps.
STANDS_DB, AROUND_HZ, RINGS_DB, FALLS_DB, SHARE = 9.0, 20.0, 6.0, 1.2, 0.5
MOST_PEAKS = 14
SAME_HZ, SAME_SHARE = 1.2, 0.003


@dataclass(frozen=True, eq=False)
class Ringing:
    """What a recording of taps holds.

    Parameters
    ----------
    taps : when they were made [s]
    hz : the frequencies of the spectrum, (bins,)
    after, before : power just after and just before taps, mean, (bins,) [dB]
    peaks : frequencies that ring, rising [Hz]
    steady : frequencies that stand out and sound all the time, rising [Hz]
    """

    taps: Floats
    hz: Floats
    after: Floats
    before: Floats
    peaks: Floats
    steady: Floats

    def level(self, hz: float) -> float:
        """How loud a frequency is just after taps [dB]."""
        near = np.abs(self.hz - hz) <= max(SAME_HZ, SAME_SHARE * hz)
        return float(self.after[near].max())


def ringing(sound: Floats, rate: float) -> Ringing:
    """What rings in a recording of taps.

    Parameters
    ----------
    sound : (samples,), of any loudness
    rate : samples a second [Hz]

    Raises
    ------
    InputError
        If it is too short, silent, or nothing in it is a tap that rings.
    """
    if sound.size < LEAST_SECONDS * rate:
        raise InputError("", f"is {sound.size / rate:.2f} s long; a tap needs {LEAST_SECONDS:g} s to ring")
    if not np.ptp(sound):
        raise InputError("", "is silent; check which microphone was recorded")
    slow, slow_rate = _decimated(sound - np.mean(sound), rate)
    starts = taps(slow, slow_rate)
    spans = [span for span in _spans(starts, slow.size / slow_rate) if span[1] - span[0] >= LEAST_WINDOW]
    if not spans:
        raise InputError("", "holds no tap that is left to ring; tap the rim a few times, a second or two apart")
    return _heard(slow / np.abs(slow).max(), slow_rate, np.array([span[0] for span in spans]), spans)


def _decimated(sound: Floats, rate: float) -> tuple[Floats, float]:
    """Sound at a rate of 3 to 6 kHz, and the rate."""
    factor = int(rate // WORKING_RATE)
    if factor < 2:
        return sound, rate
    half = FILTER * factor // 2
    place = np.arange(-half, half + 1) / factor
    low_pass = 0.9 * np.sinc(0.9 * place) * np.blackman(place.size) / factor  # half the new rate less a tenth
    return np.asarray(sliding_window_view(np.pad(sound, half), place.size)[::factor] @ low_pass), rate / factor


def taps(sound: Floats, rate: float) -> Floats:
    """Moments at which something was struck [s], rising."""
    step = round(STEP * rate)
    rough = np.diff(sound, prepend=sound[0])  # the knock is brighter than what rings
    energy = 10 * np.log10(np.add.reduceat(rough**2, np.arange(0, sound.size - step + 1, step)) + 1e-12 * np.max(rough**2))
    before = sliding_window_view(np.pad(energy, (5, 0), mode="edge"), 5)[: energy.size].max(axis=1)
    rise = energy - before
    loud = energy > energy.max() - WEAKEST_DB
    found: list[int] = []
    for place in np.flatnonzero((rise > RISE_DB) & loud).tolist():
        if found and place - found[-1] < APART * rate / step:
            continue
        found.append(place)
    return np.array(found) * step / rate


def _spans(starts: Floats, end: float) -> list[tuple[float, float]]:
    """From every tap to the next one."""
    later = np.append(starts[1:], end)
    return [(float(a), float(b)) for a, b in zip(starts, later, strict=True)]


def _heard(sound: Floats, rate: float, starts: Floats, spans: Sequence[tuple[float, float]]) -> Ringing:
    size = 2 ** math.ceil(math.log2(4 * WINDOW * rate))
    hz = np.fft.rfftfreq(size, 1 / rate)
    inside = (hz >= LOWEST_HZ) & (hz <= min(HIGHEST_HZ, 0.45 * rate))

    def spectrum(begin: float, seconds: float) -> Floats:
        first, length = round(begin * rate), round(seconds * rate)
        piece = sound[max(first, 0) : first + length]
        window = np.hanning(length)
        shaped = piece * window[: piece.size]
        return np.abs(np.fft.rfft(shaped, size)[inside]) ** 2 / np.sum(window**2)

    lengths = [min(WINDOW, end - begin - SKIP) for begin, end in spans]
    after = np.array([spectrum(begin + SKIP, each) for (begin, _), each in zip(spans, lengths, strict=True)])
    ends = [spectrum(end - each, each) for (_, end), each in zip(spans, lengths, strict=True)]
    lead = [spectrum(starts[0] - LEAST_WINDOW, LEAST_WINDOW)] if starts[0] > LEAST_WINDOW else []
    quiet = np.array(ends + lead)
    fallen = 10 * np.log10((after + 1e-20) / (np.array(ends) + 1e-20))
    mean_after, mean_before = 10 * np.log10(after.mean(axis=0) + 1e-20), 10 * np.log10(quiet.mean(axis=0) + 1e-20)
    quietest = 10 * np.log10(np.quantile(quiet, 0.25, axis=0) + 1e-20)
    hz = hz[inside]
    width = round(AROUND_HZ / (hz[1] - hz[0]))
    floor = _median_around(mean_after, width)
    each = 10 * np.log10(after + 1e-20)
    peaks, steady = [], []
    for place in _tops(mean_after, round(1.5 / (hz[1] - hz[0]))):
        if mean_after[place] - floor[place] < STANDS_DB:
            continue
        near = slice(max(place - 2, 0), place + 3)
        rings = mean_after[near].max() - quietest[near].max() > RINGS_DB and np.median(fallen[:, near].max(axis=1)) > FALLS_DB
        there = np.mean(each[:, near].max(axis=1) - floor[place] > STANDS_DB - 12)
        (peaks if rings and there >= SHARE else steady).append(place)
    peaks = sorted(peaks, key=lambda place: floor[place] - mean_after[place])[:MOST_PEAKS]
    exact = np.sort([_between(hz, mean_after, place) for place in peaks])
    return Ringing(starts, hz, mean_after, mean_before, exact, hz[np.array(steady, int)])


def _median_around(values: Floats, width: int) -> Floats:
    padded = np.pad(values, width, mode="reflect")
    return np.asarray(np.median(sliding_window_view(padded, 2 * width + 1)[:, ::4], axis=1))


def _tops(values: Floats, apart: int) -> list[int]:
    """Places that are the largest within `apart` to either side."""
    around = sliding_window_view(np.pad(values, apart, constant_values=-np.inf), 2 * apart + 1).max(axis=1)
    found: list[int] = np.flatnonzero(values == around).tolist()
    return [place for place in found if 0 < place < values.size - 1]


def _between(hz: Floats, level: Floats, place: int) -> float:
    """The top of a parabola through a peak's three bins [Hz]."""
    a, b, c = level[place - 1 : place + 2]
    return float(hz[place] + (hz[1] - hz[0]) * 0.5 * (a - c) / (a - 2 * b + c))
