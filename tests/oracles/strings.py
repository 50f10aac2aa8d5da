"""Spokes as strings by other forms: clamped ends, a pinned one solved for its tension, two that touch."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from wheelcalc.arrays import Floats
from wheelcalc.tension.stepped import Segments, partials
from wheelcalc.tension.tone import (
    SPOKE_STEEL_DENSITY,
    bending_stiffness,
    bisect,
    floats,
    mass_per_length,
)
from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS


def touching_partials(
    segments: Segments,
    crossing: float,
    mean_tension: ArrayLike,
    end_hold: ArrayLike = 0.5,
    *,
    count: int = 6,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """First partials of two alike crossed spokes that touch [Hz].

    Parameters
    ----------
    segments : of either spoke, lengths and diameters [mm], head to nipple
    crossing : distance from the head to where they touch [mm]
    mean_tension : of the two [N]
    end_hold : 0 (ends turn freely) to 1 (clamped)
    count : how many
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Notes
    -----
    At equal tensions a mode has both spokes moving together, as if each were alone, or against each other, with the
    crossing at rest. Tensions 10 % to either side of their mean lower the first mode by 0.4 %, 5 % by 0.1 %. D
    """
    together = partials(segments, mean_tension, end_hold, count=count, youngs_modulus=youngs_modulus, density=density)
    against = partials(
        segments,
        mean_tension,
        end_hold,
        count=count,
        youngs_modulus=youngs_modulus,
        density=density,
        support_at=crossing,
    )
    return np.sort(np.concatenate([together, against], axis=-1), axis=-1)[..., :count]


def pinned_tension(
    pitch_hz: ArrayLike,
    length: ArrayLike,
    diameter: ArrayLike,
    *,
    partial: int = 1,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """Tension of stiff wire whose ends turn freely [N], inverse of `pinned_pitch`; negative below its pitch at 0 N."""
    string = mass_per_length(diameter, density) * (2 * floats(length) * floats(pitch_hz) / partial) ** 2
    return string - bending_stiffness(diameter, youngs_modulus) * (partial * math.pi / floats(length)) ** 2


def clamped_pitch(
    tension: ArrayLike,
    length: ArrayLike,
    diameter: ArrayLike,
    *,
    partial: int = 1,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """Frequency of stiff wire clamped at both ends [Hz], exact; parameters as in `pinned_pitch`.

    Notes
    -----
    Root of (T/EI) sinh(aL) sin(bL) + 2ab (1 - cosh(aL) cos(bL)) = 0 with a^2 - b^2 = T/EI, 2 pi f = ab sqrt(EI/mu),
    divided by cosh(aL) so that it does not overflow. Root n of bL lies between n pi (a string) and (n + 1) pi. D
    """
    span, stiffness = floats(length), bending_stiffness(diameter, youngs_modulus)
    ratio = floats(tension) / stiffness

    def determinant(b: Floats) -> Floats:
        a = np.sqrt(b**2 + ratio)
        sech = 2 * np.exp(-a * span) / (1 + np.exp(-2 * a * span))
        string = ratio * np.tanh(a * span) * np.sin(b * span)
        return floats((-1) ** partial * (string + 2 * a * b * (sech - np.cos(b * span))))

    string_root = partial * math.pi / span
    b = bisect(determinant, string_root, string_root + math.pi / span)
    return floats(b * np.sqrt((b**2 + ratio) * stiffness / mass_per_length(diameter, density)) / (2 * math.pi))
