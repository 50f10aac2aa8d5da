"""Plucked spokes by finite differences in time: nothing but Newton's law on a grid, and nothing of `wheelcalc`.

Each spoke is a chain of points under tension with its bending stiffness and its two diameters. Its head hangs in a springy
elbow; its other end is clamped into a nipple that tilts in the rim on a spring of its own. Motion stretches the wire (it starts
sharp), air and wire take energy, more at high frequencies. Crossed spokes press on each other where they touch and may part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy.signal

E, RHO = 2.0e11, 7900.0  # Pa, kg/m3
CELLS = 40
OUT_RATE = 48_000


@dataclass
class GridSpoke:
    """One spoke, or it and the one that it touches. Lengths mm (head to nipple), tension N, springs N/m and N m/rad."""

    lengths: tuple[float, ...]
    diameters: tuple[float, ...]
    tensions: tuple[float, ...]
    crossing: float | None = None  # of the length, from the head
    elbow_spring: float = 2.0e6
    elbow_turn: float = 8.0
    nipple_length: float = 6.0  # mm, the lever from the wire's end to the seat
    nipple_turn: float = 30.0
    press: float = 6.0  # N at the crossing
    contact: float = 4.0e5  # N/m
    air: float = 3.0  # 1/s
    inner: float = 2.0e-4  # m2/s
    end_loss: float = 1.5  # N s/m at the nipple


@dataclass
class GridPluck:
    """How it is plucked: where (of the length), how far (mm), how wide and how slowly let go, and what is heard."""

    place: float = 0.35
    far: float = 0.6
    width: float = 6.0  # mm
    let_go: float = 1.0  # ms
    near: float = 0.5  # share of the wire's own sound, the rest through rim
    ear: float = 0.4


class Grid:
    """Many spokes side by side, arrays (plucks, spokes of a pair, points)."""

    def __init__(self, spokes: list[GridSpoke]) -> None:
        count, both = len(spokes), max(len(each.tensions) for each in spokes)
        shape = (count, both)
        total = np.array([sum(each.lengths) for each in spokes]) / 1e3
        self.h = (total / CELLS)[:, None, None]
        cells = np.empty((count, CELLS))
        for row, each in enumerate(spokes):
            ends = np.cumsum(each.lengths) / sum(each.lengths)
            cells[row] = np.array(each.diameters)[np.searchsorted(ends, (np.arange(CELLS) + 0.5) / CELLS)] / 1e3
        ei, mu = E * math.pi / 64 * cells**4, RHO * math.pi / 4 * cells**2
        self.bend = (2 / (1 / ei[:, :-1] + 1 / ei[:, 1:]))[:, None, :] / self.h**3
        mass = np.zeros((count, CELLS + 1))
        mass[:, :-1] += mu / 2
        mass[:, 1:] += mu / 2
        self.mass = np.broadcast_to(mass[:, None, :] * self.h, (*shape, CELLS + 1)).copy()
        self.tension = np.array([(list(each.tensions) * 2)[:both] for each in spokes])[:, :, None]
        self.area = (cells**2).mean(axis=1)[:, None, None] * math.pi / 4

        def of(name: str) -> np.ndarray:
            return np.array([getattr(each, name) for each in spokes], float)[:, None]

        h = self.h[:, :, 0]
        first, last = 2 * ei[:, :1] / h, 2 * ei[:, -1:] / h
        self.elbow = of("elbow_spring")
        self.head_turn = first * of("elbow_turn") / (first + of("elbow_turn")) / h**2
        self.lever = of("nipple_length") / 1e3
        self.last_turn, self.nipple_turn = last, of("nipple_turn")
        self.mass[:, :, -1] += 1e-3 / 3  # kg: a nipple of a gramme that swings about its seat
        self.mass[:, :, 0] += 2e-4
        self.pair = np.array([len(each.tensions) > 1 for each in spokes])
        at = [each.crossing if each.crossing else 0.3 for each in spokes]
        self.cross = np.clip(np.round(np.array(at) * CELLS).astype(int), 2, CELLS - 2)
        self.press, self.contact = of("press")[:, 0], np.where(self.pair, of("contact")[:, 0], 0.0)
        self.air, self.inner, self.end_loss = of("air"), of("inner")[:, :, None], of("end_loss")
        self.rows = np.arange(count)

    def force(self, u: np.ndarray, v: np.ndarray, stretch: bool, lasting: bool = True) -> np.ndarray:
        """Of all springs and losses on every point."""
        step = np.diff(u)
        pull = self.tension
        if stretch:
            strain = np.mean((step / self.h) ** 2, axis=2, keepdims=True) / 2
            pull = pull + E * self.area * strain
        string = pull / self.h * step + self.inner * np.diff(v) * (self.mass[:, :, 1:2] / self.h**2)
        moment = self.bend * np.diff(step)
        out = np.zeros_like(u)
        out[:, :, :-1] += string
        out[:, :, 1:] -= string
        out[:, :, :-2] -= moment
        out[:, :, 1:-1] += 2 * moment
        out[:, :, 2:] -= moment
        h = self.h[:, :, 0]
        head = self.head_turn * step[:, :, 0]
        out[:, :, 0] += head - self.elbow * u[:, :, 0]
        out[:, :, 1] -= head
        tilt = u[:, :, -1] / self.lever
        knee = self.last_turn * (step[:, :, -1] / h + tilt)
        out[:, :, -1] -= knee * (1 / h + 1 / self.lever) + (self.nipple_turn * tilt / self.lever) + pull[:, :, 0] * tilt
        out[:, :, -1] -= self.end_loss * v[:, :, -1]
        out[:, :, -2] += knee / h
        out -= 2 * self.air[:, :, None] * self.mass * v
        if u.shape[1] > 1:
            gap = self.contact * (u[self.rows, 0, self.cross] - u[self.rows, 1, self.cross])
            touch = gap if not lasting else np.maximum(gap, -self.press)
            out[self.rows, 0, self.cross] -= touch
            out[self.rows, 1, self.cross] += touch
        return out

    def stiffness(self) -> np.ndarray:
        """(plucks, n, n) of the resting system."""
        count, both, points = self.mass.shape
        size = both * points
        out = np.empty((count, size, size))
        for column in range(size):
            u = np.zeros((count, size))
            u[:, column] = 1
            u = u.reshape(self.mass.shape)
            out[:, :, column] = -self.force(u, np.zeros_like(u), False, False).reshape(count, size)
        return out

    def pitches(self, count: int = 3) -> np.ndarray:
        """First frequencies of each, small motion [Hz]."""
        root = np.sqrt(self.mass.reshape(len(self.rows), -1))
        squares = np.linalg.eigvalsh(self.stiffness() / root[:, :, None] / root[:, None, :])
        if not self.pair.all() and self.mass.shape[1] > 1:
            size = CELLS + 1
            for row in np.flatnonzero(~self.pair):
                own = (self.stiffness()[row] / root[row][:, None] / root[row])[:size, :size]
                squares[row, :size] = np.linalg.eigvalsh(own)
        return np.sqrt(squares[:, :count]) / (2 * math.pi)


def plucked(spokes: list[GridSpoke], plucks: list[GridPluck], seconds: float) -> tuple[np.ndarray, np.ndarray]:
    """Sounds (plucks, samples) at 48 kHz, each of peak 1, and the pitch of each [Hz]."""
    grid = Grid(spokes)
    count, _, points = grid.mass.shape
    place = np.arange(points) / CELLS
    push = np.zeros_like(grid.mass)
    total = grid.h[:, 0, 0] * CELLS
    for row, each in enumerate(plucks):
        wide = max(each.width / 1e3 / total[row] / 2, 0.6 / CELLS)
        push[row, 0] = np.exp(-0.5 * ((place - each.place) / wide) ** 2)
    flat = np.linalg.solve(grid.stiffness(), push.reshape(count, -1, 1))[:, :, 0].reshape(push.shape)
    scale = np.array([each.far for each in plucks]) / 1e3 / np.abs(flat).max(axis=(1, 2))
    u, push = flat * scale[:, None, None], push * scale[:, None, None]
    stiffest = (4 * grid.tension.max() / grid.h.min() + 16 * grid.bend.max()) / grid.mass[:, :, 1:-1].min()
    # D: leapfrog steps hold while they are shorter than two over the fastest angular frequency; a tenth to spare.
    steps_a_sample = math.ceil(0.55 * math.sqrt(stiffest) / OUT_RATE)
    dt = 1 / (OUT_RATE * steps_a_sample)
    v, over = np.zeros_like(u), dt / grid.mass
    steps = round(seconds * OUT_RATE) * steps_a_sample
    let_go = np.array([each.let_go / 1e3 for each in plucks])[:, None, None]
    near = np.array([each.near for each in plucks])
    ear = np.clip(np.round(np.array([each.ear for each in plucks]) * CELLS).astype(int), 1, CELLS - 1)
    heard = np.empty((2, count, steps), dtype=np.float32)
    for step in range(steps):
        f = grid.force(u, v, True)
        if step * dt < let_go.max():
            f += push * np.clip(1 - step * dt / let_go, 0, 1)
        v += over * f
        u += dt * v
        heard[0, :, step] = v[grid.rows, 0, ear]
        heard[1, :, step] = u[:, 0, -1]
    wire, end = heard
    end = np.diff(end, axis=1, append=end[:, -1:])
    mix = [
        n * a / (np.abs(a).max() + 1e-12) + (1 - n) * b / (np.abs(b).max() + 1e-12)
        for a, b, n in zip(wire, end, near, strict=True)
    ]
    sound = scipy.signal.resample_poly(np.array(mix), 1, steps_a_sample, axis=1)
    return sound / np.abs(sound).max(axis=1, keepdims=True), grid.pitches(2)[:, 0]
