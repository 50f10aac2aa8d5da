"""What a recording of taps is worked out from, held against sums written out: levels, filters, floors, peaks of both recordings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from wheelcalc.arrays import Floats
from wheelcalc.measuring import tapped as tapping
from wheelcalc.measuring.mode_fit import Fit, Mode, Peak, Told
from wheelcalc.measuring.rim_modes import BareRim, lateral_hz, radial_hz
from wheelcalc.measuring.ringing import Ringing, ringing
from wheelcalc.measuring.spectra import decimated, spectra, steady_floor
from wheelcalc.wheel.errors import InputError

RATE = 6000.0
TAPS = (0.5, 2.1, 3.9, 5.4)
SECONDS = 7.0


def rung(tones: Sequence[tuple[float, float, float]], loud: Sequence[float] = (1.0, 1.0, 1.0, 1.0)) -> Floats:
    """Tones (Hz, amplitude, seconds to fall to 1 / e) struck at each of the taps, with a little hiss."""
    time = np.arange(round(SECONDS * RATE)) / RATE
    out = 1e-5 * np.random.default_rng(3).normal(size=time.size)
    for start, much in zip(TAPS, loud, strict=True):
        later = np.maximum(time - start, 0.0)
        for hz, amplitude, fall in tones:
            out += much * amplitude * np.exp(-later / fall) * np.sin(2 * np.pi * hz * later)
    return out


def by_sum(sound: Floats, hz: float, begin: float, seconds: float) -> float:
    """D: power of a frequency in a piece under a Hann window, by its Fourier sum, of the sound at its rate as it came."""
    piece = sound[round(begin * RATE) :][: round(seconds * RATE)]
    window = np.hanning(piece.size)
    turned = np.exp(-2j * np.pi * hz * np.arange(piece.size) / RATE)
    return float(np.abs(np.sum(window * piece * turned) / np.sum(window)) ** 2)


@pytest.mark.parametrize("loud", [(1.0, 1.0, 1.0, 1.0), (1.0, 0.5, 0.3, 0.7)])
def test_levels_after_and_before_taps_are_fourier_sums(loud: Sequence[float]) -> None:
    """From 0.03 s after a tap for 0.75 s; and the end of what is left to ring before the next, half of it at most; mean powers."""
    sound = rung([(163.0, 0.2, 1.4), (472.0, 0.3, 0.7)], loud)
    heard = ringing(sound, RATE)
    # a tap is found in the frame of 64 ms that it ends
    assert np.all((heard.taps > np.array(TAPS) - 0.05) & (heard.taps <= TAPS))
    assert_allclose(heard.peaks, [163.0, 472.0], atol=0.1)
    assert heard.steady.size == 0
    begins, ends = heard.taps + 0.03, [*(heard.taps[1:] - 0.03), SECONDS]
    scale = np.abs(sound).max() ** 2
    for hz in (163.0, 472.0):
        place = int(np.argmin(np.abs(heard.hz - hz)))
        at = float(heard.hz[place])
        after = np.mean([by_sum(sound, at, begin, 0.75) for begin in begins])
        half = [min(0.75, (end - begin) / 2) for begin, end in zip(begins, ends, strict=True)]
        before = [by_sum(sound, at, end - each, each) for end, each in zip(ends, half, strict=True)]
        lead = by_sum(sound, at, heard.taps[0] - 0.33, 0.3)
        assert heard.after[place] == pytest.approx(10 * math.log10(after / scale), abs=0.1)
        assert heard.before[place] == pytest.approx(10 * math.log10(np.mean([*before, lead]) / scale), abs=0.1)
        assert heard.level(hz) == pytest.approx(heard.after[place], abs=0.01)


def test_where_a_peak_lies_between_two_bins() -> None:
    heard = ringing(rung([(150.0 + at, 0.2, 0.5) for at in (0.11, 90.37, 211.6, 404.83)]), RATE)
    assert_allclose(heard.peaks, [150.11, 240.37, 361.6, 554.83], atol=0.03)
    assert heard.hz[0] == pytest.approx(45.0, abs=0.4)
    assert heard.hz[-1] == pytest.approx(1250.0, abs=0.4)


def test_at_most_fourteen_peaks_are_named() -> None:
    tones = [100.0 + 60 * at for at in range(16)]
    heard = ringing(rung([(hz, 0.1, 0.5) for hz in tones]), RATE)
    assert heard.peaks.size == 14
    assert max(np.abs(np.array(tones) - hz).min() for hz in heard.peaks) < 0.1


def test_two_peaks_closer_than_one_and_a_half_hertz_are_one_and_a_tone_of_the_room_is_none() -> None:
    time = np.arange(round(SECONDS * RATE)) / RATE
    room = 0.02 * np.sin(2 * np.pi * 301.0 * time)
    heard = ringing(rung([(200.0, 0.2, 0.9), (204.0, 0.2, 0.9)]) + room, RATE)
    assert_allclose(heard.peaks, [200.0, 204.0], atol=0.2)
    assert_allclose(heard.steady, [301.0], atol=0.2)


@pytest.mark.parametrize(
    ("fall", "lead", "struck"),
    [
        (8.7, 0.0, True),  # falls by 0.8 dB in the half second between, and was not there before the first tap
        (8.7, 1.0, False),  # was there
        (40.0, 0.0, False),  # falls by less than 0.3 dB
        (2.3, 1.0, False),  # falls by 3 dB, and was as loud before the first tap as after all
        (2.3, 0.0, True),
    ],
)
def test_a_tone_that_rings_from_tap_to_tap_is_struck_where_the_first_began_it(
    fall: float, lead: float, struck: bool
) -> None:
    """Each tap makes it as loud as the one before, so that it neither grows nor sways."""
    time = np.arange(round(SECONDS * RATE)) / RATE
    last = np.max([np.where(time >= start, start, -np.inf) for start in TAPS], axis=0)
    envelope = np.where(time < TAPS[0], lead, np.exp(-np.maximum(time - last, 0.0) / fall))
    heard = ringing(
        rung([(131.0, 0.3, 0.3), (472.0, 0.3, 0.3), (811.0, 0.3, 0.3)])
        + 0.05 * envelope * np.sin(2 * np.pi * 301.0 * time),
        RATE,
    )
    assert bool(np.abs(heard.peaks - 301.0).min() < 0.3) == struck
    assert (heard.steady.size == 0) is struck


@pytest.mark.parametrize(
    ("sound", "text"),
    [
        (np.full(8000, 0.3), "is silent; check which microphone was recorded"),
        (np.sin(np.arange(20000) / 3), "holds no tap that is left to ring; tap the rim a few times, two seconds apart"),
        (np.ones(4000), "is 0.67 s long; a tap needs 0.8 s to ring"),
    ],
)
def test_what_holds_no_tap_says_so(sound: Floats, text: str) -> None:
    with pytest.raises(InputError) as raised:
        ringing(sound, RATE)
    assert (str(raised.value), raised.value.key) == (text, "")


@pytest.mark.parametrize(("rate", "factor"), [(48000.0, 16), (11025.0, 3), (6000.0, 2), (5999.0, 1)])
def test_fewer_samples_keep_what_is_low_and_lose_what_would_fold_back(rate: float, factor: int) -> None:
    """D: a sine comes out as it went in below 0.35 of the new rate, and not at all above 0.56 of it."""
    time = np.arange(round(0.6 * rate)) / rate
    for share, through in ((0.03, 1.0), (0.35, 1.0), (0.56, 0.0), (0.95, 0.0)):
        hz = share * rate / factor
        if hz >= rate / 2:
            continue
        slow, slow_rate = decimated(np.sin(2 * np.pi * hz * time), rate, 3000.0)
        assert slow_rate == pytest.approx(rate / factor)
        at = np.arange(slow.size) / slow_rate
        inner = (at > 0.05) & (at < 0.5)
        wanted = np.sin(2 * np.pi * hz * at[inner]) if through or factor == 1 else 0.0
        assert_allclose(slow[inner], wanted, atol=0.002)


def test_frames_and_their_floor() -> None:
    """D: each frame's own transform; a fifth of random noise lies below 0.223 of its mean."""
    rng = np.random.default_rng(1)
    sound = rng.normal(size=1000)
    power = spectra(sound, 1000.0, 0.1, 0.03)
    assert power.shape == (31, 51)
    assert_allclose(power[7], np.abs(np.fft.rfft(sound[210:310] * np.hanning(100))) ** 2)
    assert spectra(sound, 1000.0, 0.1, 0.03, 256).shape == (31, 129)
    mean = np.array([3.7, 0.2, 11.0, 1.0])
    noise = rng.exponential(mean, (20000, 4))
    noise[::50] = 1e6  # what is struck now and then
    assert_allclose(steady_floor(noise), mean, rtol=0.08)


def heard(peaks: Sequence[float], levels: Sequence[tuple[float, float]], steady: Sequence[float] = ()) -> Ringing:
    """A recording with these peaks, and levels at frequencies; elsewhere -60 dB."""
    hz = np.arange(40.0, 1250.1, 0.1)
    after = np.full(hz.size, -60.0)
    for at, level in levels:
        after[np.argmin(np.abs(hz - at))] = level
    return Ringing(np.array([1.0]), hz, after, after, np.array(peaks), np.array(steady))


RIM = BareRim(304.0, 538.0, 69e3 / 2.7e-3)
INWARD = heard((91.9, 255.4, 601.0), [(91.9, -10.0), (255.4, -14.0), (601.0, -20.0), (82.1, -40.0)], (50.0, 301.0))
SIDEWAYS = heard((82.1, 256.0, 602.5), [(82.1, -22.0), (255.4, -30.0), (602.5, -29.0), (91.9, -33.0)], (50.9, 302.5))


def asked(recordings: dict[str, Ringing], monkeypatch: pytest.MonkeyPatch, **fit: Any) -> tuple[Any, list[Any]]:
    """What is told, and all that the fits were asked."""
    calls: list[Any] = []
    usual = {"sigma": Told(0.02, 0.1, 0.2), "modes": [], "evidence": 9.0, "turned": 12.9} | fit

    def told(*given: Any) -> Fit:
        calls.append(given)
        evidence = usual["evidence"] if len(calls) == 1 else usual["turned"]
        return Fit(Told(111.0, 219.0, 26.3), usual["sigma"], usual["modes"], evidence, 0.9)

    monkeypatch.setattr(tapping, "fitted", told)
    return tapping.tapped(RIM, recordings), calls


def test_peaks_of_both_recordings_are_named_once_with_how_loud_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: 256.0 is 255.4, 602.5 is 601.0; each recording less its own middle, and the difference less its own."""
    _, calls = asked({"lateral": SIDEWAYS, "radial": INWARD}, monkeypatch)
    rim, peaks, band, struck = calls[0]
    assert (rim, struck) == (RIM, ("lateral", "radial"))
    assert band == (45.0, pytest.approx(1250.0))
    assert [each.hz for each in peaks] == [82.1, 91.9, 256.0, 602.5]
    # inward -40, -10, -14, -20: middle -17; sideways -22, -33, -30, -29: middle -29.5
    inward, sideways = np.array([-23.0, 7.0, 3.0, -3.0]), np.array([7.5, -3.5, -0.5, 0.5])
    louder = inward - sideways  # -30.5, 10.5, 3.5, -3.5: middle 0
    assert_allclose([each.louder for each in peaks], louder)
    loud = np.array([7.5, 7.0, 3.0, 0.5])
    assert_allclose([each.level for each in peaks], loud - 5.0)
    assert [(each.hz, each.louder, each.level) for each in calls[1][1]] == [(p.hz, -p.louder, p.level) for p in peaks]


@pytest.mark.parametrize(("kind", "recording", "db"), [("radial", INWARD, 3.0), ("lateral", SIDEWAYS, -3.0)])
def test_of_one_recording_its_own_direction_is_a_little_likelier(
    kind: str, recording: Ringing, db: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    found, calls = asked({kind: recording}, monkeypatch)
    assert len(calls) == 1
    assert [each.louder for each in calls[0][1]] == [db] * 3
    assert calls[0][3] == (kind,)
    assert not found.swapped


def test_near_in_share_or_in_hertz_is_the_same_peak(monkeypatch: pytest.MonkeyPatch) -> None:
    other = heard((92.9, 93.2, 257.0, 603.5, 599.0), [(92.9, -20.0)])
    _, calls = asked({"radial": INWARD, "lateral": other}, monkeypatch)
    assert [each.hz for each in calls[0][1]] == [91.9, 93.2, 255.4, 257.0, 599.0, 601.0, 603.5]


def test_swapped_steady_doubtful_and_told(monkeypatch: pytest.MonkeyPatch) -> None:
    both = {"radial": INWARD, "lateral": SIDEWAYS}
    found, _ = asked(both, monkeypatch)
    assert (found.swapped, found.doubtful, found.told) == (False, False, (True, True, True))
    assert found.steady.tolist() == [50.0, 301.0, 302.5]
    found, _ = asked(both, monkeypatch, evidence=4.9, turned=9.0, sigma=Told(0.2, 0.21, 0.1))
    assert (found.swapped, found.doubtful, found.told) == (True, True, (True, False, True))


@pytest.mark.parametrize(
    ("both", "evidence", "sigma", "refused"),
    [
        (True, 0.9, Told(0.1, 0.1, 0.1), True),
        (True, 1.1, Told(0.1, 0.1, 0.3), False),
        (True, 4.9, Told(0.1, 0.3, 0.3), True),
        (True, 5.1, Told(0.1, 0.3, 0.3), False),
        (True, 9.0, Told(0.3, 0.3, 0.3), True),
        (False, 1.1, Told(0.1, 0.3, 0.3), False),
        (False, 0.9, Told(0.1, 0.3, 0.3), True),
    ],
)
def test_what_is_no_rim_by_its_evidence(
    both: bool, evidence: float, sigma: Told, refused: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    recordings = {"radial": INWARD, "lateral": SIDEWAYS} if both else {"radial": INWARD}
    if not refused:
        assert asked(recordings, monkeypatch, evidence=evidence, sigma=sigma)[0].fit.evidence == evidence
        return
    with pytest.raises(InputError) as raised:
        asked(recordings, monkeypatch, evidence=evidence, sigma=sigma)
    assert ("heard 82, 92, 255, 601 Hz;" if both else "heard 92, 255, 601 Hz;") in str(raised.value)
    assert ("record it tapped both ways" in str(raised.value)) != both


def test_six_of_many_peaks_are_quoted(monkeypatch: pytest.MonkeyPatch) -> None:
    many = heard((91.9, 150.0, 255.4, 300.0, 400.0, 500.0, 601.0), [])
    with pytest.raises(InputError, match=r"heard 92, 150, 255, 300, 400, 500, \.\.\. Hz;"):
        asked({"radial": many}, monkeypatch, evidence=0.0)


def test_modes_that_are_told_and_were_not_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    radial, lateral = (
        radial_hz(RIM, np.array(111.0)),
        lateral_hz(RIM, np.array(26.3), np.array(26.3 / 219.0)),
    )
    modes = [Mode(91.9, "radial", 2, None), Mode(277.0, "lateral", 3, None)]
    both = {"radial": INWARD, "lateral": SIDEWAYS}
    found, _ = asked(both, monkeypatch, modes=modes)
    missed = [(mode.kind, mode.waves) for mode in found.missing()]
    assert missed == [("radial", 3), ("radial", 4), ("lateral", 2), ("lateral", 4)]
    assert_allclose([mode.hz for mode in found.missing()], [radial[1], radial[2], lateral[0], lateral[2]])
    untold, _ = asked(both, monkeypatch, modes=modes, sigma=Told(0.1, 0.3, 0.1))
    assert [mode.kind for mode in untold.missing()] == ["radial"] * 2
    few = heard((82.1, 256.0), [(82.1, -22.0)])
    low = Ringing(
        INWARD.taps, INWARD.hz[:4500], INWARD.after[:4500], INWARD.before[:4500], INWARD.peaks[:2], INWARD.steady
    )
    narrow, _ = asked({"radial": low, "lateral": few}, monkeypatch, modes=modes)
    assert narrow.band == (45.0, pytest.approx(489.9))
    assert ("radial", 4) not in [(mode.kind, mode.waves) for mode in narrow.missing()]


def test_a_recording_in_which_nothing_rings_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputError, match="nothing rings"):
        asked({"radial": heard((), [])}, monkeypatch)


def test_a_peak_has_no_louder_side_unless_told() -> None:
    assert Peak(200.0) == Peak(200.0, 0.0, 0.0)
