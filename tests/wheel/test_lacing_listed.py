"""The user's own table: read back from every pattern, and every slip named by its row."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from numpy.testing import assert_allclose

from tests.making.lacing_builds import patterns
from wheelcalc.wheel import lacing
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import Counts, Lacing, side_mask


def table(pattern: Lacing) -> list[list[object]]:
    columns = (pattern.rim_hole.tolist(), pattern.sides, pattern.hub_hole.tolist(), pattern.heads)
    return [list(row) for row in zip(*columns, strict=True)]


@given(patterns)
def test_a_pattern_written_out_and_read_back_is_the_same_wheel(pattern: Lacing) -> None:
    if np.abs(pattern.angle_deg).max() > 85:
        return
    served = side_mask(pattern.rim_holes, pattern.first_hole)
    served[pattern.rim_hole - 1] = pattern.is_right
    for way in ("staggered", "aligned"):
        counts = Counts(pattern.rim_holes, pattern.left_holes, pattern.right_holes, pattern.first_hole, way)
        read = lacing.listed(counts, table(pattern)[::-1], served)
        if np.allclose(read.hub_angle_deg, pattern.hub_angle_deg, atol=1e-6):
            assert_allclose(read.head_in, pattern.head_in)
            if pattern.pattern != "uneven counts":
                assert (read.lean == pattern.lean).all()
                assert_allclose(read.crosses, pattern.crosses)
            return
    raise AssertionError("read back as another wheel")


GOOD = table(lacing.crossed(20, {"left": 1, "right": 2}))
COUNTS = Counts(20, 10, 10)
DRILLED = side_mask(20, "right")


def changed(row: int, *entries: object) -> list[list[object]]:
    return [*GOOD[: row - 1], list(entries), *GOOD[row:]]


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ([], "no rows; write one row"),
        ("R1", "no rows"),
        (changed(3, 3, "right"), "row 3: found .*write .rim hole"),
        (changed(4, 4, "left", "five", "in"), "row 4: found 'five' for a hole"),
        (changed(4, 4, "left", True, "in"), "row 4: found 'True' for a hole"),
        (changed(4, 4, "middle", 5, "in"), "row 4: found 'middle' for the side"),
        (changed(4, 4, "left", 5, "up"), "row 4: found 'up' for the head"),
        (changed(7, 21, "right", 9, "in"), "row 7: found rim hole 21; the rim has holes 1 to 20"),
        (changed(7, 7, "right", 11, "in"), "row 7: found hub hole 11; the right flange has holes 1 to 10"),
        (changed(7, 7, "left", 9, "in"), "row 7: rim hole 7 is joined to the left flange, but serves the right"),
        (changed(7, 5, "right", 9, "in"), "row 7: rim hole 5 is used already, in row 5"),
        (changed(7, 7, "right", GOOD[2][2], "in"), "row 7: right hub hole .* is used already, in row 3"),
        ([row for row in GOOD if row[0] not in (8, 9)], "18 rows; rim hole 8 has no spoke .nor have 9."),
    ],
)
def test_a_slip_is_named_by_its_row(rows: list[list[object]], message: str) -> None:
    with pytest.raises(InputError, match=message):
        lacing.listed(COUNTS, rows, DRILLED)


def test_a_table_that_starts_its_numbers_elsewhere_is_turned_into_place() -> None:
    """R1 may be any hole: all hub holes counted on by three is the same wheel, turned."""
    moved = [[rim, side, (int(str(hub)) + 2) % 10 + 1, head] for rim, side, hub, head in GOOD]
    one, other = lacing.listed(COUNTS, GOOD, DRILLED), lacing.listed(COUNTS, moved, DRILLED)
    assert_allclose(one.angle_deg, other.angle_deg, atol=1e-9)


def test_rim_holes_may_stay_empty_where_the_hub_has_no_more() -> None:
    pattern = lacing.listed(Counts(24, 10, 10), GOOD, side_mask(24, "right"))
    assert pattern.empty_rim_holes == [21, 22, 23, 24]
