"""The mean tension by the rim's circumference."""

from __future__ import annotations

import math

import pytest

from wheelcalc.truing import tape
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Section

SECTION = Section(112.0, 2600.0, 5100.0, 2900.0, 68_500.0, 26_000.0, 607.0)


def test_the_hoop_force_of_a_ring_that_shrank() -> None:
    # D: strain of the ring at its centroid, 1.31 mm of circumference at radius 311 where the strip lay: the same
    # inward movement everywhere, 1.31 / (2 pi) = 0.20849; over 303.5; times E A = 7 672 000 N.
    assert tape.hoop_force(1954.6, 1953.29, SECTION) == pytest.approx(5270.4, abs=0.5)


def test_its_error() -> None:
    # D: 0.2 mm each on 1.3 mm, 5 % of the area, 2 % of the modulus, added as squares.
    assert tape.relative_sigma(1.3, 0.2 * math.sqrt(2), 0.05, 0.02) == pytest.approx(0.2241, abs=0.0002)


@pytest.mark.parametrize(("bare", "built"), [(1954.0, 1954.0), (1953.0, 1954.0), (1954.0, 1944.0)])
def test_a_rim_that_grew_or_shrank_too_much_is_refused(bare: float, built: float) -> None:
    with pytest.raises(InputError, match="a built rim is shorter"):
        tape.hoop_force(bare, built, SECTION)
