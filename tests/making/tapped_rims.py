"""Recordings of bare rims tapped: modes of a ring of elements, struck, decaying, heard by a phone in a room."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.fft import next_fast_len

from tests.oracles.ringing_rim import Modes, RingingRim, modes

# Young's modulus over density [N/mm2 per g/mm3], as in reference/materials.toml.
STRETCH = {"aluminium": 69000 / 0.0027, "steel": 205000 / 0.00785, "carbon": 60000 / 0.00155}


@dataclass(frozen=True)
class Session:
    """How a rim was tapped and recorded."""

    rate: int = 44100
    seconds: float = 12.0
    every: float = 1.7  # s between taps
    clean: float = 0.2  # of the other direction that a tap has
    contact: float = 0.003  # s that the handle stays
    quality: float = 450.0  # of the modes, middle
    high_pass: float = 90.0  # Hz, of the phone
    noise: float = 0.01  # against the loudest sample
    tones: tuple[float, ...] = (58.5, 402.1, 428.0)
    tone: float = 0.02
    bits: int = 16
    seed: int = 0
    lead: float = 0.8  # s before the first tap
    extra: dict[str, float] = field(default_factory=dict)


def tapped(found: Modes, kind: str, session: Session) -> np.ndarray:
    """Samples, -1 to 1, of a rim struck inward ("radial") or sideways ("lateral")."""
    random = np.random.default_rng([session.seed, 0 if kind == "radial" else 1])
    rate, count = session.rate, round(session.seconds * session.rate)
    out = np.zeros(count)
    quality = session.quality * np.exp(0.4 * np.random.default_rng(session.seed).normal(size=found.hz.size))
    nodes = found.shapes.shape[1]
    ear = random.integers(nodes)
    at = session.lead
    spot = random.integers(nodes)
    while at < session.seconds - 0.5:
        place = (spot + random.integers(-4, 5)) % nodes
        direction = np.array([1.0, 0.1, session.clean] if kind == "radial" else [session.clean, 0.05, 1.0])
        direction *= np.exp(0.3 * random.normal(size=3))
        strength = np.exp(0.3 * random.normal())
        start = round(at * rate)
        time = np.arange(count - start) / rate
        ringing = np.zeros(time.size)
        for hz, shape, q in zip(found.hz, found.shapes, quality, strict=True):
            force = shape[place] @ direction * _push(hz, session.contact)
            heard = np.sqrt((shape[ear] ** 2 @ np.array([1.0, 0.1, 0.6])) + 0.2 * np.mean(shape**2))
            loud = strength * force * heard * hz**1.0  # speed, radiating better the faster
            span = min(time.size, round(8 * q / (np.pi * hz) * rate))
            t = time[:span]
            ringing[:span] += loud * np.exp(-np.pi * hz * t / q) * np.sin(2 * np.pi * hz * t)
        knock = random.normal(size=round(0.02 * rate)) * np.exp(-np.arange(round(0.02 * rate)) / (0.004 * rate))
        span = min(knock.size, time.size)
        ringing[:span] += 0.5 * np.abs(ringing).max() * knock[:span]
        out[start:] += ringing
        at += session.every * np.exp(0.15 * random.normal())
    out = _high_pass(out, rate, session.high_pass)
    out /= np.abs(out).max()
    time = np.arange(count) / rate
    for hz in session.tones:
        out += session.tone * np.exp(0.5 * random.normal()) * np.sin(2 * np.pi * hz * time + random.uniform(0, 6))
    hiss = random.normal(size=count)
    rumble = np.cumsum(random.normal(size=count))
    rumble = _high_pass(rumble, rate, 60.0)
    out += session.noise * (0.5 * hiss + 0.5 * rumble / np.std(rumble))
    out *= 0.8 / np.abs(out).max()
    steps = 2 ** (session.bits - 1)
    return np.round(out * steps) / steps


def _push(hz: float, contact: float) -> float:
    """Spectrum of a half sine of force."""
    x = 2 * hz * contact
    return float(abs(np.cos(np.pi * x / 2) / (1 - x**2))) if abs(x - 1) > 1e-6 else np.pi / 4


def _high_pass(sound: np.ndarray, rate: float, hz: float) -> np.ndarray:
    count = next_fast_len(sound.size, real=True)  # a prime number of samples takes several times as long
    spectrum = np.fft.rfft(sound, count)
    f = np.fft.rfftfreq(count, 1 / rate)
    return np.fft.irfft(spectrum * (f**2 / (f**2 + hz**2)), count)[: sound.size]


KINDS = {
    # name: radius mm, mass g, gyration in plane and out mm (spread 10 %), ratio, material
    "shallow": (304, 530, 3.9, 5.4, 0.13, "aluminium"),
    "single": (302, 550, 4.1, 4.6, 0.12, "aluminium"),
    "deep": (302, 490, 6.9, 5.7, 0.40, "aluminium"),
    "twenty": (217, 380, 3.8, 4.6, 0.17, "aluminium"),
    "steel": (306, 780, 4.0, 4.8, 0.08, "steel"),
    "wide": (288, 620, 4.8, 7.2, 0.20, "aluminium"),
}


def random_rim(kind: str, seed: int) -> tuple[RingingRim, str]:
    """A rim of a kind, its figures spread about; and its material."""
    random = np.random.default_rng([seed, sorted(KINDS).index(kind)])
    radius, mass, r_in, r_out, ratio, material = KINDS[kind]
    radius *= 1 + 0.01 * random.normal()
    mass *= 1 + 0.07 * random.normal()
    axial = STRETCH[material] * mass / (2 * np.pi * radius)  # N
    bend = axial * (r_in * np.exp(0.1 * random.normal())) ** 2 / 1e6
    side = axial * (r_out * np.exp(0.1 * random.normal())) ** 2 / 1e6
    twist = side * ratio * np.exp(0.25 * random.normal())
    rim = RingingRim(
        radius / 1000,
        mass / 1000,
        bend,
        side,
        twist,
        axial,
        axial / 8.5 * np.exp(0.2 * random.normal()),
        float(np.hypot(r_in, r_out)) / 1000,
        warping=float(twist * 0.01 * random.exponential() * (radius / 1000) ** 2 / 4),
        joint_mass=random.uniform(0.0, 0.025),
        joint_stiffness=random.uniform(0.8, 1.8),
        joint_length=random.uniform(0.03, 0.08),
        valve_stiffness=random.uniform(0.5, 1.0),
    )
    return replace(rim, mass=rim.mass - rim.joint_mass), material


def random_session(seed: int) -> Session:
    """A way of recording, good or poor."""
    random = np.random.default_rng([seed, 99])
    return Session(
        rate=int(random.choice([8000, 16000, 22050, 44100, 48000])),
        seconds=random.uniform(6, 20),
        every=random.uniform(0.9, 3.0),
        clean=random.uniform(0.05, 0.4),
        contact=random.uniform(0.001, 0.004),
        quality=np.exp(random.uniform(np.log(150), np.log(1500))),
        high_pass=random.uniform(40, 160),
        noise=10 ** random.uniform(-2.5, -1.2),
        tones=tuple(random.uniform(50, 700, random.integers(0, 5))),
        tone=10 ** random.uniform(-2.5, -1.0),
        seed=seed,
        lead=random.uniform(0.1, 1.5),
    )


__all__ = ["KINDS", "STRETCH", "Session", "modes", "random_rim", "random_session", "tapped"]
