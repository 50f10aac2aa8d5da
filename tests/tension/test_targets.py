"""Limits, bounds and the strength of wire."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from strategies import wheels

from wheelcalc import Wheel
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
