"""The bounded least squares and the whole steps against scipy and against trying everything."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import LinearConstraint, lsq_linear, minimize

from wheelcalc.truing.bounded import bounded
from wheelcalc.truing.task import Task, fewest, in_whole_steps

SEEDS = st.integers(0, 10**6)


def problem(seed: int, rows: int, unknowns: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    matrix = rng.normal(size=(rows, unknowns)) * rng.uniform(0.2, 3, unknowns)
    return matrix, 4 * rng.normal(size=rows), -rng.uniform(0, 2, unknowns), rng.uniform(0, 2, unknowns)


@given(SEEDS, st.integers(1, 20))
def test_like_scipys_bounded_least_squares(seed: int, unknowns: int) -> None:
    matrix, aim, low, high = problem(seed, unknowns + 5, unknowns)
    found = bounded(matrix.T @ matrix, -matrix.T @ aim, low, high)
    # D: scipy.optimize.lsq_linear, method bvls
    expected = lsq_linear(matrix, aim, (low - 1e-12, high + 1e-12), method="bvls", tol=1e-12).x
    assert_allclose(found, expected, atol=1e-6)
    assert np.all((found >= low) & (found <= high))


@given(SEEDS, st.integers(1, 20))
def test_the_least_is_the_same_from_any_start(seed: int, unknowns: int) -> None:
    matrix, aim, low, high = problem(seed, unknowns + 5, unknowns)
    rng = np.random.default_rng(seed + 1)
    start = np.where(rng.random(unknowns) < 0.4, rng.choice([low, high]), rng.uniform(low, high))
    args = (matrix.T @ matrix, -matrix.T @ aim, low, high)
    assert_allclose(bounded(*args, start), bounded(*args), atol=1e-8)


def test_without_bounds_it_is_least_squares() -> None:
    matrix, aim, *_ = problem(3, 9, 7)
    far = np.full(7, 1e6)
    assert_allclose(bounded(matrix.T @ matrix, -matrix.T @ aim, -far, far), np.linalg.lstsq(matrix, aim)[0], rtol=1e-9)


def task(seed: int, unknowns: int, room: float) -> Task:
    matrix, aim, low, high = problem(seed, unknowns + 3, unknowns)
    rng = np.random.default_rng(seed + 1)
    return Task(
        hessian=matrix.T @ matrix,
        slope=-matrix.T @ aim,
        low=np.floor(2 * low),
        high=np.ceil(2 * high),
        tensions=30 * rng.normal(size=(unknowns + 2, unknowns)),
        loss=room * rng.uniform(0, 60, unknowns + 2),
        gain=room * rng.uniform(0, 60, unknowns + 2),
    )


@pytest.mark.parametrize("seed", range(6))
def test_tensions_stand_in_the_way_as_in_a_general_optimiser(seed: int) -> None:
    case = task(seed, 6, 0.5)
    best, _ = case.best()
    # D: scipy.optimize.minimize, method SLSQP, from the same point
    general = minimize(
        case.change,
        best,
        jac=lambda x: 2 * (case.hessian @ x + case.slope),
        bounds=list(zip(case.low, case.high, strict=True)),
        constraints=LinearConstraint(case.tensions, -case.loss, case.gain),
        method="SLSQP",
    )
    # the walls are steep springs, so the best lies a little beyond them and a little below
    assert case.beyond(case.tensions @ best) < 5
    assert case.change(best) == pytest.approx(general.fun, rel=0.15)


@given(SEEDS, st.floats(0.01, 1.5))
def test_the_best_costs_no_more_than_a_general_optimisers_from_any_start(seed: int, room: float) -> None:
    case = task(seed, 9, room)
    start = np.random.default_rng(seed).uniform(case.low, case.high)
    best, walled = case.best(start)
    # D: scipy.optimize.minimize, method L-BFGS-B, of the cost itself, its slope by hand
    general = minimize(
        lambda x: (float(case.cost(x)), slope_of_cost(case, x)),
        start,
        jac=True,
        bounds=list(zip(case.low, case.high, strict=True)),
        method="L-BFGS-B",
        options={"maxiter": 5000, "maxfun": 50_000, "ftol": 1e-14, "gtol": 1e-9},
    )
    assert float(case.cost(best)) <= general.fun + 1e-6 * (1 + abs(general.fun))
    assert_allclose(case.best()[0], best, atol=1e-4)
    assert_allclose(walled.hessian @ best + walled.slope, slope_of_cost(case, best) / 2, atol=1e-3)


def slope_of_cost(case: Task, x: np.ndarray) -> np.ndarray:
    change = case.tensions @ x
    over = np.maximum(change - case.gain, 0) - np.maximum(-case.loss - change, 0)
    return 2 * (case.hessian @ x + case.slope + case.tensions.T @ over)


@pytest.mark.parametrize("seed", range(8))
def test_whole_steps_are_near_the_best_of_all_combinations(seed: int) -> None:
    case = task(seed, 4, 1.5)
    ways = itertools.product(*(np.arange(a, b + 1) for a, b in zip(case.low, case.high, strict=True)))
    allowed = [way for way in map(np.array, ways) if case.allows(case.tensions @ way)]
    least = min(case.change(way) for way in allowed)
    found = in_whole_steps(case, np.arange(4), case.best()[0])
    assert case.allows(case.tensions @ found)
    assert np.all((found >= case.low) & (found <= case.high) & (found == np.rint(found)))
    assert case.change(found) <= 0
    assert case.change(found) <= 0.85 * least


@given(SEEDS)
def test_whole_steps_are_always_allowed(seed: int) -> None:
    case = task(seed, 9, 0.2)
    found = in_whole_steps(case, np.arange(9), case.best()[0])
    assert case.allows(case.tensions @ found)


def test_the_fewest_are_those_that_were_disturbed() -> None:
    rng = np.random.default_rng(8)
    matrix = rng.normal(size=(40, 12))
    wanted = np.zeros(12)
    wanted[[2, 7, 8]] = 3, -2, 1.5
    aim = matrix @ wanted + 0.01 * rng.normal(size=40)
    far = np.full(12, 8.0)
    case = Task(matrix.T @ matrix, -matrix.T @ aim, -far, far, np.zeros((1, 12)), np.ones(1), np.ones(1))
    best, _ = case.best()
    assert fewest(case, best, 0.99 * case.change(best)).tolist() == [2, 7, 8]
