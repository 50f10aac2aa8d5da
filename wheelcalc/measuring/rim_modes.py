"""How a bare rim rings: the frequencies of a free ring from its stiffness, and how far they can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats

WAVES = np.arange(2, 7)  # round the ring; one wave is no bending, and beyond six the modes of real rims lie too close
MM_G = 1e-12  # mm3 g in m3 kg

# D: shear and the inertia of turning lower a mode by 1 / (1 + SHEAR r^2 (n^2 - 1) / R^2) in its square, r the section's
# radius of gyration: E / G = 2.65 over four tenths of the section that carries shear is 6.6, turning adds 1 to 2.
SHEAR = 8.0


@dataclass(frozen=True)
class BareRim:
    """What is known of a rim that is tapped.

    Parameters
    ----------
    radius : of the ring through the section's centroid [mm]
    mass : [g]
    stretch : Young's modulus over density of its material [N/mm2 per g/mm3]
    """

    radius: float
    mass: float
    stretch: float

    @property
    def ring(self) -> float:
        """2 pi R^3 m, which turns a stiffness [N m2] into the square of a frequency [Hz2]; [m3 kg]."""
        return 2 * math.pi * self.radius**3 * self.mass * MM_G

    def gyration(self, bending: Floats | float) -> Floats:
        """Radius of gyration [mm] that belongs to a bending stiffness EI [N m2] (D: EA = E m / (2 pi R density))."""
        axial = self.stretch * self.mass / (2 * math.pi * self.radius)
        return np.asarray(np.sqrt(np.asarray(bending) * 1e6 / axial))

    def bending(self, gyration: float) -> float:
        """Bending stiffness EI [N m2] that belongs to a radius of gyration [mm]."""
        return self.stretch * self.mass / (2 * math.pi * self.radius) * gyration**2 / 1e6


def radial_hz(rim: BareRim, bending: Floats) -> Floats:
    """Frequencies of bending in the rim's plane with 2, 3, ... waves, (..., waves) [Hz].

    Parameters
    ----------
    bending : EI in the plane, (...) [N m2]

    Notes
    -----
    f = n (n^2 - 1) / sqrt(n^2 + 1) sqrt(EI / (2 pi R^3 m)): Timoshenko, Vibration Problems in Engineering (1955), a thin
    ring; lowered by shear (D).
    """
    each = np.asarray(bending, float)[..., None]
    shape = WAVES * (WAVES**2 - 1) / np.sqrt(WAVES**2 + 1)
    return shape * np.sqrt(each / rim.ring / sheared(rim, each))


def lateral_hz(rim: BareRim, torsion: Floats, ratio: Floats) -> Floats:
    """Frequencies of bending and twisting out of the rim's plane with 2, 3, ... waves, (..., waves) [Hz].

    Parameters
    ----------
    torsion : GJ, (...) [N m2]
    ratio : GJ over EI out of the plane, (...)

    Notes
    -----
    f = n (n^2 - 1) / sqrt(mu n^2 + 1) sqrt(GJ / (2 pi R^3 m)), mu the ratio: Timoshenko, as above; lowered by shear (D).
    """
    twist, mu = np.asarray(torsion, float)[..., None], np.asarray(ratio, float)[..., None]
    shape = WAVES * (WAVES**2 - 1) / np.sqrt(mu * WAVES**2 + 1)
    return shape * np.sqrt(twist / rim.ring / sheared(rim, twist / mu))


def sheared(rim: BareRim, bending: Floats | float) -> Floats:
    """By how much shear and the inertia of turning lower the square of each mode's frequency, (..., waves)."""
    return np.asarray(1 + SHEAR * rim.gyration(bending) ** 2 * (WAVES**2 - 1) / rim.radius**2)
