"""From a recording of something tapped to the frequencies that ring after every tap; what sounds all the time is none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from wheelcalc.arrays import Floats
from wheelcalc.measuring.spectra import decimated, spectra, steady_floor
from wheelcalc.wheel.errors import InputError

LOWEST_HZ, HIGHEST_HZ = 45.0, 1250.0  # C: phones hear nothing below; above, modes of a rim lie too close to be named
WORKING_RATE = 3000.0  # Hz, C: twice the highest, with room for the filter's slope
LEAST_SECONDS = 0.8  # C, a choice
# C, choices: frames in which a tap is looked for, as many frequencies rise at once; it rises so many times as much as
# quiet frames do, and so far as the usual tap; taps are further apart than this.
FRAME, HOP, RISES, OF_USUAL, APART = 0.064, 0.016, 6.0, 0.35, 0.3
# C, choices: a spectrum is taken from so long after a tap to so long before the next, of at most and at least so long.
SKIP, BEFORE, WINDOW, LEAST_WINDOW = 0.03, 0.03, 0.75, 0.3
# C, choices: a peak stands so far above what lies within AROUND_HZ; just after taps it is so much louder than in the
# quiet quarter of moments before them, or than before the first tap; it falls so far from a tap to the next one, in the
# middle, or by so little where the first tap began it; it stands out after so large a share of taps.
STANDS_DB, AROUND_HZ, RINGS_DB, FALLS_DB, BEGUN_FALLS_DB, THERE_DB, SHARE = 9.0, 20.0, 6.0, 1.2, 0.3, 3.0, 0.5
# C, choices: what rings for long falls by little; it does so surely, over so many taps, and no two taps are alike.
SWAYS_TAPS, SWAYS_FALLS_DB, SWAYS_SURE, SWAYS_DB = 4, 0.4, 4.0, 1.0
MOST_PEAKS = 14
TOP_HZ = 1.5  # two peaks closer than this are one
SAME_HZ, SAME_SHARE = 1.2, 0.003  # within which two recordings mean the same mode


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
    slow, slow_rate = decimated(sound - np.mean(sound), rate, WORKING_RATE)
    slow = slow / np.abs(slow).max()
    starts = taps(slow, slow_rate)
    spans = _spans(starts, slow.size / slow_rate)
    if not spans:
        raise InputError("", "holds no tap that is left to ring; tap the rim a few times, two seconds apart")
    return _heard(_Spectra.of(slow, slow_rate, spans), starts)


def taps(sound: Floats, rate: float) -> Floats:
    """Moments at which something was struck [s], rising: many frequencies rise at once."""
    length, step = round(FRAME * rate), round(HOP * rate)
    power = spectra(sound, rate, FRAME, HOP)
    loud = np.log(power + steady_floor(power) + 1e-12 * power.max())
    ahead = math.ceil(length / step)
    rise = np.maximum(loud[ahead:] - loud[:-ahead], 0).mean(axis=1)
    quiet = np.median(rise)
    # D: 1.4826 median absolute deviations are a standard deviation, where errors are normal.
    least = quiet + RISES * 1.4826 * np.median(np.abs(rise - quiet)) + 0.05  # ours: and more than rounding does
    places = [place for place in _tops(rise, round(APART * rate / step / 2)) if rise[place] > least]
    if not places:
        return np.empty(0)
    usual = np.median(rise[places])
    return np.array(
        [(place + ahead) * step / rate for place in places if rise[place] - quiet > OF_USUAL * (usual - quiet)]
    )


def _spans(starts: Floats, end: float) -> list[tuple[float, float]]:
    """From every tap to the next one, as far as it is left to ring."""
    later = [*(starts[1:] - BEFORE).tolist(), end][: starts.size]
    spans = zip((starts + SKIP).tolist(), later, strict=True)
    return [(begin, end) for begin, end in spans if end - begin >= LEAST_WINDOW]


@dataclass(frozen=True, eq=False)
class _Spectra:
    """Power after every tap, (taps, bins) [dB]: as long as it may be; in the first and in the last half of its time at
    most; and before the first tap, where there is.
    """

    hz: Floats
    after: Floats
    first: Floats
    before: Floats
    lead: Floats

    @classmethod
    def of(cls, sound: Floats, rate: float, spans: Sequence[tuple[float, float]]) -> _Spectra:
        size = 2 ** math.ceil(math.log2(4 * WINDOW * rate))
        hz = np.fft.rfftfreq(size, 1 / rate)
        # C: below half the rate, where nothing is left.
        inside = (hz >= LOWEST_HZ) & (hz <= min(HIGHEST_HZ, 0.45 * rate))

        def power(begin: float, seconds: float) -> Floats:
            first, length = round(begin * rate), round(seconds * rate)
            piece, window = sound[max(first, 0) : first + length], np.hanning(length)
            spectrum = np.abs(np.fft.rfft(piece * window[: piece.size], size)[inside]) ** 2 / np.sum(window) ** 2
            return np.asarray(10 * np.log10(spectrum + 1e-16))  # ours: below the rounding of 16 bits

        long = [min(WINDOW, end - begin) for begin, end in spans]
        after = np.array([power(begin, each) for (begin, _), each in zip(spans, long, strict=True)])
        half = [min(WINDOW, (end - begin) / 2) for begin, end in spans]
        first = np.array([power(begin, each) for (begin, _), each in zip(spans, half, strict=True)])
        before = np.array([power(end - each, each) for (_, end), each in zip(spans, half, strict=True)])
        quiet = spans[0][0] - SKIP - BEFORE
        lead = [power(quiet - LEAST_WINDOW, LEAST_WINDOW)] if quiet > LEAST_WINDOW else []
        return cls(np.asarray(hz[inside], float), after, first, before, np.array(lead).reshape(-1, after.shape[1]))

    @property
    def bin(self) -> float:
        """Hz from one bin to the next."""
        return float(self.hz[1] - self.hz[0])


def _heard(spectra: _Spectra, starts: Floats) -> Ringing:
    after = _mean_db(spectra.after)
    before = _mean_db(np.concatenate([spectra.before, spectra.lead]))
    floor = _median_around(after, round(AROUND_HZ / spectra.bin))
    stand = [place for place in _tops(after, round(TOP_HZ / spectra.bin)) if after[place] - floor[place] > STANDS_DB]
    ring = [place for place in stand if _rings(spectra, place, float(floor[place]))]
    loudest = sorted(ring, key=lambda place: floor[place] - after[place])[:MOST_PEAKS]
    peaks = np.array(sorted(_between(spectra.hz, after, place) for place in loudest))
    steady = spectra.hz[[place for place in stand if place not in ring]]
    return Ringing(starts, spectra.hz, after, before, peaks, steady)


def _rings(spectra: _Spectra, place: int, floor: float) -> bool:
    """Whether a peak was struck with the taps and fell between them; a tone of the room did neither."""
    near = slice(max(place - 2, 0), place + 3)
    after, before = spectra.first[:, near].max(axis=1), spectra.before[:, near].max(axis=1)
    loud, fall = 10 * math.log10(np.mean(10 ** (after / 10))), float(np.median(after - before))
    begun = bool(spectra.lead.size) and loud - float(spectra.lead[:, near].max()) > RINGS_DB
    # C, a choice: a quarter of the moments before taps, so that one noisy moment decides nothing.
    rises = begun or loud - float(np.quantile(before, 0.25)) > RINGS_DB
    falls = fall > (BEGUN_FALLS_DB if begun else FALLS_DB)
    struck = (rises and falls) or swaying(after, after - before)
    return bool(struck and np.mean(spectra.after[:, near].max(axis=1) - floor > THERE_DB) >= SHARE)


def swaying(after: Floats, falls: Floats) -> bool:
    """Whether a peak that hardly falls between taps is struck all the same: harder and softer, and always falling."""
    if after.size < SWAYS_TAPS:
        return False
    mean, error = float(np.mean(falls)), float(np.std(falls, ddof=1)) / math.sqrt(falls.size)
    return bool(mean > max(SWAYS_FALLS_DB, SWAYS_SURE * error) and np.std(after, ddof=1) > SWAYS_DB)


def _mean_db(power: Floats) -> Floats:
    return np.asarray(10 * np.log10(np.mean(10 ** (power / 10), axis=0)))


def _median_around(values: Floats, width: int) -> Floats:
    padded = np.pad(values, width, mode="reflect")
    return np.asarray(np.median(sliding_window_view(padded, 2 * width + 1)[:, ::4], axis=1))


def _tops(values: Floats, apart: int) -> list[int]:
    """Places that are the largest within `apart` to either side."""
    around = sliding_window_view(np.pad(values, apart, constant_values=-np.inf), 2 * apart + 1).max(axis=1)
    tops: list[int] = np.flatnonzero(values == around).tolist()
    return [place for place in tops if 0 < place < values.size - 1]


def _between(hz: Floats, level: Floats, place: int) -> float:
    """The top of a parabola through a peak's three bins [Hz]."""
    a, b, c = level[place - 1 : place + 2]
    return float(hz[place] + (hz[1] - hz[0]) * 0.5 * (a - c) / (a - 2 * b + c))
