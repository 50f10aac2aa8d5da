"""From a recording to plucks: when, at which pitch, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.truing import pitches, plucks
from wheelcalc.truing.pitches import Fine, Guess, Peaks
from wheelcalc.truing.templates import Template
from wheelcalc.wheel.errors import InputError

# C, choices, tried on synthetic plucks: the short window that says which spoke partials these are, and the long one
# that reads the pitch. From 25 ms after the start, when finger and rim have gone quiet.
SHORT, SHORT_FROM = 0.128, 0.012
LONG, LONG_FROM, LONG_LEAST = 0.5, 0.025, 0.09
HIGHEST_HZ = 6000.0
# Below this a sound is no pluck; below the second it is one, but its pitch may be wrong.
LEAST_CONFIDENCE, DOUBTFUL = 0.3, 0.5
LEAST_SECONDS = 0.4
# A spoke's partials lose this much from the first short window to the next; a steady tone less, a knock more; and they
# keep their pitch, as a voice does not.
LEAST_LOSS_DB, MOST_LOSS_DB, MOST_MOVED = 0.8, 24.0, 0.014
QUICK_LOSS_DB = 8.0
# D: logistic regression on some 1800 synthetic plucks, knocks, tones and syllables. On: score, lead, partials used, dB that
# even the slowest partial loses too quickly.
CONSTANT, WEIGHTS = -4.1, (4.1, 5.4, 1.5, -0.37)
# C: where less of what was struck than this rings like a spoke, the recording is of something else.
LEAST_SHARE = 0.25
# C: two plucks are further apart than this [s]; a window ends so long before the next.
SOONEST, BEFORE_NEXT = 0.2, 0.008
# C: with so many sure plucks the others are looked at again beside them; one far from all others is doubted.
ENOUGH, DOUBTED = 5, 0.45


@dataclass(frozen=True)
class Pluck:
    """One pluck.

    Parameters
    ----------
    at : when it began [s]
    pitch : of its fundamental [Hz]
    share : standard uncertainty of the pitch, as a share of it
    confidence : 0 to 1 that it is a pluck and that this is its fundamental
    """

    at: float
    pitch: float
    share: float
    confidence: float

    @property
    def doubtful(self) -> bool:
        """Whether to pluck this spoke again."""
        return self.confidence < DOUBTFUL


def heard(sound: Floats, rate: float, templates: Sequence[Template]) -> list[Pluck]:
    """The plucks in a recording, in order.

    Parameters
    ----------
    sound : (samples,), of any loudness
    rate : samples a second [Hz]
    templates : of the kinds of spokes that the wheel has

    Raises
    ------
    InputError
        If it is too short, silent, or holds no pluck.
    """
    if sound.size < LEAST_SECONDS * rate:
        raise InputError("", f"is {sound.size / rate:.2f} s long; a pluck needs {LEAST_SECONDS:g} s to be heard")
    loudest = float(np.max(np.abs(sound)))
    if loudest == 0:
        raise InputError("", "is silent; check which microphone was recorded")
    return _Listener.of(sound / loudest, rate, templates).plucks()


@dataclass(frozen=True, eq=False)
class _Listener:
    """A recording at its working rate, with what is in it all the time."""

    sound: Floats
    rate: float
    templates: Sequence[Template]
    steady: Floats
    size: int

    @classmethod
    def of(cls, sound: Floats, rate: float, templates: Sequence[Template]) -> _Listener:
        slow, slow_rate = plucks.decimated(sound - np.mean(sound), rate)
        size = 2 ** int(np.ceil(np.log2(2 * SHORT * slow_rate)))
        steady = plucks.steady_floor(plucks.spectra(slow, slow_rate, SHORT, SHORT / 2, size))
        return cls(slow, slow_rate, templates, steady, size)

    @property
    def highest(self) -> float:
        """Up to where partials are looked for [Hz]."""
        return min(HIGHEST_HZ, 0.45 * self.rate)  # C: below half the rate, where nothing is left

    def plucks(self) -> list[Pluck]:
        """All plucks."""
        starts = plucks.onsets(self.sound, self.rate)
        ends = [self._end(start, starts) for start in starts]
        spans = list(zip(starts, ends, strict=True))
        found = [self.pluck(*span) for span in spans]
        sure_ones = np.log([pluck.pitch for pluck in found if pluck and not pluck.doubtful])
        if sure_ones.size >= ENOUGH:
            found = [self._beside_others(pluck, span, sure_ones) for pluck, span in zip(found, spans, strict=True)]
        good = _apart([pluck for pluck in found if pluck is not None and pluck.confidence >= LEAST_CONFIDENCE])
        sure = sum(not pluck.doubtful for pluck in good)
        if sure < max(1, LEAST_SHARE * len(starts)):
            raise InputError(
                "",
                f"{len(starts)} sounds begin in it and {sure} of them {'rings' if sure == 1 else 'ring'} like a spoke of this "
                "wheel; pluck one spoke after the other in a quiet room, the microphone a hand's breadth from the rim",
            )
        return good

    def _end(self, start: float, starts: Floats) -> float:
        """Up to where a pluck can be listened to: nobody plucks twice so soon, so a click soon after it is overheard."""
        later = starts[starts > start + SOONEST]
        return float(later[0]) - BEFORE_NEXT if later.size else self.sound.size / self.rate

    def _beside_others(self, pluck: Pluck | None, span: tuple[float, float], others: Floats) -> Pluck | None:
        """A pluck looked at again, now that the pitches of the surer ones are known."""
        if pluck is not None and not pluck.doubtful:
            rest = others[np.abs(others - np.log(pluck.pitch)) > 1e-9]
            alone = not pitches.is_like(np.log([pluck.pitch]), rest)[0]
            return replace(pluck, confidence=min(pluck.confidence, DOUBTED)) if alone else pluck
        again = self.pluck(*span, like=others)
        if again is None or again.confidence <= (pluck.confidence if pluck else 0.0):
            return pluck
        return replace(again, confidence=min(again.confidence, DOUBTED))

    def pluck(self, start: float, end: float, like: Floats | None = None) -> Pluck | None:
        """What begins at a moment, if it is a pluck; `like` as in `pitches.guess`."""
        now = self._spectrum(start + SHORT_FROM, SHORT, self.size)
        before = self._spectrum(start - SHORT - 0.003, SHORT, self.size)  # C: 3 ms, so that the start stays out
        peaks = pitches.peaks_of(now, self.steady + before, self.rate / self.size, self.highest)
        guesses = [
            (pitches.guess(peaks, each, self.highest, like), each) for each in self.templates if peaks.log_hz.size
        ]
        known = [(each, template) for each, template in guesses if each is not None]
        if not known:
            return None
        first, template = max(known, key=lambda pair: pair[0].score)
        fine = self._fine(start, end, first, template)
        if fine is None:
            return None
        sure = self._confidence(start, now, peaks, first, fine)
        # What begins anew before the second short window ends hides whether it rings; two higher partials may be chance.
        told = end - start > SHORT_FROM + 2 * SHORT and (first.partials[0] >= 0 or np.sum(first.partials >= 0) > 2)
        return Pluck(start, fine.pitch, fine.share, sure if told else min(sure, DOUBTED))

    def _spectrum(self, start: float, seconds: float, size: int) -> Floats:
        """Power spectrum of a Hann window that begins at a moment; beyond the recording there is silence."""
        length = round(seconds * self.rate)
        begin = round(start * self.rate)
        piece = np.zeros(length)
        inside = self.sound[max(begin, 0) : max(begin + length, 0)]
        piece[max(-begin, 0) : max(-begin, 0) + inside.size] = inside
        return np.abs(np.fft.rfft(piece * np.hanning(length), size)) ** 2

    def _fine(self, start: float, end: float, first: Guess, template: Template) -> Fine | None:
        seconds = min(LONG, end - start - LONG_FROM)
        if seconds < LONG_LEAST:
            return None
        size = 2 ** int(np.ceil(np.log2(4 * LONG * self.rate)))
        power = self._spectrum(start + LONG_FROM, seconds, size)
        return pitches.refined(power, self.rate / size, 2 / seconds, first, template)

    def _confidence(self, start: float, now: Floats, peaks: Peaks, first: Guess, fine: Fine) -> float:
        """How sure it is that this is a pluck and this its fundamental, 0 to 1."""
        which = np.unique(first.partials[first.partials >= 0])
        strongest = which[np.argsort(-peaks.level[which])[:3]]
        if not strongest.size:
            return 0.0
        later = self._spectrum(start + SHORT_FROM + SHORT, SHORT, self.size)
        bins = np.round(np.exp(peaks.log_hz[strongest]) * self.size / self.rate).astype(int)
        lost = 10 * np.log10(
            _around(now, bins).max(axis=1) / np.maximum(_around(later, bins).max(axis=1), self.steady[bins])
        )
        # C, a choice: a partial is looked for within 2 per cent of its place.
        moved = np.abs(_around(later, bins, 0.02).argmax(axis=1) - _around(now, bins, 0.02).argmax(axis=1)) / bins
        rings = LEAST_LOSS_DB < np.median(lost) < MOST_LOSS_DB and np.median(moved) < MOST_MOVED
        if not rings:
            return 0.0
        evidence = (first.score, min(first.lead, 1.0), min(fine.used, 4), max(float(np.min(lost)) - QUICK_LOSS_DB, 0.0))
        return float(1 / (1 + np.exp(-CONSTANT - np.dot(WEIGHTS, evidence))))


def _apart(found: list[Pluck]) -> list[Pluck]:
    """Without those that lie so near to a surer one that both cannot be plucks."""
    return [
        one
        for one in found
        if not any(abs(one.at - each.at) < SOONEST and each.confidence > one.confidence for each in found)
    ]


def _around(power: Floats, bins: Ints, reach: float = 0.0) -> Floats:
    """A spectrum from 3 bins (or a share) below to above each place, (places, width)."""
    wide = max(3, int(reach * int(np.max(bins))))
    around: Floats = power[np.clip(bins[:, None] + np.arange(-wide, wide + 1), 0, power.size - 1)]
    return around
