"""Recordings of something else: talk, music, a tapped rim, knocks, a freewheel, hum that comes and goes."""

from __future__ import annotations

import math

import numpy as np

from tests.making.rooms_and_phones import any_hearing, freewheel, heard, talk

KINDS = ("talk", "melody", "chords", "strummed", "rim", "knocks", "freewheel", "tone")
RATE = 48_000


def nothing(kind: str, seed: int, seconds: float = 25.0) -> tuple[np.ndarray, int]:
    """A recording without one plucked spoke, and its rate."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    size = round(seconds * RATE)
    out = {
        "talk": lambda: talk(size, RATE, rng),
        "melody": lambda: _melody(size, rng),
        "chords": lambda: _chords(size, rng),
        "strummed": lambda: _strummed(size, rng),
        "rim": lambda: _rim(size, rng),
        "knocks": lambda: _knocks(size, rng),
        "freewheel": lambda: freewheel(size, RATE, rng),
        "tone": lambda: _tone(size, rng),
    }[kind]()
    hearing = any_hearing(rng)
    hearing.talk, hearing.freewheel = 0.0, False
    return heard(out, RATE, hearing, float(np.std(out)), rng), hearing.rate


def _note(
    hz: float, seconds: float, fall: float, dying: float, rng: np.random.Generator, rise: float = 0.02
) -> np.ndarray:
    t = np.arange(round(seconds * RATE)) / RATE
    out = sum(
        rng.uniform(0.3, 1) * np.sin(2 * np.pi * hz * k * t + rng.uniform(0, 6)) / k**fall * np.exp(-t * k**0.5 / dying)
        for k in range(1, 12)
        if hz * k < 0.45 * RATE
    )
    return out * np.minimum(1, t / rise) * np.minimum(1, (t[-1] - t) / 0.03)


def _put(out: np.ndarray, sound: np.ndarray, at: float) -> None:
    begin = round(at * RATE)
    sound = sound[: max(out.size - begin, 0)]
    out[begin : begin + sound.size] += sound


def _melody(size: int, rng: np.random.Generator) -> np.ndarray:
    """Notes of a scale, one after the other, held."""
    out, at, step = np.zeros(size), 0.1, 0
    base = rng.uniform(180, 350)
    beat = rng.uniform(0.25, 0.5)
    scale = [0, 2, 4, 5, 7, 9, 11, 12, 14, 16]
    while at * RATE < size:
        step = int(np.clip(step + rng.integers(-2, 3), 0, 9))
        span = beat * rng.choice([1, 1, 2])
        _put(out, _note(base * 2 ** (scale[step] / 12), span, rng.uniform(0.5, 1.5), 3.0, rng), at)
        at += span
    return out


def _chords(size: int, rng: np.random.Generator) -> np.ndarray:
    out, at = np.zeros(size), 0.1
    base = rng.uniform(120, 220)
    beat = rng.uniform(0.4, 0.8)
    while at * RATE < size:
        root = rng.choice([0, 5, 7, 9])
        for each in (0, 4, 7, 12):
            _put(out, _note(base * 2 ** ((root + each) / 12), 2 * beat, 1.0, 1.5, rng), at)
        _put(out, rng.normal(size=RATE // 20) * np.exp(-np.arange(RATE // 20) / 400), at + beat)
        at += 2 * beat
    return out


def _strummed(size: int, rng: np.random.Generator) -> np.ndarray:
    """Strings of gut or nylon, plucked, of many pitches: the nearest thing to a wheel in music."""
    out, at = np.zeros(size), 0.2
    open_strings = np.array([82.4, 110.0, 146.8, 196.0, 246.9, 329.6])
    while at * RATE < size:
        hz = rng.choice(open_strings) * 2 ** (rng.integers(0, 8) / 12)
        _put(out, _note(hz, 1.5, rng.uniform(0.6, 1.2), rng.uniform(0.3, 0.9), rng, 0.001), at)
        at += rng.uniform(0.2, 0.6)
    return out


def _rim(size: int, rng: np.random.Generator) -> np.ndarray:
    """A bare rim struck here and there: bending modes in and out of its plane, each split in two by the joint."""
    out, at = np.zeros(size), 0.4
    first, across = rng.uniform(50, 110), rng.uniform(25, 80)
    n = np.arange(2, 8)
    # D: bending of a thin ring in its plane, n (n^2 - 1) / sqrt(n^2 + 1), over that of n = 2.
    inside = first * (n * (n**2 - 1) / np.sqrt(n**2 + 1)) / (6 / math.sqrt(5))
    outside = across * (n * (n**2 - 1) / np.sqrt(n**2 + 0.6)) / (6 / math.sqrt(4.6))
    modes = np.concatenate([inside, outside])
    dying = rng.uniform(0.15, 0.9) / (1 + modes / 900)
    while at * RATE < size - RATE:
        t = np.arange(RATE) / RATE
        knock = np.zeros(RATE)
        for hz, ring in zip(modes, dying, strict=True):
            for shift in (1.0, 1.02):
                knock += rng.normal() * np.exp(-t / ring) * np.sin(2 * np.pi * hz * shift * t) * min(1, hz / 200)
        knock += 0.4 * np.abs(knock).max() * rng.normal(size=RATE) * np.exp(-t / 0.003)
        _put(out, knock * rng.uniform(0.5, 1), at)
        at += rng.uniform(0.5, 1.5)
    return out


def _knocks(size: int, rng: np.random.Generator) -> np.ndarray:
    out, at = np.zeros(size), 0.3
    while at * RATE < size - RATE:
        t = np.arange(RATE // 3) / RATE
        knock = rng.normal(size=t.size) * np.exp(-t / rng.uniform(0.002, 0.01))
        for _ in range(int(rng.integers(1, 7))):
            knock += (
                rng.uniform(0.3, 2)
                * np.exp(-t / rng.uniform(0.005, 0.05))
                * np.sin(2 * np.pi * rng.uniform(100, 3000) * t)
            )
        _put(out, knock / np.abs(knock).max() * rng.uniform(0.3, 1), at)
        at += rng.uniform(0.3, 1.5)
    return out


def _tone(size: int, rng: np.random.Generator) -> np.ndarray:
    """A beeping machine."""
    t = np.arange(size) / RATE
    base = rng.uniform(150, 600)
    out = sum(np.sin(2 * np.pi * base * k * t) / k ** rng.uniform(0.5, 2) for k in range(1, int(rng.integers(2, 8))))
    return out * (np.floor(t / rng.uniform(0.4, 1.5)) % 2)
