"""H. P. Gavin, Bicycle-wheel spoke patterns and spoke fatigue, J. Eng. Mech. ASCE 122(8), 1996, as quoted second hand.

The inputs are published (P), the lengths and the ratio derived from them (D). Tolerance: half the last digit.
"""

from __future__ import annotations

import pytest

from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.tension import targets


def test_rear_wheel() -> None:
    # P: 36 spokes, 3 crosses, rim circle diameter 619.0, hole circle 44.4, flanges 36.7 and 14.1 from the centre
    hub = Hub(Flange(18, 44.4, 36.7), Flange(18, 44.4, 14.1))
    wheel = Wheel(Rim(36, 619.0), hub, lacing.crossed(36, 3))
    assert wheel.spans[~wheel.lacing.is_right] == pytest.approx(301.262, abs=0.0005)
    assert wheel.spans[wheel.lacing.is_right] == pytest.approx(299.351, abs=0.0005)
    assert targets.ratio_left_to_right(wheel) == pytest.approx(0.38665, abs=0.000005)
