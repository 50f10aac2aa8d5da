"""The ends of a spoke give: its elbow in the hole and its nipple on its seat, more where it is slack.

A contact stiffens under load, so the compliance of both ends together falls with the tension:

    c(T) = end_give / 1000 * (T / 1000 N)^-0.42 mm/N,    held constant below 100 N

Fitted to the sideways stiffness of a wheel that was measured at several tensions and widths (M. Ford, PhD thesis,
Northwestern University 2018; reference/theory.md has the rows and the fit). `end_give` is what both ends give for
1000 N more at about 1000 N [mm]; 0 is an ideal spoke.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from wheelcalc.arrays import Floats

# D: least squares of log c on log T gives -0.40 over the ten rows of widths 58 and 78 mm, -0.43 over all thirteen.
POWER = -0.42
AT = 1000.0  # N, the tension at which end_give is stated
# Ours: nothing is measured below 219 N, and the law would give without end at 0; a fifth of a usual tension is far below.
CONSTANT_BELOW = 100.0  # N


class Give(NamedTuple):
    """What the ends of a spoke give for 1000 N more at about 1000 N, and its standard uncertainty [mm]."""

    value: float
    sigma: float


# Elbow: D, the fit; its sigma ours: the rows scatter by 10 %, but they are one hub and one make of spoke.
# Straight: ours, half of the elbow's and as uncertain as it is large; nothing is measured for nipples alone.
BY_HEAD = {"elbow": Give(0.20, 0.06), "straight": Give(0.10, 0.10)}


def compliance(end_give: ArrayLike, tensions: ArrayLike) -> Floats:
    """What both ends give for one newton more [mm/N], broadcast.

    Parameters
    ----------
    end_give : [mm per 1000 N, at 1000 N]
    tensions : [N]; at 100 N and less it no longer rises
    """
    over = np.maximum(tensions, CONSTANT_BELOW) / AT
    return np.asarray(np.asarray(end_give) / AT * over**POWER)


def given(end_give: ArrayLike, tensions: ArrayLike) -> Floats:
    """How far both ends have given in all under a tension [mm], broadcast: the integral of the compliance from 0.

    Parameters
    ----------
    end_give : [mm per 1000 N, at 1000 N]
    tensions : [N]
    """
    start = CONSTANT_BELOW / AT
    over = np.asarray(tensions) / AT
    above = (np.maximum(over, start) ** (1 + POWER) - start ** (1 + POWER)) / (1 + POWER)
    return np.asarray(np.asarray(end_give) * (start**POWER * np.minimum(over, start) + above))
