"""Trail of a measured bicycle. P: J. K. Moore, published parameters of bicycles.

Head angle 71.1 degrees, fork offset 38.5 mm, 29.044 m in 14 turns of the front wheel: trail 72.351 +- 1.6 mm.
"""

from __future__ import annotations

import math

import pytest

from wheelcalc.bike.geometry import trail


def test_trail_of_a_measured_bicycle() -> None:
    radius = 29_044 / (14 * 2 * math.pi)
    # The printed value has an error of its own; the arithmetic (D) agrees with it to half its last digit but one.
    assert trail(71.1, 38.5, radius) == pytest.approx(72.351, abs=0.05)
