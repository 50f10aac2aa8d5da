"""Many wheels in one call are the same numbers as the wheels one by one, and cost no loop over them."""

from __future__ import annotations

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from wheelcalc import Flange, Hub, InputError, Rim, Wheel, Wire, batch, lacing, ratio_left_to_right
from wheelcalc.bike.spacers import HubInFrame, from_drawer, judged, multiples
from wheelcalc.spokes.lengths import cut_lengths
from wheelcalc.spokes.ordering import Window, chance_inside
from wheelcalc.tension import targets

DRAWER = {1.0: 4, 2.5: 2, 3.2: 1}


def hubs(count: int, seed: int = 5) -> dict[str, dict[str, np.ndarray]]:
    """Random hubs, no side like the other."""
    rng = np.random.default_rng(seed)
    return {
        "pcd": {"left": rng.uniform(38, 60, count), "right": rng.uniform(41, 67, count)},
        "offset": {"left": rng.uniform(28, 39, count), "right": rng.uniform(15, 27, count)},
    }


def one(found: dict[str, dict[str, np.ndarray]], i: int, crosses: dict[str, int], hole: float) -> Wheel:
    left, right = (Flange(16, found["pcd"][s][i], found["offset"][s][i], hole) for s in ("left", "right"))
    rim = Rim(32, 602.4, hole_offset=1.7, hole_stagger=0.6)
    return Wheel(rim, Hub(left, right), lacing.crossed(32, crosses), Wire(2.0, 1.7, 1.8), rim_shift=-0.4)


@pytest.fixture(scope="module")
def many() -> tuple[dict[str, dict[str, np.ndarray]], batch.Wheels, list[Wheel]]:
    found, crosses = hubs(7), {"left": 2, "right": 3}
    extra = {"hole_diameter": 2.6, "hole_offset": 1.7, "hole_stagger": 0.6, "rim_shift": -0.4}
    wheels = batch.Wheels(erd=602.4, holes=32, crosses=crosses, **found, **extra)
    return found, wheels, [one(found, i, crosses, 2.6) for i in range(7)]


@pytest.mark.parametrize("side", ["left", "right"])
def test_lengths_and_angles_are_those_of_each_wheel(many, side: str) -> None:
    _, wheels, each = many
    for i, wheel in enumerate(each):
        on = wheel.lacing.on(side)
        assert_allclose(wheel.lengths[on], wheels.lengths[side][i], rtol=1e-12)
        assert_allclose(wheel.spans[on], wheels.spans[side][i], rtol=1e-12)
        assert_allclose(wheel.bracing_angles_deg[on], wheels.bracing_angles_deg[side][i], rtol=1e-11)


def test_ratio_and_cut_lengths_are_those_of_each_wheel(many) -> None:
    _, wheels, each = many
    cut = wheels.cut_lengths(1130.0, Wire(2.0, 1.7, 1.8), 0.23, rim_shrink=0.31)
    for i, wheel in enumerate(each):
        assert ratio_left_to_right(wheel) == pytest.approx(wheels.ratio_left_to_right[i], rel=1e-12)
        tensions = targets.by_side(wheel, 1130.0)
        whole = Wheel(wheel.rim, wheel.hub, wheel.lacing, wheel.wires, wheel.rim_shift, 0.23)
        singly = cut_lengths(whole, targets.per_spoke(wheel, tensions), 0.31)
        for side in ("left", "right"):
            assert tensions[side] == pytest.approx(wheels.tensions(1130.0)[side][i], rel=1e-12)
            assert_allclose(singly[wheel.lacing.on(side)], cut[side][i], rtol=0, atol=1e-7)  # spans kept to 1e-6 there


def test_a_grid_of_hubs_and_rims() -> None:
    found = hubs(5)
    column = {name: {side: each[:, None] for side, each in sides.items()} for name, sides in found.items()}
    wheels = batch.Wheels(erd=[581.3, 602.4, 609.9], holes=32, **column)
    assert wheels.shape == (5, 3)
    assert wheels.lengths["left"].shape == (5, 3)
    assert len(wheels.rows()) == len(wheels) == 15
    alone = batch.Wheels(erd=609.9, holes=32, **found)
    assert_allclose(wheels.lengths["right"][:, 2], alone.lengths["right"], rtol=1e-12)


def test_a_flange_that_pulls_the_wrong_way_has_no_ratio() -> None:
    wheels = batch.Wheels(erd=602.4, holes=32, pcd=45, offset={"left": [31.0, 31.0], "right": [18.0, -2.0]})
    assert np.isnan(wheels.ratio_left_to_right).tolist() == [False, True]


def test_chances_are_those_of_an_order() -> None:
    sigma = np.array([0.0, 0.3, 0.7])
    found = batch.chances(np.array([[290.4], [291.9]]), 291.0, sigma, short_at_most=1.4, beyond_at_most=0.8)
    assert found.shape == (2, 3)
    for i, cut in enumerate((290.4, 291.9)):
        for j, each in enumerate(sigma):
            alone = chance_inside(291.0 - cut, 291.0 - cut, float(each), Window(1.4, 0.8))
            assert found[i, j] == pytest.approx(float(alone), abs=1e-12)


@pytest.mark.parametrize("on_hand", [None, DRAWER], ids=["any", "drawer"])
def test_spacer_plans_are_those_of_fit_in_its_order(many, on_hand: dict[float, int] | None) -> None:
    _, wheels, each = many
    missing = np.array([0.0, 4.0, 5.3, -1.2, 6.25, 3.1, 0.4])
    chain = np.array([0.7, -1.1, 2.3, 0.0, -3.4, 1.9, 0.2])
    slack = 0.5
    for errors in (None, chain):
        plans = wheels.spacer_plans(missing, slack=slack, on_hand=on_hand, chainline_error=errors)
        for i, wheel in enumerate(each):
            ways = multiples(missing[i], {}) if on_hand is None else from_drawer(missing[i], slack, on_hand, {})
            offsets = (wheel.hub.left.offset, wheel.hub.right.offset)
            error = None if errors is None else float(errors[i])
            fit = judged(ways, HubInFrame(missing[i], offsets, wheel, error)).best_first(rotor=False)
            count = int(plans.counts[i])
            assert count == len(fit)
            assert_allclose(plans.left[i, :count], fit.left, atol=1e-9)
            assert_allclose(plans.right[i, :count], fit.right, atol=1e-9)
            assert_allclose(plans.tension_ratio[i, :count], fit.tension_ratio, rtol=1e-9)
            assert_allclose(plans.width_left_over[i, :count], fit.width_left_over, atol=1e-9)


def test_a_thousand_hubs_against_one_rim_cost_less_than_fifty_wheels_one_by_one() -> None:
    """50 ms on the machine of the figures; here against single wheels in the same run, so that no machine is too slow."""
    found = hubs(1000)
    missing = np.random.default_rng(3).uniform(0.0, 10.0, 1000)

    def together() -> None:
        wheels = batch.Wheels(erd=602.4, holes=32, **found)
        cut = wheels.cut_lengths()
        batch.chances(cut["left"], 292.0, 0.5)
        wheels.spacer_plans(missing, most=3)

    def singly() -> None:
        for i in range(50):
            wheel = one(found, i, {"left": 3, "right": 3}, 2.5)
            _ = wheel.lengths, ratio_left_to_right(wheel)
            judged(multiples(missing[i], {}), HubInFrame(missing[i], (30.0, 20.0), wheel)).best_first()

    def least(work) -> float:
        times = []
        for _ in range(3):
            begun = time.perf_counter()
            work()
            times.append(time.perf_counter() - begun)
        return min(times)

    assert least(together) < least(singly)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"pcd": "45 mm"}, "pcd: found"),
        ({"pcd": {"left": 45}}, "left.*right"),
        ({"erd": [602.4, np.nan]}, "erd, left: found nan"),
        ({"pcd": 700}, "pcd, left: found 700; all must be smaller than the rim"),
        ({"crosses": [3, 6]}, "crosses, left: found 6; all must be 4 at most"),
        ({"crosses": 2.5}, "whole"),
        ({"holes": 33}, "holes: found 33; all must be even"),
        ({"erd": [600, 601], "pcd": [44, 45, 46]}, r"\(2,\), \(3,\)"),
    ],
)
def test_what_no_wheel_is_gets_one_line(given: dict[str, object], said: str) -> None:
    usual = {"erd": 602.4, "holes": 32, "pcd": 45, "offset": 30}
    with pytest.raises(InputError, match=said):
        batch.Wheels(**{**usual, **given})


def test_exact_lengths_among_others_are_as_exact_as_alone() -> None:
    """Property: a sigma of 0 beside others gives what it gives alone, at the edges of the window too."""
    lengths, sigmas = [288.0, 291.0, 291.1, 287.9], [0.0, 0.6]
    together = batch.chances(290.0, np.array(lengths)[:, None], np.array(sigmas))
    alone = [[float(batch.chances(290.0, length, sigma)) for sigma in sigmas] for length in lengths]
    assert together.tolist() == alone
    assert together[:, 0].tolist() == [1.0, 1.0, 0.0, 0.0]
