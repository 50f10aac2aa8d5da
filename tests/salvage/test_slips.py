"""Which reading is wrong: every slip, made on a random wheel with noisy readings, must be found where it can be told."""

from dataclasses import replace

import numpy as np
import pytest

from tests.making.salvaged_wheels import known_of, loading, random_tree, with_noise
from wheelcalc.salvage.cases import EYE, Case, fitted, old_wheel
from wheelcalc.salvage.catalogue import all_slips
from wheelcalc.salvage.slips import explain
from wheelcalc.wheel.errors import InputError

SIDES = ("left", "right")


def random_cases(rng):
    """The file's wheel: the new one as fitted, sometimes the old one too; without any slip."""
    tree = random_tree(rng)
    ends = {side: [0.0] * int(rng.choice([1, 6])) for side in SIDES}
    ends = {side: each if len(each) > 1 else each[0] for side, each in ends.items()}
    lengths = {side: float(rng.integers(215, 300)) for side in SIDES}
    tree["fitted"] = {"lengths": lengths, "end_position": ends}
    cases = [fitted(known_of(tree), loading)]
    if rng.random() < 0.4:
        hub = random_tree(rng)["hub"]
        for side in SIDES:
            hub[side]["holes"] = tree["rim"]["holes"] // 2
        tree["old_wheel"] = {"crosses": 2, "lengths": lengths, "end_position": ends, "hub": hub}
        cases.append(old_wheel(known_of(tree), loading))
    return [fitting(case) for case in cases]


def fitting(case: Case) -> Case:
    """Whole millimetres of spoke that come out near the slot, as one orders them."""
    predicted = case.predicted()
    moved = {side: case.lengths[side].value - round(float(predicted[side].mean())) for side in SIDES}
    lengths = {side: replace(case.lengths[side], value=moved[side]) for side in SIDES}
    return replace(case, lengths=lengths)


def seen(case: Case, rng=None) -> Case:
    """The ends as they come out; with an eye's errors, or spread by just as much as an eye would spread them."""
    predicted = case.predicted()
    ends = {}
    for side in SIDES:
        count, mean = len(case.ends[side]), float(predicted[side].mean())
        values = predicted[side][:count] if count > 1 else np.array([mean])
        if rng is not None:
            values = values + rng.normal(0, EYE) + rng.normal(0, EYE, count) * (count > 1)
            values = values + rng.normal(0, case.lengths[side].sigma)
        elif count > 1:
            values = np.linspace(-1, 1, count)
            values = mean + values / values.std(ddof=1) * np.hypot(predicted[side].std(), EYE)
        ends[side] = tuple(float(value) for value in values)
    return replace(case, ends=ends)


def made(slip, case):
    return case if slip.only and slip.only != case.name else slip.move(case)


def one_slip(rng):
    """Cases of a file, a slip that is possible on them, and the truth behind the file."""
    while True:
        cases = random_cases(rng)
        slips = list(all_slips(cases))
        slip = slips[int(rng.integers(len(slips)))]
        try:
            truth = [made(slip, case) for case in cases]
            if None not in truth and any(a is not b for a, b in zip(truth, cases, strict=True)):
                [case.predicted() for case in truth]
                return cases, slip, truth
        except InputError:
            pass


def seen_with(file_cases, truth, rng=None):
    out = []
    rim = {} if rng is None else with_noise(file_cases[0].known, rng).section("rim")
    for case, true in zip(file_cases, truth, strict=True):
        known = case.known if rng is None else with_noise(case.known, rng)
        known = known.having({f"rim.{name}": value for name, value in rim.items()})  # both wheels have one rim
        out.append(replace(case, known=known, ends=seen(true, rng).ends))
    return out


def test_five_hundred_random_wheels():
    """Of 500 wheels with one slip each, those whose slip lies 3 sigma from all others are told, the rest is left open.

    As measured when this was written: 170 can be told, 165 of them ranked first, 158 told; of 330 that cannot, 1 told
    wrongly.
    """
    rng = np.random.default_rng(20261125)
    clear = first = told = unclear = wrongly_told = 0
    for _ in range(500):
        cases, slip, truth = one_slip(rng)
        plain = explain(seen_with(cases, truth))
        others = [each.chi_square for each in plain.explanations if each.what != slip.what]
        apart = min([*others, plain.unexplained.chi_square])
        verdict = explain(seen_with(cases, truth, rng))
        right = verdict.best.what == slip.what
        if apart >= 9.0:
            clear += 1
            first += right
            told += verdict.told and right
        else:
            unclear += 1
            wrongly_told += verdict.told and not right
    assert clear >= 100
    assert first >= 0.95 * clear
    assert told >= 0.85 * clear
    assert wrongly_told <= 0.02 * unclear


def plain_case(**ends):
    tree = random_tree(np.random.default_rng(4))
    tree["lacing"]["crosses"] = {"left": 3, "right": 2}
    tree["rim"]["holes"] = 36
    for side in SIDES:
        tree["hub"][side]["holes"] = 18
    tree["fitted"] = {"lengths": {"left": 262, "right": 259}, "end_position": ends or {"left": 0.0, "right": 0.0}}
    return fitting(fitted(known_of(tree), loading))


def test_nothing_wrong_asks_for_no_slip():
    rng = np.random.default_rng(11)
    case = plain_case()
    agreed = [explain(seen_with([case], [case], rng)).agree for _ in range(300)]
    # 5 % of right wheels are doubted: the level that "disagree" stands for (0.05 +- 3 x 0.0126)
    assert 0.91 <= sum(agreed) / 300 <= 0.99
    assert not explain([seen(case)]).told


@pytest.mark.parametrize("number", range(44))
def test_every_slip_leaves_nothing_unexplained_when_it_happened(number):
    case = plain_case(left=[0.0] * 6, right=[0.0] * 6)
    slips = [slip for slip in all_slips([case]) if made(slip, case) is not None and made(slip, case) is not case]
    if number >= len(slips):
        assert number >= 35  # all were looked at
        return
    slip = slips[number]
    try:
        truth = made(slip, case)
        truth.predicted()
    except InputError:
        return
    found = {each.what: each for each in explain(seen_with([case], [truth])).explanations}
    assert found[slip.what].chi_square == pytest.approx(0.0, abs=1e-6)
    assert found[slip.what].misfit == pytest.approx(0.0, abs=1e-6)


def test_half_a_hole_out_of_step_shows_in_the_spread_only():
    once, often = plain_case(), plain_case(left=[0.0] * 6, right=[0.0] * 6)
    for case, told in ((once, False), (often, True)):
        truth = replace(case, out_of_step=frozenset({"left"}))
        verdict = explain(seen_with([case], [truth]))
        assert verdict.told is told
        if told:
            assert verdict.best.what == "the left spokes are laced one rim hole out of step"


def test_one_rim_hole_out_of_step_makes_half_the_spokes_too_long():
    # C (check-values): half of a side's spokes too long, half too short, by about the same.
    case = plain_case()
    off = replace(case, out_of_step=frozenset({"left"})).predicted()["left"] - case.predicted()["left"]
    assert (off > 1).sum() == (off < -1).sum() == 9


def test_where_two_slips_look_alike_it_says_so():
    case = plain_case()
    # A washer of 0.8 and the nipple top for the end (slot 1.0) move all ends alike, and differ by less than the errors.
    truth = next(slip for slip in all_slips([case]) if "washers" in slip.what).move(case)
    verdict = explain(seen_with([case], [truth]))
    assert not verdict.told
    assert verdict.rivals or verdict.agree


def test_no_single_slip_explains_two():
    case = plain_case()
    predicted = case.predicted()
    ends = {"left": (float(predicted["left"].mean()) + 14.0,), "right": (float(predicted["right"].mean()) - 5.5,)}
    verdict = explain([replace(case, ends=ends)])
    assert not verdict.agree
    assert not verdict.explains
    assert not verdict.told
