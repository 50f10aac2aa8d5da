"""What turning one nipple does to the whole wheel."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.arc import LATERAL, RADIAL
from wheelcalc.tension.structure import Structure


class Shortening(NamedTuple):
    """What shortening each of n spokes by 1 mm does; column j by spoke j.

    Parameters
    ----------
    lateral, radial : displacement of the rim's centroid at every node, (m, n) [mm/mm], + to the right, + outward
    tensions : change of every spoke's tension, (n, n) [N/mm]
    """

    lateral: Floats
    radial: Floats
    tensions: Floats


def shortening(wheel: Structure) -> Shortening:
    """Influence of shortening each spoke by 1 mm on the rim's place at every node and on all tensions.

    Raises
    ------
    InputError
        If the rim is buckled.
    """
    spokes = len(wheel.tensions)
    pulls = np.zeros((wheel.node_count, 6, spokes))
    pulls[wheel.spoke_nodes, :, np.arange(spokes)] = wheel.stretch_stiffness[:, None] * wheel.pulls
    moved = wheel.solve(pulls)
    tensions = np.diag(wheel.stretch_stiffness) + wheel.stretched(moved.transpose(2, 0, 1)).T
    return Shortening(moved[:, LATERAL], moved[:, RADIAL], tensions)
