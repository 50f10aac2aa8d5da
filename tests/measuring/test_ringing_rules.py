"""The small rules by which a peak of taps is judged, each at both sides of where it decides."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wheelcalc.measuring.rim_modes import BareRim, sheared
from wheelcalc.measuring.ringing import Ringing, swaying


@pytest.mark.parametrize(
    ("after", "falls", "struck"),
    [
        # Harder and softer taps (1.3 dB about their mean), each falling by about half a dB, surely.
        ([-20.0, -22.0, -19.5, -22.4, -20.2], [0.52, 0.47, 0.55, 0.49, 0.51], True),
        # Too few taps: three of the same.
        ([-20.0, -22.4, -19.5], [0.52, 0.47, 0.55], False),
        # Four are enough.
        ([-20.0, -22.4, -19.5, -22.0], [0.52, 0.47, 0.55, 0.49], True),
        # Always alike loud (0.9 dB): a tone of the room.
        ([-20.0, -21.5, -19.8, -21.6, -20.3], [0.52, 0.47, 0.55, 0.49, 0.51], False),
        # Falls less than 0.4 dB.
        ([-20.0, -22.0, -19.5, -22.4, -20.2], [0.38, 0.40, 0.37, 0.39, 0.40], False),
        # Falls by 1.2 dB in the mean, but not surely: standard deviation 1.0, error of the mean 0.45, four of it are 1.8.
        ([-20.0, -22.0, -19.5, -22.4, -20.2], [0.2, 2.4, 0.4, 2.0, 1.0], False),
        # The mean is 4.3 of its errors.
        ([-20.0, -22.0, -19.5, -22.4, -20.2], [0.6, 1.5, 0.9, 1.9, 1.1], True),
    ],
)
def test_what_hardly_falls_is_struck_where_taps_differ_and_all_of_it_falls(after, falls, struck: bool) -> None:
    assert swaying(np.array(after), np.array(falls)) is struck


def test_the_radius_of_gyration_and_back() -> None:
    # D: a ring of aluminium, E 70 000 N/mm2, 2.7e-3 g/mm3, 480 g, 290 mm: A = m / (density 2 pi R), EI = E A r^2.
    area = 480 / (2.7e-3 * 2 * math.pi * 290)
    rim = BareRim(290, 480, 70_000 / 2.7e-3)
    assert rim.bending(4.4) == pytest.approx(70_000 * area * 4.4**2 / 1e6, rel=1e-12)
    assert float(rim.gyration(rim.bending(4.4))) == pytest.approx(4.4, rel=1e-12)
    # D: 1 + 8 r^2 (n^2 - 1) / R^2 of 2 to 6 waves
    lowered = [1 + 8 * 4.4**2 * each / 290**2 for each in (3, 8, 15, 24, 35)]
    assert sheared(rim, rim.bending(4.4)).tolist() == pytest.approx(lowered, rel=1e-12)


@pytest.mark.parametrize(
    ("hz", "level"),
    [(600.0, -12.0), (601.7, -12.0), (598.3, -12.0), (602.0, -40.0), (598.0, -40.0), (201.1, -15.0), (198.7, -40.0)],
)
def test_a_level_is_looked_for_within_three_thousandths_or_a_little_more_than_one_hertz(
    hz: float, level: float
) -> None:
    scale = np.arange(0, 1000, 0.1)
    after = np.full(scale.size, -40.0)
    after[6000], after[2000] = -12.0, -15.0
    heard = Ringing(np.array([1.0]), scale, after, after, np.empty(0), np.empty(0))
    assert heard.level(hz) == level
