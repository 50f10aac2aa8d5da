"""A million combinations are one array call."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.spokes.lengths import geometric_length


def test_arrays_broadcast_and_agree_with_the_wheel() -> None:
    erd = np.linspace(581.3, 609.9, 7)[:, None, None]
    pcd = np.array([38.3, 44.9, 57.7])[:, None]
    crosses = np.arange(4)
    lengths = geometric_length(erd, pcd, np.asarray(21.7), crosses, np.asarray(16), np.asarray(2.6))
    assert lengths.shape == (7, 3, 4)
    for i, j, k in np.ndindex(7, 3, 4):
        flange = Flange(16, float(pcd[j, 0]), 21.7, 2.6)
        wheel = Wheel(Rim(32, float(erd[i, 0, 0])), Hub(flange, flange), lacing.crossed(32, int(crosses[k])))
        assert_allclose(wheel.lengths, lengths[i, j, k], rtol=1e-12)
