"""Means that agree or not, the odd repeat, and the refusals of the single methods, by hand arithmetic and at the limits."""

from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wheelcalc.measuring.methods import METHODS, Method, chord, known_spoke, two_spokes
from wheelcalc.measuring.statistics import (
    DISAGREE,
    TOO_FAR,
    Mean,
    apart,
    chi_square_chance,
    hand,
    in_words,
    odd_repeat,
    weighted_mean,
)
from wheelcalc.wheel.errors import InputError


def mean_of(chance: float) -> Mean:
    return Mean(602.4, 0.3, 1.0, chance)


def test_values_agree_from_one_chance_in_twenty_on():
    assert mean_of(DISAGREE).agree
    assert not mean_of(DISAGREE - 1e-9).agree


def test_nineteen_times_in_twenty():
    # P: JCGM 100:2008, table G.1: 95.00 % is 1.960 standard uncertainties.
    assert mean_of(0.5).within == pytest.approx(1.960 * 0.3, rel=1e-3)


def test_exact_values_go_before_all_others():
    # D: what is exact has weight without limit; two that differ leave their middle.
    assert weighted_mean([602.4, 598.1, 603.0], [0.0, 0.3, 0.0]) == Mean((602.4 + 603.0) / 2, 0.0, 0.0, 1.0)
    assert weighted_mean([598.1, 602.4], [0.9, 0.0]) == Mean(602.4, 0.0, 0.0, 1.0)


def test_a_single_value_cannot_disagree():
    assert weighted_mean([45.3], [0.4]) == Mean(45.3, pytest.approx(0.4), 0.0, 1.0)


def test_disagreement_widens_by_the_ratio_of_birge():
    # D, by hand: weights 4 and 1; mean (4 x 10 + 13)/5 = 10.6; chi-square 4 x 0.36 + 5.76 = 7.2 with 1 degree,
    # chance 0.0073 (below one in twenty): sigma = sqrt(7.2) / sqrt(5).
    found = weighted_mean([10.0, 13.0], [0.5, 1.0])
    assert (found.value, found.chi_square) == (pytest.approx(10.6), pytest.approx(7.2))
    assert found.sigma == pytest.approx(math.sqrt(7.2 / 5))
    # The same two 0.8 apart: chi-square 0.512, nothing to widen.
    assert weighted_mean([10.0, 10.8], [0.5, 1.0]).sigma == pytest.approx(1 / math.sqrt(5))


def test_how_rare_is_said_in_times():
    assert in_words(mean_of(0.3)) == "they agree within their errors"
    assert "once in 40 times" in in_words(mean_of(0.025))
    assert "once in 1250 times" in in_words(mean_of(0.0008))
    assert "hardly ever" in in_words(mean_of(0.0004))


def distance(repeats: list[float], index: int, tool: float) -> float:
    """D: from the mean of the others, over the root of the variance of one more and of that mean (JCGM 100:2008, 5.1.2)."""
    rest = repeats[:index] + repeats[index + 1 :]
    variance = statistics.variance(rest) + tool**2
    return abs(repeats[index] - statistics.fmean(rest)) / math.sqrt(variance + variance / len(rest))


@given(st.lists(st.floats(600, 605), min_size=3, max_size=6), st.floats(0.05, 1.0))
def test_the_odd_repeat_is_the_furthest_from_the_others(repeats: list[float], tool: float):
    far = [distance(repeats, index, tool) for index in range(len(repeats))]
    found = odd_repeat(repeats, tool)
    if found is None:
        assert max(far) <= TOO_FAR * (1 + 1e-9)
    else:
        assert far[found] == pytest.approx(max(far))
        assert far[found] > TOO_FAR * (1 - 1e-9)


def test_just_too_far_and_just_not():
    # D, by hand: others 10.0, 10.6: mean 10.3, variance 0.18; with a tool of 0.4: 0.34 (1 + 1/2) = 0.51, root 0.71414;
    # four times that is 2.85657.
    assert odd_repeat([10.0, 10.6, 10.3 + 2.8565], 0.4) is None
    assert odd_repeat([10.0, 10.6, 10.3 + 2.8567], 0.4) == 2
    assert odd_repeat([10.3 - 2.8567, 10.0, 10.6], 0.4) == 0


def test_of_two_repeats_neither_is_the_odd_one_but_they_may_be_apart():
    assert odd_repeat([600.0, 650.0], 0.1) is None
    # D: the difference of two has sqrt(2) times the tool's error; four of these with a tool of 0.25: 1.41421.
    assert not apart([602.0, 603.4142], 0.25)
    assert apart([602.0, 603.4143], 0.25)
    assert apart([603.4143, 602.0], 0.25)
    assert not apart([602.0, 603.4143, 602.0], 0.25)
    assert not apart([602.0], 0.25)
    assert not apart([602.0, 602.0], 0.0)


@pytest.mark.parametrize("freedom", [1, 2, 3, 6, 7])
def test_the_chance_falls_from_one(freedom: int):
    chances = [chi_square_chance(x, freedom) for x in (0.0, 0.7, 2.9, 11.3)]
    assert chances[0] == pytest.approx(1.0)
    assert chances == sorted(chances, reverse=True)


# --- single methods -------------------------------------------------------------------------------------------------


def test_spokes_that_overlap_by_a_whole_spoke():
    assert two_spokes(262.3, -262.2) == pytest.approx(262.4)
    with pytest.raises(InputError, match=r"found -262.3 mm; spokes of 262.3 mm .* elbows pass each other") as refused:
        two_spokes(262.3, -262.3)
    assert refused.value.key == "readings.rim.two_spokes.gap"


@pytest.mark.parametrize("over", [0, 18, -1, 19])
def test_a_chord_over_holes_that_are_not_there(over: int):
    with pytest.raises(InputError, match=rf"found {over}; on a flange of 18 holes it is 1 to 17") as refused:
        chord(over, 20.0, 18)
    assert refused.value.key == "over"


def test_a_chord_over_half_the_holes_is_the_circle():
    # D: sin 90 degrees = 1; over one hole more or less the same chord, by symmetry.
    assert chord(9, 44.7, 18) == pytest.approx(44.7)
    assert chord(8, 40.0, 18) == pytest.approx(chord(10, 40.0, 18))


def test_a_known_spoke_that_reaches_nothing():
    # D: R = 300, k = 3 of 16: a = 67.5 degrees; R sin a = 277.164. A spoke that just reaches touches the rim's foot point:
    # r = R cos a = 114.805 (pcd 229.61).
    reach = math.hypot(300 * math.sin(math.radians(67.5)), 20.0)
    assert known_spoke(reach + 1e-9, 0.0, 600.0, 20.0, 3, 16) == pytest.approx(229.61, abs=0.01)
    for length, sticks_out in ((reach - 0.01, 0.0), (reach, 0.3)):
        with pytest.raises(
            InputError, match=f"found {length:g} mm with {sticks_out:g} mm beyond .* check the crosses"
        ) as refused:
            known_spoke(length, sticks_out, 600.0, 20.0, 3, 16)
        assert refused.value.key == "known_spoke"
    # D: a spoke as long as from the rim to the axle, in its plane, has its seat on the axle: no circle.
    assert known_spoke(299.8, 0.0, 600.0, 0.0, 0, 16) == pytest.approx(0.4)
    with pytest.raises(InputError, match="check the crosses"):
        known_spoke(300.0, 0.0, 600.0, 0.0, 0, 16)


def test_one_cog_has_no_pitch_and_two_have_one():
    method = next(each for each in METHODS if each.key == "cogs.pitch")
    # D: two cogs of 1.8 mm in a stack of 6.8 stand 5.0 apart.
    assert method.formula(6.8, 1.8, 2) == pytest.approx(5.0)
    with pytest.raises(InputError, match=r"cogs.count = 1; one cog has no pitch") as refused:
        method.formula(6.8, 1.8, 1)
    assert refused.value.key == "readings.cogs.stack"


def test_every_method_says_how_it_found_its_dimension():
    ways = [(each.key, each.words) for each in METHODS]
    assert len(set(ways)) == len(ways) > 20
    for each in METHODS:
        assert isinstance(each, Method)
        assert each.words
        assert each.words[0].islower()
        assert not each.words.endswith(".")
        assert callable(each.formula)


def test_what_is_read_directly_stays_as_it_was_read():
    direct = {each.key: each.formula(131.7) for each in METHODS if len(each.inputs) == 1}
    assert set(direct) == {"hub.over_locknut", "frame.dropout_spacing", "hub.rotor_face", "hub.body_length"}
    assert set(direct.values()) == {131.7}


def test_the_repeats_of_all_readings_tell_how_well_one_is_read():
    # D: the readings' own squares 0.5 and 0.24 and three times 0.4^2, over 3 + 1 + 2 degrees of freedom.
    assert hand([[1.0, 2.0], [3.0, 3.0, 3.6]], 0.4) == pytest.approx(math.sqrt((0.48 + 0.5 + 0.24) / 6), abs=1e-12)
    # a list that no rule scatters so is no witness of it, a single reading neither
    assert hand([[1.0, 2.0], [3.0, 3.0, 3.6], [40.0, 50.0], [7.0]], 0.4) == hand([[1.0, 2.0], [3.0, 3.0, 3.6]], 0.4)
    assert hand([], 0.4) == pytest.approx(0.4)
    # what all readings share does not show in their scatter: at least half of the tool's error stays
    assert hand([[5.0, 5.0, 5.0]] * 40, 0.4) == pytest.approx(0.2)
