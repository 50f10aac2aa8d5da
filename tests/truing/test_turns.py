"""Passes of nipple turns: within their bounds, in whole steps, and what each setting asks for."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.making.random_wheels import PITCH, untrue
from tests.making.true_by_readings import estimated
from wheelcalc.truing.faults import EqualFaults, faults_of, weights
from wheelcalc.truing.model import Model
from wheelcalc.truing.turns import Done, Planner, Room


def planner(model: Model, floor: float = 400.0, limit: float = 1250.0, **more: object) -> Planner:
    room = Room(0.125, 1.0, np.full(model.spokes, floor), np.full(model.spokes, limit))
    return Planner(model, EqualFaults(), room, Done(), **more)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def model() -> Model:
    return estimated(untrue(3), np.random.default_rng(0))[0]


def disturbed(model: Model, **lengths: float) -> np.ndarray:
    """The true wheel with some spokes made shorter [mm]: spoke_7=0.2."""
    shorter = np.zeros(model.spokes)
    for name, value in lengths.items():
        shorter[int(name.removeprefix("spoke_"))] = value
    return model.true + model.by_spoke @ shorter


def test_one_wrong_spoke_is_the_one_that_is_turned(model: Model) -> None:
    found = planner(model).next_pass(disturbed(model, spoke_7=-6 * 0.125 * PITCH))
    assert np.flatnonzero(found.turns).tolist() == [7]
    assert found.turns[7] == pytest.approx(0.75)
    assert found.faults.lateral < 0.01


def test_a_few_wrong_spokes_are_the_few_that_are_turned(model: Model) -> None:
    turns = {4: -0.5, 11: 0.75, 12: -0.625, 20: 0.875}
    found = planner(model).next_pass(disturbed(model, **{f"spoke_{i}": -t * PITCH for i, t in turns.items()}))
    assert set(np.flatnonzero(found.turns).tolist()) <= set(turns)
    for spoke in (4, 20):
        assert found.turns[spoke] == pytest.approx(turns[spoke], abs=0.125)
    assert found.faults.lateral < 0.3


def test_a_true_wheel_is_left_alone(model: Model) -> None:
    assert not planner(model).next_pass(model.true).turns.any()
    assert list(planner(model).passes(model.true)) == []


@cache
def read(seed: int) -> tuple[Model, np.ndarray]:
    """A random wheel as its readings have it: model and state."""
    model, estimate = estimated(untrue(seed), np.random.default_rng(seed))
    return model, estimate.state


@pytest.mark.parametrize(("floor", "limit"), [(400.0, 1250.0), (600.0, 900.0)])
@pytest.mark.parametrize("seed", range(30))
def test_no_spoke_over_its_limit_or_under_its_floor_or_further_out(seed: int, floor: float, limit: float) -> None:
    model, state = read(seed)
    for planned in list(planner(model, floor, limit).passes(state))[:3]:
        before, after = state[model.tension], planned.state[model.tension]
        assert np.all(after <= np.maximum(limit, before) + 0.01)
        tight = before >= 20  # a slack spoke cannot become slacker
        assert np.all(after[tight] >= np.minimum(floor, before)[tight] - 0.01)
        eighths = 8 * planned.turns
        assert_allclose(eighths, np.rint(eighths), atol=1e-9)
        assert np.abs(planned.turns).max() <= 1
        assert_allclose(planned.state, state + model.by_spoke @ planned.turns * PITCH, atol=1e-9)
        state = planned.state


def test_the_same_readings_give_the_same_turns() -> None:
    ways = []
    for _ in range(2):
        model, found = estimated(untrue(9), np.random.default_rng(1))
        ways.append(planner(model).next_pass(found.state).turns)
    assert_allclose(*ways, rtol=0, atol=0)


@pytest.mark.parametrize("move", [-1.6, 0.9])
def test_dish_is_turned_out_with_whole_sides(model: Model, move: float) -> None:
    dish, _ = model.dish_and_level
    state = model.true + model.by_spoke @ (move * dish)
    assert faults_of(model, state).dish == pytest.approx(move)
    assert state[model.tension].mean() == pytest.approx(model.true[model.tension].mean())
    found = planner(model).next_pass(state)
    left, right = found.side_turns
    assert left * move > 0 > right * move
    assert abs(found.faults.dish) < 0.2
    assert faults_of(
        model, state + model.by_spoke @ (np.where(model.is_right, right, left) * PITCH)
    ).dish == pytest.approx(found.faults.dish, abs=0.15)
    left, right = planner(model).to_middle(state)
    moved = model.by_spoke @ (np.where(model.is_right, right, left) * PITCH)
    # an eighth of a turn on one side moves the rim by about 0.2 mm
    assert moved[model.lateral].mean() == pytest.approx(-move, abs=0.1)
    assert abs(moved[model.tension].mean()) < 60


def test_an_unknown_dish_is_kept(model: Model) -> None:
    dish, _ = model.dish_and_level
    state = model.true + model.by_spoke @ (1.5 * dish)
    found = planner(model, dish_known=False).next_pass(state)
    assert not found.turns.any()


def test_a_slack_wheel_is_first_tightened_and_an_overtight_one_loosened(model: Model) -> None:
    for floor, limit, way in ((900.0, 2000.0, 1), (100.0, 500.0, -1)):
        found = planner(model, floor, limit).next_pass(model.true)
        assert all(way * turns > 0 for turns in found.side_turns)


def test_what_is_preferred_comes_out_better() -> None:
    model, found = estimated(untrue(2), np.random.default_rng(2))
    number = int(np.flatnonzero(model.bends[1])[0])
    state = found.state + 0.6 * model.by_bend[:, number]
    ends = {}
    for name, factors in {"straight": (4.0, 1.0), "even": (1.0, 4.0)}.items():
        equal = EqualFaults(
            0.05 * factors[1] / factors[0], 0.05 * factors[1] / factors[0], 0.05, 60 * factors[0] / factors[1]
        )
        ends[name] = replace(planner(model, balance=False), equal=equal).in_the_end(state)
    assert ends["straight"].lateral < 0.5 * ends["even"].lateral
    assert max(ends["even"].spread) < 0.7 * max(ends["straight"].spread)


def test_figures_of_a_state_by_hand(model: Model) -> None:
    state = model.true.copy()
    state[:3] = 0.4, -0.3, 0.2
    state[model.tension][:] = np.where(model.is_right, 1000.0, 600.0)
    where = np.flatnonzero(model.is_right)[:2]
    state[model.tension][where] = 900.0, 1100.0
    found = faults_of(model, state)
    assert found.lateral == pytest.approx(0.7)
    assert found.dish == pytest.approx(0.3 / model.nodes)
    spokes = model.spokes / 2
    # D: two of the right spokes 100 N off their mean: sqrt(2 * 100^2 / n) over 1000
    assert found.spread == pytest.approx((0.0, 100 * np.sqrt(2 * 100**2 / spokes) / 1000))
    assert found.tension == pytest.approx((600.0, 1000.0))


def test_the_same_share_of_either_sides_tension_counts_alike(model: Model) -> None:
    rows, target = weights(model, EqualFaults())
    bad = []
    for side in model.sides:
        off = np.zeros(len(target))
        where = model.tension.start + np.flatnonzero(side)[:2]
        off[where] = np.array([0.1, -0.1]) * model.true[where[0]]
        bad.append(float(np.sum((rows @ off) ** 2)))
    assert bad[0] == pytest.approx(bad[1])
    # D: two of n spokes off by a tenth of the tighter side's tension T, against 60 N: 2 (T / 10)^2 / (n 60^2)
    tighter = model.structure.tensions.max()
    assert bad[1] == pytest.approx(2 * (0.1 * tighter) ** 2 / (model.spokes * 60**2), rel=1e-6)
