"""A wheel with a spoke gone, solved anew: what the influence of one spoke let out must agree with."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.arc import LATERAL, RADIAL
from wheelcalc.tension.ring_blocks import Factors
from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.errors import InputError


def without_spoke(wheel: Structure, spoke: int) -> BrokenSpoke:
    """What a broken spoke leaves: its pull and its stiffness are gone, the forces in the rim soften it as before.

    Parameters
    ----------
    wheel : with the spoke still in it
    spoke : which breaks, from 0

    Raises
    ------
    InputError
        If there is no such spoke, or the others do not hold the rim.
    """
    count = len(wheel.tensions)
    if not 0 <= spoke < count:
        raise InputError("spoke", f"found {spoke}; this wheel's spokes are 0 to {count - 1}")
    if wheel.tensions[spoke] == 0:
        still = np.zeros(wheel.node_count)
        return BrokenSpoke(still, still, wheel.tensions)
    try:
        rest = Factors(wheel.stiffness_without(spoke))
    except np.linalg.LinAlgError:
        raise InputError("spoke", f"without spoke {spoke} the others do not hold this rim") from None
    released = np.zeros((wheel.node_count, 6))
    released[wheel.spoke_nodes[spoke]] = -wheel.tensions[spoke] * wheel.pulls[spoke]
    moved = rest.solve(released[..., None])[..., 0]
    tensions = wheel.tensions + wheel.stretched(moved)
    tensions[spoke] = 0.0
    return BrokenSpoke(moved[:, LATERAL], moved[:, RADIAL], tensions)


class BrokenSpoke(NamedTuple):
    """What is left after one spoke has gone.

    Parameters
    ----------
    lateral, radial : displacement of the rim's centroid at every node, (m,) [mm], + to the right, + outward
    tensions : of all spokes, (n,) [N]; the broken one's is 0; one below 0 stands for a spoke that would be slack
    """

    lateral: Floats
    radial: Floats
    tensions: Floats
