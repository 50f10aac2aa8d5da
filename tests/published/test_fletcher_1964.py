"""P: H. Fletcher, J. Acoust. Soc. Am. 36 (1964) 203: f_n = n f0 sqrt(1 + B n^2), B = pi^3 E d^4 / (64 T L^2)."""

import math

import pytest
from numpy.testing import assert_allclose

from wheelcalc.tension import stepped, tone

CASES = [(2.0, 290.0, 1000.0), (1.8, 274.0, 430.0), (1.5, 301.0, 1270.0)]  # d [mm], L [mm], T [N]


@pytest.mark.parametrize(("diameter", "length", "tension"), CASES)
def test_partials(diameter: float, length: float, tension: float) -> None:
    b = math.pi**3 * 200_000 * diameter**4 / (64 * tension * length**2)
    f0 = math.sqrt(tension / (7.9e-9 * math.pi / 4 * diameter**2)) / (2 * length)
    expected = [n * f0 * math.sqrt(1 + b * n**2) for n in range(1, 7)]
    closed = [float(tone.pinned_pitch(tension, length, diameter, partial=n)) for n in range(1, 7)]
    assert_allclose(closed, expected, rtol=1e-12)
    assert_allclose(stepped.partials(([length], [diameter]), tension, 0.0, count=6), expected, rtol=1e-4)
