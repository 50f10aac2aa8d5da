"""What all strips share: steps of a scale, rows, names that do not lie on each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wheelcalc.paper.drawing import Drawing, folded, text_width
from wheelcalc.paper.strip import WIDTH, Panel, Sample, Strip, explained, step_of
from wheelcalc.wheel import lacing


def strip(holes: int = 28) -> Strip:
    return Strip("Errand bike", lacing.crossed(holes, 2))


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


@given(low=st.floats(-800, 900), span=st.floats(0.2, 2000), width=st.floats(50, 300))
def test_numbers_of_a_scale_do_not_touch_and_stand_where_their_values_are(
    low: float, span: float, width: float
) -> None:
    panel = Panel(60.0, 60.0 + width, low, low + span)
    drawn = Drawing(WIDTH, 20, "scale")
    marks = panel.marks(0.05)
    for value, written in marks:
        assert low - 1e-6 * span <= value <= low + span + 1e-6 * span
        assert float(written) == pytest.approx(value, rel=1e-9, abs=1e-9)
        drawn.text((panel.x(value), 10), written, 12.0)
    assert drawn.overlapping() == []
    assert panel.x(low) == pytest.approx(60)
    assert panel.x(low + 0.25 * span) == pytest.approx(60 + width / 4)


def test_a_row_for_each_rim_hole_from_valve_to_valve() -> None:
    """Rim hole i is at (i - 1/2) of the holes' share of the round (D)."""
    drawn = strip(20)
    assert drawn.y(0.0) == drawn.top
    assert drawn.y(360.0) == drawn.base
    for hole in range(1, 21):
        assert drawn.row(hole) == pytest.approx(drawn.y((hole - 0.5) * 18))
    words = [label.text for label in drawn.drawing.labels]
    assert [words.count("R"), words.count("L"), words.count("valve")] == [10, 10, 2]
    assert {str(hole) for hole in range(1, 21)} <= set(words)


@given(st.lists(st.floats(50, 384), min_size=1, max_size=6))
def test_names_do_not_lie_on_each_other(ends: list[float]) -> None:
    drawn = strip()
    drawn.feet([(f"limit right {number}234", x) for number, x in enumerate(ends)])
    drawing = drawn.finished()
    assert sum("limit" in label.text for label in drawing.labels) == len(ends)
    assert drawing.overlapping() == []
    assert all(0 <= label.left and label.right <= WIDTH and label.bottom <= drawing.height for label in drawing.labels)


def test_what_is_not_finite_is_left_out() -> None:
    drawn, panel = strip(), Panel(60, 160, 0, 10)
    drawn.curve(panel, np.array([10.0, 20.0, 30.0]), np.array([1.0, np.nan, 7.5]), ("solid", 1.25))
    line = next(part for part in drawn.finished().svg().splitlines() if 'stroke-width="1.25"' in part)
    assert line.split('"')[1].startswith("70,")
    assert " 135," in line
    assert line.split('"')[1].count(",") == 2


@given(st.text("aiW 9.", min_size=1, max_size=160), st.floats(40, 380))
def test_folded_lines_fit_and_lose_nothing(text: str, width: float) -> None:
    lines = folded(text, 12.0, width)
    assert all(text_width(line, 12.0) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_samples_stand_side_by_side_while_there_is_room() -> None:
    drawing = Drawing(WIDTH, 100, "samples")
    last = explained(drawing, [Sample(f"line number {n}", ("solid", 1.0)) for n in range(5)], 20.0)
    assert drawing.overlapping() == []
    assert max(label.right for label in drawing.labels) <= WIDTH
    assert last > 20 + 2 * 12
