"""Cut length and error budget: Hooke and derivatives written out by hand (D), and a few plain sums."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from wheelcalc import Flange, Hub, Rim, Wheel, Wire, lacing
from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.spokes.lengths import Share, cut_lengths, error_budget, side_means, worst_share

READINGS = {
    "rim.erd": (593.7, 0.43),
    "hub.left.pcd": (41.9, 0.97),
    "hub.right.pcd": (47.3, 0.28),
    "hub.left.offset": (35.9, 0.71),
    "hub.right.offset": (19.6, 0.33),
}
KNOWN = Build({key: Dimension(value, sigma) for key, (value, sigma) in READINGS.items()})
COSINE = {"left": math.cos(math.radians(45)), "right": math.cos(math.radians(67.5))}  # 360 k / 16 for 2 and 3 crosses


def built(known: Build) -> Wheel:
    flanges = [
        Flange(16, known.number(f"hub.{s}.pcd"), known.number(f"hub.{s}.offset"), 0.0) for s in ("left", "right")
    ]
    return Wheel(Rim(32, known.number("rim.erd")), Hub(*flanges), lacing.crossed(32, {"left": 2, "right": 3}))


def length(side: str) -> float:
    rim, hub, offset = (READINGS[key][0] for key in ("rim.erd", f"hub.{side}.pcd", f"hub.{side}.offset"))
    return math.sqrt(rim**2 / 4 + hub**2 / 4 - rim * hub / 2 * COSINE[side] + offset**2)


def test_mean_of_each_side() -> None:
    assert side_means(built(KNOWN)) == pytest.approx({side: length(side) for side in ("left", "right")}, rel=1e-12)


def test_error_budget_by_the_derivatives_of_the_length_largest_first() -> None:
    expected = []
    for side in ("left", "right"):
        rim, hub, offset = (READINGS[key] for key in ("rim.erd", f"hub.{side}.pcd", f"hub.{side}.offset"))
        # D: dL/d erd = (R - r cos a) / 2L, dL/d pcd = (r - R cos a) / 2L, dL/d offset = offset / L
        slopes = {
            "rim.erd": (rim[0] - hub[0] * COSINE[side]) / 4 / length(side),
            f"hub.{side}.pcd": (hub[0] - rim[0] * COSINE[side]) / 4 / length(side),
            f"hub.{side}.offset": offset[0] / length(side),
        }
        expected += [(abs(slope) * READINGS[key][1], key, side) for key, slope in slopes.items()]
    expected.sort(reverse=True)
    found = error_budget(KNOWN, built)
    assert [(share.reading, share.side) for share in found] == [(key, side) for _, key, side in expected]
    assert [share.sigma_mm for share in found] == [READINGS[key][1] for _, key, _ in expected]
    assert_allclose([share.effect_mm for share in found], [effect for effect, _, _ in expected], rtol=1e-4)


def test_what_to_buy_is_shorter_by_the_stretch_and_by_what_the_rim_shrinks() -> None:
    # Radial, hub and rim holes in one plane: 292.3 - 22.3 = 270 from hole to spoke end.
    flange = Flange(16, 44.6, 0.0, 2.6)
    wire = {"left": Wire(2.0, 2.0, 2.0), "right": Wire(1.5, 1.5, 1.5)}
    wheel = Wheel(Rim(32, 584.6), Hub(flange, flange), lacing.radial(32), wire, end_give=0)
    cut = cut_lengths(wheel, np.where(wheel.lacing.is_right, 1000.0, 500.0), 0.17)
    # D (Hooke, check values): 1000 N over 270 of 1.5 wire is 0.76; 0.43 of 2.0 wire, of which 500 N is half
    assert_allclose(cut[wheel.lacing.is_right], 270 - 1.3 - 0.76 - 0.17, rtol=0, atol=0.005)
    assert_allclose(cut[~wheel.lacing.is_right], 270 - 1.3 - 0.43 / 2 - 0.17, rtol=0, atol=0.0025)


def test_the_reading_to_repeat_is_that_of_the_less_certain_side() -> None:
    shares = [
        Share("hub.right.pcd", "right", 0.6, 0.20),
        Share("rim.erd", "left", 0.3, 0.15),
        Share("rim.erd", "right", 0.3, 0.15),
    ]
    # D: right sqrt(0.20^2 + 0.15^2) = 0.25, left 0.15; without the pcd the right keeps 0.15
    assert worst_share(shares) == ("hub.right.pcd", pytest.approx(0.10, abs=1e-12))
    assert worst_share([]) is None
