"""Many wheels in one call are the same numbers as the wheels one by one, and cost no loop over them."""

from __future__ import annotations

import time

import numpy as np
import pint
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


@pytest.fixture
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
            begun = time.process_time()
            work()
            times.append(time.process_time() - begun)
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


USUAL = {"erd": 602.4, "holes": 32, "pcd": 45, "offset": 30}
CM = pint.UnitRegistry().cm
OF_A_WHEEL = ("erd", "holes", "pcd", "offset", "crosses", "hole_diameter", "hole_offset", "hole_stagger", "rim_shift")


def without_words(key: str, call) -> None:
    with pytest.raises(InputError) as told:
        call("a word")
    assert told.value.key.split(",")[0].removesuffix(".left") == key
    assert told.value.text


@pytest.mark.parametrize("key", OF_A_WHEEL)
def test_a_word_for_a_number_is_refused_by_the_name_of_its_parameter(key: str) -> None:
    without_words(key, lambda word: batch.Wheels(**{**USUAL, key: word}))
    if key in ("pcd", "offset", "crosses", "hole_diameter"):
        with pytest.raises(InputError) as told:
            batch.Wheels(**{**USUAL, key: {"left": 2, "right": "a word"}})
        assert told.value.key == f"{key}.right"


@pytest.mark.parametrize("key", OF_A_WHEEL)
def test_lengths_may_carry_their_unit_and_counts_none(key: str) -> None:
    given = {**USUAL, "hole_diameter": 2.6, "hole_offset": 1.7, "hole_stagger": 0.6, "rim_shift": -0.4, "crosses": 3}
    if key in ("holes", "crosses"):
        with pytest.raises(InputError):
            batch.Wheels(**{**given, key: given[key] * CM})
        return
    plain, with_unit = (batch.Wheels(**{**given, key: value}) for value in (given[key], given[key] / 10 * CM))
    for side in ("left", "right"):
        assert_allclose(with_unit.lengths[side], plain.lengths[side], rtol=1e-12)
    if key in ("pcd", "offset", "hole_diameter"):
        one = batch.Wheels(**{**given, key: {"left": given[key], "right": given[key] / 10 * CM}})
        assert_allclose(one.lengths["right"], plain.lengths["right"], rtol=1e-12)


def test_what_methods_take_is_named_and_may_carry_its_unit() -> None:
    wheels = batch.Wheels(**USUAL)
    newton = pint.UnitRegistry().kN
    for key, call in (
        ("tighter", wheels.tensions),
        ("rim_shrink", lambda value: wheels.cut_lengths(rim_shrink=value)),
        ("missing", wheels.spacer_plans),
        ("chainline_error", lambda value: wheels.spacer_plans(2.0, chainline_error=value)),
        ("length", lambda value: batch.chances(290.3, value, 0.6)),
        ("cut_length", lambda value: batch.chances(value, 290.3, 0.6)),
        ("sigma", lambda value: batch.chances(290.3, 291, value)),
    ):
        without_words(key, call)
    assert_allclose(wheels.tensions(1.13 * newton)["left"], 1130)
    cut = wheels.cut_lengths(rim_shrink=0.31)["left"]
    assert_allclose(wheels.cut_lengths(rim_shrink=0.031 * CM)["left"], cut)
    assert_allclose(wheels.cut_lengths(1000.0, Wire(), rim_shrink=0.0)["left"], cut + 0.31)
    assert_allclose(wheels.cut_lengths()["left"], cut + 0.31)
    plain = wheels.spacer_plans(2.0, chainline_error=1.5)
    for with_unit in (
        wheels.spacer_plans(0.2 * CM, chainline_error=1.5),
        wheels.spacer_plans(2.0, chainline_error=0.15 * CM),
    ):
        assert_allclose(with_unit.left, plain.left)
        assert_allclose(with_unit.chainline_error, plain.chainline_error)
    said = batch.chances(290.3, 291.0, 0.6)
    for other in ((29.03 * CM, 291.0, 0.6), (290.3, 29.1 * CM, 0.6), (290.3, 291.0, 0.06 * CM)):
        assert_allclose(batch.chances(*other), said)


def test_the_tighter_side_has_what_was_asked_and_the_other_its_share() -> None:
    """D: T_left (w/L)_left = T_right (w/L)_right, the greater of both as asked."""
    wheels = batch.Wheels(
        **{**USUAL, "offset": {"left": [34.0, 19.0], "right": [19.0, 34.0]}, "pcd": {"left": 44, "right": 51}}
    )
    found = wheels.tensions(1130.0)
    pull = {side: np.abs(np.sin(np.radians(wheels.bracing_angles_deg[side]))) for side in ("left", "right")}
    assert_allclose(found["left"] * pull["left"], found["right"] * pull["right"], rtol=1e-12)
    assert_allclose(np.maximum(found["left"], found["right"]), 1130.0, rtol=1e-12)
    assert found["left"][0] < found["right"][0]
    assert found["left"][1] > found["right"][1]
    for force in (0.0, 0.5):
        assert wheels.tensions(force)["right"][0] == force
    with pytest.raises(InputError, match="tighter: found -3; all must be 0 N or more"):
        wheels.tensions([3, -3])
    with pytest.raises(InputError, match="sigma: found -1; all must be 0 mm or more"):
        batch.chances(290, 290, [-1, 2])


def test_limits_of_what_a_wheel_is() -> None:
    assert batch.Wheels(**{**USUAL, "crosses": 4}).lengths["left"].shape == ()
    with pytest.raises(
        InputError, match="crosses, left: found 5; all must be 4 at most on the flange with the fewest holes"
    ):
        batch.Wheels(**{**USUAL, "crosses": 5})
    assert len(batch.Wheels(**{**USUAL, "hole_diameter": 0, "crosses": 0})) == 1
    with pytest.raises(InputError, match=r"pcd, left: found 602\.4; all must be smaller than the rim, in mm"):
        batch.Wheels(**{**USUAL, "pcd": 602.4})
    with pytest.raises(InputError, match="erd, left: found inf; all must be finite"):
        batch.Wheels(**{**USUAL, "erd": np.inf})
    with pytest.raises(InputError, match=r"hole.*found -0\.1; all must be finite, 0 or more"):
        batch.Wheels(**{**USUAL, "hole_diameter": -0.1})
    small = batch.Wheels(erd=90.0, holes=32, pcd=45, offset=3, crosses=0)
    with pytest.raises(InputError, match=r"wire: found a spoke of 22\.\d* mm, shorter than its thick ends \(45 mm\)"):
        small.cut_lengths(wire=Wire(2.0, 1.8, 2.0))


def test_rows_hold_what_the_arrays_hold() -> None:
    wheels = batch.Wheels(
        erd=[[602.4], [598.9]], holes=32, pcd={"left": [44.0, 45.5, 46.1], "right": 52.3}, offset={"left": 34.0, "right": 19.5},
        crosses={"left": 2, "right": 3},
    )  # fmt: skip
    rows = wheels.rows()
    assert len(rows) == len(wheels) == 6
    for place, row in zip(np.ndindex(2, 3), rows, strict=True):
        assert row["erd_mm"] == (602.4, 598.9)[place[0]]
        assert (row["left_pcd_mm"], row["right_pcd_mm"]) == ((44.0, 45.5, 46.1)[place[1]], 52.3)
        assert (row["left_crosses"], row["right_crosses"]) == (2, 3)
        for side in ("left", "right"):
            assert row[f"{side}_geometric_length_mm"] == wheels.lengths[side][place]
            assert row[f"{side}_bracing_angle_deg"] == wheels.bracing_angles_deg[side][place]
        assert row["tension_ratio"] == wheels.ratio_left_to_right[place]


def test_plans_of_a_grid_are_those_of_each_of_its_wheels() -> None:
    """Wheels along one axis, widths along another, chainlines along a third; each alone gives the same."""
    wheels = batch.Wheels(**{**USUAL, "offset": {"left": [34.0, 36.0], "right": [19.5, 17.0]}})
    widths, chains = np.array([1.0, 0.5, 3.0])[:, None], np.array([0.7, -2.2])[:, None, None]
    grid = wheels.spacer_plans(widths, chainline_error=chains)
    assert grid.left.shape[:-1] == (2, 3, 2)
    assert repr(grid) == f"<batch.SpacerPlans of shape (2, 3, 2), up to {grid.left.shape[-1]} each>"
    assert grid.counts.shape == (2, 3, 2)
    for c, w, h in np.ndindex(2, 3, 2):
        single = batch.Wheels(
            **{**USUAL, "offset": {"left": wheels.offset["left"][h], "right": wheels.offset["right"][h]}}
        )
        alone = single.spacer_plans(float(widths[w, 0]), chainline_error=float(chains[c, 0, 0]))
        count = int(alone.counts)
        assert grid.counts[c, w, h] == count
        for name in ("left", "right", "width_left_over", "tension_ratio", "chainline_error"):
            own, each = getattr(grid, name)[c, w, h], getattr(alone, name)
            assert_allclose(own[:count], each[:count], atol=1e-12)
            assert np.isnan(own[count:]).all()
        # D: the spacers' difference moves the cogs by half of it
        assert_allclose(
            alone.chainline_error[:count], chains[c, 0, 0] - (alone.left - alone.right)[:count] / 2, atol=1e-12
        )
        assert_allclose((alone.left + alone.right)[:count], widths[w, 0])


def test_spacers_on_hand_take_what_comes_nearest_unless_there_is_slack() -> None:
    wheels = batch.Wheels(**USUAL)
    only = wheels.spacer_plans(2.2, on_hand={1.0: 2, 2.5: 1})
    assert set(only.width_left_over[np.isfinite(only.left)].round(9)) == {0.2}
    loose = wheels.spacer_plans(2.2, on_hand={1.0: 2, 2.5: 1}, slack=0.3)
    assert set(loose.width_left_over[np.isfinite(loose.left)].round(9)) == {0.2, -0.3}
    assert wheels.spacer_plans(0.0).counts == 1
    assert wheels.spacer_plans(-1.0).counts == 1
    assert wheels.spacer_plans(1.2).counts == 3  # 1.0 mm: 0 + 1, a half each, 1 + 0


def test_too_many_plans_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    wheels = batch.Wheels(**{**USUAL, "offset": {"left": [34.0, 36.0, 33.0], "right": 19.0}})
    monkeypatch.setattr(batch, "MOST_PLANS", 18)
    assert wheels.spacer_plans(1.0).left.shape == (3, 3)  # six ways to fill up to 1 mm, three wheels
    with pytest.raises(InputError, match="missing: found 3 wheels with 10 ways each; give fewer at once"):
        wheels.spacer_plans(1.5)
    with pytest.raises(InputError, match="missing: found inf; all must be a width in mm"):
        wheels.spacer_plans([1.0, np.inf, 1.0])
