"""Spacer plans: properties, and every way against a search by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.making.strategies import wheels
from wheelcalc.bike.spacers import HubInFrame, Plans, balances, from_drawer, judged, multiples
from wheelcalc.bike.width import Spacing
from wheelcalc.tension.targets import ratio_left_to_right
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.wheel import Wheel

thick = st.sampled_from([0.5, 0.8, 1.0, 1.2, 1.85, 2.0, 2.5, 3.3])
drawers = st.dictionaries(thick, st.integers(0, 3), max_size=3)
loose_ones = st.fixed_dictionaries(
    {"left": st.lists(thick, max_size=2).map(tuple), "right": st.lists(thick, max_size=1).map(tuple)}
)
missings = st.floats(-4.0, 8.0)
SEAT = HubInFrame(missing=5.95, offsets=(32.7, 20.3), chainline_error=1.7, protrusion=6.5, stub=(3.0, 6.0))


def by_hand(
    missing: float, slack: float, drawer: Mapping[float, int], loose: Mapping[str, tuple[float, ...]]
) -> set[tuple[float, float]]:
    """Every spacer left, right or unused; every loose one kept, off or moved over; then those that fit or come nearest."""
    pieces = [size for size, count in drawer.items() for _ in range(count)]
    choices = [((0.0, 0.0), (size, 0.0), (0.0, size)) for size in pieces]
    choices += [((0.0, 0.0), (-size, 0.0), (-size, size)) for size in loose["left"]]
    choices += [((0.0, 0.0), (0.0, -size), (size, -size)) for size in loose["right"]]
    sums = {tuple(np.round(np.sum(pick, axis=0), 2) + 0.0) if pick else (0.0, 0.0) for pick in product(*choices)}
    nearest = min(abs(missing - left - right) for left, right in sums)
    return {way for way in sums if abs(missing - sum(way)) <= max(slack, nearest) + 1e-6}


@settings(deadline=None, max_examples=60)
@given(missings, st.sampled_from([0.3, 1.0]), drawers, loose_ones)
@example(4.0, 0.3, {2.5: 1, 3.3: 1, 0.5: 0}, {"left": (), "right": ()})
def test_every_way_from_the_drawer(
    missing: float, slack: float, drawer: dict[float, int], loose: dict[str, tuple[float, ...]]
) -> None:
    found = {
        (float(left), float(right)) for left, right in np.round(from_drawer(missing, slack, drawer, loose), 2) + 0.0
    }
    assert found == by_hand(missing, slack, drawer, loose)


@given(missings, loose_ones)
def test_any_multiple_of_a_half(missing: float, loose: dict[str, tuple[float, ...]]) -> None:
    ways = multiples(missing, loose)
    removable = sum(loose["left"]) + sum(loose["right"])
    assert len(ways) == len({tuple(way) for way in np.round(ways, 2)})
    left_over = np.abs(missing - ways.sum(axis=1))
    assert left_over.max() - left_over.min() < 1e-5
    if missing > -removable:
        assert left_over.max() <= 0.25 + 1e-6
    assert (ways >= [-sum(loose["left"]) - 1e-9, -sum(loose["right"]) - 1e-9]).all()


def test_counts_of_ways() -> None:
    """D: 4 mm in halves on two sides is 9 ways; 4.3 is nearest to 4.5, 10 ways; half-way both neighbours count."""
    assert len(multiples(4.0, {})) == 9
    assert len(multiples(4.3, {})) == 10
    assert len(multiples(4.25, {})) == 9 + 10
    assert multiples(-3.0, {}).tolist() == [[0.0, 0.0]]


def test_a_drawer_without_end_is_refused() -> None:
    with pytest.raises(InputError, match=r"spacers\.on_hand: found 2 sizes"):
        from_drawer(18.0, 1.0, {0.07: 300, 0.11: 300}, {})


@given(st.floats(-5, 10), st.floats(-5, 10), st.floats(-3, 3))
def test_properties_of_a_plan(left: float, right: float, offset: float) -> None:
    seat = HubInFrame(missing=5.95, offsets=(32.7, 20.3), chainline_error=1.7, wheel_offset=offset)
    plan = judged(np.array([[left, right], [left, left], [0.0, 0.0]]), seat)
    assert left + right + plan.width_left_over[0] == pytest.approx(5.95, abs=1e-9)
    assert plan.cog_shift[0] == pytest.approx((left - right) / 2, abs=1e-9)
    assert plan.rotor_shift[0] == pytest.approx(-plan.cog_shift[0], abs=1e-9)
    assert plan.rim_shift[0] + plan.cog_shift[0] == pytest.approx(offset, abs=1e-9)
    for name in ("offset_left", "offset_right", "rim_shift", "cog_shift", "chainline_error"):
        changed = getattr(plan, name)
        assert changed[1] == pytest.approx(changed[2], abs=1e-9)  # a symmetric plan moves nothing
    assert plan.offset_left[0] + plan.offset_right[0] == pytest.approx(53.0, abs=1e-9)


@given(wheels(), st.floats(-4, 6), st.floats(-4, 6))
def test_undoing_a_plan_gives_the_original(wheel: Wheel, left: float, right: float) -> None:
    there = Wheel(wheel.rim, wheel.hub.with_spacers(left, right), wheel.lacing)
    move = (left - right) / 2
    first, longer_left, longer_right = balances(wheel, np.array([0.0, move]))
    back, shorter_left, shorter_right = balances(there, np.array([-move, 0.0]))
    assert first == pytest.approx(back, rel=1e-9, nan_ok=True)
    assert longer_left[1] == pytest.approx(-shorter_left[0], abs=1e-9)
    assert longer_right[1] == pytest.approx(-shorter_right[0], abs=1e-9)
    plain = ratio_left_to_right(there)
    assert back[1] == pytest.approx(np.nan if plain is None else plain, rel=1e-9, nan_ok=True)


def in_order(plans: Plans) -> list[tuple[float, ...]]:
    """The contract's order as plain tuples: short stub, width left over, chainline error, evenness, rotor."""
    return [
        (
            bool(plans.stub_short[i]),
            round(abs(plans.width_left_over[i]), 6),
            round(abs(np.nan_to_num(plans.chainline_error[i])), 6),
            round(-plans.evenness[i], 6),
            round(abs(plans.rotor_to_calliper[i]), 6),
        )
        for i in range(len(plans))
    ]


@given(drawers, loose_ones, st.sampled_from([None, 1.7, -0.4]))
def test_best_first(drawer: dict[float, int], loose: dict[str, tuple[float, ...]], error: float | None) -> None:
    seat = HubInFrame(missing=3.7, offsets=(32.7, 20.3), chainline_error=error, protrusion=5.5, stub=(3.0, 6.0))
    plans = judged(from_drawer(3.7, 1.0, drawer, loose), seat).best_first()
    assert in_order(plans) == sorted(in_order(plans))


def test_a_short_stub_comes_last() -> None:
    ways = np.array([[0.0, 6.0], [3.0, 3.0], [3.5, 2.5], [-0.5, 6.5]])
    plans = judged(ways, SEAT).best_first()
    assert plans.stub_short.tolist() == [False, False, True, True]
    assert plans.stub_long.tolist() == [False, False, True, True]
    assert Spacing(float(plans.left[0]), float(plans.right[0])) == (3.5, 2.5)


def test_a_stub_that_is_only_long_keeps_its_place() -> None:
    """The contract puts short ones last alone: 6.9 - 0.5 is longer than 6.0, and its chainline is the straightest."""
    seat = HubInFrame(missing=2.0, offsets=(32.7, 20.3), chainline_error=0.4, protrusion=6.9, stub=(3.0, 6.0))
    plans = judged(np.array([[1.0, 1.0], [1.5, 0.5]]), seat).best_first()
    assert plans.left.tolist() == [1.5, 1.0]
    assert plans.stub_long.tolist() == [True, False]


@given(wheels(), st.floats(-6, 6), st.floats(0, 4), st.floats(0, 4))
def test_spokes_change_from_a_rim_midway_between_the_locknuts(
    wheel: Wheel, wheel_offset: float, left: float, right: float
) -> None:
    """D: Pythagoras on both wheels; the one that exists has its rim in the hub's middle, whatever the frame wants."""
    wanted = replace(wheel, rim_shift=wheel_offset)
    plan = judged(np.array([[left, right]]), HubInFrame(missing=4.0, wheel=wanted, wheel_offset=wheel_offset))
    there = replace(wanted, hub=wheel.hub.with_spacers(left, right))
    is_right = wheel.lacing.is_right
    change = there.spans - replace(wheel, rim_shift=0.0).spans
    assert plan.length_change_left[0] == pytest.approx(change[~is_right].mean(), abs=1e-7)
    assert plan.length_change_right[0] == pytest.approx(change[is_right].mean(), abs=1e-7)


def test_even_spokes_and_rotor_pull_apart() -> None:
    """The trade-off of the trade: what evens the spokes of a hub with cogs moves the rotor from its calliper."""
    plans = judged(multiples(4.0, {}), HubInFrame(missing=4.0, offsets=(34.0, 18.0)))
    most_even, nearest = int(np.argmax(plans.evenness)), int(np.argmin(np.abs(plans.rotor_to_calliper)))
    assert (plans.left[most_even], plans.right[most_even]) == (4.0, 0.0)
    assert np.argmin(plans.evenness) == nearest


def test_the_axle_moved_through_the_hub() -> None:
    plan = judged(np.array([[4.0, 2.0]]), HubInFrame(missing=6.0, protrusion=6.5, stub=(3.0, 6.0), axle_moved=-1.0))
    assert (plan.stub_left[0], plan.stub_right[0]) == (3.5, 3.5)
    assert not plan.stub_short[0]


def test_evenness_is_slack_over_tight_whichever_side_that_is() -> None:
    """D: by offsets, the smaller over the larger; a flange on the other side of the rim pulls nothing back: 0."""
    ways = np.array([[0.0, 0.0]])
    for left, right, expected in (
        (33.7, 17.3, 17.3 / 33.7),
        (17.3, 33.7, 17.3 / 33.7),
        (33.7, -1.2, 0.0),
        (0.0, 17.3, 0.0),
    ):
        assert judged(ways, HubInFrame(0.0, offsets=(left, right))).evenness.tolist() == [pytest.approx(expected)]


def test_a_stub_is_neither_short_nor_long_where_nobody_knows_what_the_ends_want() -> None:
    plans = judged(np.array([[0.0, 2.0]]), HubInFrame(2.0, protrusion=4.6))
    assert (plans.stub_left.tolist(), plans.stub_right.tolist()) == ([4.6], [pytest.approx(2.6)])
    assert not plans.stub_short.any()
    assert not plans.stub_long.any()
    # Exactly as long as the ends are thick, or exactly half of it, is enough.
    edge = judged(np.array([[0.0, 2.0]]), HubInFrame(2.0, protrusion=4.6, stub=(2.6, 4.6)))
    assert not edge.stub_short.any()
    assert not edge.stub_long.any()
    beyond = judged(np.array([[0.0, 2.0]]), HubInFrame(2.0, protrusion=4.6, stub=(2.61, 4.59)))
    assert beyond.stub_short.all()
    assert beyond.stub_long.all()


def test_of_equal_plans_the_one_with_less_spacer_is_first() -> None:
    """2 mm of spacers against 4 for the same width, nothing else known."""
    first = judged(np.array([[-1.0, 3.0], [1.0, 1.0]]), HubInFrame(missing=2.0)).best_first()
    assert (first.left.tolist(), first.right.tolist()) == ([1.0, -1.0], [1.0, 3.0])
