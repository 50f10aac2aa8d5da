"""From the peaks of a tapped rim to its stiffness: which peak is which mode, and what the modes say together.

Any peak may be a radial mode, a lateral mode or neither, so all assignments are weighed. The peaks are a Poisson
process in the logarithm of frequency: each mode brings about one peak (two where joint and valve hole split it) near
its place, and others lie anywhere. Places to start from come from every peak taken for every radial mode, and every two
peaks for every two lateral modes; the best are sharpened (expectation and maximum by turns) and weighed by their
evidence (Laplace).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.measuring.rim_modes import WAVES, BareRim, lateral_hz, radial_hz
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

KINDS = ("radial", "lateral")
# Radii of gyration [mm] and GJ / EI out of plane of four measured rims are 3.8 to 6.9, 4.6 to 5.7 and 0.12 to 0.41 (MF,
# D); the spreads of their logarithms are widened, since rims deeper, wider and of other materials exist (ours).
RADIAL_GYRATION, RADIAL_SPREAD = 4.6, 0.40
LATERAL_GYRATION, LATERAL_SPREAD = 5.1, 0.30
RATIO, RATIO_SPREAD = 0.17, 0.60
# Ours: how far the formulas miss a mode of n waves, a share of its frequency times n^2 (shear and warping are known
# roughly); how far joint and valve hole move either of a pair; how well a peak is read.
FORMULA, SPLIT, READ_HZ = 0.0015, 0.008, 0.3
# Ours: peaks that a mode of 2, 3, ... waves brings, fewer where phones hear badly, and so large a share where nobody
# struck in its direction; others in each factor e of frequency; how much likelier a peak heard in one recording alone is
# the mode struck there (square root).
SHOWN, SHOWN_LOW, LOW_HZ, ASIDE = np.array([1.6, 1.6, 1.1, 0.7, 0.7]), 0.7, 80.0, 0.4
CLUTTER = 2.0
LOUDER, LOUDER_DB = 1.0, 10.0
# Ours: places to start from, how far apart (logarithm), how often each is sharpened and how far at most at a time.
TRIED, UNLIKE, STEPS, STRIDE = 16, 0.05, 12, 0.2
LIKELY = 0.95  # D: the share within 1.96 standard uncertainties


@dataclass(frozen=True)
class Peak:
    """A frequency that rings after a tap.

    Parameters
    ----------
    hz : [Hz]
    louder : by how much it is louder struck inward than sideways [dB]; 0 where that is not known
    level : against the middle one of the peaks [dB]; a loud one is rarely a stray
    """

    hz: float
    louder: float = 0.0
    level: float = 0.0


@dataclass(frozen=True)
class Mode:
    """A mode as heard: `hz` of its louder peak, its kind, its waves, and the other peak of its pair or None."""

    hz: float
    kind: str
    waves: int
    pair_hz: float | None


class Told(NamedTuple):
    """What the modes tell: EI in the rim's plane, EI out of it, GJ; or a figure for each."""

    in_plane: float
    out_of_plane: float
    torsion: float


@dataclass(frozen=True)
class Fit:
    """What the peaks say.

    Parameters
    ----------
    stiffness : as the likeliest assignment has it [N m2]
    sigma : a share of each; 1.96 of it reach so far that 19 in 20 of all assignments, weighed, lie within
    modes : as the likeliest assignment has them
    evidence : natural logarithm of how much likelier the peaks are from such a rim than by chance
    sure : 0 to 1, the share of the likeliest assignment among all
    """

    stiffness: Told
    sigma: Told
    modes: Sequence[Mode]
    evidence: float
    sure: float


def fitted(rim: BareRim, peaks: Sequence[Peak], band: tuple[float, float], struck: Sequence[str] = KINDS) -> Fit:
    """The stiffness that a rim's peaks tell.

    Parameters
    ----------
    rim : what is known of it
    peaks : that ring, at least one
    band : within which peaks were looked for [Hz]
    struck : in the direction of which modes the rim was tapped
    """
    model = _Model.of(rim, peaks, band, struck)
    fits = _distinct([model.sharpened(start) for start in model.starts()])
    weights = np.exp([each.evidence - fits[0].evidence for each in fits])
    weights /= weights.sum()
    told = np.array([ASKED @ each.log for each in fits])
    spread = np.sqrt([np.diag(ASKED @ each.covariance @ ASKED.T) for each in fits])
    values = np.exp(told[0]).tolist()
    sigmas = [_sigma(told[:, i], spread[:, i], weights) for i in range(len(ASKED))]
    total = fits[0].evidence - math.log(weights[0])
    return Fit(Told(*values), Told(*sigmas), model.modes(fits[0]), total, float(weights[0]))


# EI in plane, EI out of plane and GJ (logarithms) from those of EI in plane, GJ and GJ over EI out of plane.
ASKED = np.array([[1.0, 0, 0], [0, 1, -1], [0, 1, 0]])


def _sigma(told: Floats, spread: Floats, weights: Floats) -> float:
    """A 1.96th of how far from the first of some normal distributions 19 in 20 of all, weighed, lie."""
    away, root = told - told[0], math.sqrt(2)
    low, high = 0.0, float(np.max(np.abs(away)) + 4 * np.max(spread))
    for _ in range(40):
        reach = (low + high) / 2
        ends = np.array([(reach - away) / spread / root, (-reach - away) / spread / root])
        inside = sum(w * (math.erf(b) - math.erf(a)) / 2 for w, b, a in zip(weights, *ends, strict=True))
        low, high = (reach, high) if inside < LIKELY else (low, reach)
    return high / NINETEEN_IN_TWENTY


@dataclass(frozen=True)
class _End:
    log: Floats
    covariance: Floats
    shares: Floats
    evidence: float


@dataclass(frozen=True)
class _Model:
    rim: BareRim
    hz: Floats
    kind_odds: Floats  # (peaks, 2)
    clutter: Floats  # (peaks,)
    band: tuple[float, float]
    level: Floats
    prior: Floats
    spread: Floats
    usual: Floats  # peaks that each mode brings, (2, waves)

    @classmethod
    def of(cls, rim: BareRim, peaks: Sequence[Peak], band: tuple[float, float], struck: Sequence[str]) -> _Model:
        louder = LOUDER * np.clip([each.louder / LOUDER_DB for each in peaks], -1, 1)
        level = np.array([each.level for each in peaks])
        hz = np.array([each.hz for each in peaks])
        prior = np.log([rim.bending(RADIAL_GYRATION), RATIO * rim.bending(LATERAL_GYRATION), RATIO])
        odds = np.exp(np.column_stack([louder, -louder]))
        clutter = CLUTTER * np.exp(-np.clip(level / LOUDER_DB, -1, 1))
        shown = SHOWN * np.array([[1.0 if kind in struck else ASIDE] for kind in KINDS])
        return cls(rim, hz, odds, clutter, band, level, prior, _prior_precision(), shown)

    def log_hz(self, log: Floats) -> Floats:
        """Logarithms of all modes' frequencies, (..., 2, waves)."""
        bending, torsion, ratio = np.moveaxis(np.exp(log), -1, 0)
        both = np.stack([radial_hz(self.rim, bending), lateral_hz(self.rim, torsion, ratio)], axis=-2)
        return np.log(both)

    def shown(self, log_hz: Floats, usual: Floats) -> Floats:
        """Peaks that each mode is expected to bring, of those that it usually does; none outside the band."""
        inside = (log_hz > math.log(self.band[0])) & (log_hz < math.log(self.band[1]))
        return np.where(log_hz < math.log(LOW_HZ), np.minimum(usual, SHOWN_LOW), usual) * inside

    def densities(self, log_hz: Floats) -> Floats:
        """What each mode brings at each peak, per factor e of frequency, (..., 2, waves, peaks)."""
        return self._bells(log_hz) * self.shown(log_hz, self.usual)[..., None] * self.kind_odds.T[:, None, :]

    def _bells(self, log_hz: Floats) -> Floats:
        """The spread of one peak of each mode, (..., waves, peaks)."""
        wide = np.sqrt((FORMULA * WAVES[:, None] ** 2) ** 2 + SPLIT**2 + (READ_HZ / self.hz) ** 2)
        off = (np.log(self.hz) - log_hz[..., None]) / wide
        return np.asarray(np.exp(-0.5 * off**2) / (wide * math.sqrt(2 * math.pi)))

    def starts(self) -> Floats:
        """The likeliest places to start from, (tried, 3)."""
        radial, lateral = self._radial_starts(), self._lateral_starts()
        base = np.array(self.prior)
        with_radial = np.tile(base, (radial.size, 1))
        with_radial[:, 0] = radial
        with_lateral = np.tile(base, (len(lateral), 1))
        with_lateral[:, 1:] = lateral
        a, b = self.log_hz(with_radial)[:, 0], self.log_hz(with_lateral)[:, 1]
        ours = self._one_kind(a, 0)[:, None] + self._one_kind(b, 1)[None]
        told = np.log1p(ours / self.clutter).sum(axis=-1)
        told -= self._expected(a, 0)[:, None] + self._expected(b, 1)[None]
        told += self._prior_of(with_radial)[:, None] + self._prior_of(with_lateral)[None]
        best = np.argsort(-told, axis=None)[: 20 * TRIED]
        i, j = np.unravel_index(best, told.shape)
        every = np.column_stack([radial[i], lateral[j]])
        kept: list[Floats] = []
        while len(every) and len(kept) < TRIED:
            kept.append(every[0])
            every = every[np.abs(every - every[0]).max(axis=1) > UNLIKE]
        return np.array(kept)

    def _one_kind(self, log_hz: Floats, kind: int) -> Floats:
        """What all modes of a kind, (..., waves), bring at each peak, (..., peaks)."""
        bells = self._bells(log_hz) * self.shown(log_hz, self.usual[kind])[..., None]
        return np.asarray(bells.sum(axis=-2) * self.kind_odds[:, kind])

    def _expected(self, log_hz: Floats, kind: int) -> Floats:
        return np.asarray(self.shown(log_hz, self.usual[kind]).sum(axis=-1))

    def _radial_starts(self) -> Floats:
        """Logarithms of EI for every peak as every one of the three lowest modes, and the usual one."""
        at_prior = self.log_hz(self.prior)[0, :3]
        every = self.prior[0] + 2 * (np.log(self.hz)[:, None] - at_prior)
        return np.append(every.ravel(), self.prior[0])

    def _lateral_starts(self) -> Floats:
        """Logarithms of GJ and the ratio for every two peaks as every two modes, one peak as each, and the usual."""
        lowest = np.log(self.hz)
        wanted = [self.prior[None, 1:]]
        ratios = self.prior[2] + RATIO_SPREAD * np.array([-1.0, 0.0, 1.0])
        for place in range(3):
            for ratio in ratios:
                at = self.log_hz(np.array([self.prior[0], self.prior[1], ratio]))[1, place]
                wanted.append(np.column_stack([self.prior[1] + 2 * (lowest - at), np.full(lowest.size, ratio)]))
        i, j = np.triu_indices(lowest.size, 1)
        swap = lowest[i] > lowest[j]
        low, high = np.where(swap, lowest[j], lowest[i]), np.where(swap, lowest[i], lowest[j])
        for one in range(3):
            for two in range(one + 1, 4):
                wanted.append(self._two_modes(low, high, one, two))
        return np.concatenate(wanted)

    def _two_modes(self, low: Floats, high: Floats, one: int, two: int) -> Floats:
        """GJ and ratio (logarithms) that put two modes at two peaks (thin ring); those that no rim has, left out."""
        n, m = WAVES[one], WAVES[two]
        shape = np.exp(2 * (high - low)) * (n * (n**2 - 1)) ** 2 / (m * (m**2 - 1)) ** 2
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = (1 - shape) / (shape * m**2 - n**2)
            torsion = np.exp(2 * low) * self.rim.ring * (ratio * n**2 + 1) / (n * (n**2 - 1)) ** 2
            out = np.log(np.column_stack([torsion, ratio]))
        usual = np.abs(out[:, 1] - self.prior[2]) < 4 * RATIO_SPREAD
        return np.asarray(out[np.isfinite(out).all(axis=1) & usual])

    def _prior_of(self, log: Floats) -> Floats:
        off = log - self.prior
        return np.asarray(-0.5 * np.einsum("...i,ij,...j->...", off, self.spread, off))

    def sharpened(self, start: Floats) -> _End:
        """The likeliest stiffness near a start, how sure it is, and its evidence."""
        log = start
        for _ in range(STEPS):
            mean, precision, shares, slope = self._expectation(log)
            hessian = self.spread + np.einsum("m,mi,mj->ij", precision, slope, slope)
            gradient = self.spread @ (self.prior - log) + (precision * mean) @ slope
            log = log + np.clip(np.linalg.solve(hessian, gradient), -STRIDE, STRIDE)
        log_hz = self.log_hz(log)
        told = np.log1p(self.densities(log_hz).sum(axis=(0, 1)) / self.clutter).sum()
        told -= self.shown(log_hz, self.usual).sum()
        loss = 0.5 * (np.linalg.slogdet(hessian)[1] - np.linalg.slogdet(self.spread)[1])
        return _End(log, np.linalg.inv(hessian), shares, float(told + self._prior_of(log) - loss))

    def _expectation(self, log: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Of every mode: how far its peaks lie from it, how surely, each peak's share in it; and slopes, (modes, 3)."""
        log_hz = self.log_hz(log)
        dens = self.densities(log_hz).reshape(-1, self.hz.size)
        shares = dens / (self.clutter + dens.sum(axis=0))
        weight = shares.sum(axis=1)
        off = np.log(self.hz) - log_hz.reshape(-1, 1)
        mean = (shares * off).sum(axis=1) / np.maximum(weight, 1e-9)
        waves = np.tile(WAVES, 2)
        read = (shares * (READ_HZ / self.hz) ** 2).sum(axis=1) / np.maximum(weight, 1e-9)
        apart = (SPLIT**2 + read) / np.maximum(weight, 1e-9)
        precision = np.minimum(weight, 1) / ((FORMULA * waves**2) ** 2 + apart)
        step = 1e-4
        moved = self.log_hz(log + step * np.eye(3)).reshape(3, -1)
        return mean, precision, shares, ((moved - log_hz.reshape(-1)) / step).T

    def modes(self, end: _End) -> list[Mode]:
        """The modes that an end has, by frequency: each peak is what it most likely is."""
        out = []
        none = 1 - end.shares.sum(axis=0)
        owner = np.where(end.shares.max(axis=0) > none, end.shares.argmax(axis=0), -1)
        for place in np.unique(owner[owner >= 0]):
            own = np.flatnonzero(owner == place)
            own = own[np.argsort(-self.level[own], kind="stable")][:2]
            pair = float(self.hz[own[1]]) if own.size > 1 else None
            kind, waves = KINDS[place // WAVES.size], int(WAVES[place % WAVES.size])
            out.append(Mode(float(self.hz[own[0]]), kind, waves, pair))
        return sorted(out, key=lambda mode: mode.hz)


def _prior_precision() -> Floats:
    """Of the logarithms of EI in plane, GJ and the ratio, from spreads of radii of gyration and of the ratio."""
    to_free = np.array([[0.5, 0, 0], [0, 0.5, -0.5], [0, 0, 1.0]])  # log r_in, log r_out, log mu
    weights = np.diag(1 / np.square([RADIAL_SPREAD, LATERAL_SPREAD, RATIO_SPREAD]))
    return np.asarray(to_free.T @ weights @ to_free)


def _distinct(ends: Sequence[_End]) -> list[_End]:
    """The ends, likeliest first, each once."""
    out: list[_End] = []
    for end in sorted(ends, key=lambda each: -each.evidence):
        if all(np.abs(end.log - other.log).max() > 0.01 for other in out):
            out.append(end)
    return out
