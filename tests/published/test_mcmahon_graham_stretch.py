"""Stretch of a spoke. P: T. McMahon & M. Graham, The Bicycle and the Walkman (1992).

630 N on 300 mm of 2.0 mm wire, E 210 kN/mm2: 0.29 mm. Tolerance: half the last digit.
"""

from __future__ import annotations

import pytest

from wheelcalc import Wire


def test_stretch_of_a_plain_spoke() -> None:
    wire = Wire(2.0, 2.0, 2.0, youngs_modulus=210_000.0)
    assert 630 * wire.flexibility(300.0) == pytest.approx(0.29, abs=0.005)
