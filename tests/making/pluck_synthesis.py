"""Recordings of plucked spokes, made independently of the library: modes by finite differences (`fine_wire`), plucked, heard
through a room and a telephone, with noise of several kinds. Nothing of `wheelcalc` is used.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import scipy.linalg
import scipy.signal
import scipy.sparse as sp
from scipy.sparse.linalg import eigsh

from tests.oracles.fine_wire import E, operators

STEP = 1.0  # mm of the grid
MODES = 12


@dataclass
class Spoke:
    """A spoke, or a touching pair: lengths and diameters head to nipple, tension(s), springs of the ends, crossing."""

    lengths: tuple[float, ...]
    diameters: tuple[float, ...]
    tensions: tuple[float, ...]
    hold: float = 0.4
    crossing: float | None = None

    @property
    def modes(self) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Frequencies [Hz], mode shapes scaled to mass 1, stiffness of the first spoke's grid, its node count."""
        return _solve(
            tuple(self.lengths), tuple(self.diameters), tuple(map(float, self.tensions)), self.hold, self.crossing
        )

    @property
    def pitch(self) -> float:
        """What the fundamental is [Hz]."""
        return float(self.modes[0][0])


def _springs(diameters: tuple[float, ...], hold: float) -> tuple[float, float]:
    """Rotational springs [N mm/rad] that stand for an end hold at 1000 N: sqrt(T EI) h / (1 - h)."""
    return tuple(
        math.sqrt(1000 * E * math.pi / 64 * d**4) * hold / max(1 - hold, 1e-6) for d in (diameters[0], diameters[-1])
    )


@lru_cache(maxsize=512)  # the same wheel is plucked by many tests
def _solve(
    lengths: tuple[float, ...],
    diameters: tuple[float, ...],
    tensions: tuple[float, ...],
    hold: float,
    crossing: float | None,
):
    springs = _springs(diameters, hold)
    parts = [operators(list(lengths), list(diameters), STEP, t, springs) for t in tensions]
    n = parts[0][0].shape[0]
    if len(parts) == 1:
        stiff, mass, join = *parts[0], sp.identity(n, format="csr")
    else:
        shared = round(crossing / STEP) - 1
        columns = np.concatenate([np.arange(n), np.arange(n, 2 * n)])
        columns[n + shared] = shared
        columns[n + shared + 1 :] -= 1
        join = sp.csr_matrix((np.ones(2 * n), (np.arange(2 * n), columns)), shape=(2 * n, 2 * n - 1))
        stiff, mass = (join.T @ sp.block_diag([part[i] for part in parts]) @ join for i in (0, 1))
    start = np.random.default_rng(1).normal(size=stiff.shape[0])
    squares, shapes = eigsh(stiff.tocsc(), MODES, sp.csc_matrix(mass), sigma=0, which="LM", v0=start)
    order = np.argsort(squares)
    return (
        np.sqrt(squares[order]) / (2 * math.pi),
        (join @ shapes[:, order])[: n if len(parts) == 1 else 2 * n],
        stiff,
        n,
    )


@dataclass
class Pluck:
    """How it is plucked and heard."""

    place: float = 0.3  # of the length, from the head
    ring: float = 0.25  # s, to 1/e, of the fundamental
    loss: float = 0.35  # how much faster the higher modes die
    sharp: float = 0.003  # of the frequency, at the start
    second: float = 0.3  # amplitude of the motion across
    split: float = 0.0008  # its frequency above the first
    thump: float = 0.3  # of finger and rim, against the peak
    near: float = 0.5  # share heard from the wire itself, the rest through its end


def plucked(spoke: Spoke, pluck: Pluck, rate: int, seconds: float, rng: np.random.Generator) -> np.ndarray:
    """The sound of one pluck, its peak 1."""
    hz, shapes, _, n = spoke.modes
    own = shapes[:n]
    at = int(np.clip(round(pluck.place * n), 3, n - 4))
    # A force at one place, released: modal amplitude is force times shape over the modal stiffness.
    amplitude = own[at] / hz**2
    end = own[-1] / own[-1][0] if own[-1][0] else own[-1]
    ear = int(rng.uniform(0.15, 0.85) * n)
    wire = own[ear] * hz / (abs(own[ear][0] * hz[0]) + 1e-12)
    heard = amplitude / abs(amplitude[0]) * ((1 - pluck.near) * end + pluck.near * wire)
    t = np.arange(round(seconds * rate)) / rate
    out = np.zeros_like(t)
    for share, shift in ((1.0, 1.0), (pluck.second, 1 + pluck.split)):
        # Hard plucks stretch the wire, so that they start sharp; the effect dies with the square of the amplitude.
        warped = t + pluck.sharp * pluck.ring / 2 * (1 - np.exp(-2 * t / pluck.ring))
        phase = rng.uniform(-0.3, 0.3)
        for f, a in zip(hz, heard, strict=True):
            if f < 0.47 * rate:
                ring = pluck.ring / (1 + pluck.loss * (f / hz[0] - 1))
                out += share * a * np.exp(-t / ring) * np.sin(2 * np.pi * f * shift * warped + phase)
    # The microphone hears it rise within about a millisecond.
    out *= 1 - np.exp(-t / 0.0006)
    out /= np.max(np.abs(out))
    return out + pluck.thump * tap(rate, seconds, rng)


def tap(rate: int, seconds: float, rng: np.random.Generator) -> np.ndarray:
    """A knock: noise that dies within hundredths of a second, and a few short resonances of rim or table, peak 1."""
    t = np.arange(round(seconds * rate)) / rate
    out = rng.normal(size=t.size) * np.exp(-t / rng.uniform(0.002, 0.008))
    for _ in range(4):
        f = rng.uniform(120, 2500)
        out += (
            rng.uniform(0.3, 1) * np.exp(-t / rng.uniform(0.006, 0.025)) * np.sin(2 * np.pi * f * t + rng.uniform(0, 6))
        )
    return out / np.max(np.abs(out))


def speech_like(rate: int, seconds: float, rng: np.random.Generator, base: float | None = None) -> np.ndarray:
    """Syllables: a gliding voice through formants, and hisses between."""
    total = round(seconds * rate)
    out = np.zeros(total)
    base = base or rng.uniform(90, 230)
    at = int(rng.uniform(0.05, 0.3) * rate)
    while at < total - rate // 4:
        span = int(rng.uniform(0.12, 0.4) * rate)
        t = np.arange(span) / rate
        glide = base * (
            1 + rng.uniform(-0.15, 0.15) + rng.uniform(-0.25, 0.1) * t / t[-1] + 0.01 * np.sin(2 * np.pi * 5 * t)
        )
        phase = 2 * np.pi * np.cumsum(glide) / rate
        voice = sum(np.sin(k * phase) / k for k in range(1, 30) if k * base * 1.3 < 0.45 * rate)
        for _ in range(3):
            centre = rng.uniform(300, min(3000, 0.4 * rate))
            b, a = scipy.signal.iirpeak(centre, centre / 120, fs=rate)
            voice = voice + 3 * scipy.signal.lfilter(b, a, voice)
        rise = rng.uniform(0.015, 0.05)
        shape = np.minimum(1, t / rise) * np.minimum(1, (t[-1] - t) / 0.05)
        end = min(total, at + span)
        out[at:end] += (voice * shape)[: end - at]
        hiss = int(rng.uniform(0.03, 0.1) * rate)
        stop = min(total, end + hiss)
        out[end:stop] += rng.normal(size=stop - end) * 0.5
        at = stop + int(rng.exponential(0.08) * rate)
    return out / np.max(np.abs(out))


def room(sound: np.ndarray, rate: int, seconds: float, share: float, rng: np.random.Generator) -> np.ndarray:
    """Add the reverberation of a room that takes so long to fall by 60 dB."""
    t = np.arange(round(seconds * rate)) / rate
    tail = rng.normal(size=t.size) * 10 ** (-3 * t / seconds)
    tail[: round(0.004 * rate)] = 0
    tail /= np.sqrt(np.sum(tail**2))
    return sound + share * scipy.signal.fftconvolve(sound, tail)[: sound.size]


def telephone(sound: np.ndarray, rate: int, low: float = 250.0, order: int = 2) -> np.ndarray:
    """Take the low frequencies away, as small microphones and voice memos do."""
    return scipy.signal.sosfilt(scipy.signal.butter(order, low, "high", fs=rate, output="sos"), sound)


def hum(rate: int, seconds: float, rng: np.random.Generator, base: float = 50.0) -> np.ndarray:
    """Mains hum with its odd overtones, root mean square 1."""
    t = np.arange(round(seconds * rate)) / rate
    out = sum(rng.uniform(0.2, 1) * np.sin(2 * np.pi * base * k * t + rng.uniform(0, 6)) for k in (1, 2, 3, 5, 7))
    return out / np.sqrt(np.mean(out**2))


def hiss(rate: int, seconds: float, rng: np.random.Generator) -> np.ndarray:
    """White and low-frequency noise, half each, root mean square 1."""
    total = round(seconds * rate)
    white = rng.normal(size=total)
    low = scipy.signal.lfilter([1], [1, -0.97], rng.normal(size=total))
    out = white / np.std(white) + low / np.std(low)
    return out / np.std(out)


@dataclass
class Scene:
    """Where and with what it is recorded."""

    rate: int = 44100
    snr_db: float = 20.0  # of 0.3 s of the plucks over all steady noise
    room_seconds: float = 0.35
    room_share: float = 0.2
    telephone_hz: float | None = None
    hum_share: float = 0.3  # of the noise
    clicks: int = 0
    taps: int = 0


def recording(
    sounds: list[tuple[Spoke, Pluck, float, float]], scene: Scene, seconds: float, rng: np.random.Generator
) -> np.ndarray:
    """Recording of plucks, each (spoke, how, at which second, how loud), largest value about 0.7."""
    rate, total = scene.rate, round(seconds * scene.rate)
    out = np.zeros(total)
    for spoke, how, at, loud in sounds:
        begin = round(at * rate)
        sound = plucked(spoke, how, rate, min(8 * how.ring, seconds - at), rng)[: total - begin]
        out[begin : begin + sound.size] += loud * sound
    out = room(out, rate, scene.room_seconds, scene.room_share, rng)
    for _ in range(scene.taps):
        begin = int(rng.uniform(0, 0.95) * total)
        knock = 0.5 * tap(rate, min(0.2, (total - begin) / rate), rng)[: total - begin]
        out[begin : begin + knock.size] += knock
    if scene.telephone_hz:
        out = telephone(out, rate, scene.telephone_hz)
    level = [np.sqrt(np.mean(out[round(at * rate) : round((at + 0.3) * rate)] ** 2)) for _, _, at, _ in sounds]
    loudness = float(np.median(level)) if level else 0.1
    noise = math.sqrt(1 - scene.hum_share**2) * hiss(rate, seconds, rng) + scene.hum_share * hum(rate, seconds, rng)
    out = out + loudness * 10 ** (-scene.snr_db / 20) * noise[:total]
    for _ in range(scene.clicks):
        out[rng.integers(total)] += rng.choice([-1, 1]) * np.max(np.abs(out)) * rng.uniform(0.3, 1)
    return 0.7 * out / np.max(np.abs(out))


def any_pluck(rng: np.random.Generator) -> Pluck:
    """A pluck as different people do it."""
    return Pluck(
        place=rng.uniform(0.12, 0.6),
        ring=rng.uniform(0.1, 0.35),
        loss=rng.uniform(0.15, 0.5),
        sharp=rng.uniform(0, 0.005),
        second=rng.uniform(0, 0.5),
        split=rng.uniform(0, 0.0015),
        thump=rng.uniform(0, 0.6),
        near=rng.uniform(0.2, 0.8),
    )


def write_wav(path: Path | str, sound: np.ndarray, rate: int, bits: int = 16) -> None:
    """Write a plain mono file of 16 bits."""
    data = np.round(np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes()
    head = struct.pack(
        "<4sI4s4sIHHIIHH4sI",
        b"RIFF",
        36 + len(data),
        b"WAVE",
        b"fmt ",
        16,
        1,
        1,
        rate,
        2 * rate,
        2,
        bits,
        b"data",
        len(data),
    )
    Path(path).write_bytes(head + data)
