"""How the sides of a wheel share the tension: statics, derived by hand (label D)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.tension import targets


def wheel(hole_offset: float = 0.0) -> Wheel:
    """Offsets 34 left and 17.5 right, 32 spokes 3 cross; erd about 600 inside a 622 rim, flanges of 45."""
    hub = Hub(Flange(16, 45.0, 34.0), Flange(16, 45.0, 17.5))
    return Wheel(Rim(32, 600.0, hole_offset), hub, lacing.crossed(32, 3))


@pytest.mark.parametrize(("hole_offset", "left_over_right"), [(0.0, 0.52), (-2.5, 0.64), (2.5, 0.41)])
def test_a_rear_wheel(hole_offset: float, left_over_right: float) -> None:
    """D: about 52 %; holes 2.5 away from the cogs about 64 %, the wrong way round about 41 %."""
    assert targets.ratio_left_to_right(wheel(hole_offset)) == pytest.approx(left_over_right, abs=0.005)


def test_the_rim_stays_in_its_plane() -> None:
    """D: tension times sideways distance over length, summed over each side, is the same for both."""
    built = wheel(-1.7)
    tensions = targets.per_spoke(built, targets.by_side(built, 1137.0))
    x = (built.hub_points - built.rim_points)[:, 0]
    length = np.linalg.norm(built.hub_points - built.rim_points, axis=1)
    assert (tensions * x / length).sum() == pytest.approx(0.0, abs=1e-9)
    assert max(tensions) == 1137.0


def test_sums_count_where_the_sides_have_unequal_counts() -> None:
    """D: 16 radial spokes right against 8 left: T_left / T_right = (16 x 12 / L_right) / (8 x 31 / L_left)."""
    laced = lacing.two_to_one(24, 0)
    built = Wheel(Rim(24, 580.0), Hub(Flange(8, 46.0, 31.0), Flange(16, 46.0, 12.0)), laced)
    left, right = (float(built.spans[built.lacing.on(side)].mean()) for side in ("left", "right"))
    assert targets.ratio_left_to_right(built) == pytest.approx(16 * 12 / right / (8 * 31 / left), rel=1e-3)
    assert targets.tighter_side(built) == "right"  # 192 against 248


def test_hoop_compression() -> None:
    """D: N T c_r / 2 pi; 36 spokes at 981 N with c_r 1: 5621."""
    hub = Hub(Flange(18, 44.0, 0.01), Flange(18, 44.0, 0.01))
    flat = Wheel(Rim(36, 600.0), hub, lacing.radial(36))
    assert targets.hoop_force(flat, np.full(36, 981.0)) == pytest.approx(5621.0, abs=0.5)


def test_rim_shrinks() -> None:
    """D: Wheel A, 36 radial spokes at 1000 N, area 138, E 69 GPa, radius 300: 0.18."""
    hub = Hub(Flange(18, 40.0, 30.0), Flange(18, 40.0, 30.0))
    wheel_a = Wheel(Rim(36, 600.0), hub, lacing.radial(36))
    hoop = targets.hoop_force(wheel_a, np.full(36, 1000.0))
    assert hoop == pytest.approx(36_000 * 280 / math.hypot(280, 30) / (2 * math.pi), rel=1e-12)
    assert targets.rim_shrink(hoop, 300.0, 138.0, 69e3) == pytest.approx(0.18, abs=0.005)
