"""From a recording to sounds that may be plucks: when each began, the pitches that it may have, and the evidence for each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.measuring.spectra import decimated, spectra, steady_floor
from wheelcalc.truing import pitches, plucks
from wheelcalc.truing.pitches import Fine, Guess
from wheelcalc.truing.templates import Template, voices
from wheelcalc.wheel.errors import InputError

# Ours: the short window that says which spoke partials these are, and the long one that reads the pitch. From 25 ms after
# the start, when finger and rim have gone quiet.
SHORT, SHORT_FROM = 0.128, 0.012
LONG, LONG_FROM, LONG_LEAST = 0.5, 0.025, 0.09
HIGHEST_HZ = 6000.0
LEAST_SECONDS = 0.4
# Ours: a spoke's partials lose this much from the first short window to the next; a steady tone less, a knock more; and they
# keep their pitch, as a voice does not. Automatic gain hides some of the loss.
LEAST_LOSS_DB, MOST_LOSS_DB, MOST_MOVED = 0.3, 24.0, 0.014
DOES_NOT_RING, RINGS = -3.0, 0.7  # ln of likelihood ratios
VOICES = voices(70.0, 1200.0)  # Hz
# Ours: plucks are further apart than this [s]; a window ends so long before the next.
SOONEST, BEFORE_NEXT = 0.2, 0.008
BEFORE_START = 0.003  # s, ours: what was before is looked at up to here, so that the start stays out
# Ours: of what sounded before, so much is still there and hides what is new; the spoke plucked before may ring at the same pitch.
STILL = 0.125
# Ours: in the long window knock and rim have died, but it holds the same partials as the short one: both tell in the mean, it a third.
LONG_SHARE = 1 / 3


@dataclass(frozen=True, eq=False)
class Sounding:
    """A sound that begins in a recording.

    Parameters
    ----------
    at : when [s]
    log_pitch : ln of the fundamentals that it may have [ln Hz], likeliest first, (k,)
    share : standard uncertainty of each as a share of it, (k,)
    evidence : ln of how much likelier what is heard is with each than without a pluck, (k,)
    voice : ln of that with whole multiples of any fundamental, as voices and instruments have
    loud : power that is new in its first window, against the loudest window [dB]
    """

    at: float
    log_pitch: Floats
    share: Floats
    evidence: Floats
    voice: float
    loud: float


def soundings(
    sound: Floats, rate: float, wires: Sequence[Sequence[Template]], tell: Callable[[float], None] | None = None
) -> list[list[Sounding]]:
    """The sounds in a recording that may be plucks, in order, once for each wire that it may be.

    Parameters
    ----------
    sound : (samples,), of any loudness
    rate : samples a second [Hz]
    wires : for each wire that it may be the templates of the kinds of spokes that the wheel has
    tell : called with the share that is done

    Raises
    ------
    InputError
        If it is too short or silent.
    """
    if sound.size < LEAST_SECONDS * rate:
        raise InputError("", f"is {sound.size / rate:.2f} s long; a pluck needs {LEAST_SECONDS:g} s to be heard")
    loudest = float(np.max(np.abs(sound)))
    if loudest == 0:
        raise InputError("", "is silent; check which microphone was recorded")
    listener = _Listener.of(sound / loudest, rate, wires)
    starts = plucks.onsets(listener.sound, listener.rate)
    out: list[list[Sounding]] = [[] for _ in wires]
    for number, start in enumerate(starts):
        for row, each in zip(out, listener.sounding(float(start), listener.end(float(start), starts)), strict=True):
            row.append(each)
        if tell:
            tell((number + 1) / len(starts))
    return out


@dataclass(frozen=True, eq=False)
class _Long:
    """The long window of a sound: its spectrum, its length [s], the spectra of its halves, and the peaks that are new in it."""

    power: Floats
    seconds: float
    halves: tuple[Floats, Floats]
    peaks: pitches.Peaks


@dataclass(frozen=True, eq=False)
class _Listener:
    """A recording at its working rate, with what is in it all the time."""

    sound: Floats
    rate: float
    wires: Sequence[Sequence[Template]]
    steady: Floats
    size: int
    loudest: float

    @classmethod
    def of(cls, sound: Floats, rate: float, wires: Sequence[Sequence[Template]]) -> _Listener:
        slow, slow_rate = decimated(sound - np.mean(sound), rate, plucks.WORKING_RATE)
        size = 2 ** int(np.ceil(np.log2(2 * SHORT * slow_rate)))
        power = spectra(slow, slow_rate, SHORT, SHORT / 2, size)
        return cls(slow, slow_rate, wires, steady_floor(power), size, float(power.sum(axis=1).max()))

    @property
    def highest(self) -> float:
        """Up to where partials are looked for [Hz]."""
        return min(HIGHEST_HZ, 0.45 * self.rate)  # below half the rate, where nothing is left

    @property
    def _heard(self) -> slice:
        return slice(int(pitches.LOWEST_HZ * self.size / self.rate), int(self.highest * self.size / self.rate))

    def end(self, start: float, starts: Floats) -> float:
        """Up to where a pluck can be listened to: nobody plucks twice so soon, so a click soon after it is overheard."""
        later = starts[starts > start + SOONEST]
        return float(later[0]) - BEFORE_NEXT if later.size else self.sound.size / self.rate

    def sounding(self, start: float, end: float) -> list[Sounding]:
        """What begins at a moment, for each wire that it may be."""
        now = self._spectrum(start + SHORT_FROM, SHORT, self.size)
        before = self._spectrum(start - SHORT - BEFORE_START, SHORT, self.size)
        peaks = pitches.peaks_of(now, self.steady, STILL * before, self.rate / self.size, self.highest)
        new = np.maximum(now - before - self.steady, 0)[self._heard].sum()
        loud = float(10 * np.log10(max(new / self.loudest, 1e-12)))
        voice = max((guess.evidence for guess in pitches.guesses(peaks, VOICES, self.highest)), default=0.0)
        later = (
            self._spectrum(start + SHORT_FROM + SHORT, SHORT, self.size)
            if end - start > SHORT_FROM + 2 * SHORT
            else None
        )
        long = self._long(start, end)
        out = []
        for templates in self.wires:
            read = [row for template in templates for row in self._read(template, peaks, now, later, long)]
            kept: list[tuple[float, Fine]] = []
            for evidence, fine in sorted(read, key=lambda row: -row[0]):
                apart = all(abs(np.log(fine.pitch / other.pitch)) > pitches.SAME_PITCH for _, other in kept)
                if apart and len(kept) < pitches.KEPT:
                    kept.append((evidence, fine))
            logs, shares = np.log([fine.pitch for _, fine in kept]), np.array([fine.share for _, fine in kept])
            out.append(Sounding(start, logs, shares, np.array([evidence for evidence, _ in kept]), voice, loud))
        return out

    def _read(
        self, template: Template, peaks: pitches.Peaks, now: Floats, later: Floats | None, long: _Long | None
    ) -> list[tuple[float, Fine]]:
        """The pitches that a sound may have as a spoke of one kind, read finely, with their evidence."""
        if long is None or not peaks.log_hz.size:
            return []
        rows = []
        for guess in pitches.guesses(peaks, template, self.highest):
            fine = pitches.refined(long.power, self._long_hz, 2 / long.seconds, guess, template)
            if fine:
                rings = 0.0 if later is None else self._rings(now, later, peaks, guess)
                fine = pitches.at_rest(fine, *long.halves, self._long_hz, 4 / max(long.seconds, LONG_LEAST))
                rows.append((guess.evidence, rings, fine, guess.hold))
        logs = np.log([fine.pitch for _, _, fine, _ in rows])
        holds = np.array([hold for *_, hold in rows], int)
        rung = pitches.evidence_of(long.peaks, template, self.highest, logs, holds).tolist()

        def mean(short: float, long: float) -> float:
            return (1 - LONG_SHARE) * short + LONG_SHARE * long

        return [
            (rings + (mean(evidence, more) if rings >= 0 else evidence), fine)
            for (evidence, rings, fine, _), more in zip(rows, rung, strict=True)
        ]

    def _spectrum(self, start: float, seconds: float, size: int) -> Floats:
        """Power spectrum of a Hann window that begins at a moment; beyond the recording there is silence."""
        length = round(seconds * self.rate)
        begin = round(start * self.rate)
        piece = np.zeros(length)
        inside = self.sound[max(begin, 0) : max(begin + length, 0)]
        piece[max(-begin, 0) : max(-begin, 0) + inside.size] = inside
        return np.abs(np.fft.rfft(piece * np.hanning(length), size)) ** 2

    @property
    def _long_size(self) -> int:
        return int(2 ** int(np.ceil(np.log2(4 * LONG * self.rate))))

    @property
    def _long_hz(self) -> float:
        return self.rate / self._long_size

    def _long(self, start: float, end: float) -> _Long | None:
        """The window that reads the pitch; None where the next sound is too near."""
        seconds = min(LONG, end - start - LONG_FROM)
        if seconds < LONG_LEAST:
            return None
        power = self._spectrum(start + LONG_FROM, seconds, self._long_size)
        first, second = (
            self._spectrum(start + LONG_FROM + late, seconds / 2, self._long_size) for late in (0.0, seconds / 2)
        )
        # D: the power of noise in a window grows with its length, that of a tone with the square of it.
        longer = seconds / SHORT
        before = self._spectrum(start - SHORT - BEFORE_START, SHORT, self._long_size)
        hz = np.arange(power.size) * self._long_hz
        steady = np.interp(hz, np.arange(self.steady.size) * self.rate / self.size, self.steady)
        peaks = pitches.peaks_of(power, longer * steady, STILL * longer**2 * before, self._long_hz, self.highest)
        return _Long(power, seconds, (first, second), peaks)

    def _rings(self, now: Floats, later: Floats, peaks: pitches.Peaks, guess: Guess) -> float:
        """Ln of how much likelier it is that the partials die so, and keep their pitch so, of a spoke than of another sound."""
        which = np.unique(guess.partials[guess.partials >= 0])
        strongest = which[np.argsort(-peaks.level[which])[:3]]
        if not strongest.size:
            return DOES_NOT_RING
        bins = np.round(np.exp(peaks.log_hz[strongest]) * self.size / self.rate).astype(int)
        lost = 10 * np.log10(
            _around(now, bins).max(axis=1) / np.maximum(_around(later, bins).max(axis=1), self.steady[bins])
        )
        # Ours: a partial is looked for within 2 per cent of its place.
        moved = np.abs(_around(later, bins, 0.02).argmax(axis=1) - _around(now, bins, 0.02).argmax(axis=1)) / bins
        rings = LEAST_LOSS_DB < np.median(lost) < MOST_LOSS_DB and np.median(moved) < MOST_MOVED
        return RINGS if rings else DOES_NOT_RING


def _around(power: Floats, bins: Ints, reach: float = 0.0) -> Floats:
    """A spectrum from 3 bins (or a share) below to above each place, (places, width)."""
    wide = max(3, int(reach * int(np.max(bins))))
    around: Floats = power[np.clip(bins[:, None] + np.arange(-wide, wide + 1), 0, power.size - 1)]
    return around
