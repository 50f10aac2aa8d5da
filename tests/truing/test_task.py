"""A pass as a problem of numbers: badness and bounds by hand, its best by scipy, whole steps by trying every move (D)."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import minimize

from wheelcalc.truing.task import ALMOST, NEAR, STIFF, Task, fewest, in_whole_steps, single_moves

FAR = 1e3
NO_WALL = np.full(1, FAR)


def free(hessian: np.ndarray, best: np.ndarray) -> Task:
    """A task without bounds that matter, least at `best`."""
    n = len(best)
    return Task(hessian, -hessian @ best, np.full(n, -FAR), np.full(n, FAR), np.zeros((1, n)), NO_WALL, NO_WALL)


def random_task(seed: int, unknowns: int, room: float = 0.5) -> Task:
    rng = np.random.default_rng(seed)
    matrix = rng.normal(size=(unknowns + 3, unknowns)) * rng.uniform(0.3, 2, unknowns)
    aim = 5 * rng.normal(size=unknowns + 3)
    return Task(
        hessian=matrix.T @ matrix,
        slope=-matrix.T @ aim,
        low=-np.floor(rng.uniform(0, 5, unknowns)),
        high=np.floor(rng.uniform(0, 5, unknowns)),
        tensions=7 * rng.normal(size=(unknowns + 2, unknowns)),
        loss=room * rng.uniform(0, 60, unknowns + 2),
        gain=room * rng.uniform(0, 60, unknowns + 2),
    )


BY_HAND = Task(
    hessian=np.array([[3.0, 1.0], [1.0, 5.0]]),
    slope=np.array([-2.0, 7.0]),
    low=np.array([-4.0, -1.0]),
    high=np.array([2.0, 6.0]),
    tensions=np.array([[10.0, -3.0], [-4.0, 8.0], [1.0, 2.0]]),
    loss=np.array([5.0, 11.0, 0.0]),
    gain=np.array([20.0, 3.0, 7.0]),
)


def test_change_of_badness_by_hand() -> None:
    """D: x = (2, -3): x'Hx = 12 - 12 + 45 = 45; 2 g'x = 2 (-4 - 21) = -50."""
    assert BY_HAND.change(np.array([2.0, -3.0])) == pytest.approx(-5.0)


def test_what_is_not_allowed_by_hand() -> None:
    """D: (23, -12.5, -0.25) is 3 above the gain, 1.5 and 0.25 below the loss; two changes at once give two sums."""
    changes = np.array([[23.0, -12.5, -0.25], [20.0, 3.0, 0.0]])
    assert_allclose(BY_HAND.beyond(changes), [4.75, 0.0])
    assert BY_HAND.allows(changes).tolist() == [False, True]


def test_nearer_than_almost_is_allowed() -> None:
    near, far = (np.array([20.0 + share * ALMOST, 0.0, 0.0]) for share in (0.9, 1.2))
    assert BY_HAND.allows(near)
    assert not BY_HAND.allows(far)
    exact = Task(*(np.zeros((1, 1)), *(np.zeros(1),) * 3, np.zeros((1, 1)), np.zeros(1), np.zeros(1)))
    assert exact.allows(np.array([ALMOST]))


def test_only_some_nipples_by_hand() -> None:
    part = BY_HAND.only(np.array([1]))
    assert (part.hessian.tolist(), part.slope.tolist()) == ([[5.0]], [7.0])
    assert (part.low.tolist(), part.high.tolist()) == ([-1.0], [6.0])
    assert part.tensions.tolist() == [[-3.0], [8.0], [2.0]]
    assert (part.loss.tolist(), part.gain.tolist()) == ([5.0, 11.0, 0.0], [20.0, 3.0, 7.0])


@pytest.mark.parametrize("seed", range(12))
def test_a_tension_beyond_what_is_allowed_costs_its_square(seed: int) -> None:
    """D: scipy.optimize.minimize, L-BFGS-B, on badness and squares of what is beyond."""
    case = random_task(seed, 6)

    def cost(x: np.ndarray) -> tuple[float, np.ndarray]:
        change = case.tensions @ x
        over = np.maximum(change - case.gain, 0) - np.maximum(-case.loss - change, 0)
        slope = 2 * (case.hessian @ x + case.slope) + 2 * STIFF * case.tensions.T @ over
        return case.change(x) + STIFF * float(over @ over), slope

    bounds = list(zip(case.low, case.high, strict=True))
    expected = minimize(
        cost, np.zeros(6), jac=True, bounds=bounds, method="L-BFGS-B", options={"ftol": 1e-15, "gtol": 1e-10}
    )
    best, walled = case.best()
    assert_allclose(best, expected.x, atol=1e-5)
    # the task with the walls built in costs the same nearby, but for a number that is the same for all
    rng = np.random.default_rng(seed)
    for step in 1e-4 * rng.normal(size=(3, 6)):
        assert walled.change(best + step) - walled.change(best) == pytest.approx(
            cost(best + step)[0] - cost(best)[0], abs=1e-6, rel=1e-6
        )


def left_out_one_by_one(matrix: np.ndarray, aim: np.ndarray, most_left: float) -> list[int]:
    """The rule itself, by numpy's least squares: leave out what is missed least while enough is won."""

    def left(columns: list[int]) -> float:
        if not columns:
            return float(aim @ aim)
        x = np.linalg.lstsq(matrix[:, columns], aim)[0]
        return float(np.sum((matrix[:, columns] @ x - aim) ** 2))

    used = list(range(matrix.shape[1]))
    while used:
        fewer = min(([j for j in used if j != out] for out in used), key=left)
        if left(fewer) > most_left:
            break
        used = fewer
    return used


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("leave", [0.05, 0.3, 0.8])
def test_left_out_is_what_is_missed_least(seed: int, leave: float) -> None:
    rng = np.random.default_rng(seed)
    matrix, aim = rng.normal(size=(15, 8)) * rng.uniform(0.3, 3, 8), 3 * rng.normal(size=15)
    case = free(matrix.T @ matrix, np.linalg.lstsq(matrix, aim)[0])
    best, _ = case.best()
    found = fewest(case, best, (1 - leave) * case.change(best))
    most_left = aim @ aim + (1 - leave) * case.change(best)
    assert found.tolist() == left_out_one_by_one(matrix, aim, most_left)


def test_what_must_be_won_may_be_won_exactly() -> None:
    case = free(np.diag([1.0, 2.0, 3.0, 4.0]), np.array([0.5, 3.0, 0.2, 2.0]))
    kept = case.only(np.array([1, 3]))
    assert fewest(case, case.best()[0], kept.change(kept.best()[0])).tolist() == [1, 3]
    assert fewest(case, case.best()[0], kept.change(kept.best()[0]) - 0.01).tolist() == [0, 1, 3]
    assert fewest(case, case.best()[0], 0.0).tolist() == []


@pytest.mark.parametrize("seed", range(20))
def test_the_fewest_win_enough_within_bounds_and_tensions(seed: int) -> None:
    case = random_task(seed, 9, room=1.5)
    best, _ = case.best()
    allowance = 0.7 * case.change(best)
    used = fewest(case, best, allowance)
    part = case.only(used)
    assert part.change(part.best()[0]) <= allowance * (1 - 1e-9)
    assert 0 < len(used) < np.count_nonzero(best)


ALONG = {"together": (1, 1, -0.999), "apart": (1, -1, 0.999)}


@pytest.mark.parametrize("way", ALONG.values(), ids=ALONG)
@pytest.mark.parametrize("times", [3, -2])
def test_two_nipples_are_tried_together(way: tuple[int, int, float], times: int) -> None:
    """D: along such a valley no single step lowers the badness: 1 - 2 x 3 x 0.001 is above 0."""
    wanted = times * np.array(way[:2], dtype=float)
    case = free(np.array([[1, way[2]], [way[2], 1]]), wanted)
    assert in_whole_steps(case, np.arange(2), np.zeros(2)).tolist() == wanted.tolist()


@pytest.mark.parametrize(
    ("first", "second", "tried"),
    [(2, 2 + NEAR, True), (2, 3 + NEAR, False), (1, 41 - NEAR, True), (1, 40 - NEAR, False)],
)
def test_two_far_from_each_other_round_the_rim_are_not(first: int, second: int, tried: bool) -> None:
    hessian, wanted = np.eye(40), np.zeros(40)
    hessian[first, second] = hessian[second, first] = 0.999
    wanted[[first, second]] = 2, -2
    found = in_whole_steps(free(hessian, wanted), np.arange(40), np.zeros(40))
    assert found.tolist() == (wanted if tried else 0 * wanted).tolist()


def moves(count: int) -> list[np.ndarray]:
    """A step either way of one, or of two at once; for counts at which all are near each other."""
    ways = (np.array(way) for way in itertools.product((-1, 0, 1), repeat=count))
    return [way for way in ways if 1 <= np.abs(way).sum() <= 2]


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("start", [0.0, 1.0, 3.0])
def test_no_move_betters_what_is_found(seed: int, start: float) -> None:
    case = random_task(seed, 5)
    rng = np.random.default_rng(seed)
    found = in_whole_steps(case, np.arange(5), start * rng.normal(size=5))
    assert np.array_equal(found, np.rint(found))
    for x in [found + move for move in moves(5)]:
        if np.all((x >= case.low) & (x <= case.high)) and case.allows(case.tensions @ x):
            assert case.change(x) >= case.change(found) - 1e-5


def test_each_move_is_the_one_that_wins_most() -> None:
    """D, by hand: from 0 the second nipple's step wins 9, the first's 8, and with both done no step wins any more.

    Both at once win 8 + 9 - 2 x 7 = 3 only, for they work against each other; alone the second stays.
    """
    case = free(np.array([[4.0, 7.0], [7.0, 13.0]]), np.zeros(2))
    case = Task(case.hessian, np.array([-6.0, -11.0]), case.low, case.high, case.tensions, NO_WALL, NO_WALL)
    assert in_whole_steps(case, np.arange(2), np.zeros(2)).tolist() == [0.0, 1.0]


def test_only_the_nipples_that_may_be_turned_are_turned_and_not_too_far() -> None:
    case = free(np.diag([1.0, 2.0, 3.0, 4.0, 5.0]), np.array([3.2, -2.8, 6.1, 1.4, -7.0]))
    case.low[:], case.high[:] = -4, 5
    found = in_whole_steps(case, np.array([1, 2, 4]), np.array([9.0, -9.0, 9.4, 9.0, -9.0]))
    assert found.tolist() == [0.0, -3.0, 5.0, 0.0, -4.0]
    assert in_whole_steps(case, np.array([], dtype=int), np.ones(5)).tolist() == [0.0] * 5


def test_a_search_that_ends_no_better_than_no_turn_begins_again() -> None:
    """D, by hand: the steep way is (1, 3, -1); from (6, -2, 0) only (1, 0, 1) costs nothing of it, and leads to (2, -2, -4).

    There the rest is 0.01 (9 + 4 + 9), 0.2 more than the 0.02 of no turn; from no turn the search reaches the best.
    """
    steep = np.array([1.0, 3.0, -1.0])
    case = free(100 * np.outer(steep, steep) + 0.01 * np.eye(3), np.array([-1.0, 0.0, -1.0]))
    assert in_whole_steps(case, np.arange(3), np.array([6.0, -2.0, 0.0])).tolist() == [-1.0, 0.0, -1.0]
    assert case.change(np.array([2.0, -2.0, -4.0])) == pytest.approx(0.2)


def test_a_tension_that_already_stands_in_the_way_is_left_first() -> None:
    """D, by hand: 1 N beyond weighs 1000, more than any badness here; so from 4 steps the search comes back to 2."""
    case = free(np.eye(1), np.array([6.0]))
    walled = Task(case.hessian, case.slope, case.low, case.high, np.array([[5.0]]), np.array([FAR]), np.array([11.0]))
    assert in_whole_steps(walled, np.arange(1), np.array([4.0])).tolist() == [2.0]


def test_a_move_is_one_step_of_one_nipple_or_of_two() -> None:
    """By counting: 2 x 5 alone, 4 x 10 of two, none twice and none of two steps of one."""
    found = [tuple(move) for move in single_moves(5)]
    assert len(found) == 50
    assert set(found) == {tuple(map(float, move)) for move in moves(5)}
