"""What a pass weighs and where it stops: badness, whole sides and ends worked out another way (D)."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.making.random_wheels import PITCH, untrue
from tests.making.true_by_readings import estimated
from wheelcalc.truing import turns
from wheelcalc.truing.faults import EqualFaults, Faults, badness, faults_of, weights
from wheelcalc.truing.model import Model
from wheelcalc.truing.turns import Done, Planner, Room

EQUAL = EqualFaults(0.06, 0.04, 0.07, 55.0)


@pytest.fixture(scope="module")
def found() -> tuple[Model, np.ndarray]:
    model, estimate = estimated(untrue(3), np.random.default_rng(0))
    return model, estimate.state


@pytest.fixture(scope="module")
def model(found: tuple[Model, np.ndarray]) -> Model:
    return found[0]


@pytest.fixture(scope="module")
def state(found: tuple[Model, np.ndarray]) -> np.ndarray:
    return found[1]


def planner(model: Model, step: float = 0.125, most: float = 1.0, done: Done | None = None, **more: object) -> Planner:
    """Floors and limits differ from spoke to spoke."""
    n = np.arange(model.spokes)
    room = Room(step, most, 400.0 + 3.0 * (n % 7), 1250.0 - 5.0 * (n % 5))
    return Planner(model, EQUAL, room, done or Done(), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("step", "most", "steps"), [(0.125, 1.0, 8), (0.25, 1.1, 4), (0.1, 0.3, 3), (0.25, 0.1, 1), (1.0, 2.0, 2)]
)
def test_whole_steps_of_a_pass(step: float, most: float, steps: int) -> None:
    """D: how often the step goes into what is allowed (0.1 three times into 0.3), at least once."""
    assert Room(step, most, np.zeros(1), np.zeros(1)).most_steps == steps


@pytest.mark.parametrize(
    ("lateral", "radial", "spread", "share"),
    [
        (0.45, 0.2, (1.0, 2.0), 1.5),
        (0.1, 0.9, (4.0, 2.0), 1.8),
        (0.1, 0.2, (3.0, 7.5), 1.25),
        (0.1, 0.2, (9.0, 3.0), 1.5),
    ],
)
def test_the_worst_counts(lateral: float, radial: float, spread: tuple[float, float], share: float) -> None:
    """D, by hand: over the defaults 0.3 mm, 0.5 mm and 6 %; the dish does not count."""
    assert Done().share(Faults(lateral, radial, 99.0, spread, (1.0, 1.0))) == pytest.approx(share)


IS_DONE = {
    "all": (Faults(0.3, 0.5, 0.5, (5.9, 5.9), (1.0, 1.0)), (0.0, 0.0), True),
    "lateral": (Faults(0.31, 0.1, 0.0, (1.0, 1.0), (1.0, 1.0)), (0.0, 0.0), False),
    "right of the middle": (Faults(0.1, 0.1, 0.51, (1.0, 1.0), (1.0, 1.0)), (0.0, 0.0), False),
    "left of the middle": (Faults(0.1, 0.1, -0.51, (1.0, 1.0), (1.0, 1.0)), (0.0, 0.0), False),
    "doubt about the left": (Faults(0.1, 0.1, 0.0, (3.5, 1.0), (1.0, 1.0)), (5.0, 0.0), False),
    "doubt about the right": (Faults(0.1, 0.1, 0.0, (1.0, 3.5), (1.0, 1.0)), (0.0, 5.0), False),
    "little doubt": (Faults(0.1, 0.1, 0.0, (3.5, 3.5), (1.0, 1.0)), (4.8, 4.8), True),
}


@pytest.mark.parametrize(("how", "doubt", "done"), IS_DONE.values(), ids=IS_DONE)
def test_when_a_wheel_is_done(model: Model, how: Faults, doubt: tuple[float, float], done: bool) -> None:
    """D: 3.5 % of spread and 5 % of doubt are 6.1 %, 4.8 % of doubt 5.94 %."""
    assert planner(model, doubt=doubt).is_done(how) is done


def test_the_dish_is_counted_from_where_the_rim_should_be(model: Model) -> None:
    structure = model.structure
    way = np.array([1.7, 0.0, 0.0])
    moved = replace(
        structure, hub_points=structure.hub_points + way, rim_points=structure.rim_points + way, rim_plane_x=1.7
    )
    shifted = Model(moved, model.is_right)
    there = faults_of(shifted, shifted.true)
    assert planner(shifted).off_dish(there) == pytest.approx(0.0)
    assert planner(shifted).off_dish(replace(there, dish=1.2)) == pytest.approx(-0.5)
    assert planner(shifted, dish_known=False).off_dish(there) == 0.0
    assert planner(shifted, dish_known=False).is_done(replace(there, dish=9.0))


def test_a_step_is_a_part_of_the_threads_pitch(model: Model) -> None:
    assert_allclose(planner(model, 0.25).per_step, model.by_spoke * 0.25 * 25.4 / 56, rtol=1e-12)


def test_badness_and_bounds_of_single_nipples(model: Model, state: np.ndarray) -> None:
    """D: badness by `faults`, plus the mean tension moved and the turns, each squared; bounds by hand, spoke by spoke."""
    plan, base = planner(model), np.where(model.is_right, 2.0, -3.0)
    now = state.copy()
    now[model.tension][:3] = 10.0, 300.0, 1400.0
    task = plan.task_at(now, base)
    rows, target = weights(model, EQUAL)
    start, x = now + plan.per_step @ base, np.random.default_rng(1).normal(size=model.spokes)
    moved = (plan.per_step @ x)[model.tension].mean() / EQUAL.tension
    expected = badness(rows, start + plan.per_step @ x - target) - badness(rows, start - target)
    expected += moved**2 + 1e-3 * np.sum((0.125 * x) ** 2)
    assert task.change(x) == pytest.approx(expected, rel=1e-9)
    assert np.array_equal(task.low, np.where(model.is_right, -10.0, -5.0))
    assert np.array_equal(task.high, np.where(model.is_right, 6.0, 11.0))
    assert_allclose(task.tensions, plan.per_step[model.tension])
    old, new = now[model.tension], start[model.tension]
    for i in range(model.spokes):
        least, most = min(400.0 + 3 * (i % 7), old[i]), max(1250.0 - 5 * (i % 5), old[i])
        assert task.loss[i] == (math.inf if old[i] < 20 else pytest.approx(max(new[i] - least, 0.0)))
        assert task.gain[i] == pytest.approx(max(most - new[i], 0.0))
    assert task.loss[0] == math.inf
    other = plan.task_at(now, base, replace(EQUAL, lateral=0.02))
    assert other.change(x) > task.change(x) + 1


def test_a_spoke_with_twenty_newtons_is_not_slack(model: Model) -> None:
    state = model.true.copy()
    state[model.tension][:2] = 20.0, 19.9
    task = planner(model).task_at(state, np.zeros(model.spokes))
    assert (task.loss[0], task.loss[1]) == (0.0, math.inf)


def test_a_nipple_further_than_a_pass_may_stay(model: Model, state: np.ndarray) -> None:
    task = planner(model).task_at(state, np.full(model.spokes, 11.0))
    assert (task.low[0], task.high[0]) == (-19.0, 0.0)
    task = planner(model).task_at(state, np.full(model.spokes, -11.0))
    assert (task.low[0], task.high[0]) == (0.0, 19.0)


def freely(plan: Planner, state: np.ndarray, equal: EqualFaults) -> np.ndarray:
    """State of least badness by numpy's least squares, turns without bounds."""
    model = plan.model
    rows, target = weights(model, equal, dish_known=plan.dish_known)
    level = plan.per_step[model.tension].mean(axis=0)[None] / plan.equal.tension
    keep = math.sqrt(1e-3) * plan.room.step * np.eye(model.spokes)
    matrix = np.concatenate([rows @ plan.per_step, level, keep])
    aim = np.concatenate([rows @ (target - state), np.zeros(1 + model.spokes)])
    return np.asarray(state + plan.per_step @ np.linalg.lstsq(matrix, aim)[0])


def assert_like(found: Faults, expected: Faults) -> None:
    for name in ("lateral", "radial", "dish", "spread", "tension"):
        assert getattr(found, name) == pytest.approx(getattr(expected, name), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("dish_known", [True, False])
def test_the_end_is_the_least_badness(model: Model, state: np.ndarray, dish_known: bool) -> None:
    plan = planner(model, balance=False, dish_known=dish_known)
    assert_like(plan.in_the_end(state), faults_of(model, freely(plan, state, EQUAL)))


DEMANDS = {
    "lateral": (Done(0.02, 9.0, 0.5, 99.0), 0.7),
    "radial": (Done(9.0, 0.02, 0.5, 99.0), 0.7),
    "tension": (Done(9.0, 9.0, 0.5, 0.4), 0.7),
    "all a little": (Done(0.12, 0.15, 0.5, 5.0), 0.4),
    "nothing": (Done(9.0, 9.0, 9.0, 99.0), 0.4),
}


@pytest.mark.parametrize(("done", "bend"), DEMANDS.values(), ids=DEMANDS)
def test_what_would_end_furthest_from_done_weighs_more(
    model: Model, state: np.ndarray, done: Done, bend: float
) -> None:
    """The rule in words: four rounds; a fault that ends above half of what is done counts by as much more, twice at most."""
    bent = state + bend * (model.by_bend[:, 1] - model.by_bend[:, 2])
    plan, amounts = planner(model, done=done), [EQUAL.lateral, EQUAL.radial, EQUAL.tension]
    for _ in range(4):
        equal = EqualFaults(amounts[0], amounts[1], EQUAL.dish, amounts[2])
        ends = faults_of(model, freely(plan, bent, equal))
        over = (ends.lateral / done.lateral, ends.radial / done.radial, max(ends.spread) / done.spread)
        amounts = [amount / min(max(1.0, 2 * share), 2.0) for amount, share in zip(amounts, over, strict=True)]
    equal = EqualFaults(amounts[0], amounts[1], EQUAL.dish, amounts[2])
    assert_like(plan.in_the_end(bent), faults_of(model, freely(plan, bent, equal)))
    # nipples that are to be turned anyway, some other way than a side alike, count as turned
    base = np.random.default_rng(4).normal(size=model.spokes)
    weighed = plan.balanced_faults(bent - plan.per_step @ base, base)
    assert (weighed.lateral, weighed.radial, weighed.tension) == pytest.approx(tuple(amounts), rel=1e-6)


def test_what_whole_sides_do_by_summing_their_spokes(model: Model, state: np.ndarray) -> None:
    plan = planner(model)
    sides = plan.sides(state)
    n = np.arange(model.spokes)
    for side, mask in enumerate((~model.is_right, model.is_right)):
        change = model.by_spoke[:, mask].sum(axis=1) * 0.125 * PITCH
        assert sides.dish[side] == pytest.approx(change[: model.nodes].mean())
        tensions = change[2 * model.nodes :]
        assert_allclose(sides.tension[:, side], [tensions[~model.is_right].mean(), tensions[model.is_right].mean()])
        assert sides.mean[side] == pytest.approx(state[2 * model.nodes :][mask].mean())
        assert sides.low[side] == max(400.0 + 3.0 * (n[mask] % 7))
        assert sides.high[side] == min(1250.0 - 5.0 * (n[mask] % 5))
    assert sides.most == 8


def with_dish(model: Model, move: float) -> np.ndarray:
    return np.asarray(model.true + model.by_spoke @ (move * model.dish_and_level[0]))


@pytest.mark.parametrize(("move", "limit"), [(-1.3, 1250.0), (0.8, 1250.0), (1.9, 1010.0), (0.2, 900.0)])
def test_whole_sides_turn_to_the_least_bad_of_what_every_spoke_allows(model: Model, move: float, limit: float) -> None:
    """D: all pairs of steps tried one by one."""
    state, plan = with_dish(model, move), planner(model)
    plan = replace(plan, room=replace(plan.room, limit=np.full(model.spokes, limit)))
    sides, found, now = plan.sides(state), {}, state[model.tension]
    for left in range(-8, 9):
        for right in range(-8, 9):
            then = now + (plan.per_step @ np.where(model.is_right, right, left))[model.tension]
            floor, most = np.minimum(plan.room.floor, now), np.maximum(limit, now)
            if np.sum(np.maximum(floor - then, 0) + np.maximum(then - most, 0)) <= 1e-6:
                found[left, right] = float(sides.badness(np.array([[left, right]]), move, 0.5, 55.0)[0])
    left, right = min(found, key=lambda pair: found[pair])
    assert plan.next_pass(state).side_turns == (left / 8, right / 8)
    assert (left, right) != (0, 0)


def test_a_dish_that_is_just_done_is_left(model: Model) -> None:
    wide = Done(lateral=9.0, radial=9.0, spread=99.0)
    assert planner(model, done=wide).next_pass(with_dish(model, 0.49)).side_turns == (0.0, 0.0)
    assert planner(model, done=wide).next_pass(with_dish(model, 0.51)).side_turns != (0.0, 0.0)
    assert planner(model, done=wide).next_pass(with_dish(model, -0.51)).side_turns != (0.0, 0.0)


@pytest.mark.parametrize("move", [-6.3, 0.3, 11.2])
@pytest.mark.parametrize("step", [0.125, 0.5])
def test_the_rim_comes_to_its_place_however_far(model: Model, move: float, step: float) -> None:
    """D: the least bad of all pairs of steps far beyond a pass, tensions free."""
    state, plan = with_dish(model, move), planner(model, step, 0.5)
    sides = replace(plan.sides(state), low=np.full(2, -1e9), high=np.full(2, 1e9), most=90)
    steps = sides.choices
    best = steps[np.argmin(sides.badness(steps, move, 0.5, 55.0))] * step
    assert plan.to_middle(state) == pytest.approx(tuple(best))
    left, right = plan.to_middle(state)
    assert left * move > 0 > right * move or abs(move) < 1


def lone(model: Model, plan: Planner, won: float) -> np.ndarray:
    """One spoke wrong by so much that the best turns would win this badness."""
    off = model.by_spoke[:, 7] * 0.05
    rows, target = weights(model, EQUAL)
    wins = badness(rows, off) - badness(rows, freely(plan, model.true + off, EQUAL) - target)
    return np.asarray(model.true + off * math.sqrt(won / wins))


@pytest.mark.parametrize(
    ("done", "least"), [(Done(1e-4, 1e-4, 0.5, 1e-4), 0.05), (Done(9.0, 9.0, 9.0, 99.0), 1.0)], ids=["not done", "done"]
)
def test_turns_are_offered_where_they_win_enough(model: Model, done: Done, least: float) -> None:
    """C, the choices: badness of 0.05, or of 1 where the wheel is done already; 1 % of error for the turns' own cost."""
    plan = planner(model, 0.002, done=done, balance=False)
    assert not plan.next_pass(lone(model, plan, 0.97 * least)).turns.any()
    assert plan.next_pass(lone(model, plan, 1.03 * least)).turns.any()


def test_passes_follow_each_other_until_done(state: np.ndarray, model: Model) -> None:
    plan = planner(model)
    now, passes = state, list(plan.passes(state))
    assert 1 <= len(passes) <= 6
    for planned in passes:
        again = plan.next_pass(now)
        assert_allclose(planned.turns, again.turns)
        assert_like(planned.faults, faults_of(model, planned.state))
        left, right = planned.side_turns
        assert_allclose(planned.state, now + model.by_spoke @ planned.turns * PITCH, atol=1e-9)
        assert np.abs(planned.turns).max() <= 1
        assert (left, right) == (0.0, 0.0) or planned.turns.any()
        now = planned.state
    assert [plan.is_done(planned.faults) for planned in passes[:-1]] == [False] * (len(passes) - 1)
    assert plan.is_done(passes[-1].faults) or not plan.next_pass(now).turns.any()


def test_a_pass_that_does_it_is_the_only_one(model: Model) -> None:
    state = model.true + model.by_spoke[:, 7] * 4 * 0.125 * PITCH
    passes = list(planner(model, done=Done(0.1, 0.1, 0.5, 3.0)).passes(state))
    assert [np.flatnonzero(planned.turns).tolist() for planned in passes] == [[7]]


@pytest.mark.parametrize("share", [0.5, 2.9, 3.1])
@pytest.mark.parametrize("seed", [1, 4, 6])
def test_a_pass_turns_as_few_as_do_the_job(seed: int, share: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """C, the choices: a coarse pass (over three times what is done) may leave a tenth of the badness, a fine one 0.03."""
    model, estimate = estimated(untrue(seed), np.random.default_rng(seed))
    state = estimate.state
    wide = planner(model, balance=False, dish_known=False)
    far = wide.done.share(faults_of(model, state)) / share
    done = Done(0.3 * far, 0.5 * far, 0.5, 6.0 * far)
    seen = SimpleNamespace(left=[], start=[])

    def spied(task: turns.Task, best: np.ndarray, allowance: float) -> np.ndarray:
        seen.left.append(1 - allowance / task.change(best))
        return real(task, best, allowance)

    real = turns.fewest
    monkeypatch.setattr(turns, "fewest", spied)
    replace(wide, done=done).next_pass(state)
    assert seen.left == pytest.approx([0.10 if share > 3 else 0.03])


def test_a_wheel_whose_rim_belongs_off_the_middle_is_left_there(model: Model) -> None:
    structure, way = model.structure, np.array([1.7, 0.0, 0.0])
    moved = replace(
        structure, hub_points=structure.hub_points + way, rim_points=structure.rim_points + way, rim_plane_x=1.7
    )
    shifted = Model(moved, model.is_right)
    assert not planner(shifted).next_pass(shifted.true).turns.any()
    assert planner(shifted).in_the_end(shifted.true).dish == pytest.approx(1.7)


def weighed(plan: Planner, start: np.ndarray) -> EqualFaults:
    """The rule of balancing in words, by least squares: four rounds, each by as much as the end is over half, twice at most."""
    equal, done = plan.equal, plan.done
    for _ in range(4):
        ends = faults_of(plan.model, freely(plan, start, equal))
        over = (ends.lateral / done.lateral, ends.radial / done.radial, max(ends.spread) / done.spread)
        lateral, radial, tension = (min(max(1.0, 2 * share), 2.0) for share in over)
        equal = EqualFaults(equal.lateral / lateral, equal.radial / radial, equal.dish, equal.tension / tension)
    return equal


TIGHT = Done(0.02, 0.003, 0.5, 0.9)


@pytest.mark.parametrize("balance", [True, False])
@pytest.mark.parametrize("dish", [0.0, 1.9])
def test_single_nipples_are_weighed_from_where_the_sides_end(
    model: Model, state: np.ndarray, balance: bool, dish: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """D: badness by `faults` with the amounts of `weighed`, its least by numpy."""
    rough = state + 0.5 * (model.by_bend[:, 2] - model.by_bend[:, 7]) + with_dish(model, dish) - model.true
    plan, seen = planner(model, done=TIGHT, balance=balance), []

    def spied(task: turns.Task, best: np.ndarray, allowance: float) -> np.ndarray:
        seen.append(task)
        return real(task, best, allowance)

    real = turns.fewest
    monkeypatch.setattr(turns, "fewest", spied)
    left, right = plan.next_pass(rough).side_turns
    assert left != 0 or right != 0
    start = rough + model.by_spoke @ (np.where(model.is_right, right, left) * PITCH)
    equal = weighed(plan, start) if balance else EQUAL
    assert (equal.radial < 0.5 * EQUAL.radial) == balance
    x = np.random.default_rng(5).normal(size=model.spokes)
    rows, target = weights(model, equal)
    change = badness(rows, start + plan.per_step @ x - target) - badness(rows, start - target)
    change += ((plan.per_step @ x)[model.tension].mean() / EQUAL.tension) ** 2 + 1e-3 * np.sum((0.125 * x) ** 2)
    assert seen[0].change(x) == pytest.approx(change, rel=1e-5)
    assert_like(plan.in_the_end(start), faults_of(model, freely(plan, start, equal)))


def test_whether_a_wheel_is_done_is_asked_after_the_sides(model: Model) -> None:
    """D: with its dish turned out the wheel is done, and half a badness more is not worth turns; were it not done, it is."""
    wide, narrow = Done(9.0, 9.0, 0.5, 99.0), Done(1e-4, 9.0, 0.5, 99.0)
    plan = planner(model, 0.02, done=wide, balance=False)
    state = lone(model, plan, 0.5) + with_dish(model, 1.1) - model.true
    found = plan.next_pass(state)
    assert all(abs(turned) > 0 for turned in found.side_turns)
    assert_allclose(found.turns, np.where(model.is_right, *found.side_turns[::-1]), atol=1e-12)
    more = replace(plan, done=narrow).next_pass(state)
    assert more.side_turns == found.side_turns
    assert np.abs(more.turns - found.turns).max() > 0


# Run-out over what is done before the pass; steps of the one nipple of four; whether all nipples are tried then.
FEW = {
    "fine, comes close": (2.0, -2.6, False),
    "fine, not quite close": (2.0, -2.4, True),
    "fine, wins more than half": (2.0, -1.3, True),
    "coarse, wins a little more than half": (4.0, -1.25, False),
    "coarse, wins most": (4.0, -2.8, False),
    "coarse, wins less than half": (4.0, -1.05, True),
    "coarse, nothing whole": (4.0, 0.0, True),
    "fine, nothing whole": (2.0, 0.0, True),
}


@pytest.mark.parametrize(("share", "turned", "all_tried"), FEW.values(), ids=FEW)
def test_few_nipples_are_enough_where_they_come_close_or_win_half_from_afar(
    model: Model, share: float, turned: float, all_tried: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """C, the choices (0.75 of done; from over 3 times done half of what can be won). D: t of 4 steps leave 1 - t/4 of the
    run-out and win 1 - (1 - t/4)^2 of the badness."""
    state = model.true + model.by_spoke[:, 7] * 4 * 0.125 * PITCH
    done = Done(faults_of(model, state).lateral / share, 99.0, 9.0, 999.0)
    steps, calls = np.where(np.arange(model.spokes) == 7, turned, 0.0), []

    def whole(task: turns.Task, used: np.ndarray, start: np.ndarray) -> np.ndarray:
        calls.append((used.tolist(), start))
        return steps if len(calls) == 1 else 2 * steps

    monkeypatch.setattr(turns, "fewest", lambda *_: np.array([7]))
    monkeypatch.setattr(turns, "in_whole_steps", whole)
    found = planner(model, done=done, balance=False).next_pass(state)
    assert [used for used, _ in calls] == [[7], list(range(model.spokes))][: 1 + all_tried]
    assert_allclose(found.turns, steps * 0.125 * (2 if all_tried else 1), atol=1e-12)
    assert calls[0][1][7] == pytest.approx(-4, abs=0.1)
    if all_tried:
        assert_allclose(calls[1][1], steps if turned else calls[0][1])
