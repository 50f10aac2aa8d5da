"""Rounds of plucks on random wheels, in random rooms, with the table that a builder would have of his spokes: not exact."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.making.pluck_synthesis import Pluck, Scene, Spoke, any_pluck, hiss, hum, recording, room, speech_like, tap
from wheelcalc.truing.assign import SURE, Assigned, Spokes
from wheelcalc.truing.hearing import hear
from wheelcalc.truing.templates import Template, template
from wheelcalc.wheel.errors import InputError

# Head to nipple [mm]: butted, plain, thin butted, single butted, short.
WIRES = [
    ((20, 245, 18), (2.0, 1.8, 2.0)),
    ((283,), (2.0,)),
    ((20, 242, 20), (1.8, 1.5, 1.8)),
    ((30, 228), (2.3, 2.0)),
    ((20, 180, 17), (2.0, 1.8, 2.0)),
]
RATES = (8000, 16000, 22050, 44100, 48000)
NEAR = 0.1  # s: a pluck found so near to a true one is that one; a knock may begin just before


@dataclass
class Session:
    sound: np.ndarray
    rate: int
    table: Template
    plucks: list[tuple[Spoke, Pluck, float, float]]


def believed(lengths, diameters, crossing, rng) -> Template:
    """Table of the spokes with what a builder gets wrong: butts, free length, diameters, modulus, crossing."""
    wrong = np.array([3, 0, -3]) * rng.uniform(-1, 1) if len(lengths) == 3 else 0
    segments = ((np.array(lengths) + wrong) * (1 + rng.uniform(-0.01, 0.01)), diameters + rng.normal(0, 0.015))
    at = crossing + rng.uniform(-4, 4) if crossing else None
    return template(segments, 80, 1900, crossing=at, youngs_modulus=2e5 * rng.uniform(0.96, 1.02))


def session(seed: int, snr_db: float, touching: bool, count: int = 30, rates=RATES) -> Session:
    """A round of plucks of spokes between 410 and 1240 N, half of a second to one and a half apart."""
    rng = np.random.default_rng(seed)
    lengths, diameters = WIRES[rng.integers(len(WIRES))]
    hold, total = rng.uniform(0.05, 0.95), sum(lengths)
    crossing = round(total * rng.uniform(0.2, 0.38)) if touching else None
    plucks, at = [], rng.uniform(0.3, 1.0)
    for _ in range(count):
        force = rng.uniform(450, 1150) * rng.uniform(0.92, 1.08)
        both = (force, force * rng.uniform(0.9, 1.11)) if touching else (force,)
        loud = 10 ** (rng.uniform(-6, 0) / 20)
        plucks.append((Spoke(lengths, diameters, both, hold, crossing), any_pluck(rng), at, loud))
        at += rng.uniform(0.55, 1.4)
    scene = Scene(
        rate=int(rng.choice(rates)),
        snr_db=snr_db,
        room_seconds=rng.uniform(0.15, 0.5),
        room_share=rng.uniform(0, 0.4),
        telephone_hz=rng.choice([None, 200, 350, 500]),
        hum_share=rng.uniform(0, 0.6),
        clicks=int(rng.integers(0, 4)),
        taps=int(rng.integers(0, 4)),
    )
    sound = recording(plucks, scene, at + 0.5, rng)
    return Session(sound, scene.rate, believed(lengths, np.array(diameters), crossing, rng), plucks)


@dataclass
class Score:
    """Error of each true pluck's pitch (nan: not found) and its confidence; how many were surely heard that are none, and
    how many of those that are marked doubtful."""

    errors: np.ndarray
    confidence: np.ndarray
    false: int
    doubtful_false: int

    @property
    def found(self) -> np.ndarray:
        return np.isfinite(self.errors)

    def within(self, share: float) -> float:
        return float(np.mean(np.abs(self.errors[self.found]) < share))

    @property
    def unflagged(self) -> int:
        """Errors above 3 % that the confidence does not flag."""
        return int(np.sum((np.abs(self.errors) > 0.03) & (self.confidence >= SURE)))


def heard(sound: np.ndarray, rate: float, tables: list[Template], count: int) -> Assigned:
    """A round of so many spokes of one side, none of which touches the next."""
    return hear(sound, rate, [tables], Spokes(np.ones(count, dtype=bool), np.zeros(count, dtype=bool), 1.0))


def score(sessions: list[Session]) -> Score:
    errors, confidence, false, doubtful = [], [], 0, 0
    for each in sessions:
        try:
            found = heard(each.sound, each.rate, [each.table], len(each.plucks)).plucks
        except InputError:
            found = []
        used: set[int] = set()
        for spoke, _, at, _ in each.plucks:
            near = [(abs(one.at - at), i) for i, one in enumerate(found) if i not in used and abs(one.at - at) < NEAR]
            if near:
                i = min(near)[1]
                used.add(i)
                errors.append(found[i].pitch / spoke.pitch - 1)
                confidence.append(found[i].confidence)
            else:
                errors.append(np.nan)
                confidence.append(0.0)
        extra = [one for i, one in enumerate(found) if i not in used]
        doubtful += sum(not one.sure for one in extra)
        false += sum(one.sure for one in extra)
    return Score(np.array(errors), np.array(confidence), false, doubtful)


def nothing(kind: str, seed: int, rate: int, seconds: float = 12.0) -> np.ndarray:
    """A recording without a single pluck: noise, knocks, clicks, speech, tones or hum that come and go."""
    rng = np.random.default_rng(seed)
    total = round(seconds * rate)
    t, out = np.arange(total) / rate, np.zeros(total)
    if kind == "speech":
        out = room(speech_like(rate, seconds, rng), rate, 0.3, 0.15, rng)
    elif kind == "taps":
        for _ in range(20):
            at = int(rng.uniform(0, 0.95) * total)
            knock = tap(rate, min(0.3, (total - at) / rate), rng)
            out[at : at + knock.size] += knock
        out = room(out, rate, 0.4, 0.3, rng)
    elif kind == "clicks":
        out[rng.integers(0, total, 30)] = rng.normal(size=30)
        out = room(out, rate, 0.4, 0.4, rng)
    elif kind == "tone":
        base, fall = rng.uniform(150, 600), rng.uniform(0.5, 2)
        out = sum(np.sin(2 * np.pi * base * k * t) / k**fall for k in range(1, int(rng.integers(2, 9))))
        out = out * (np.floor(t / rng.uniform(0.8, 2)) % 2)
    elif kind == "hum":
        out = hum(rate, seconds, rng) * (np.floor(t / 1.3) % 2)
    return out / (np.max(np.abs(out)) + 1e-9) + hiss(rate, seconds, rng) * 10 ** (-rng.uniform(20, 50) / 20)


KINDS_OF_NOTHING = ("noise", "taps", "clicks", "speech", "tone", "hum")


def refused(kind: str, seed: int) -> bool:
    """Whether a recording without plucks is refused."""
    rng = np.random.default_rng(seed + 1)
    lengths, diameters = WIRES[rng.integers(len(WIRES))]
    crossing = 0.27 * sum(lengths) if seed % 2 else None
    rate = int(rng.choice((8000, 16000, 44100)))
    try:
        heard(nothing(kind, seed, rate), rate, [template((lengths, diameters), 80, 1900, crossing=crossing)], 30)
    except InputError:
        return True
    return False
