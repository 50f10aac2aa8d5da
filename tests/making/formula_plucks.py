"""Plucked spokes by closed formulas: the stiff string of the books, its partials slightly off as real wire's are.

Amplitudes are those of an ideal string pulled aside at one place by something of a certain width; each partial dies at a rate of
its own and sounds in two directions that beat. Nothing of `wheelcalc` is used, and no grid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

E, RHO = 2.0e11, 7900.0


@dataclass
class FormulaSpoke:
    """Free length [mm], middle and end diameter [mm], tension [N], how much of a clamp's end correction each end has (0 to 1)."""

    length: float
    diameter: float
    end_diameter: float
    tension: float
    hold: float = 0.5
    crossing: float | None = None

    @property
    def stiffness(self) -> float:
        return E * math.pi / 64 * (0.9 * self.diameter + 0.1 * self.end_diameter) ** 4 * 1e-12

    @property
    def mass(self) -> float:
        ends = 0.12
        return RHO * math.pi / 4 * ((1 - ends) * self.diameter**2 + ends * self.end_diameter**2) * 1e-6

    def partials(self, count: int, length: float | None = None) -> np.ndarray:
        """Fletcher's stiff string, shortened at its ends [Hz]."""
        n = np.arange(1, count + 1)
        end = math.sqrt(E * math.pi / 64 * self.end_diameter**4 * 1e-12 / self.tension)
        free = (length or self.length) / 1e3 - 2 * self.hold * end
        f0 = math.sqrt(self.tension / self.mass) / (2 * free)
        b = math.pi**2 * self.stiffness / (self.tension * free**2)
        # The thick ends weigh where high partials move and low ones do not.
        return n * f0 * np.sqrt(1 + b * n**2) * (1 - 0.0006 * (self.end_diameter / self.diameter - 1) * 10 * (n - 1))

    @property
    def pitch(self) -> float:
        return float(self.partials(1)[0])


def plucked(
    spoke: FormulaSpoke, how: str, place: float, rate: int, seconds: float, rng: np.random.Generator
) -> np.ndarray:
    """The sound of one pluck by "finger", "pick" or "key", its peak 1."""
    t = np.arange(round(seconds * rate)) / rate
    wide = {"finger": rng.uniform(8, 16), "pick": rng.uniform(1, 3), "key": rng.uniform(2, 4)}[how] / spoke.length
    hard = {"finger": 0.003, "pick": 0.005, "key": 0.004}[how] * rng.uniform(0, 1)
    ring = rng.uniform(0.08, 0.5)
    growth = rng.uniform(0.05, 0.45)

    def pulled(number: int, at: float) -> float:
        """Amplitude of a partial of a string pulled aside there by something so wide."""
        return np.sin(number * math.pi * at) / number**2 * math.exp(-0.5 * (number * math.pi * wide / 2) ** 2)

    rows = [(f, pulled(k, place), k) for k, f in enumerate(spoke.partials(14), 1)]
    if spoke.crossing:
        share = rng.uniform(0.05, 1.0)
        long = 1 - spoke.crossing
        for k, f in enumerate(spoke.partials(6, spoke.length * long), 1):
            rows.append(
                (f * (1 + rng.normal(0, 0.006)), share * np.sin(k * math.pi * min(place / long, 0.97)) / k**2, 1.2 * k)
            )
    tilt = rng.uniform(0.0, 1.6)
    out = np.zeros_like(t)
    for f, amplitude, k in rows:
        if f > 0.46 * rate:
            continue
        own = 1.0 if f == rows[0][0] else 1 + rng.normal(0, 0.0015)
        dying = ring / (1 + growth * (k - 1)) * rng.uniform(0.6, 1.4)
        glide = t + hard * ring / 2 * (1 - np.exp(-2 * t / ring))
        for share, shift in ((1.0, 1.0), (rng.uniform(0, 0.7), 1 + rng.normal(0, 0.0008))):
            out += (
                share
                * amplitude
                * k**tilt
                * np.exp(-t / dying)
                * np.sin(2 * np.pi * f * own * shift * glide + rng.uniform(0, 6.3))
            )
    rise = {"finger": 0.002, "pick": 0.0004, "key": 0.0003}[how]
    out *= 1 - np.exp(-t / rise)
    out /= np.abs(out).max()
    scrape = rng.normal(size=t.size) * np.exp(-t / rng.uniform(0.001, 0.006))
    loud = {"finger": 0.15, "pick": 0.5, "key": 0.8}[how] * rng.uniform(0, 1)
    if how == "key":
        scrape += sum(np.exp(-t / 0.01) * np.sin(2 * np.pi * rng.uniform(1800, 6000) * t) for _ in range(4))
    return out + loud * scrape / np.abs(scrape).max()
