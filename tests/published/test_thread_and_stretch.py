"""Thread and stretch of a spoke.

BSA/BSC cycle thread: 56 threads per inch (P, M): one turn is 0.4536 mm. Stretch at 1000 N over 270 mm, E 200 GPa (D,
Hooke): 0.43 (2.0), 0.53 (1.8), 0.76 (1.5). Tolerance: half the last digit.
"""

from __future__ import annotations

import pytest

from wheelcalc import Wire
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH


def test_one_turn_of_the_nipple() -> None:
    assert pytest.approx(0.4536, abs=0.00005) == SPOKE_THREAD_PITCH


@pytest.mark.parametrize(("diameter", "stretch"), [(2.0, 0.43), (1.8, 0.53), (1.5, 0.76)])
def test_stretch_of_plain_wire(diameter: float, stretch: float) -> None:
    wire = Wire(diameter, diameter, diameter)
    assert 1000 * wire.flexibility(270.0) == pytest.approx(stretch, abs=0.005)


def test_butted_wire_stretches_as_its_segments_in_series() -> None:
    # D: 1000 N / (200 GPa pi/4) x (17/2.3^2 + 231/1.8^2 + 22/2.0^2) = 0.509359
    wire = Wire(2.3, 1.8, 2.0, butts=(17.0, 22.0))
    assert 1000 * wire.flexibility(270.0) == pytest.approx(0.509359, abs=0.000001)
