"""What the ends of a spoke give: the law against its own integral, its ends, and the wheel that carries it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.integrate
from hypothesis import given
from hypothesis import strategies as st

from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.wheel import give
from wheelcalc.wheel.errors import InputError


def test_by_hand() -> None:
    """D: the contract's law, 0.20 / 1000 (T / 1000)^-0.42, with a calculator; below 100 N as at 100 N."""
    assert give.compliance(0.20, 1000.0) == pytest.approx(2.0e-4)
    assert give.compliance(0.20, 480.0) == pytest.approx(2.722e-4, abs=0.0005e-4)
    assert give.compliance(0.13, 1300.0) == pytest.approx(1.1643e-4, abs=0.0005e-4)
    assert give.compliance(0.20, np.array([100.0, 37.0, 0.0])) == pytest.approx(5.2605e-4, abs=0.0005e-4)


@given(st.floats(0, 1.9), st.floats(0, 3000))
def test_what_was_given_is_the_integral(end_give: float, tension: float) -> None:
    expected, _ = scipy.integrate.quad(lambda t: give.compliance(end_give, t), 0, tension, points=[100.0], limit=200)
    assert give.given(end_give, tension) == pytest.approx(expected, rel=1e-6, abs=1e-12)


def test_the_head_decides_where_nothing_is_said() -> None:
    straight, elbow = Flange(16, 44.0, 34.0, spoke_head="straight"), Flange(16, 47.0, 19.0)
    wheel = Wheel(Rim(32, 602.0), Hub(straight, elbow), lacing.crossed(32, 3))
    assert set(wheel.end_gives[wheel.lacing.is_right]) == {0.20}
    assert set(wheel.end_gives[~wheel.lacing.is_right]) == {0.10}
    told = replace(wheel, end_give={"left": 0.31, "right": 0.0})
    assert (told.give_of("left"), told.give_of("right")) == (0.31, 0.0)
    tensions = np.full(32, 870.0)
    longer = told.stretches(tensions) - tensions * told.flexibilities
    assert longer[~told.lacing.is_right] == pytest.approx(np.full(16, give.given(0.31, 870.0)))
    assert longer[told.lacing.is_right] == pytest.approx(np.zeros(16))


def test_ends_that_grow_are_refused() -> None:
    flange = Flange(16, 44.0, 34.0)
    with pytest.raises(InputError, match=r"^end_give: found -0.1 mm per 1000 N; it must be 0 mm per 1000 N or more"):
        Wheel(Rim(32, 602.0), Hub(flange, flange), lacing.crossed(32, 3), end_give=-0.1)
