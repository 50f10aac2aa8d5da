"""Limits, bounds and the strength of wire."""

from __future__ import annotations

import math

import pytest
from hypothesis import given

from tests.making.strategies import wheels
from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.tension import targets
from wheelcalc.tension.targets import Limit
from wheelcalc.wheel.parts import Wire

SHARE = {"right": 1.0, "left": 0.57}
END, MIDDLE = 850.0, 1350.0  # N/mm2, as in reference/limits.toml


def test_whole_spokes_break_at_an_end() -> None:
    """P (R. Hjertberg, notes 2007-17): a whole spoke of 2.0 wire breaks at 2670 N; butting thins only its middle."""
    assert targets.breaking_force(Wire(), END, MIDDLE) == pytest.approx(2670, abs=1)
    assert targets.breaking_force(Wire(2.0, 1.8, 2.0), END, MIDDLE) == pytest.approx(2670, abs=1)
    assert targets.breaking_force(Wire(2.3, 1.8, 2.0), END, MIDDLE) == pytest.approx(2670, abs=1)


def test_the_thinner_end_counts_by_its_area() -> None:
    """D: 850 N/mm2 over the area of 1.8 wire, 2.5447 mm2."""
    assert targets.breaking_force(Wire(2.0, 1.8, 1.8), END, MIDDLE) == pytest.approx(2163.0, abs=0.1)


def test_a_middle_as_thick_as_the_ends_is_not_drawn() -> None:
    """The strength of drawn wire says nothing of plain wire, not even where it is the lower one."""
    assert targets.breaking_force(Wire(2.0, 2.0, 2.0), END, 700.0) == pytest.approx(2670, abs=1)
    assert targets.breaking_force(Wire(2.0, 1.9, 2.0), END, 700.0) == pytest.approx(700 * 2.83529, rel=1e-5)


def test_a_thin_middle_breaks_first() -> None:
    """P (one maker's butted spokes): 1350 N/mm2; by hand 1350 x pi/4 x 1.5^2."""
    assert targets.breaking_force(Wire(2.0, 1.5, 2.0), END, MIDDLE) == pytest.approx(1350 * math.pi / 4 * 2.25)


def test_a_limit_of_the_slack_side_bounds_the_tight_one_through_the_ratio() -> None:
    slack, both = Limit("wire", 570.0, "left", ""), Limit("rim", 1100.0, "both", "")
    assert targets.on_tighter(slack, SHARE) == pytest.approx(1000.0)
    assert targets.on_tighter(both, SHARE) == 1100.0
    assert targets.deciding([both, slack], SHARE) is slack
    assert targets.deciding([], SHARE) is None


def test_lowest_limit_of_a_side() -> None:
    limits = [Limit("wire", 730.0, "left", ""), Limit("rim", 1100.0, "both", "")]
    assert targets.lowest_on("left", limits) == 730.0
    assert targets.lowest_on("right", limits) == 1100.0
    assert targets.lowest_on("right", limits[:1]) == math.inf


def test_bounds_are_cut_above_only() -> None:
    assert targets.bounds(850.0, 12.0, 1000.0) == pytest.approx((748.0, 952.0))
    assert targets.bounds(950.0, 12.0, 1000.0) == pytest.approx((836.0, 1000.0))


@given(wheels())
def test_the_tighter_side_is_never_the_slacker(wheel: Wheel) -> None:
    share = targets.by_side(wheel, 1.0)
    assert max(share.values()) == pytest.approx(1.0)
    assert share[targets.tighter_side(wheel)] == 1.0


def dished(left: float, right: float, hole_offset: float = 0.0) -> Wheel:
    """24 radial spokes, flanges this far out."""
    hub = Hub(Flange(12, 44.0, left), Flange(12, 44.0, right))
    return Wheel(Rim(24, 571.0, hole_offset), hub, lacing.radial(24))


@pytest.mark.parametrize(
    "wheel",
    [dished(31.0, 2.1, 3.4), dished(1.6, 29.0, -2.8), dished(0.0, 27.0), dished(33.0, 0.0)],
    ids=["right pulls left", "left pulls right", "left not sideways", "right not sideways"],
)
def test_a_flange_without_sideways_pull_leaves_no_ratio(wheel: Wheel) -> None:
    """Statics: one side alone cannot be balanced by any tension of the other, so both get the same."""
    assert targets.ratio_left_to_right(wheel) is None
    assert targets.by_side(wheel, 1043.0) == {"left": 1043.0, "right": 1043.0}


def test_of_sides_that_pull_alike_the_right_one_is_named() -> None:
    assert targets.tighter_side(dished(33.0, 33.0)) == "right"
    assert targets.tighter_side(dished(33.0, 33.2)) == "left"
