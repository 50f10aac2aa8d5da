"""What all strips share: steps of a scale, names that do not lie on each other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wheelcalc.paper.strip import Strip, step_of


@given(span=st.floats(0.01, 5000), most=st.integers(3, 12), least=st.sampled_from([0.001, 0.05, 20.0]))
def test_a_step_is_the_smallest_of_its_kind_that_serves(span: float, most: int, least: float) -> None:
    step = step_of(span, most, least)
    assert span / step <= most * (1 + 1e-12)
    if step > least:
        mantissa = round(step / 10 ** math.floor(math.log10(step) + 1e-9), 9)
        assert mantissa in (1, 2, 5)
        # D: the next smaller of 1, 2, 5 is 2/5 of 5, else a half
        assert span / (step * (0.4 if mantissa == 5 else 0.5)) > most * (1 - 1e-12)


@pytest.mark.parametrize(("span", "most", "step"), [(1296.0, 8, 200.0), (176.0, 9, 20.0), (1.7, 6, 0.5), (0.6, 6, 0.1)])
def test_steps_by_hand(span: float, most: int, step: float) -> None:
    assert step_of(span, most, 0.05) == pytest.approx(step, rel=1e-12)


@given(st.lists(st.tuples(st.floats(0, 360), st.floats(60, 300)), min_size=2, max_size=6))
def test_names_do_not_lie_on_each_other(ends: list[tuple[float, float]]) -> None:
    strip = Strip(left=70.0, right=190.0, size=13.0)
    drawing = strip.drawing(500.0, "names")
    drawing.labels = []  # the title may be anywhere near
    strip.names(drawing, [(f"right, mean {number}", angle, y) for number, (angle, y) in enumerate(ends)])
    assert len(drawing.labels) == len(ends)
    assert drawing.overlapping() == []
