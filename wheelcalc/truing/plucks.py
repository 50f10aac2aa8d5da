"""Where in a recording something is struck: moments at which many frequencies rise at once."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from wheelcalc.arrays import Floats, Ints
from wheelcalc.measuring.spectra import spectra, steady_floor

# C, choices: twice the highest partial that is looked at, with room for the filter's slope.
WORKING_RATE = 16_000.0  # Hz
FRAME = 0.064  # s
HOP = 0.008  # s
LOWEST_HZ, HIGHEST_HZ = 150.0, 3000.0
# C: plucks closer than this cannot be told apart, and their pitch could not be read.
LEAST_GAP = 0.12  # s
# Ours: ln of the power by which the few frequencies that rise most must rise; 13 dB. Many more are found than are plucks, what
# they sound like decides.
LEAST_RISE = 3.0
RISING = 5
# Ours: what is so far below the loudest [dB] is silence, which some recorders make complete.
SILENCE_DB = 70.0


def onsets(sound: Floats, rate: float) -> Floats:
    """Moments at which something may have been struck [s], rising.

    Parameters
    ----------
    sound : (samples,)
    rate : [Hz]
    """
    power = spectra(sound, rate, FRAME, HOP)
    bins = np.fft.rfftfreq(round(FRAME * rate), 1 / rate)
    power = power[:, (bins >= LOWEST_HZ) & (bins <= min(HIGHEST_HZ, 0.45 * rate))]
    loud = np.log(power + steady_floor(power) + power.max() * 10 ** (-SILENCE_DB / 10))
    hop = round(HOP * rate) / rate
    ahead = round(FRAME / hop) + 1
    if loud.shape[0] <= 2 * ahead:
        return np.empty(0)
    before = np.maximum(loud[:-ahead], np.roll(loud, 2, axis=0)[:-ahead])
    rises = np.maximum(loud[ahead:] - before, 0)
    few = min(RISING, rises.shape[1])
    rise = np.partition(rises, -few, axis=1)[:, -few:].mean(axis=1)
    peaks = _peaks(rise, LEAST_RISE, round(LEAST_GAP / hop / 2))
    return np.unique([_sharpened(sound, rate, (peak + ahead) * hop) for peak in peaks])


def _peaks(values: Floats, least: float, apart: int) -> Ints:
    """Places that are the largest within `apart` to either side, and at least `least`."""
    around = sliding_window_view(np.pad(values, apart, constant_values=-np.inf), 2 * apart + 1).max(axis=1)
    return np.flatnonzero((values == around) & (values >= least))


def _sharpened(sound: Floats, rate: float, about: float) -> float:
    """The moment within a frame's length of `about` at which the sound rises most steeply [s]."""
    step = round(0.002 * rate)
    begin = max(round((about - 0.04) * rate), 0)
    piece = np.diff(sound[begin : begin + round(0.08 * rate)])
    energy = np.add.reduceat(piece**2, np.arange(0, piece.size - step, step))
    width = 4
    sums = np.convolve(energy, np.ones(width), "valid")
    ratio = np.log(sums[width:] + 1e-12) - np.log(sums[:-width] + np.median(energy) / 10 + 1e-12)
    return (begin + (int(np.argmax(ratio)) + width) * step) / rate
