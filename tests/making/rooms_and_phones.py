"""What is between a plucked spoke and the file: rooms with echo, telephones, automatic gain, coders, and other noises about."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.signal


@dataclass
class Hearing:
    """How it was recorded."""

    rate: int = 44_100
    snr_db: float = 25.0
    echo: float = 0.2  # late sound over direct
    echo_seconds: float = 0.4
    slap: float = 0.0  # one strong reflection
    low_hz: float = 150.0  # the microphone's lower end
    resonances: int = 2
    gain_control: float = 0.0  # 0 none, 1 all differences of loudness evened out
    cut_hz: float | None = None  # of a coder
    coder_noise: float = 0.0
    hum_hz: float = 50.0
    hum_share: float = 0.2
    talk: float = 0.0  # of the plucks' loudness
    freewheel: bool = False
    bits: int = 16


def any_hearing(rng: np.random.Generator) -> Hearing:
    """One of the many."""
    return Hearing(
        rate=int(rng.choice([8000, 16_000, 22_050, 44_100, 48_000])),
        snr_db=rng.uniform(14, 40),
        echo=rng.uniform(0, 0.35),
        echo_seconds=rng.uniform(0.15, 0.6),
        slap=rng.choice([0.0, 0.0, rng.uniform(0.1, 0.4)]),
        low_hz=rng.uniform(60, 320),
        resonances=int(rng.integers(0, 5)),
        gain_control=rng.choice([0.0, rng.uniform(0.2, 0.8)]),
        cut_hz=rng.choice([None, 16_000.0, 11_000.0]),
        coder_noise=rng.choice([0.0, rng.uniform(0.002, 0.02)]),
        hum_hz=float(rng.choice([50, 60])),
        hum_share=rng.uniform(0, 0.7),
        talk=rng.choice([0.0, 0.0, 0.0, rng.uniform(0.02, 0.15)]),
        freewheel=bool(rng.random() < 0.15),
    )


def heard(sound: np.ndarray, in_rate: int, how: Hearing, loudness: float, rng: np.random.Generator) -> np.ndarray:
    """A sound of a quiet room as it stands in the file, peak below 1; `loudness` is the root mean square of its plucks."""
    out = _room(sound, in_rate, how, rng)
    if how.freewheel:
        out = out + loudness * rng.uniform(0.3, 1.0) * freewheel(out.size, in_rate, rng)
    if how.talk:
        out = out + how.talk * loudness * 3 * talk(out.size, in_rate, rng)
    noise = _noise(out.size, in_rate, how, rng)
    out = out + loudness * 10 ** (-how.snr_db / 20) * noise
    out = _microphone(out, in_rate, how, rng)
    if how.gain_control:
        out = _gain_control(out, in_rate, how.gain_control)
    out = _resampled(out, in_rate, how.rate)
    if how.cut_hz and how.cut_hz < 0.45 * how.rate:
        out = scipy.signal.sosfiltfilt(scipy.signal.butter(8, how.cut_hz, fs=how.rate, output="sos"), out)
    if how.coder_noise:
        out = _coded(out, how.coder_noise, rng)
    out = rng.uniform(0.2, 0.8) * out / np.abs(out).max()
    return np.round(out * 2 ** (how.bits - 1)) / 2 ** (how.bits - 1)


def _room(sound: np.ndarray, rate: int, how: Hearing, rng: np.random.Generator) -> np.ndarray:
    t = np.arange(round(how.echo_seconds * rate)) / rate
    tail = rng.normal(size=t.size) * 10 ** (-3 * t / how.echo_seconds)
    # High frequencies die sooner in a furnished room.
    tail = scipy.signal.lfilter([0.5], [1, -0.5], tail)
    tail[: round(0.006 * rate)] = 0
    tail *= how.echo / np.sqrt(np.sum(tail**2))
    tail[0] = 1
    if how.slap:
        tail[min(round(rng.uniform(0.02, 0.12) * rate), t.size - 1)] += how.slap
    return scipy.signal.fftconvolve(sound, tail)[: sound.size]


def _microphone(sound: np.ndarray, rate: int, how: Hearing, rng: np.random.Generator) -> np.ndarray:
    out = scipy.signal.sosfilt(
        scipy.signal.butter(int(rng.integers(1, 4)), how.low_hz, "high", fs=rate, output="sos"), sound
    )
    for _ in range(how.resonances):
        b, a = scipy.signal.iirpeak(rng.uniform(500, 6000), rng.uniform(2, 12), fs=rate)
        out = out + rng.uniform(-0.8, 3.0) * scipy.signal.lfilter(b, a, out)
    return out


def _gain_control(sound: np.ndarray, rate: int, share: float) -> np.ndarray:
    """Loud is turned down at once, quiet up within half a second."""
    hop = round(0.005 * rate)
    level = np.sqrt(np.add.reduceat(sound**2, np.arange(0, sound.size, hop)) / hop)
    floor = 0.02 * level.max()
    slow = np.empty_like(level)
    now = level[0]
    release = np.exp(-0.005 / 0.5)
    for i, each in enumerate(level):
        now = max(each, release * now)
        slow[i] = now
    gain = (np.maximum(slow, floor) / level.max()) ** -share
    return sound * np.interp(np.arange(sound.size), hop * np.arange(gain.size), gain)


def _coded(sound: np.ndarray, noise: float, rng: np.random.Generator) -> np.ndarray:
    """Blocks of a transform with coarse steps, as coders keep them: weak frequencies are lost, and there are pre-echoes."""
    size = 2048
    window = np.sin(np.pi * (np.arange(size) + 0.5) / size)
    padded = np.pad(sound, size)
    out = np.zeros_like(padded)
    for begin in range(0, padded.size - size, size // 2):
        block = np.fft.rfft(window * padded[begin : begin + size])
        step = noise * np.abs(block).max() + 1e-12
        near = np.round(block.real / step) * step + 1j * np.round(block.imag / step) * step
        out[begin : begin + size] += window * np.fft.irfft(near)
    return out[size : size + sound.size]


def _resampled(sound: np.ndarray, rate: int, wanted: int) -> np.ndarray:
    if rate == wanted:
        return sound
    common = np.gcd(rate, wanted)
    return scipy.signal.resample_poly(sound, wanted // common, rate // common)


def _noise(size: int, rate: int, how: Hearing, rng: np.random.Generator) -> np.ndarray:
    t = np.arange(size) / rate
    white = rng.normal(size=size)
    low = scipy.signal.lfilter([1], [1, -0.98], rng.normal(size=size))
    hiss = white / white.std() + 1.5 * low / low.std()
    hum = sum(
        rng.uniform(0.1, 1) * np.sin(2 * np.pi * how.hum_hz * k * t + rng.uniform(0, 6)) for k in (1, 2, 3, 4, 5, 7, 9)
    )
    return np.sqrt(1 - how.hum_share**2) * hiss / hiss.std() + how.hum_share * hum / hum.std()


def freewheel(size: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    """A wheel that is turned on now and then and clicks."""
    out = np.zeros(size)
    at = int(rng.uniform(0, 2) * rate)
    click_t = np.arange(round(0.01 * rate)) / rate
    while at < size - rate:
        gap = rng.uniform(0.03, 0.09)
        for _ in range(int(rng.integers(3, 10))):
            click = rng.normal(size=click_t.size) * np.exp(-click_t / 0.0012)
            click += np.sin(2 * np.pi * rng.uniform(2500, 4500) * click_t) * np.exp(-click_t / 0.003)
            end = min(size, at + click.size)
            out[at:end] += click[: end - at] * rng.uniform(0.5, 1)
            at += int(gap * rng.uniform(0.8, 1.2) * rate)
            if at >= size:
                break
        at += int(rng.uniform(1, 4) * rate)
    return out


def talk(size: int, rate: int, rng: np.random.Generator, base: float | None = None) -> np.ndarray:
    """Something like talk: pulses of a throat with drifting pitch through moving formants, consonants, pauses; rms about 1 in it."""
    out = np.zeros(size)
    base = base or rng.uniform(85, 240)
    at = int(rng.uniform(0, 0.6) * rate)
    while at < size - rate // 5:
        for _ in range(int(rng.integers(3, 9))):
            span = int(rng.uniform(0.08, 0.32) * rate)
            t = np.arange(span) / rate
            drift = (
                1
                + rng.uniform(-0.12, 0.12)
                + rng.uniform(-0.3, 0.15) * t / t[-1]
                + 0.012 * np.sin(2 * np.pi * rng.uniform(4, 7) * t)
            )
            phase = np.cumsum(base * drift) / rate
            pulses = np.diff(np.floor(phase), prepend=0.0) + 0.02 * rng.normal(size=span)
            voice = scipy.signal.lfilter([1], [1, -0.95], pulses)
            for centre, wide in (
                (rng.uniform(280, 800), 90),
                (rng.uniform(900, 2300), 120),
                (rng.uniform(2300, 3400), 160),
            ):
                b, a = scipy.signal.iirpeak(min(centre, 0.4 * rate), centre / wide, fs=rate)
                voice = 0.15 * voice + scipy.signal.lfilter(b, a, voice)
            voice *= np.minimum(1, t / rng.uniform(0.008, 0.04)) * np.minimum(1, (t[-1] - t) / 0.04)
            end = min(size, at + span)
            out[at:end] += (voice / (voice.std() + 1e-9))[: end - at] * rng.uniform(0.4, 1)
            hush = int(rng.uniform(0.02, 0.1) * rate)
            stop = min(size, end + hush)
            b, a = scipy.signal.butter(2, min(2500, 0.3 * rate), "high", fs=rate)
            out[end:stop] += 0.5 * scipy.signal.lfilter(b, a, rng.normal(size=stop - end))
            at = stop
            if at >= size:
                break
        at += int(rng.exponential(0.5) * rate)
    return out
