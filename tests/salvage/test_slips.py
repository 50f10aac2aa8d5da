"""Which reading is wrong: slips made on random old wheels, found again with probabilities that hold."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from tests.making import old_wheels, other_old_wheels
from tests.making.salvaged_wheels import known_of, loading, random_tree
from tests.oracles import ideal_old_wheels
from wheelcalc import answers
from wheelcalc.files.buildfile import build_of
from wheelcalc.salvage.cases import Case, fitted, old_wheel, with_erd_guessed
from wheelcalc.salvage.slips import SURE, Verdict, explain
from wheelcalc.salvage.witness import Witness
from wheelcalc.wheel.errors import InputError

SIDES = ("left", "right")


def case_of(tree) -> Case:
    return old_wheel(with_erd_guessed(known_of(tree)), loading)


def verdict_of(tree) -> Verdict:
    return explain([case_of(tree)])


# Slips that others can mimic to a tenth of a millimetre (an erd 5 mm small is two elbows read from outside), or that
# move the ends less than they are read to: they must be among the named, not first.
MIMICKED = (
    "erd out",
    "erd to the seat",
    "pcd to the edge",
    "flange out",
    "outside of elbow",
    "sign of the ends",
    "swapped",
)


@pytest.mark.parametrize(("seed", "alike"), [(3, 0.6), (4, 0.1)])
def test_slips_are_found_again_and_the_probabilities_hold(seed: int, alike: float) -> None:
    """Two worlds: flanges mostly alike, as the prior has it, and mostly not.

    Run at length by tests/benchmarks/slips.py, which prints the table.
    """
    rng, each = np.random.default_rng(seed), 5
    first, listed, alone, foreseen, happened = Counter(), Counter(), 0, Counter(), Counter()
    for name, (_, words) in old_wheels.SLIPS.items():
        for _ in range(each):
            verdict = verdict_of(old_wheels.with_slip(rng, old_wheels.old_wheel(rng, alike=alike), name))
            right = old_wheels.holds(verdict.best.what, words)
            first[name] += right and verdict.explanations[0] is verdict.best
            listed[name] += any(old_wheels.holds(one.what, words) for one in verdict.named)
            alone += verdict.told and not right
            for one in verdict.explanations:
                bin_of = int(min(one.probability * 5, 4))
                foreseen[bin_of] += one.probability
                happened[bin_of] += old_wheels.holds(one.what, words)
    clear = [name for name in old_wheels.SLIPS if not name.startswith(MIMICKED) and "swapped" not in name]
    assert len(clear) >= 9
    assert sum(first[name] for name in clear) >= 0.85 * each * len(clear)
    assert sum(first.values()) >= 0.75 * each * len(old_wheels.SLIPS)
    assert (
        first["erd to the seat"] >= 0.4 * each
    )  # elbows read from outside mimic it; that spokes are of whole mm tells
    assert sum(listed.values()) >= 0.92 * each * len(old_wheels.SLIPS)
    assert alone <= 0.08 * each * len(old_wheels.SLIPS)
    for bin_of in (1, 2, 3, 4):  # 100 wheels: within what so few can show
        assert happened[bin_of] >= foreseen[bin_of] - 3 * np.sqrt(foreseen[bin_of] + 1)


def test_slips_are_found_on_wheels_of_another_make() -> None:
    """Small, fixed, disc, radial, straight and two-to-one wheels, other sizes of slips; nothing is tuned on them."""
    rng, each, first, listed = np.random.default_rng(9), 4, 0, 0
    for slip, words in other_old_wheels.SLIPS.values():
        for _ in range(each):
            tree = other_old_wheels.other_wheel(rng)
            slip(rng, tree)
            verdict = verdict_of(tree)
            first += old_wheels.holds(verdict.explanations[0].what, words)
            listed += any(old_wheels.holds(one.what, words) for one in verdict.named)
    assert first >= 0.72 * each * len(other_old_wheels.SLIPS)
    assert listed >= 0.9 * each * len(other_old_wheels.SLIPS)


@pytest.mark.parametrize("make", [old_wheels.old_wheel, old_wheels.odd_wheel, other_old_wheels.other_wheel])
def test_right_readings_are_left_alone(make) -> None:
    rng = np.random.default_rng(8)
    doubted = sum(not verdict_of(make(rng)).agree for _ in range(120))
    assert doubted <= 0.03 * 120 + 2  # what 120 wheels can show of 3 %


def test_the_best_observer_is_not_beaten() -> None:
    """Who knows how the wheels are made names the slip first at least as often: else that bound is computed wrongly."""
    rng, own, best = np.random.default_rng(10), 0, 0
    for name in ("erd to the seat", "outside of elbow", "flange out, right", "hub swapped", "sign of the ends"):
        for _ in range(6):
            tree = old_wheels.with_slip(rng, old_wheels.old_wheel(rng), name)
            own += old_wheels.holds(verdict_of(tree).explanations[0].what, old_wheels.SLIPS[name][1])
            chances = ideal_old_wheels.posteriors(tree, rng)
            best += max(chances, key=lambda each: chances[each]) == name
    assert best >= own - 3  # 30 wheels: within chance
    assert best >= 0.75 * 30


def test_probabilities_add_up_to_one_and_none_is_among_them() -> None:
    rng = np.random.default_rng(2)
    verdict = verdict_of(old_wheels.old_wheel(rng))
    probabilities = [each.probability for each in verdict.explanations]
    assert sum(probabilities) == pytest.approx(1.0, abs=1e-9)
    assert probabilities == sorted(probabilities, reverse=True)
    assert verdict.explanations[0] is verdict.none
    assert len({each.what for each in verdict.explanations}) == len(probabilities)


def test_misfits_and_their_slopes_against_whole_wheels() -> None:
    """The fast closed form against wheels built whole, and its slopes against differences of them."""
    rng = np.random.default_rng(5)
    for _ in range(6):
        tree = old_wheels.old_wheel(rng)
        tree["rim"]["hole_offset"] = float(rng.choice([0.0, 2.5]))
        if rng.random() < 0.5:
            tree["old_wheel"]["hub"]["phase"] = "aligned"
        case = case_of(tree)
        witness = Witness(case)
        predicted = case.predicted()
        assert witness.misfits(witness.values) == pytest.approx(
            [case.seen(side) - float(predicted[side].mean()) for side in SIDES], abs=0.02
        )
        slopes = witness.slopes(witness.values)
        for key, name in (
            ("rim.erd", "erd"),
            ("hub.left.pcd", "pcd.left"),
            ("hub.right.locknut_to_flange", "place.right"),
            ("hub.over_locknut", "over"),
        ):
            moved = replace(case, build=case.build.having({key: case.build[key].value + 0.01})).predicted()
            by = [-(float(moved[s].mean()) - float(predicted[s].mean())) / 0.01 * witness.sigmas[name] for s in SIDES]
            assert slopes[name][0] == pytest.approx(by, abs=2e-3)


def test_without_a_measured_erd_the_sides_still_witness_against_each_other() -> None:
    rng = np.random.default_rng(12)
    for _ in range(3):
        tree = old_wheels.with_slip(rng, old_wheels.old_wheel(rng), "lengths out, left")
        del tree["rim"]["erd"], tree["rim"]["erd_to"]
        verdict = verdict_of(tree)
        assert not verdict.agree
        assert not any(each.what.startswith("erd") for each in verdict.explanations)
        assert any(old_wheels.holds(each.what, ("lengths", "offset by")) for each in verdict.named)


def test_the_odd_one_of_three_lengths_is_named_and_what_to_read_again() -> None:
    tree = old_wheels.old_wheel(np.random.default_rng(21))
    own = tree["old_wheel"]["lengths"]["right"]
    own[1] += 10
    verdict = verdict_of(tree)
    assert verdict.told
    assert verdict.best.what == "lengths, right: one reading of the list"
    assert f"{own[1]:g} mm" in verdict.look
    assert dict(verdict.best.would_be)["length.right"] == pytest.approx((own[0] + own[2]) / 2)


def test_where_two_slips_look_alike_it_says_so_and_names_the_look_that_divides_them() -> None:
    rng, seen = np.random.default_rng(31), 0
    for _ in range(24):
        verdict = verdict_of(old_wheels.with_slip(rng, old_wheels.old_wheel(rng), "outside of elbow"))
        if not verdict.told and not verdict.agree:
            seen += 1
            assert "Cannot tell these apart" in verdict.words
            # the look shows a reading that the two likeliest put at different values
            one, other = (dict(each.would_be) for each in verdict.explanations[:2])
            assert one != other
            assert verdict.divider in {each.look for each in verdict.explanations[:2]}
    assert seen >= 6


def plain_case(**ends) -> Case:
    tree = random_tree(np.random.default_rng(4))
    tree["lacing"]["crosses"] = {"left": 3, "right": 2}
    tree["rim"]["holes"] = 36
    for side in SIDES:
        tree["hub"][side]["holes"] = 18
    tree["fitted"] = {"lengths": {"left": 262, "right": 259}, "end_position": ends or {"left": 0.0, "right": 0.0}}
    case = fitted(known_of(tree), loading)
    moved = {side: case.lengths[side].value - round(float(case.predicted()[side].mean())) for side in SIDES}
    return replace(case, lengths={side: replace(case.lengths[side], value=moved[side]) for side in SIDES})


def test_one_rim_hole_out_of_step_makes_half_the_spokes_too_long() -> None:
    # C (check-values): half of a side's spokes too long, half too short, by about the same.
    case = plain_case()
    off = replace(case, out_of_step=frozenset({"left"})).predicted()["left"] - case.predicted()["left"]
    assert (off > 1).sum() == (off < -1).sum() == 9


def test_half_a_hole_out_of_step_shows_in_the_spread_only() -> None:
    rng = np.random.default_rng(1)
    for count, told in ((1, False), (6, True)):
        case = plain_case(left=[0.0] * 6, right=[0.0] * 6)
        truth = replace(case, out_of_step=frozenset({"left"})).predicted()
        ends = {side: tuple(float(e) for e in truth[side][:count] + rng.normal(0, 0.2, count)) for side in SIDES}
        if count == 1:
            ends = {side: (float(truth[side].mean()),) for side in SIDES}
        verdict = explain([replace(case, ends=ends)])
        assert verdict.told is told
        if told:
            assert verdict.best.what == "left spokes laced one rim hole out of step"


def test_a_reading_of_the_rim_speaks_in_both_wheels() -> None:
    """Old wheel and new one on one rim: an erd 10 mm small shows in both, and cannot be anything else."""
    tree = old_wheels.old_wheel(np.random.default_rng(40))
    tree["hub"] = tree["old_wheel"]["hub"]
    tree["lacing"] = {"crosses": tree["old_wheel"]["crosses"]}
    tree["fitted"] = {name: tree["old_wheel"][name] for name in ("lengths", "end_position")}
    tree["rim"]["erd"] = [value - 10 for value in tree["rim"]["erd"]]
    known = known_of(tree)
    verdict = explain([fitted(known, loading), old_wheel(known, loading)])
    assert verdict.told
    assert verdict.best.what == "erd: offset by a whole number of mm"
    assert dict(verdict.best.would_be)["erd"] == pytest.approx(np.mean(tree["rim"]["erd"]) + 10)


@pytest.mark.parametrize("name", old_wheels.IN_INCHES)
def test_readings_that_can_only_be_inches_are_no_reason_to_refuse(name: str) -> None:
    rng = np.random.default_rng(50)
    for _ in range(3):
        right = old_wheels.old_wheel(rng)
        answer = answers.salvage(old_wheels.with_slip(rng, right, name))
        first = answer.as_json()["slips"][0]
        assert old_wheels.holds(first["what"], old_wheels.IN_INCHES[name][1])
        assert first["probability"] > 0.5
        assert answer.stops
        assert sum(each["probability"] for each in answer.as_json()["slips"]) == pytest.approx(1.0, abs=1e-5)
        assert answer.old_wheel.gauged.erd == pytest.approx(answers.salvage(right).old_wheel.gauged.erd, abs=0.5)
        with pytest.raises(InputError, match="sensible is"):
            build_of(old_wheels.with_slip(rng, right, name), "elsewhere")


def two_to_one(seed: int) -> old_wheels.Tree:
    return other_old_wheels.other_wheel(np.random.default_rng(seed), "two to one")


@pytest.mark.parametrize("seed", range(4))
def test_a_hub_of_unequal_flanges_is_found_with_its_sides_swapped(seed: int) -> None:
    tree = two_to_one(seed)
    right = {side: np.mean(tree["old_wheel"]["hub"][side]["pcd"]) for side in SIDES}
    other_old_wheels.SLIPS["hub swapped"][0](np.random.default_rng(0), tree)
    verdict = verdict_of(tree)
    assert verdict.told
    assert verdict.best.what == "hub: sides swapped"
    assert {side: dict(verdict.best.would_be)[f"pcd.{side}"] for side in SIDES} == pytest.approx(right)


def test_a_hub_that_could_not_be_laced_the_other_way_round_is_not_thought_swapped() -> None:
    tree = two_to_one(5)
    tree["old_wheel"]["crosses"] = {"left": 0, "right": 4}  # four crosses reach too far round eight holes
    names = {each.what for each in verdict_of(tree).explanations}
    assert "hub: sides swapped" not in names
    assert "lengths: sides swapped" in names


def test_neighbours_of_two_to_one_run_apart_or_cross() -> None:
    """D: hub holes of 16 evenly spread stand 3.75 degrees off each of a pair of 24 rim holes; law of cosines by hand."""
    tree = two_to_one(6)
    tree["old_wheel"]["crosses"] = {"left": 0, "right": 2}
    rim, hub = np.mean(tree["rim"]["erd"]) / 2, tree["old_wheel"]["hub"]
    circle, width = np.mean(hub["right"]["pcd"]) / 2, np.mean(hub["over_locknut"])
    aside = width / 2 - np.mean(hub["right"]["locknut_to_flange"])
    apart, cross = (
        np.sqrt(rim**2 + circle**2 - 2 * rim * circle * np.cos(np.radians(angle)) + aside**2)
        for angle in (45 + 3.75, 45 - 3.75)
    )
    ends = {}
    for said in (None, "apart", "crossing"):
        tree["old_wheel"] |= {} if said is None else {"pair_spokes": said}
        ends[said] = float(case_of(tree).predicted()["right"].mean())
    assert ends[None] == pytest.approx(ends["apart"], abs=1e-9)
    assert ends["crossing"] - ends["apart"] == pytest.approx(apart - cross, abs=1e-3)
    witness = Witness(case_of(tree))
    assert witness.led_by_pairs("right") == pytest.approx(-3.75, abs=1e-9)
    started = {**witness.values, "led.right": np.asarray(7.5)}
    del tree["old_wheel"]["pair_spokes"]
    other = Witness(case_of(tree))
    moved, alike = witness.misfits(started)[1], other.misfits(other.values)[1]
    assert moved == pytest.approx(alike, abs=0.02)  # what rim and spokes give differs by a hair
    assert any(
        each.what == "pair_spokes, right: they cross, not run apart" for each in explain([case_of(tree)]).explanations
    )


def test_an_erd_five_mm_small_may_be_the_seat_or_the_rule_and_neither_is_said_to_be_it() -> None:
    rng = np.random.default_rng(77)
    for _ in range(12):
        tree = old_wheels.old_wheel(rng)
        tree["rim"]["erd"] = [value - 5 for value in tree["rim"]["erd"]]
        verdict = verdict_of(tree)
        chances = {each.what: each.probability for each in verdict.explanations}
        seat, rule = (sum(p for what, p in chances.items() if word in what) for word in ("erd: seat", "erd: offset by"))
        assert not verdict.told  # on these rims the nipple's seat lies 2.5 mm below the spoke's end: the same number
        assert seat < SURE
        assert rule > 0.1 * seat
        assert verdict.agree or verdict.look.startswith("Read this one to know: ")
