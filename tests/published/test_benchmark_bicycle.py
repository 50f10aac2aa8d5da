"""The benchmark bicycle. P: J. P. Meijaard, J. M. Papadopoulos, A. Ruina, A. L. Schwab, Proc. R. Soc. A 463 (2007).

Steer axis 18 degrees from the vertical, front wheel radius 350 mm, trail 80 mm. D: so the fork's offset is
(R sin 18 - trail cos 18) = 32.071 mm.
"""

from __future__ import annotations

import math

import pytest

from wheelcalc.bike.geometry import trail

OFFSET = 350 * math.sin(math.radians(18)) - 80 * math.cos(math.radians(18))


def test_offset_that_the_trail_asks_for() -> None:
    assert pytest.approx(32.071, abs=0.0005) == OFFSET


def test_trail() -> None:
    # Half the last digit of the offset, 0.0005, over sin 72.
    assert trail(72.0, 32.071, 350.0) == pytest.approx(80.0, abs=0.0006)
