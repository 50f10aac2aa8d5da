"""The mean tension by tape: how much shorter the rim's circumference became when the spokes were tightened."""

from __future__ import annotations

import math

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Section

# C: two marks on a paper strip, compared to a fifth of a millimetre.
STRIP_SIGMA = 0.2  # mm
MOST_STRAIN = 0.004  # no rim shrinks by more: a slip of reading


def hoop_force(bare: float, built: float, section: Section) -> float:
    """Compression in the rim [N] from its circumference without and with the tensioned spokes.

    Parameters
    ----------
    bare, built : circumference at the same place of the rim [mm]
    section : of the rim

    Raises
    ------
    InputError
        If the rim did not become shorter, or by more than a rim can.

    Notes
    -----
    The whole rim moves inward by (bare - built) / 2 pi, wherever the strip lay; the hoop strain is that over the radius
    of the section's centroid (D).
    """
    shrunk = bare - built
    if not 0 < shrunk < MOST_STRAIN * bare:
        raise InputError(
            "pluck.circumference",
            f"found {bare:g} mm bare and {built:g} mm built; a built rim is shorter, by {MOST_STRAIN * bare:.0f} mm at most",
        )
    inward = shrunk / (2 * math.pi)
    return section.youngs_modulus * section.area * inward / (section.centroid_diameter / 2)


def relative_sigma(shrunk: float, strip_sigma: float, area_sigma: float, modulus_sigma: float) -> float:
    """Relative standard uncertainty of that force; the three errors are independent.

    Parameters
    ----------
    shrunk : bare less built [mm]
    strip_sigma : of their difference [mm]
    area_sigma, modulus_sigma : relative, of the rim's section
    """
    return math.hypot(strip_sigma / shrunk, area_sigma, modulus_sigma)
