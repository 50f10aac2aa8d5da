"""The pitch of one pluck: which spoke partials the peaks of a short spectrum are, then a finer reading from a long one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.truing.templates import HOLDS, Template

LOWEST_HZ = 100.0
# Choices, tried on synthetic plucks (tests/making/pluck_synthesis.py): a peak counts from 12 dB above what is there all the
# time, and says no more above 45 dB.
LEAST_DB, MOST_DB = 12.0, 45.0
MOST_PEAKS = 24
# How far a partial may lie from the table: real wire, its elbow; in a pair of unequal tensions modes push each other away.
OFF_SINGLE = np.array([0.006])
OFF_TOGETHER = np.array([0.006, 0.01, 0.025, 0.02, 0.02, 0.02, 0.02, 0.02])
OFF_AGAINST = np.array([0.015, 0.025, 0.025, 0.02, 0.02, 0.02, 0.02, 0.02])
FIRST_TRIED = 5  # a peak may be any of the first partials
MISSING_COSTS, STRAY_COSTS = 0.9, 0.6
SAME_PITCH = 0.03
# C, a choice: half of a tension, and so less than an octave, apart.
LIKE, LIKE_SHARE = 0.3, 0.15


@dataclass(frozen=True, eq=False)
class Peaks:
    """Peaks of a spectrum: ln of their frequencies [ln Hz], and how far they stand above the rest [dB], both (p,)."""

    log_hz: Floats
    level: Floats

    @property
    def strength(self) -> Floats:
        """What each counts, 0 to 1."""
        return np.clip((self.level - LEAST_DB + 3) / (MOST_DB - LEAST_DB), 0, 1)


@dataclass(frozen=True)
class Guess:
    """The best explanation of the peaks.

    Parameters
    ----------
    log_pitch : of the fundamental [ln Hz]
    hold : index of the end hold among the tabulated ones
    score : 1 where all peaks are partials and none is missing
    lead : over the best explanation by another pitch
    partials : for each partial the peak that it is, or -1
    """

    log_pitch: float
    hold: int
    score: float
    lead: float
    partials: Ints


def peaks_of(power: Floats, floor: Floats, hz_per_bin: float, highest_hz: float) -> Peaks:
    """The peaks that stand out, from a spectrum (bins,) and what is there otherwise."""
    level = 10 * np.log10((power + 1e-30) / floor)
    inner = np.flatnonzero((power[1:-1] > power[:-2]) & (power[1:-1] >= power[2:])) + 1
    hz = inner * hz_per_bin
    inner = inner[(level[inner] >= LEAST_DB) & (hz > LOWEST_HZ) & (hz < highest_hz)]
    inner = np.sort(inner[np.argsort(-level[inner])[:MOST_PEAKS]])
    # The logarithm of a Hann window's peak is near a parabola.
    left, mid, right = (np.log(power[inner + step] + 1e-30) for step in (-1, 0, 1))
    shift = 0.5 * (left - right) / np.minimum(left - 2 * mid + right, -1e-9)
    return Peaks(np.log((inner + np.clip(shift, -0.5, 0.5)) * hz_per_bin), level[inner])


def guess(peaks: Peaks, template: Template, highest_hz: float, like: Floats | None = None) -> Guess | None:
    """Which spoke explains the peaks best; None where none of them can be a spoke's.

    Parameters
    ----------
    peaks : of the short spectrum
    template : the spokes that it may be
    highest_hz : up to where partials can be heard
    like : ln of the pitches of other spokes, one of which it must be near; None: any
    """
    log_pitch, hold = _candidates(peaks, template)
    if like is not None and log_pitch.size:
        near_others = is_like(log_pitch, like)
        log_pitch, hold = log_pitch[near_others], hold[near_others]
    if not log_pitch.size:
        return None
    together, against = template.predicted(log_pitch, hold)
    near = _nearness(together, peaks.log_hz, OFF_TOGETHER if template.touching else OFF_SINGLE)
    spread = np.concatenate([near, _nearness(against, peaks.log_hz, OFF_AGAINST)], axis=1)
    strength = peaks.strength
    explained = (spread.max(axis=1) @ strength) / strength.sum()
    found = near.max(axis=2)
    score = explained - MISSING_COSTS * _missing(found, together, highest_hz) - STRAY_COSTS * (1 - explained)
    best = int(np.argmax(score))
    others = score[np.abs(log_pitch - log_pitch[best]) > SAME_PITCH]
    lead = float(score[best] - others.max()) if others.size else 1.0
    which = np.where(found[best] > 0.3, near[best].argmax(axis=1), -1)  # C, a choice: nearer than this it is found
    return Guess(float(log_pitch[best]), int(hold[best]), float(score[best]), lead, which)


def is_like(log_pitch: Floats, others: Floats) -> Bools:
    """Whether each pitch is near a good share of the others, as those of a wheel's spokes are, (c,)."""
    near = np.abs(log_pitch[:, None] - others) < LIKE
    return np.asarray(near.mean(axis=1) >= LIKE_SHARE)


def _candidates(peaks: Peaks, template: Template) -> tuple[Floats, Ints]:
    """Fundamentals that would make some peak one of the first partials, and the end hold of each."""
    rows = [
        (template.fundamentals(peaks.log_hz, number, hold), hold)
        for hold in range(len(HOLDS))
        for number in range(FIRST_TRIED)
    ]
    log_pitch = np.concatenate([row for row, _ in rows])
    hold = np.repeat([hold for _, hold in rows], peaks.log_hz.size)
    allowed = np.isfinite(log_pitch)
    return log_pitch[allowed], hold[allowed]


def _nearness(predicted: Floats, log_hz: Floats, off: Floats) -> Floats:
    """How well each peak is each partial, 0 to 1: (c, n, p)."""
    apart: Floats = (predicted[:, :, None] - log_hz) / off[: predicted.shape[1], None]
    return np.asarray(np.exp(-0.5 * apart**2))


def _missing(found: Floats, together: Floats, highest_hz: float) -> Floats:
    """Share of the partials that should be there, up to the highest found, but are not.

    Notes
    -----
    Small microphones lose the fundamental, so it counts half; higher ones may be missing because of where the spoke was
    plucked, so that each counts less.
    """
    number = np.arange(1, found.shape[1] + 1)
    weight = np.where(number == 1, 0.5, 1 / np.sqrt(number))
    # C, the same choice of what counts as found.
    highest = np.max(np.where(found > 0.3, number, 0), axis=1)
    audible = (number <= highest[:, None]) & (together < np.log(highest_hz)) & (together > np.log(LOWEST_HZ))
    wanted = weight * audible
    total = wanted.sum(axis=1)
    return np.asarray(1 - (wanted * found).sum(axis=1) / np.maximum(total, 1e-9))


# The share of a partial's frequency that the table may be off, growing with its number: the reading of a strong
# fundamental decides, the others help where it is weak.
TABLE_OFF = np.array([0.0004, 0.0012, 0.002, 0.003, 0.004, 0.005, 0.006, 0.007])
TOUCHING_OFF = np.array([0.0006, 0.002, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02])


@dataclass(frozen=True)
class Fine:
    """A pitch read finely: the fundamental [Hz], its standard uncertainty as a share, partials used, their misfit."""

    pitch: float
    share: float
    used: int
    misfit: float


def refined(power: Floats, hz_per_bin: float, hertz_of_window: float, first: Guess, template: Template) -> Fine | None:
    """The fundamental from all partials that the long spectrum shows.

    Parameters
    ----------
    power : spectrum of the long window, (bins,)
    hz_per_bin : of it
    hertz_of_window : half width of a peak [Hz]: 2 over the window's length
    first : what the short window said
    template : the spokes that it may be
    """
    places = [
        _partial(power, hz_per_bin, hertz_of_window, float(np.exp(log_hz)))
        for log_hz in template.predicted(np.array([first.log_pitch]), np.array([first.hold]))[0][0]
    ]
    seen = np.array([place is not None for place in places])
    if not seen.any():
        return None
    number = np.flatnonzero(seen)
    log_hz, read_off = np.array([place for place in places if place is not None]).T
    table_off = (TOUCHING_OFF if template.touching else TABLE_OFF)[number]
    return _weighted(log_hz, np.hypot(read_off, table_off), number, first, template)


def _weighted(log_hz: Floats, off: Floats, number: Ints, first: Guess, template: Template) -> Fine:
    """Weighted mean of what each partial says of the fundamental, for the end hold that makes them agree best."""
    best = Fine(0.0, 1.0, 0, np.inf)
    for hold in range(len(HOLDS)):
        ratio = template.predicted(np.array([first.log_pitch]), np.array([hold]))[0][0] - first.log_pitch
        says = log_hz - ratio[number]
        weight = 1 / off**2
        for _ in range(3):
            mean = np.sum(weight * says) / np.sum(weight)
            weight = 1 / (off**2 * np.maximum(1, ((says - mean) / (2 * off)) ** 2))
        misfit = float(np.sum(weight * (says - mean) ** 2) / max(number.size - 1, 1))
        if misfit < best.misfit:
            best = Fine(float(np.exp(mean)), float(np.sqrt(1 / np.sum(weight))), number.size, misfit)
    return best


def _partial(power: Floats, hz_per_bin: float, half_width: float, about: float) -> tuple[float, float] | None:
    """Ln of the peak's frequency near a place and its standard uncertainty, None where nothing stands out."""
    reach = max(0.012 * about, 3.0)  # C, a choice: a fifth of a semitone, or 3 Hz
    low, high = round((about - reach) / hz_per_bin), round((about + reach) / hz_per_bin)
    if low < 2 or high + 2 > power.size:
        return None
    top = low + int(np.argmax(power[low : high + 1]))
    if not (power[top] >= power[top - 1] and power[top] >= power[top + 1]):
        return None
    wide, inner = round(10 * half_width / hz_per_bin), round(1.5 * half_width / hz_per_bin)
    around = np.concatenate([power[max(top - wide, 0) : max(top - inner, 0)], power[top + inner : top + wide]])
    floor = float(np.median(around)) / np.log(2) + 1e-30
    above = float(power[top]) / floor
    if above < 10 ** (LEAST_DB / 10):
        return None
    left, mid, right = np.log(power[top - 1 : top + 2] + 1e-30)
    shift = float(np.clip(0.5 * (left - right) / min(left - 2 * mid + right, -1e-9), -0.5, 0.5))
    hz = (top + shift) * hz_per_bin
    return float(np.log(hz)), half_width / (2.0 * np.sqrt(above)) / hz
