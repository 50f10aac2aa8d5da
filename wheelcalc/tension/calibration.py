"""Tension from pitch with its error: uncalibrated, or by spokes of known tension.

Errors are standard uncertainties, added as squares. That of a pitch differs from spoke to spoke; the others (free
length, end hold, diameter, density, the known tension) move all spokes of a side together, so they spoil the height of
the tension and not its evenness.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wheelcalc.arrays import Floats
from wheelcalc.tension.stepped import Segments, end_hold_from_pitch, pitch, signed_tension, tension_from_pitch
from wheelcalc.tension.tone import SPOKE_STEEL_DENSITY, checked, floats
from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS
from wheelcalc.wheel.errors import InputError

# D (simulation, check-values 'Thread, stretch, pitch'): a hard pluck starts up to 0.5 % sharp.
PITCH_SIGMA = 0.003  # of the pitch
# C: elbow to nipple with a rule; both ends are round, so a millimetre.
LENGTH_SIGMA = 1.0  # mm
# D: any end hold from 0 to 1 equally likely, 1 / sqrt(12).
HOLD_SIGMA = 0.29
# C, a guess without source: how much the ends of the spokes of one side differ among themselves.
HOLD_SCATTER = 0.1
# C: drawn wire, with its finish.
DIAMETER_SIGMA = 0.01  # mm
# D: 7.9 to 8.03 g/cm3 equally likely, its width over sqrt(12), over the mean.
DENSITY_SIGMA = 0.005  # of the density
# C, a choice: least ratio of two known tensions through which a line is drawn. Nearer ones fix its slope too badly.
LEAST_RATIO = 1.2
OWN = ("pitch", "end_hold_scatter")


@dataclass(frozen=True)
class Tensions:
    """Tensions with their errors.

    Parameters
    ----------
    tension : [N]
    parts : cause -> what one standard uncertainty of it does to each tension [N], signed
    """

    tension: Floats
    parts: dict[str, Floats]

    @property
    def sigma(self) -> Floats:
        """Standard uncertainty of each tension [N]."""
        return _root_sum(self.parts.values())

    @property
    def own_sigma(self) -> Floats:
        """The part of it that differs from spoke to spoke [N]: what spoils a comparison within one side."""
        return _root_sum(value for cause, value in self.parts.items() if cause in OWN)


@dataclass(frozen=True)
class Sigmas:
    """Standard uncertainties of what a tension from a pitch rests on.

    Parameters
    ----------
    pitch : of each pitch, as a share of it
    length : of the free length [mm]
    end_hold : of the end hold where nothing calibrates it
    hold_scatter : of the end hold among the spokes of a side
    diameter : of all diameters together [mm]
    density : as a share of it
    """

    pitch: float = PITCH_SIGMA
    length: float = LENGTH_SIGMA
    end_hold: float = HOLD_SIGMA
    hold_scatter: float = HOLD_SCATTER
    diameter: float = DIAMETER_SIGMA
    density: float = DENSITY_SIGMA


@dataclass(frozen=True)
class PitchLine:
    """Calibration f = a sqrt(T) + b of the spokes of one wire and one free length.

    Parameters
    ----------
    slope : a [Hz / sqrt(N)]
    constant : b [Hz]
    covariance : of both, (2, 2)
    """

    slope: float
    constant: float
    covariance: Floats

    def tensions(self, pitch_hz: ArrayLike, sigmas: Sigmas | None = None) -> Tensions:
        """Tensions that belong to pitches [Hz]; of `sigmas` only the pitch counts.

        Raises
        ------
        InputError
            If a pitch is not above the line's constant.
        """
        hz = checked(pitch_hz, "pitch_hz", np.nextafter(max(self.constant, 0.0), 1e9), 1e5, "above the line's constant")
        root = (hz - self.constant) / self.slope
        by_line = np.stack([root, np.ones_like(root)], axis=-1)
        line_variance = np.einsum("...i,ij,...j->...", by_line, self.covariance, by_line)
        per_hz = 2 * root / self.slope
        own = per_hz * hz * (sigmas or Sigmas()).pitch
        return Tensions(root**2, {"pitch": own, "known": per_hz * np.sqrt(line_variance)})


def tensions(
    segments: Segments,
    pitch_hz: ArrayLike,
    end_hold: float = 0.5,
    *,
    sigmas: Sigmas | None = None,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Tensions:
    """Tensions from pitches without any calibration: good for evenness, a guide only for height.

    Parameters
    ----------
    segments : lengths and diameters [mm], head to nipple; lengths (..., segments) go with the pitches
    pitch_hz : [Hz]
    end_hold : 0 (ends turn freely) to 1 (clamped)
    sigmas : what it rests on
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Raises
    ------
    InputError
        If a pitch is lower than this wire sounds without tension.
    """
    sigma, hz = sigmas or Sigmas(), floats(pitch_hz)
    central = tension_from_pitch(segments, hz, end_hold, youngs_modulus=youngs_modulus, density=density)

    def model(
        pitch: float = 0, free_length: float = 0, end_hold: float = end_hold, diameter: float = 0, density_: float = 0
    ) -> Floats:
        wire = _shifted(segments, free_length, diameter)
        return signed_tension(
            wire, hz * (1 + pitch), end_hold, youngs_modulus=youngs_modulus, density=density * (1 + density_)
        )

    return Tensions(
        central,
        {
            "pitch": _effect(model, "pitch", sigma.pitch),
            "free_length": _effect(model, "free_length", sigma.length),
            "end_hold": _effect(model, "end_hold", sigma.end_hold, end_hold, (0.0, 1.0)),
            "diameter": _effect(model, "diameter", sigma.diameter),
            "density": _effect(model, "density_", sigma.density),
        },
    )


def tensions_from_known(
    segments: Segments,
    pitch_hz: ArrayLike,
    known_tension: ArrayLike,
    known_pitch: ArrayLike,
    *,
    known_sigma: float,
    known_segments: Segments | None = None,
    sigmas: Sigmas | None = None,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Tensions:
    """Tensions from pitches, with the ends of the spokes taken from one or more spokes of known tension.

    Parameters
    ----------
    segments : lengths and diameters [mm], head to nipple
    pitch_hz : [Hz]
    known_tension, known_pitch : of the known spokes [N], [Hz]
    known_sigma : of each known tension [N]
    known_segments : of the known spokes, if they are of the other side
    sigmas : what else it rests on; free length, diameter and density are off alike in the known spokes, so their errors
        nearly cancel
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Raises
    ------
    InputError
        As `tensions`, and if a known spoke's pitch cannot be that of this wire (`ends_from_known`).
    """
    sigma, hz = sigmas or Sigmas(), floats(pitch_hz)
    known_n, known_hz = floats(known_tension), floats(known_pitch)
    share = 1 / np.sqrt(known_n.size)

    def model(
        pitch: float = 0, known_pitch: float = 0, known_tension: float = 0, free_length: float = 0, diameter: float = 0,
        density_: float = 0, hold: float = 0,
    ) -> Floats:  # fmt: skip
        steel = density * (1 + density_)
        wire, known_wire = (_shifted(each, free_length, diameter) for each in (segments, known_segments or segments))
        force, heard = known_n + known_tension, known_hz * (1 + known_pitch)
        end_hold, factor = ends_from_known(known_wire, force, heard, youngs_modulus=youngs_modulus, density=steel)
        scaled, hold_of_all = (np.asarray(wire[0]) * factor, wire[1]), np.clip(end_hold + hold, 0, 1)
        return signed_tension(scaled, hz * (1 + pitch), hold_of_all, youngs_modulus=youngs_modulus, density=steel)

    return Tensions(
        model(),
        {
            "pitch": _effect(model, "pitch", sigma.pitch),
            "end_hold_scatter": _effect(model, "hold", sigma.hold_scatter),
            "known_tension": _effect(model, "known_tension", known_sigma * share),
            "known_pitch": _effect(model, "known_pitch", sigma.pitch * share),
            "free_length": _effect(model, "free_length", sigma.length),
            "diameter": _effect(model, "diameter", sigma.diameter),
            "density": _effect(model, "density_", sigma.density),
        },
    )


def ends_from_known(
    segments: Segments,
    tension: ArrayLike,
    pitch_hz: ArrayLike,
    *,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> tuple[float, float]:
    """End hold, and the factor on the free length, from spokes of known tension.

    Parameters
    ----------
    segments : lengths and diameters [mm], head to nipple
    tension, pitch_hz : of the known spokes [N], [Hz]
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Returns
    -------
    Means over the known spokes. The factor is 1 as long as some end hold explains the pitch. Where none does, the end
    hold stays at its limit (0 or 1), and the free length must be wrong by the factor.

    Raises
    ------
    InputError
        If the free length would have to be wrong by more than a tenth.
    """
    options = {"youngs_modulus": youngs_modulus, "density": density}
    force, hz = np.atleast_1d(floats(tension)), np.atleast_1d(floats(pitch_hz))
    hold = end_hold_from_pitch(segments, force, hz, **options)
    factor = np.ones_like(hold)
    if np.any((hold == 0) | (hold == 1)):
        for _ in range(12):
            wire = (np.asarray(segments[0]) * factor[..., None], segments[1])
            # Ours: no single step may change a length by more than a factor 0.7 or 1.4; the loop ends it.
            factor = factor * np.clip(pitch(wire, force, hold, **options) / hz, 0.7, 1.4)
    wrong = np.abs(factor - 1) > 0.1
    if np.any(wrong):
        raise InputError(
            "pluck.known",
            f"{force[wrong][0]:.0f} N and {hz[wrong][0]:.1f} Hz would need a free length that is wrong by over 10 %; "
            "check the spoke, its wire, and whether the pitch is the fundamental",
        )
    return float(np.mean(hold)), float(np.mean(factor))


def fit_line(
    known_tension: Sequence[float],
    known_pitch: Sequence[float],
    *,
    known_sigma: float,
    pitch_sigma: float = PITCH_SIGMA,
) -> PitchLine:
    """Least-squares line f = a sqrt(T) + b through two or more spokes of known tension.

    Parameters
    ----------
    known_tension, known_pitch : [N], [Hz]
    known_sigma : of each tension [N]
    pitch_sigma : of each pitch, as a share of it

    Raises
    ------
    InputError
        If there are fewer than two, or all lie within 20 % of each other: then use `tensions_from_known`.

    Notes
    -----
    Holds within 0.4 % of the stiff wire between 400 and 1300 N (D). Needs neither wire nor free length, but serves only
    spokes of the same wire and free length.
    """
    force = checked(known_tension, "pluck.known", 1.0, 1e5, "a tension above 1 N")
    hz = checked(known_pitch, "pluck.known", 1.0, 1e5, "a pitch above 1 Hz")
    if force.size < 2 or np.max(force) < LEAST_RATIO * np.min(force):
        raise InputError("pluck.known", f"found {force.size} known tensions; a line needs two, at least 20 % apart")
    design = np.stack([np.sqrt(force), np.ones_like(force)], axis=1)
    slope = np.linalg.lstsq(design, hz, rcond=None)[0][0]
    sigma = np.hypot(hz * pitch_sigma, slope * known_sigma / (2 * np.sqrt(force)))
    covariance = np.linalg.inv(design.T @ (design / sigma[:, None] ** 2))
    slope, constant = covariance @ design.T @ (hz / sigma**2)
    if slope <= 0:
        raise InputError(
            "pluck.known", "the pitch of the known spokes must rise with their tension; check which is which"
        )
    return PitchLine(float(slope), float(constant), covariance)


def _shifted(segments: Segments, longer: float, thicker: float) -> Segments:
    """Segments with the free length and all diameters changed [mm]."""
    lengths, diameters = np.asarray(segments[0], dtype=float), np.asarray(segments[1], dtype=float)
    return lengths * (1 + longer / np.sum(lengths, axis=-1, keepdims=True)), diameters + thicker


def _effect(
    model: Callable[..., Floats],
    cause: str,
    sigma: float,
    centre: float = 0.0,
    limits: tuple[float, float] = (-np.inf, np.inf),
) -> Floats:
    """What one sigma of a cause does, from the model one sigma to either side, or at the limits of what it can be."""
    low, high = max(centre - sigma, limits[0]), min(centre + sigma, limits[1])
    if high == low:
        return np.zeros_like(model())
    return (model(**{cause: high}) - model(**{cause: low})) * (sigma / (high - low))


def _root_sum(parts: Iterable[Floats]) -> Floats:
    """Root of the sum of squares."""
    return floats(np.sqrt(np.sum(np.square(np.stack(np.broadcast_arrays(*parts))), axis=0)))
