"""Three-point deflection gauge: a force in the middle of a span pushes a spoke aside.

k = sqrt(T/EI), u = k L / 2. Pinned: d = (F L / 4T) (1 - tanh(u) / u); clamped: d = (F L / 4T) (1 - tanh(u/2) / (u/2)).
Both are written with g(u) = (1 - tanh(u) / u) / u^2, so that they also hold without tension: F L^3 / 48 EI and
F L^3 / 192 EI. D
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from wheelcalc.arrays import Floats
from wheelcalc.tension.tone import bending_stiffness, bisect, checked
from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS
from wheelcalc.wheel.errors import InputError


def gauge_deflection(
    force: ArrayLike,
    span: ArrayLike,
    tension: ArrayLike,
    diameter: ArrayLike,
    *,
    clamped: bool = False,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
) -> Floats:
    """Sideways movement of the spoke at the middle of the gauge [mm].

    Parameters
    ----------
    force : in the middle [N]
    span : between the outer supports [mm]
    tension : [N], 0 and above
    diameter : of the wire within the span [mm]
    clamped : whether the outer supports also hold the wire's slope; a gauge on three rollers lies between the two,
        because the wire goes on beyond the outer ones
    youngs_modulus : [N/mm2]
    """
    stiffness, parts = bending_stiffness(diameter, youngs_modulus), 2 if clamped else 1
    # A clamped span is two pinned ones of half the length, end to end, with the points of no curvature at the quarters.
    length = np.asarray(span, dtype=float) / parts
    u = length / 2 * np.sqrt(checked(tension, "tension", 0.0, 1e6, "a tension in N, 0 or above") / stiffness)
    # D: F L / 4T (1 - tanh(u) / u) with T = 4 u^2 EI / L^2.
    return parts * np.asarray(force) / stiffness * length**3 / 16 * _bow(u)


def gauge_tension(
    force: ArrayLike,
    span: ArrayLike,
    deflection: ArrayLike,
    diameter: ArrayLike,
    *,
    clamped: bool = False,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
) -> Floats:
    """Tension that gives a deflection of the gauge [N]; parameters as in `gauge_deflection`.

    Raises
    ------
    InputError
        If the wire would move less than this even without tension, or does not move.
    """
    moved = checked(deflection, "deflection", 1e-9, 1e3, "above 0 mm")

    def misfit(tension: Floats) -> Floats:
        at = gauge_deflection(force, span, tension, diameter, clamped=clamped, youngs_modulus=youngs_modulus)
        return moved - at

    string = np.asarray(force) * np.asarray(span) / (4 * moved) + 0.0 * np.asarray(diameter)
    if np.any(misfit(0 * string) > 0):
        raise InputError(
            "deflection", f"found {np.max(moved):g} mm; a slack wire of this diameter moves less than that"
        )
    return bisect(misfit, 0 * string, string)


def _bow(u: Floats) -> Floats:
    """g(u) = (1 - tanh(u) / u) / u^2; where the quotient loses digits its series 1/3 - 2 u^2 / 15 + 17 u^4 / 315."""
    safe = np.maximum(u, 0.03)  # D: where the series takes over, see below
    # D: at 0.03 the next term of the series, 62 u^6 / 2835, is below 2e-11.
    return np.where(u < 0.03, 1 / 3 - 2 * u**2 / 15 + 17 * u**4 / 315, (1 - np.tanh(safe) / safe) / safe**2)
