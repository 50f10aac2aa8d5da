"""D: check-values, 'Three-point deflection gauge'.

F 10 N, L 100 mm, d 2.0, E 200 GPa, T 1000 N: string 0.25000, pinned 0.18738, clamped 0.12922.
"""

import math

import pytest

from wheelcalc.tension.deflection import gauge_deflection, gauge_tension

HALF_LAST_DIGIT = 0.000005  # mm
EI = 200_000 * math.pi / 64 * 2.0**4


def test_string_limit() -> None:
    # a hair of 0.02 mm has no bending stiffness to speak of
    assert float(gauge_deflection(10, 100, 1000, 0.02)) == pytest.approx(0.25, rel=3e-4)


@pytest.mark.parametrize(("clamped", "expected"), [(False, 0.18738), (True, 0.12922)])
def test_printed_values(clamped: bool, expected: float) -> None:
    assert float(gauge_deflection(10, 100, 1000, 2.0, clamped=clamped)) == pytest.approx(expected, abs=HALF_LAST_DIGIT)
    found = float(gauge_tension(10, 100, expected, 2.0, clamped=clamped))
    assert found == pytest.approx(1000, abs=0.15)  # half the last digit of the deflection is 0.1 N


@pytest.mark.parametrize(("clamped", "divisor"), [(False, 48), (True, 192)])
def test_without_tension(clamped: bool, divisor: float) -> None:
    assert float(gauge_deflection(7, 130, 0, 2.0, clamped=clamped)) == pytest.approx(
        7 * 130**3 / (divisor * EI), rel=1e-9
    )
