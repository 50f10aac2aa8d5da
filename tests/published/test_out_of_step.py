"""A 36-hole wheel laced one rim hole out of step (C, check-values): half of a side's spokes too long, half too short.

By one pattern: all trailing spokes alike, all leading ones alike. Each spoke is measured here by plain vectors.
"""

from __future__ import annotations

import numpy as np
import pytest

from wheelcalc import Flange, Hub, Rim, Wheel, lacing

ERD, PCD, OFFSET, HOLE = 598.7, 44.3, 33.9, 2.5


@pytest.mark.parametrize("crosses", [1, 2, 3])
def test_half_too_long_half_too_short_by_one_pattern(crosses: int) -> None:
    hub = Hub(Flange(18, PCD, OFFSET, HOLE), Flange(18, PCD, 17.8, HOLE))
    wheel = Wheel(Rim(36, ERD), hub, lacing.crossed(36, crosses))
    left = ~wheel.lacing.is_right
    hub_angle = np.radians(wheel.lacing.hub_angle_deg[left])
    trailing = wheel.lacing.lean[left] == 1

    def lengths(out_of_step: int) -> np.ndarray:
        # D: the other side holds the hub; this side's spokes all sit one rim hole, 10 degrees, further forward
        rim_angle = np.radians(wheel.lacing.rim_angle_deg[left] + 10.0 * out_of_step)
        across = [ERD / 2 * f(rim_angle) - PCD / 2 * f(hub_angle) for f in (np.cos, np.sin)]
        return np.sqrt(across[0] ** 2 + across[1] ** 2 + OFFSET**2) - HOLE / 2

    assert np.abs(wheel.lengths[left] - lengths(0)).max() < 1e-9
    off = lengths(1) - lengths(0)
    assert (off > 1).sum() == (off < -1).sum() == 9
    for half in (trailing, ~trailing):
        assert np.ptp(off[half]) < 1e-9
