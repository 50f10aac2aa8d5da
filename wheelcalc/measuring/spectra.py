"""What every recording is looked at with: fewer samples, power spectra of frames, what each frequency has all the time."""

from __future__ import annotations

import math

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from wheelcalc.arrays import Floats

FILTER = 32  # C, samples of the filter before samples are left out, times how many are


def decimated(sound: Floats, rate: float, least_rate: float) -> tuple[Floats, float]:
    """Sound at a whole part of its rate, from `least_rate` to twice that, or as it is where its rate is lower; and the rate."""
    factor = int(rate // least_rate)
    if factor < 2:
        return sound, rate
    half = FILTER * factor // 2
    place = np.arange(-half, half + 1) / factor
    # Half the new rate less a tenth, so that little folds back.
    low_pass = 0.9 * np.sinc(0.9 * place) * np.blackman(place.size) / factor
    padded = np.pad(sound, half)
    return np.asarray(sliding_window_view(padded, place.size)[::factor] @ low_pass), rate / factor


def spectra(sound: Floats, rate: float, seconds: float, hop: float, size: int | None = None) -> Floats:
    """Power spectra of Hann frames, (frames, bins); frame i begins at i * round(hop * rate) / rate [s]."""
    length, step = round(seconds * rate), round(hop * rate)
    frames = sliding_window_view(sound, length)[::step] * np.hanning(length)
    return np.abs(np.fft.rfft(frames, size or length, axis=1)) ** 2


def steady_floor(power: Floats) -> Floats:
    """What each frequency has all the time, from (frames, bins): noise and hum, not what is struck now and then.

    Notes
    -----
    A fifth of the frames of random noise lie below 0.223 times its mean (exponential distribution, D).
    """
    return np.asarray(np.quantile(power, 0.2, axis=0) / -math.log(0.8) + 1e-20)
