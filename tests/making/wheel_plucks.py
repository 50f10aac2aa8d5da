"""Plucked spokes as parts of one whole wheel: finite elements, all spokes and the rim coupled, neighbours ringing along.

Each spoke is a chain of Hermite beam elements under tension and moves in two directions; crossed ones are joined by a spring where
they touch; all hang on the bending modes of one rim. What is heard is the wire, its rim, and the pull of the wire's own
stretching, which is quadratic and so sounds at sums of its partials. Nothing of `wheelcalc` is used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy.linalg

E, RHO = 2.02e11, 7850.0  # Pa, kg/m3
ELEMENTS, FIXED_MODES, RIM_WAVES = 16, 14, 12
RATE = 48_000
HIGHEST_HZ = 14_000.0
FAINTEST = 1e-3  # of the loudest mode: fainter ones are left out


@dataclass
class WheelSpoke:
    """Lengths and diameters [mm] head to nipple, tension [N], place on the rim [rad], the other spoke that it touches, and where."""

    lengths: tuple[float, ...]
    diameters: tuple[float, ...]
    tension: float
    angle: float
    partner: int | None = None
    crossing: float | None = None  # of the length


@dataclass
class WheelPluck:
    """Which spoke, where (of its length), in which direction (0 sideways) [rad], how far [mm], let go within [ms]; what is heard."""

    spoke: int
    place: float
    direction: float
    far: float
    let_go: float
    ear: float
    rim_share: float
    stretch_share: float


class PluckedWheel:
    """All modes of spokes that hang on one rim."""

    def __init__(self, spokes: list[WheelSpoke], rng: np.random.Generator) -> None:
        self.spokes = spokes
        self.turn = (rng.uniform(1, 30), rng.uniform(2, 60))  # N m/rad of elbow and nipple
        self.across = rng.uniform(0.85, 1.2)  # how much stiffer the ends are in the other direction
        self.contact = (10 ** rng.uniform(4.8, 5.8), 10 ** rng.uniform(4.0, 5.5))  # N/m sideways, and by friction
        self.air, self.inner = rng.uniform(1.0, 5.0), 10 ** rng.uniform(-6.6, -5.6)  # 1/s, s
        self._rim(rng)
        self._substructures()
        self._solve()

    def _rim(self, rng: np.random.Generator) -> None:
        mass, waves = rng.uniform(0.4, 0.9), np.arange(2, 2 + RIM_WAVES)
        self.rim_hz, rows = [], []
        for first, axial in ((rng.uniform(60, 140), True), (rng.uniform(90, 200), False)):
            hz = first * (waves * (waves**2 - 1) / np.sqrt(waves**2 + 1)) / (6 / math.sqrt(5))
            for turned in (0.0, math.pi / 2):
                self.rim_hz += (np.hypot(hz, rng.uniform(80, 160)) * (1 + rng.normal(0, 0.01, hz.size))).tolist()
                rows += [(n, turned, axial) for n in waves.tolist()]
        self.rim_rows, self.rim_mass = rows, mass / 2
        self.rim_q = rng.uniform(10, 60)
        keep = [i for i, hz in enumerate(self.rim_hz) if hz < 5000]
        self.rim_hz, self.rim_rows = np.array(self.rim_hz)[keep], [rows[i] for i in keep]

    def _at_rim(self, angle: float, axial: bool) -> np.ndarray:
        """Movement of the rim there in each of its modes."""
        return np.array([math.cos(n * angle - turned) * (way == axial) for n, turned, way in self.rim_rows])

    def _matrices(self, spoke: WheelSpoke, axial: bool) -> tuple[np.ndarray, np.ndarray, float]:
        """Stiffness and mass of one spoke, (2 e + 2) square, and the length of an element [m]."""
        total = sum(spoke.lengths) / 1e3
        h = total / ELEMENTS
        ends = np.cumsum(spoke.lengths) / sum(spoke.lengths)
        wide = np.array(spoke.diameters)[np.searchsorted(ends, (np.arange(ELEMENTS) + 0.5) / ELEMENTS)] / 1e3
        size = 2 * ELEMENTS + 2
        stiff, mass = np.zeros((size, size)), np.zeros((size, size))
        bend = np.array([[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]], float)
        pull = np.array([[36, 3, -36, 3], [3, 4, -3, -1], [-36, -3, 36, -3], [3, -1, -3, 4]], float) / 30
        heavy = np.array([[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]], float) / 420
        scale = np.outer([1, h, 1, h], [1, h, 1, h])
        for i, d in enumerate(wide.tolist()):
            at = slice(2 * i, 2 * i + 4)
            stiff[at, at] += (E * math.pi / 64 * d**4 * bend / h**3 + spoke.tension * pull / h) * scale
            mass[at, at] += RHO * math.pi / 4 * d**2 * h * heavy * scale
        way = 1.0 if axial else self.across
        stiff[1, 1] += self.turn[0] * way
        stiff[-1, -1] += self.turn[1] * way
        return stiff, mass, h

    def _shape(self, place: float) -> np.ndarray:
        """Deflection at a place (of the length) as a row over the element's unknowns, lengths of elements taken out."""
        i = min(int(place * ELEMENTS), ELEMENTS - 1)
        s = place * ELEMENTS - i
        row = np.zeros(2 * ELEMENTS + 2)
        row[2 * i : 2 * i + 4] = [
            1 - 3 * s**2 + 2 * s**3,
            s - 2 * s**2 + s**3,
            3 * s**2 - 2 * s**3,
            s**3 - s**2,
        ]
        return row

    def _row(self, spoke: int, place: float, h: float) -> np.ndarray:
        row = self._shape(place)
        row[1::2] *= h
        return row

    def _substructures(self) -> None:
        """Single spokes and pairs, in both directions, reduced to modes with still ends and the movement of their ends."""
        self.parts, self.pitch = [], np.empty(len(self.spokes))
        for number, spoke in enumerate(self.spokes):
            other = spoke.partner
            if other is not None and other < number:
                continue
            members = [number] if other is None else [number, other]
            for axial in (True, False):
                blocks = [self._matrices(self.spokes[each], axial) for each in members]
                stiff = scipy.linalg.block_diag(*[block[0] for block in blocks])
                mass = scipy.linalg.block_diag(*[block[1] for block in blocks])
                size = 2 * ELEMENTS + 2
                if other is not None:
                    rows = [self._row(e, self.spokes[e].crossing, b[2]) for e, b in zip(members, blocks, strict=True)]
                    apart = np.concatenate([rows[0], -rows[1]])
                    stiff += self.contact[0 if axial else 1] * np.outer(apart, apart)
                heads = [size * i for i in range(len(members))]
                ends = [size * i + size - 2 for i in range(len(members))]
                inner = np.setdiff1d(np.arange(stiff.shape[0]), heads + ends)
                squares, modes = scipy.linalg.eigh(stiff[np.ix_(inner, inner)], mass[np.ix_(inner, inner)])
                count = FIXED_MODES * len(members)
                shapes = np.zeros((stiff.shape[0], count + len(members)))
                shapes[inner, :count] = modes[:, :count]
                for i, end in enumerate(ends):
                    shapes[end, count + i] = 1
                    shapes[inner, count + i] = -np.linalg.solve(stiff[np.ix_(inner, inner)], stiff[inner, end])
                self.parts.append((members, axial, shapes, stiff, mass, [block[2] for block in blocks], count))
                if axial:
                    self.pitch[members] = math.sqrt(squares[0]) / (2 * math.pi)

    def _solve(self) -> None:
        rim = self.rim_hz.size
        total = rim + sum(part[6] for part in self.parts)
        stiff, mass, loss = np.zeros((total, total)), np.zeros((total, total)), np.zeros(total)
        stiff[range(rim), range(rim)] = self.rim_mass * (2 * math.pi * self.rim_hz) ** 2
        mass[range(rim), range(rim)] = self.rim_mass
        loss[:rim] = self.rim_mass * 2 * math.pi * self.rim_hz / self.rim_q
        self.where, at = {}, rim
        for members, axial, shapes, own_stiff, own_mass, steps, count in self.parts:
            columns = np.concatenate([np.arange(at, at + count), np.arange(rim)])
            join = np.zeros((shapes.shape[1], count + rim))
            join[:count, :count] = np.eye(count)
            for i, each in enumerate(members):
                join[count + i, count:] = self._at_rim(self.spokes[each].angle, axial)
            full = shapes @ join
            stiff[np.ix_(columns, columns)] += full.T @ own_stiff @ full
            mass[np.ix_(columns, columns)] += full.T @ own_mass @ full
            hz = np.sqrt(np.diag(shapes[:, :count].T @ own_stiff @ shapes[:, :count])) / (2 * math.pi)
            loss[at : at + count] = 2 * (self.air + self.inner * hz**2)
            for i, each in enumerate(members):
                self.where[each, axial] = (
                    full[i * (2 * ELEMENTS + 2) : (i + 1) * (2 * ELEMENTS + 2)],
                    columns,
                    steps[i],
                )
            at += count
        squares, modes = scipy.linalg.eigh(stiff, mass)
        self.omega = np.sqrt(np.maximum(squares, 1.0))
        self.modes = modes
        self.decay = 0.5 * (modes**2 * loss[:, None]).sum(axis=0)

    def moved(self, spoke: int, axial: bool, place: float) -> np.ndarray:
        """Movement of a place of a spoke in each mode of the wheel."""
        full, columns, step = self.where[spoke, axial]
        return np.asarray((self._row(spoke, place, step) @ full) @ self.modes[columns])

    def plucked(self, pluck: WheelPluck, seconds: float, rng: np.random.Generator) -> np.ndarray:
        """The sound of one pluck, its peak 1."""
        ways = ((True, math.cos(pluck.direction)), (False, math.sin(pluck.direction)))
        force = sum(share * self.moved(pluck.spoke, axial, pluck.place) for axial, share in ways)
        still = force / self.omega**2
        still *= pluck.far / 1e3 / float(still @ force)
        still *= np.abs(np.sinc(self.omega / (2 * math.pi) * pluck.let_go / 1e3))
        toward = rng.uniform(-0.9, 0.9)
        wire = sum(
            share * self.moved(pluck.spoke, axial, pluck.ear)
            for axial, share in ((True, math.cos(toward)), (False, math.sin(toward)))
        )
        rim = self.modes[: self.rim_hz.size]
        weights = rng.normal(size=rim.shape[0])
        at_wire, at_rim = wire * still * self.omega, (weights @ rim) * still * self.omega
        loud = np.abs(at_wire) / np.abs(at_wire).max() + np.abs(at_rim) / np.abs(at_rim).max()
        kept = (loud > FAINTEST * loud.max()) & (self.omega < 2 * math.pi * HIGHEST_HZ)
        t = np.arange(round(seconds * RATE)) / RATE
        sounds = np.zeros((3, t.size))
        ring = 1 / float(np.average(self.decay[kept], weights=loud[kept]))
        # D: the mean stretch of the wire adds E A (a pi / 2 L)^2 to its tension, so that a wide swing starts sharp.
        spoke = self.spokes[pluck.spoke]
        strain = (math.pi * pluck.far / (2 * sum(spoke.lengths))) ** 2
        sharp = 0.25 * E * math.pi / 4 * (np.mean(spoke.diameters) / 1e3) ** 2 * strain / spoke.tension
        warped = t + sharp * ring / 2 * (1 - np.exp(-2 * t / ring))
        own = self.moved(pluck.spoke, True, 0.4)
        for k in np.flatnonzero(kept).tolist():
            swing = (
                np.exp((-self.decay[k] + 1j * self.omega[k]) * t)
                if sharp < 1e-5
                else np.exp(-self.decay[k] * t + 1j * self.omega[k] * warped)
            )
            sounds[0] += at_wire[k] * swing.imag
            sounds[1] += at_rim[k] * swing.imag
            sounds[2] += own[k] * still[k] * swing.real
        stretched = np.diff(sounds[2] ** 2, prepend=sounds[2][0] ** 2)
        parts = (1 - pluck.rim_share, sounds[0]), (pluck.rim_share, sounds[1]), (pluck.stretch_share, stretched)
        out = sum(share * each / (np.abs(each).max() + 1e-20) for share, each in parts)
        return np.asarray(out / np.abs(out).max())
