"""Crossings of spokes, counted by a polygon library (D): straight segments in the wheel's plane, hub 22, rim 300.

Each spoke of a k-cross side crosses exactly k others of its own flange, the one at the flange included, while
360 k / n is at most 108 degrees; from 112.5 up it no longer holds (20 or 24 holes at 4 crosses 6). Counted again here:
beyond 90 degrees that is so on flanges of up to 18 holes; with more, spokes also cross inside the hub's circle.
"""

from __future__ import annotations

import pytest

from tests.making.lacing_builds import crossed_by_lines
from wheelcalc import InputError, lacing

EVERY = [(n, k) for n in range(4, 38, 2) for k in range(1, n) if 360 * k / n <= (108 if n <= 18 else 90)]


@pytest.mark.parametrize(("flange", "crosses"), EVERY)
def test_a_k_cross_spoke_crosses_k_others(flange: int, crosses: int) -> None:
    pattern = lacing.crossed(2 * flange, {"left": crosses, "right": crosses})
    assert set(crossed_by_lines(pattern, rim=300.0, hub=22.0).tolist()) == {crosses}  # D


@pytest.mark.parametrize(
    ("flange", "crosses", "most"),
    [
        (10, 4, 3),  # D: 144 degrees
        (12, 4, 3),  # D: 120 degrees
        (16, 5, 4),  # D: 112.5 degrees
        (18, 6, 5),  # D: 120 degrees
    ],
)
def test_more_crosses_than_can_exist_name_the_most_that_can(flange: int, crosses: int, most: int) -> None:
    with pytest.raises(InputError, match=f"allow {most} at most"):
        lacing.crossed(2 * flange, crosses)


def test_rows_compared() -> None:
    assert len(EVERY) == 84
