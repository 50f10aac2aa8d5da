"""The old wheel as the gauge: round trip, its error by Monte Carlo, what both sides share, and how it joins the measured one."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.making.salvaged_wheels import known_of, loading, random_tree, with_noise
from wheelcalc.build.dimension import Dimension
from wheelcalc.salvage.cases import fitted, old_wheel
from wheelcalc.salvage.old_wheel import combined, gauge, measured_erd, rim_radius
from wheelcalc.wheel.errors import InputError

SIDES = ("left", "right")


def old_tree(rng, **more):
    tree = random_tree(rng)
    hub = random_tree(rng)["hub"]
    for side in SIDES:
        hub[side]["holes"] = tree["rim"]["holes"] // 2
    tree["old_wheel"] = {
        "crosses": {"left": 2, "right": 1},
        "lengths": {"left": 260.0, "right": 262.0},
        "end_position": {"left": -1.2, "right": 0.7},
        "tension": "850 N",
        "hub": hub,
        **more,
    }
    return tree


def true_lengths(known, ends):
    """Lengths of the old spokes by the wheel's own geometry: whole spokes in space, less what tension gives."""
    case = old_wheel(known, loading)
    predicted = case.predicted()
    return {side: case.lengths[side].value - float(predicted[side].mean()) + ends[side] for side in SIDES}


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("measured", ["bare", "tensioned"])
def test_round_trip(seed, measured):
    tree = old_tree(np.random.default_rng(seed))
    tree["rim"]["measured"] = measured
    known = known_of(tree)
    lengths = true_lengths(known, {"left": -1.2, "right": 0.7})
    tree["old_wheel"]["lengths"] = lengths
    found = gauge(old_wheel(known_of(tree), loading), loading)
    assert found.erd == pytest.approx(known.number("rim.erd"), abs=0.01)  # stretch found at a slightly other rim
    assert found.sides["left"].value == pytest.approx(found.sides["right"].value, abs=0.01)
    assert found.chance > 0.9


def test_rim_radius_inverts_the_law_of_cosines_in_space():
    rng = np.random.default_rng(1)
    for _ in range(100):
        radius, hub, angle, offset = (
            rng.uniform(180, 320),
            rng.uniform(15, 50),
            rng.uniform(-1.5, 1.5),
            rng.uniform(-5, 45),
        )
        rim_point = np.array([0.0, 0.0, radius])
        hub_point = np.array([offset, hub * math.sin(angle), hub * math.cos(angle)])
        span = np.linalg.norm(rim_point - hub_point)
        found = rim_radius(np.array(span), np.array(hub), np.array(angle), np.array(offset))
        assert float(found) == pytest.approx(radius, abs=1e-9)


def test_error_against_monte_carlo():
    tree = old_tree(np.random.default_rng(5), end_position={"left": [-1.2, -0.8, -1.5], "right": [0.7, 0.4, 1.1]})
    case = old_wheel(known_of(tree), loading)
    found = gauge(case, loading)
    rng, drawn = np.random.default_rng(2), []
    for _ in range(400):
        known = with_noise(case.build, rng)
        lengths = {s: Dimension(case.lengths[s].value + rng.normal(0, case.lengths[s].sigma)) for s in SIDES}
        ends = {s: (case.seen(s) + rng.normal(0, case.end_sigma(s)),) for s in SIDES}
        one = gauge(replace(case, build=known, lengths=lengths, ends=ends), loading)
        drawn.append([one.sides["left"].value, one.sides["right"].value])
    drawn = np.array(drawn)
    for index, side in enumerate(SIDES):
        # 400 draws know a standard deviation to 3.5 %
        assert found.sides[side].sigma == pytest.approx(drawn[:, index].std(ddof=1), rel=0.11)
    weights = np.array([found.sides[side].sigma ** -2 for side in SIDES])
    assert found.sigma == pytest.approx((drawn @ weights / weights.sum()).std(ddof=1), rel=0.11)


def test_sides_that_disagree():
    tree = old_tree(np.random.default_rng(7))
    lengths = true_lengths(known_of(tree), {"left": -1.2, "right": 0.7})
    tree["old_wheel"]["lengths"] = {"left": lengths["left"] + 6.0, "right": lengths["right"]}
    found = gauge(old_wheel(known_of(tree), loading), loading)
    assert found.apart == pytest.approx(12.0, abs=1.0)  # D: twice the slip of a spoke
    assert found.chance < 0.001


def test_combined_with_the_measured_one():
    tree = old_tree(np.random.default_rng(8))
    tree["rim"]["erd_to"] = "nipple seat"
    tree["nipple"] = {"seat_to_end": 3.0, "washer": 1.0}
    known = known_of(tree)
    measured = measured_erd(known)
    assert measured.value == pytest.approx(known.number("rim.erd") + 6.0)  # a washer of the new wheel is not the rim's
    found = gauge(old_wheel(known, loading), loading)
    mean = combined(found, measured)
    weights = np.array([found.sigma, measured.sigma]) ** -2.0
    assert mean.value == pytest.approx(np.average([found.erd, measured.value], weights=weights))
    assert combined(found, None).value == found.erd


def test_without_tension_and_ends_it_is_less_sure():
    rng = np.random.default_rng(9)
    sure = old_tree(rng)
    vague = {**sure, "old_wheel": {k: v for k, v in sure["old_wheel"].items() if k not in ("tension", "end_position")}}
    surer, vaguer = (gauge(old_wheel(known_of(tree), loading), loading) for tree in (sure, vague))
    assert vaguer.sigma > surer.sigma + 0.2
    assert "tension.target" in vaguer.shares


def test_what_is_missing_or_cannot_be():
    tree = old_tree(np.random.default_rng(10))
    for path, key in ((("crosses",), "old_wheel.crosses"), (("lengths",), "old_wheel.lengths")):
        short = {**tree, "old_wheel": {k: v for k, v in tree["old_wheel"].items() if k not in path}}
        with pytest.raises(InputError) as caught:
            old_wheel(known_of(short), loading)
        assert caught.value.key == key
    tree["old_wheel"]["lengths"] = 31.0
    with pytest.raises(InputError, match="past this hub's flange"):
        gauge(old_wheel(known_of(tree), loading), loading)
    with pytest.raises(InputError) as caught:
        fitted(known_of({**random_tree(np.random.default_rng(3)), "fitted": {"lengths": 290}}), loading)
    assert caught.value.key == "fitted.end_position"
