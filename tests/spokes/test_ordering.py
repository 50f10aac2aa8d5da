"""The choice of stock lengths: against exhaustive search on small cases, and its properties."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from wheelcalc.spokes.ordering import Line, Stock, Window, chance_inside, plan

BRASS = Window(short=2.0, beyond=1.0)
LOW = 0.8  # the chance under which a line is split, if that lifts both parts over it


def sides(left: list[float], right: list[float]) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    holes = {"left": np.arange(2, 2 * len(left) + 1, 2), "right": np.arange(1, 2 * len(right), 2)}
    return {"left": np.array(left, dtype=float), "right": np.array(right, dtype=float)}, holes


def ordered(
    left: list[float], right: list[float], stock: Stock, window: Window = BRASS, sigma: float = 0.4, spares: int = 2
):
    cut, holes = sides(left, right)
    return plan(cut, holes, dict.fromkeys(("left", "right"), sigma), stock, window, spares, LOW)


def test_the_best_chance_and_not_a_school_of_rounding() -> None:
    cut, holes = sides([291.35] * 18, [289.9] * 18)
    lines, left_out = ordered([291.35] * 18, [289.9] * 18, Stock.by_step(1, np.concatenate(list(cut.values())), BRASS))
    assert left_out == []
    # D: the window's middle is 0.5 short, so 290.85 and 289.4 would be best: nearest whole lengths
    assert [(line.side, line.length, line.count, line.spares) for line in lines] == [
        ("left", 291, 18, 2),
        ("right", 289, 18, 2),
    ]
    assert lines[0].end_position == pytest.approx(-0.35)
    assert lines[0].rim_holes == tuple(int(hole) for hole in holes["left"])
    # scipy: P(-2 < N(-0.35, 0.4) < 1)
    assert lines[0].chance == pytest.approx(norm.cdf(1, -0.35, 0.4) - norm.cdf(-2, -0.35, 0.4), abs=1e-9)
    assert lines[0].also == (290, 292)


def test_of_mixtures_with_the_same_chance_the_one_that_puts_the_most_ends_near_the_middle() -> None:
    # D: 289 ends 0.5 short on the left and 290 does so on the right, the window's middle; four lines are needed either
    # way, so the ten spokes of 289 all go to the left, and what that frees of the 290 to the right.
    jar = Stock.on_hand({289: 10, 290: 14, 291: 12})
    lines, left_out = ordered([289.5] * 16, [290.2] * 16, jar)
    assert left_out == []
    assert [(line.side, line.length, line.count) for line in lines] == [
        ("left", 289, 10),
        ("left", 290, 6),
        ("right", 290, 8),
        ("right", 291, 8),
    ]


@given(st.floats(-3, 2), st.floats(0, 1.5), st.floats(0.05, 2))
def test_chance_against_scipy(least: float, spread: float, sigma: float) -> None:
    """One error common to all spokes: it must keep the shortest and the longest inside."""
    expected = max(0.0, norm.cdf((1 - least - spread) / sigma) - norm.cdf((-2 - least) / sigma))
    assert float(chance_inside(least, least + spread, sigma, BRASS)) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("step", "cut"), [(2.0, [288.3, 291.7]), (0.1, [288.34, 288.41]), (1.0, [1.5, 3.2])])
def test_every_multiple_of_a_step_that_could_serve(step: float, cut: list[float]) -> None:
    found = Stock.by_step(step, np.array(cut), BRASS).lengths
    multiples = [step * n for n in range(1, 3000)]
    wanted = [length for length in multiples if cut[0] - 2 <= length <= cut[-1] + 1]
    ones_beyond = [length for length in multiples if cut[0] - 2 - step < length < cut[-1] + 1 + step]
    assert set(np.round(wanted, 6)) <= set(np.round(found, 6)) <= set(np.round(ones_beyond, 6))
    assert len(wanted) > 2
    assert list(found) == sorted(found)


def test_a_step_gives_no_spoke_of_no_length() -> None:
    assert Stock.by_step(1.0, np.array([0.6]), BRASS).lengths == (1.0, 2.0)


def test_exact_readings_are_certain_inside_and_hopeless_outside() -> None:
    assert float(chance_inside(-2.0, 1.0, 0.0, BRASS)) == 1.0
    assert float(chance_inside(-2.1, 1.0, 0.0, BRASS)) == 0.0


def counted(chances: list[float]) -> float:
    """Lengths, a low chance as a fifth more than one length: splitting it pays where both parts come over the limit."""
    return len(chances) + 1.2 * sum(chance < LOW for chance in chances)


def cost(lines: list[Line], left_out: list[int]) -> tuple[int, float, float]:
    chances = [line.chance for line in lines]
    return len(left_out), counted(chances), -sum(math.log(max(chance, 1e-300)) for chance in chances)


def exhaustive(left: list[float], right: list[float], stock: Stock, sigma: float) -> tuple[int, float, float]:
    """Try every length (or none) for every spoke: slow, and no dynamic programming."""
    best = (99, 99.0, math.inf)
    spokes = [("left", cut) for cut in left] + [("right", cut) for cut in right]
    for choice in product((None, *range(len(stock.lengths))), repeat=len(spokes)):
        used = [choice.count(index) for index in range(len(stock.lengths))]
        if stock.counts and any(n > most for n, most in zip(used, stock.counts, strict=True)):
            continue
        ends: dict[tuple[str, int], list[float]] = {}
        for (side, cut), index in zip(spokes, choice, strict=True):
            if index is not None:
                ends.setdefault((side, index), []).append(stock.lengths[index] - cut)
        if any(e < -2 - 1e-9 or e > 1 + 1e-9 for each in ends.values() for e in each):
            continue
        chances = [norm.cdf((1 - max(each)) / sigma) - norm.cdf((-2 - min(each)) / sigma) for each in ends.values()]
        price = -sum(math.log(max(chance, 1e-300)) for chance in chances)
        best = min(best, (choice.count(None), counted(chances), price))
    return best


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(285, 291), min_size=1, max_size=3),
    st.lists(st.floats(285, 291), min_size=1, max_size=3),
    st.lists(
        st.tuples(st.integers(284, 292), st.integers(0, 3)), min_size=1, max_size=4, unique_by=lambda pair: pair[0]
    ),
)
def test_a_jar_is_used_as_well_as_exhaustive_search_does(
    left: list[float], right: list[float], jar: list[tuple[int, int]]
) -> None:
    stock = Stock.on_hand({float(length): count for length, count in jar})
    lines, left_out = ordered(left, right, stock, sigma=0.6)
    expected = exhaustive(left, right, stock, sigma=0.6)
    found = cost(lines, left_out)
    assert found[:2] == (expected[0], pytest.approx(expected[1]))
    assert found[2] == pytest.approx(expected[2], abs=1e-6)
    used = {length: sum(line.count for line in lines if line.length == length) for length in stock.lengths}
    assert all(used[length] <= count for length, count in zip(stock.lengths, stock.counts, strict=True))
    assert all(-2 - 1e-9 <= line.least_end and line.most_end <= 1 + 1e-9 for line in lines)


CUTS = st.lists(st.integers(0, 24), min_size=1, max_size=4).map(lambda values: [285 + value / 4 for value in values])


@settings(max_examples=60, deadline=None)
@given(CUTS, CUTS, st.sampled_from([1.0, 1.5, 2.0]), st.sampled_from([0.15, 0.45, 0.8]))
@example([286.0, 288.75], [290.0, 290.0], 1.0, 0.3)  # one length would fill it, at a chance of a few per cent
def test_what_a_shop_sells_is_chosen_as_exhaustive_search_does(
    left: list[float], right: list[float], step: float, sigma: float
) -> None:
    for side in (left, right):  # nothing is shared, so each side by itself
        stock = Stock.by_step(step, np.array(side), BRASS)
        lines, left_out = ordered(side, [], stock, sigma=sigma)
        expected = exhaustive(side, [], stock, sigma)
        found = cost(lines, left_out)
        assert found[:2] == (expected[0], pytest.approx(expected[1]))
        assert found[2] == pytest.approx(expected[2], abs=1e-6)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.floats(285, 291), min_size=1, max_size=9), st.floats(0.05, 1.0))
def test_no_line_of_low_chance_is_left_that_one_more_length_would_lift(side: list[float], sigma: float) -> None:
    stock = Stock.by_step(1, np.array(side), BRASS)
    lines, left_out = ordered(side, [270.0], stock, sigma=sigma)
    assert [hole for hole in left_out if hole % 2 == 0] == []
    for line in lines:
        if line.side == "left" and line.chance < LOW:
            own = np.sort([side[hole // 2 - 1] for hole in line.rim_holes])
            for at in range(1, len(own)):
                parts = own[:at], own[at:]
                best = [
                    max(float(chance_inside(x - p.max(), x - p.min(), sigma, BRASS)) for x in stock.lengths)
                    for p in parts
                ]
                assert min(best) < LOW


def test_a_jar_that_both_sides_need_is_shared_so_that_nothing_is_left_out() -> None:
    # By hand: 291 serves both sides; only 10 x 289 for the left and 8 x 293 for the right make it enough.
    stock = Stock.on_hand({289.0: 10, 291.0: 18, 293.0: 8})
    lines, left_out = ordered([290.0] * 18, [292.0] * 18, stock, Window(1.0, 1.0))
    assert left_out == []
    assert [(line.side, line.length, line.count) for line in lines] == [
        ("left", 289, 10),
        ("left", 291, 8),
        ("right", 291, 10),
        ("right", 293, 8),
    ]
    assert [line.spares for line in lines] == [0, 0, 0, 0]


def test_between_lengths_that_are_sure_the_middle_of_the_window_decides() -> None:
    # D: 290.9 - 0.5 = 290.4 is the middle; 290 lies 0.4 from it, 291 lies 0.6; with 0.05 mm of error both are certain
    lines, _ = ordered([290.9] * 4, [290.35] * 4, Stock.by_step(1, np.array([290.9, 290.35]), BRASS), sigma=0.05)
    assert [(line.length, line.chance) for line in lines] == [(290, 1.0), (290, 1.0)]
    fine, _ = ordered([290.93] * 4, [290.33] * 4, Stock.by_step(0.1, np.array([290.93, 290.33]), BRASS), sigma=0.05)
    assert [line.length for line in fine] == [290.4, 289.8]


def test_of_one_spoke_for_three_holes_the_end_nearest_the_middle_gets_it() -> None:
    # D: 290 ends 0.4 beyond, at the intended end and 0.5 short, and the window's middle is 0.5 short
    lines, left_out = ordered([289.6, 290.0, 290.5], [270.0], Stock.on_hand({290.0: 1}), sigma=0.01)
    assert [(line.side, line.rim_holes) for line in lines] == [("left", (6,))]
    assert left_out == [1, 2, 4]


def test_of_holes_that_want_the_same_the_first_ones_get_the_shorter_spokes() -> None:
    # Two kinds of holes by turns, alike among themselves but for round-off: each kind stays in the order of the rim.
    noise = 1e-12 * (np.arange(36) * 7 % 5)
    left = (np.tile([290.6, 290.0], 18) + noise).tolist()  # rim holes 2, 6, 10 ... and 4, 8, 12 ...
    lines, _ = ordered(left, [270.0], Stock.on_hand({288.0: 5, 290.0: 20, 291.0: 11}))
    assert [line.rim_holes for line in lines] == [
        tuple(range(4, 24, 4)),
        tuple(sorted([*range(24, 73, 4), *range(2, 28, 4)])),
        tuple(range(30, 73, 4)),
    ]


def test_a_length_that_ends_on_the_windows_edge_would_also_do() -> None:
    # D: 287 ends 3 short and 291 ends 1 beyond, the window's edges, and 289 in its middle; whole numbers are exact
    stock = Stock(tuple(float(length) for length in range(285, 294)))
    lines, _ = ordered([290.0] * 3, [270.0], stock, Window(3.0, 1.0))
    assert (lines[0].length, lines[0].also) == (289, (287, 288, 290, 291))


def test_spares_of_a_length_that_both_sides_use_come_out_of_one_jar() -> None:
    # D: ten, of which six go into the wheel: three spares for the left leave one for the right
    lines, _ = ordered([290.0] * 3, [290.2] * 3, Stock.on_hand({290.0: 10}), spares=3)
    assert [(line.side, line.count, line.spares) for line in lines] == [("left", 3, 3), ("right", 3, 1)]


def test_what_cannot_be_served_is_named_and_the_rest_still_ordered() -> None:
    lines, left_out = ordered([290.0] * 3, [270.0] * 3, Stock((290.0,)))
    assert [(line.side, line.count) for line in lines] == [("left", 3)]
    assert left_out == [1, 3, 5]


def test_a_side_of_two_lengths_is_mixed_with_the_fewest_lines() -> None:
    lines, left_out = ordered(
        [287.3, 290.8] * 9, [289.9] * 18, Stock.by_step(1, np.array([287.3, 290.8, 289.9]), BRASS)
    )
    assert left_out == []
    assert [(line.side, line.length, line.count) for line in lines] == [
        ("left", 287, 9),
        ("left", 290, 9),
        ("right", 289, 18),
    ]
    assert lines[0].rim_holes == tuple(range(2, 37, 4))
