"""Spoke geometry against values derived independently of this code: the law of cosines in space by hand and by a
dimensional drawing (D), and statics of the rim's side balance (D). Tolerance: half the last digit printed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.spokes.lengths import geometric_length
from wheelcalc.tension import targets

HALF_DIGIT = 0.0005  # mm, three digits printed

# D: N 36, hub hole radius 22, rim radius 300, offset 35, no hole correction.
BY_CROSSES = {0: 280.195, 1: 281.612, 2: 285.652, 3: 291.734, 4: 299.026}


@pytest.mark.parametrize(("crosses", "length"), BY_CROSSES.items())
def test_length_by_crosses(crosses: int, length: float) -> None:
    wheel = Wheel(Rim(36, 600.0), Hub(Flange(18, 44.0, 35.0), Flange(18, 44.0, 35.0)), lacing.crossed(36, crosses))
    assert wheel.spans == pytest.approx(np.full(36, length), abs=HALF_DIGIT)
    array = geometric_length(*(np.asarray([float(v)]) for v in (600, 44, 35, crosses, 18, 0)))
    assert array == pytest.approx([length], abs=HALF_DIGIT)


def test_angle_of_three_crosses_on_36_is_60_degrees() -> None:
    # D: 360 k / n
    assert np.abs(lacing.crossed(36, 3).angle_deg) == pytest.approx(np.full(36, 60.0), abs=1e-9)


def road_wheel(hole_offset: float) -> Wheel:
    # D: offsets 34 left, 17.5 right, 622 rim (erd about 600), 32 holes, 3 crosses.
    hub = Hub(Flange(16, 45.0, 34.0), Flange(16, 45.0, 17.5))
    return Wheel(Rim(32, 600.0, hole_offset), hub, lacing.crossed(32, 3))


@pytest.mark.parametrize(
    ("key", "effect", "side", "tolerance"),
    [
        # D: change of length per mm; the offsets' effect is printed to 0.01 only.
        ("erd", 0.50, "right", 0.005),
        ("pcd", -0.16, "right", 0.006),
        ("offset", 0.06, "right", 0.005),
        ("offset", 0.12, "left", 0.005),
    ],
)
def test_sensitivities(key: str, effect: float, side: str, tolerance: float) -> None:
    wheel, step = road_wheel(0.0), 0.01
    if key == "erd":
        moved = replace(wheel, rim=replace(wheel.rim, erd=wheel.rim.erd + step))
    else:
        flange = wheel.hub.flange(side)
        changed = replace(flange, **{key: getattr(flange, key) + step})
        moved = replace(wheel, hub=replace(wheel.hub, **{side: changed}))
    mask = wheel.lacing.on(side)
    assert (moved.lengths - wheel.lengths)[mask] / step == pytest.approx(np.full(16, effect), abs=tolerance)


def test_one_cross_fewer_is_about_seven_and_a_half_shorter() -> None:
    # D: about -7.5, so to half a millimetre
    three, two = road_wheel(0.0), replace(road_wheel(0.0), lacing=lacing.crossed(32, 2))
    assert (two.lengths - three.lengths).mean() == pytest.approx(-7.5, abs=0.5)


@pytest.mark.parametrize(("hole_offset", "left_over_right"), [(0.0, 0.52), (-2.5, 0.64), (2.5, 0.41)])
def test_side_balance_of_an_asymmetric_rim(hole_offset: float, left_over_right: float) -> None:
    # D (statics): holes shifted 2.5 away from the cogs, and the rim fitted the wrong way round; about, so to 1 %
    assert targets.ratio_left_to_right(road_wheel(hole_offset)) == pytest.approx(left_over_right, abs=0.01)


def test_sideways_stiffness_of_two_radial_spokes() -> None:
    """Rim point moved 1 mm sideways, exact geometry: the tension change is stiffness times the change of span.

    D: 280 in the wheel's plane, offsets 20 and 40, 100 kgf/mm: 7.302 and 14.315 kgf, sideways 0.5461 and 2.0741 kgf.
    """
    for offset, change, sideways in ((20.0, 7.302, 0.5461), (40.0, 14.315, 2.0741)):
        before, after = [
            Wheel(Rim(36, 604.0, shift), Hub(Flange(18, 44.0, offset), Flange(18, 44.0, offset)), lacing.radial(36))
            for shift in (0.0, -1.0)  # away from the right flange
        ]
        tension = 100 * (after.spans - before.spans)[0]
        assert tension == pytest.approx(change, abs=0.0005)
        assert tension * abs(after.sideways[0]) == pytest.approx(sideways, abs=0.00005)
