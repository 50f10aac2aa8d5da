"""M. Abramowitz & I. A. Stegun, Handbook of Mathematical Functions (1964), chapter 26: printed values.

All M: from memory of the tables, not re-read; every one is also what any statistics book prints.
"""

import numpy as np
import pytest

from wheelcalc.measuring.statistics import chi_square_chance
from wheelcalc.spokes.ordering import normal_share

# Table 26.8, percentage points of chi-square: degrees of freedom, chance, chi-square. Tolerance: half the last digit.
CHI_SQUARE = [
    (1, 0.05, 3.84146),
    (1, 0.01, 6.63490),
    (2, 0.05, 5.99146),
    (3, 0.05, 7.81473),
    (4, 0.01, 13.2767),
    (10, 0.05, 18.3070),
]

# Table 26.1, normal probability function P(x).
NORMAL = [(0.0, 0.5), (0.5, 0.69146246), (1.0, 0.84134475), (1.96, 0.97500210), (3.0, 0.99865010)]


def test_percentage_points_of_chi_square():
    assert len(CHI_SQUARE) == 6
    for freedom, chance, chi_square in CHI_SQUARE:
        slope = 5e-5 if chi_square > 10 else 5e-6
        low, high = (chi_square_chance(chi_square + step, freedom) for step in (slope, -slope))
        assert low - 1e-9 <= chance <= high + 1e-9


def test_normal_probability():
    assert len(NORMAL) == 5
    x, expected = np.array(NORMAL).T
    np.testing.assert_allclose(normal_share(x), expected, atol=1e-7)  # as printed
    np.testing.assert_allclose(normal_share(-x), 1 - expected, atol=1e-7)


@pytest.mark.parametrize("freedom", [1, 2, 5])
def test_no_difference_is_no_surprise(freedom):
    assert chi_square_chance(0.0, freedom) == pytest.approx(1.0)
