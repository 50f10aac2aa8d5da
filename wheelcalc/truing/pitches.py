"""The pitches that one pluck may have, each with its evidence: which partials of a spoke the peaks of a short spectrum are."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.truing.templates import Template

SEEN = 0.3  # ours: how near a peak lies to a partial, from 0 to 1, to count as that partial seen
LOWEST_HZ = 100.0
# Ours: a peak counts from 12 dB above what is there all the time, and says no more above 45 dB.
LEAST_DB, MOST_DB = 12.0, 45.0
# Ours: of each range so many [Hz]: a key or a freewheel makes many high ones, but a spoke is told by its low partials.
RANGES = ((LOWEST_HZ, 1000.0, 10), (1000.0, 2500.0, 8), (2500.0, 6000.0, 6))
# A peak so near to one that is so much stronger is a side of it: [Hz], [dB].
SIDE_HZ, SIDE_DB = 45.0, 15.0
# How far a partial may lie from the table: real wire, its elbow; in a pair of unequal tensions modes push each other away.
OFF_SINGLE = np.array([0.006, 0.008, 0.01, 0.012, 0.014, 0.016, 0.018, 0.02])
OFF_EXACT = np.array([0.006, 0.003, 0.003, 0.003, 0.003, 0.003, 0.003, 0.003])
OFF_TOGETHER = np.array([0.006, 0.01, 0.025, 0.02, 0.02, 0.02, 0.02, 0.02])
OFF_AGAINST = np.array([0.015, 0.025, 0.025, 0.02, 0.02, 0.02, 0.02, 0.02])
FIRST_TRIED = 5  # a peak may be any of the first partials
TRIED, KEPT = 10, 5  # pitches read finely, and kept, for one sound
SAME_PITCH = 0.015
# Ours, chances: a peak of a plucked spoke is none of its partials, in a clean sound, in one with a knock in it, and where the rim,
# other spokes or the room ring along.
STRAY = (0.1, 0.5, 0.85)
STRAY_BELOW, BELOW = (0.04, 0.15, 0.6), 1.6  # below so many times the fundamental little else sounds
# Ours: a stray tells the less the fainter it is, nothing so far below the loudest [dB]: that much sounds in any room.
FAINTER = 40.0
KINDS = (0.6, 0.25, 0.15)  # ours: how often a sound is so
# Ours: a partial up to the highest heard is not heard. The first is lost in small microphones, the others where the spoke was
# plucked at their node.
NOT_HEARD = np.array([0.25, 0.2, 0.3, 0.35, 0.4, 0.45, 0.5, 0.5])
# D: peaks that are no partials lie anywhere on the logarithmic scale between lowest and highest frequency.
ANYWHERE = float(np.log(6000 / LOWEST_HZ))


@dataclass(frozen=True, eq=False)
class Peaks:
    """Peaks of a spectrum: ln of their frequencies [ln Hz], and how far they stand above the rest [dB], both (p,).

    `hidden` are those that may be new but were there before, (h,) [ln Hz].
    """

    log_hz: Floats
    level: Floats
    hidden: Floats

    @property
    def strength(self) -> Floats:
        """What each counts, 0 to 1."""
        return np.clip((self.level - LEAST_DB + 3) / (MOST_DB - LEAST_DB), 0, 1)


@dataclass(frozen=True)
class Guess:
    """One explanation of the peaks.

    Parameters
    ----------
    log_pitch : of the fundamental [ln Hz]
    hold : index of the end hold among the tabulated ones
    evidence : ln of how much likelier the peaks are than if they lay anywhere
    partials : for each partial the peak that it is, or -1
    """

    log_pitch: float
    hold: int
    evidence: float
    partials: Ints


def peaks_of(power: Floats, steady: Floats, before: Floats, hz_per_bin: float, highest_hz: float) -> Peaks:
    """The peaks that stand out, from a spectrum, what is there all the time, and what still sounds from before, all (bins,)."""
    level = 10 * np.log10((power + 1e-30) / (steady + before))
    tops = np.flatnonzero((power[1:-1] > power[:-2]) & (power[1:-1] >= power[2:])) + 1
    hz = tops * hz_per_bin
    tops = tops[(hz > LOWEST_HZ) & (hz < highest_hz)]
    inner = tops[level[tops] >= LEAST_DB]
    old = tops[(level[tops] < LEAST_DB) & (power[tops] > 10 ** (LEAST_DB / 10) * steady[tops])]
    beside = np.abs(inner[:, None] - inner) * hz_per_bin < SIDE_HZ
    inner = inner[~(beside & (level[inner] > level[inner][:, None] + SIDE_DB)).any(axis=1)]
    inner = np.sort(np.concatenate([_loudest(inner, level, hz_per_bin, *each) for each in RANGES]))
    # The logarithm of a Hann window's peak is near a parabola.
    left, mid, right = (np.log(power[inner + step] + 1e-30) for step in (-1, 0, 1))
    shift = 0.5 * (left - right) / np.minimum(left - 2 * mid + right, -1e-9)
    return Peaks(np.log((inner + np.clip(shift, -0.5, 0.5)) * hz_per_bin), level[inner], np.log(old * hz_per_bin))


def _loudest(places: Ints, level: Floats, hz_per_bin: float, low: float, high: float, most: int) -> Ints:
    """Of the peaks between two frequencies the loudest."""
    inside = places[(places * hz_per_bin >= low) & (places * hz_per_bin < high)]
    return inside[np.argsort(-level[inside])[:most]]


def guesses(peaks: Peaks, template: Template, highest_hz: float) -> list[Guess]:
    """The spokes that explain the peaks best, by pitch, best first; none where no peak can be a spoke's.

    Parameters
    ----------
    peaks : of the short spectrum
    template : the spokes that it may be
    highest_hz : up to where partials can be heard
    """
    log_pitch, hold = _candidates(peaks, template)
    if not log_pitch.size:
        return []
    evidence, near = _evidence(peaks, template, highest_hz, log_pitch, hold)
    out: list[Guess] = []
    for best in np.argsort(-evidence).tolist():
        if all(abs(log_pitch[best] - each.log_pitch) > SAME_PITCH for each in out):
            found = near[best].max(axis=1)
            which = np.where(found > 0.3, near[best].argmax(axis=1), -1)  # ours: nearer than this it is found
            out.append(Guess(float(log_pitch[best]), int(hold[best]), float(evidence[best]), which))
            if len(out) == TRIED:
                break
    return out


def evidence_of(peaks: Peaks, template: Template, highest_hz: float, log_pitch: Floats, hold: Ints) -> Floats:
    """Ln of how much likelier peaks are with each of these fundamentals than if they lay anywhere, (c,)."""
    if not (peaks.log_hz.size and log_pitch.size):
        return np.zeros(log_pitch.size)
    return _evidence(peaks, template, highest_hz, log_pitch, hold)[0]


def _candidates(peaks: Peaks, template: Template) -> tuple[Floats, Ints]:
    """Fundamentals that would make some peak one of the first partials, and the end hold of each."""
    rows = [
        (template.fundamentals(peaks.log_hz, number, hold), hold)
        for hold in range(template.holds)
        for number in range(FIRST_TRIED)
    ]
    log_pitch = np.concatenate([row for row, _ in rows])
    hold = np.repeat([hold for _, hold in rows], peaks.log_hz.size)
    allowed = np.isfinite(log_pitch)
    return log_pitch[allowed], hold[allowed]


def _evidence(
    peaks: Peaks, template: Template, highest_hz: float, log_pitch: Floats, hold: Ints
) -> tuple[Floats, Floats]:
    """Of each candidate (c,), and how near each peak is to each partial, (c, n, p).

    Notes
    -----
    Ln of a likelihood ratio, the peaks taken as independent, each counted by its strength: one that is a partial lies about it
    normally and not anywhere; one that is none is a stray, which a pluck has few of. Partials that lack cost what it is unusual
    to miss them, more in a loud sound.
    """
    together, against = template.predicted(log_pitch, hold)
    off = (OFF_EXACT if template.exact else OFF_TOGETHER if template.touching else OFF_SINGLE)[: together.shape[1]]
    near = _nearness(together, peaks.log_hz, off)
    nearer = _nearness(against, peaks.log_hz, OFF_AGAINST[: against.shape[1]])
    strength = peaks.strength
    out = _gain(near, off, strength) + _gain(nearer, OFF_AGAINST[: against.shape[1]], strength)
    explained = np.concatenate([near, nearer], axis=1).max(axis=1)
    low = peaks.log_hz < log_pitch[:, None] + np.log(BELOW)
    telling = strength * np.clip(1 - (peaks.level.max() - peaks.level) / FAINTER, 0, 1)
    kinds = [
        np.log(stray + (1 - stray) * explained) @ telling + np.log(chance)
        for stray, chance in (
            (np.where(low, below, above), chance)
            for below, above, chance in zip(STRAY_BELOW, STRAY, KINDS, strict=True)
        )
    ]
    out += np.logaddexp.reduce(kinds)
    found = near.max(axis=2, initial=0.0)
    number = np.arange(1, found.shape[1] + 1)
    highest = np.max(np.where(found > SEEN, number, 0), axis=1)
    audible = (number <= highest[:, None]) & (together < np.log(highest_hz)) & (together > np.log(LOWEST_HZ))
    # Ours: in a sound that hardly stands out it says nothing that a partial is not seen, 20 dB higher all.
    clear = np.clip((peaks.level.max() - LEAST_DB) / 20, 0, 1)
    hidden = _nearness(together, peaks.hidden, off).max(axis=2, initial=0.0)
    out += clear * ((1 - np.maximum(found, hidden)) * audible) @ np.log(NOT_HEARD[: found.shape[1]])
    return out, near


def _gain(near: Floats, off: Floats, strength: Floats) -> Floats:
    """What the peaks near partials tell, each partial by its best peak, (c,)."""
    if not near.shape[1]:
        return np.zeros(near.shape[0])
    # D: height of a normal density over an even one, shared among the partials that it may be.
    height = ANYWHERE / (off * np.sqrt(2 * np.pi) * near.shape[1])
    told = np.log1p(near * np.maximum(height - 1, 0)[:, None]) * strength
    return np.asarray(told.max(axis=2, initial=0.0).sum(axis=1))


def _nearness(predicted: Floats, log_hz: Floats, off: Floats) -> Floats:
    """How well each peak is each partial, 0 to 1: (c, n, p)."""
    apart: Floats = (predicted[:, :, None] - log_hz) / off[:, None]
    return np.asarray(np.exp(-0.5 * apart**2))


# The share of a partial's frequency that the table may be off, growing with its number: the reading of a strong
# fundamental decides, the others help where it is weak.
TABLE_OFF = np.array([0.0004, 0.0012, 0.002, 0.003, 0.004, 0.005, 0.006, 0.007])
TOUCHING_OFF = np.array([0.0006, 0.002, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02])


# Ours: a fall of pitch from the first half of the window to the second is a glide where it is more than so many errors of reading, less
# than this share, and most of the power is gone meanwhile; the rest stays as uncertainty.
GLIDE_SURE, MOST_GLIDE, STILL_LOUD, GLIDE_OFF = 2.0, 0.006, 0.7, 0.3
REACH = 0.012  # C, a choice: a partial is looked for a fifth of a semitone about its place
# Ours: where the others leave it less sure than this, the fundamental is looked for so many of their errors about.
LOOSE, FURTHER = 0.004, 2.5
# Ours: peaks so near (of the frequency) are the swing of one spoke, shared with rim and neighbours; less than so much of the
# largest is noise; peaks are not heard alike, so that their mean is off by a share of their spread.
CLUSTER, FAINT, SPREAD_TELLS = 0.02, 0.05, 1.2
# D: standard deviation of the power of a Hann window's peak over half its width: 0.26 undamped, 0.29 falling to 1/e in a quarter of it.
ONE_PEAK = 0.28


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
    fine = _weighted(log_hz, np.hypot(read_off, table_off), number, first, template)
    if seen[0] or fine.share < LOOSE:
        return fine
    # The fundamental lay further off than was looked: the others say where it is.
    own = _partial(power, hz_per_bin, hertz_of_window, fine.pitch, FURTHER * fine.share)
    return (
        fine if own is None else replace(fine, pitch=float(np.exp(own[0])), share=float(np.hypot(own[1], TABLE_OFF[0])))
    )


def _weighted(log_hz: Floats, off: Floats, number: Ints, first: Guess, template: Template) -> Fine:
    """Weighted mean of what each partial says of the fundamental, for the end hold that makes them agree best."""
    holds = np.arange(template.holds)
    ratio = template.predicted(np.full(holds.size, first.log_pitch), holds)[0] - first.log_pitch
    says = log_hz - ratio[:, number]
    weight = np.broadcast_to(1 / off**2, says.shape)
    for _ in range(3):
        mean = ((weight * says).sum(axis=1) / weight.sum(axis=1))[:, None]
        weight = 1 / (off**2 * np.maximum(1, ((says - mean) / (2 * off)) ** 2))
    misfit = (weight * (says - mean) ** 2).sum(axis=1) / max(number.size - 1, 1)
    best = int(np.argmin(misfit))
    share = float(1 / np.sqrt(weight[best].sum()))
    return Fine(float(np.exp(mean[best, 0])), share, number.size, float(misfit[best]))


def _partial(
    power: Floats, hz_per_bin: float, half_width: float, about: float, least_reach: float = REACH
) -> tuple[float, float] | None:
    """Ln of a partial's frequency near a place and its standard uncertainty, None where nothing stands out.

    Notes
    -----
    A spoke that shares its swing with rim and neighbours rings at several frequencies close by; their mean, weighted by
    power, is what it has alone (D: the mean square frequency of a swing spread over modes is that of the swing held by itself),
    as far as all of them are heard alike.
    """
    reach = max(least_reach * about, 3.0)  # C, a choice: or 3 Hz
    low, high = round((about - reach) / hz_per_bin), round((about + reach) / hz_per_bin)
    if low < 2 or high + 2 > power.size:
        return None
    inside = power[low - 1 : high + 2]
    tops = np.flatnonzero((inside[1:-1] >= inside[:-2]) & (inside[1:-1] >= inside[2:]))
    if not tops.size:
        return None
    top = low + int(tops[np.argmax(power[low + tops])])
    wide, inner = round(10 * half_width / hz_per_bin), round(1.5 * half_width / hz_per_bin)
    around = np.concatenate([power[max(top - wide, 0) : max(top - inner, 0)], power[top + inner : top + wide]])
    ordered = np.sort(around)  # some hundred values: numpy's median takes longer to begin than this to end
    floor = float(ordered[(ordered.size - 1) // 2] + ordered[ordered.size // 2]) / 2 / np.log(2) + 1e-30
    above = float(power[top]) / floor
    if above < 10 ** (LEAST_DB / 10):
        return None
    mean, spread = _cluster(power, top, hz_per_bin, half_width)
    hz = mean * hz_per_bin
    read = half_width / (2.0 * np.sqrt(above))
    return float(np.log(hz)), float(np.hypot(read, SPREAD_TELLS * spread * hz_per_bin)) / hz


def _cluster(power: Floats, top: int, hz_per_bin: float, half_width: float) -> tuple[float, float]:
    """Mean of the peaks about the largest, weighted by power, and their spread beyond that of one peak [bins]."""
    mean, spread = float(top), 0.0
    for _ in range(2):
        reach = max(round(CLUSTER * mean), round(half_width / hz_per_bin))
        place = np.arange(max(round(mean) - reach, 0), min(round(mean) + reach + 1, power.size))
        weight = np.maximum(power[place] - FAINT * power[top], 0)
        mean = float(np.sum(weight * place) / np.sum(weight))
        spread = float(np.sum(weight * (place - mean) ** 2) / np.sum(weight))
    return mean, max(spread - (ONE_PEAK * half_width / hz_per_bin) ** 2, 0.0) ** 0.5


def at_rest(fine: Fine, first: Floats, second: Floats, hz_per_bin: float, half_width: float) -> Fine:
    """A pitch freed of its glide, from the spectra of the first and the second half of the window (half width of a peak as theirs).

    Notes
    -----
    D: a swing of amplitude a stretches the wire, so that its pitch stands above the resting one by a share that goes with a^2, that
    is with the power. With the power's ratio q from half to half the first reads D above rest, the second q D, and the
    middle of a Hann window over both sqrt(q) D.
    """
    early, late = (_top(each, hz_per_bin, fine.pitch) for each in (first, second))
    if early is None or late is None:
        return fine
    floor = float(
        np.median(second[round(0.85 * fine.pitch / hz_per_bin) : round(1.15 * fine.pitch / hz_per_bin)])
    ) / np.log(2)
    left = max(late[1] - floor, 0.0) / early[1]
    fall = (early[0] - late[0]) / fine.pitch
    read = half_width / (2.0 * np.sqrt(max(late[1] / (floor + 1e-30), 1.0))) / fine.pitch
    if not (GLIDE_SURE * read < fall < MOST_GLIDE and left < STILL_LOUD):
        return fine
    over = fall * left**0.5 / (1 - left)
    return replace(fine, pitch=fine.pitch * (1 - over), share=float(np.hypot(fine.share, GLIDE_OFF * over)))


def _top(power: Floats, hz_per_bin: float, about: float) -> tuple[float, float] | None:
    """Frequency [Hz] and power of the largest peak near a place, None where it is at the edge."""
    low, high = round((1 - REACH) * about / hz_per_bin), round((1 + REACH) * about / hz_per_bin)
    top = low + int(np.argmax(power[low : high + 1])) if 0 < low < high < power.size else 0
    if not low < top < high:
        return None
    left, mid, right = np.log(power[top - 1 : top + 2] + 1e-30)
    shift = float(np.clip(0.5 * (left - right) / min(left - 2 * mid + right, -1e-9), -0.5, 0.5))
    return (top + shift) * hz_per_bin, float(power[top])
