"""Sessions that end: real wheels read, turned and read again, held against exact readings of an exact wheel."""

from __future__ import annotations

import numpy as np
import pytest

from tests.making.real_sessions import COUNTED, Exact, Learner, model_of, room, session, steady
from tests.making.real_wheels import Person, real_wheel
from wheelcalc.truing.evidence import Reader, System, fitted, state
from wheelcalc.truing.faults import EqualFaults
from wheelcalc.truing.forecast import Forecast
from wheelcalc.truing.table import table
from wheelcalc.truing.turns import Done, Planner
from wheelcalc.truing.verdict import AGAIN, BENT, END, NOT_YET, WITHIN, decide, left_as_it_is, ways

SEEDS = range(800, 808)  # tests/benchmarks/real_wheels.py runs more


def test_sessions_reach_what_is_asked_and_end() -> None:
    """Issue of the real wheel: four passes in ten reach it in eight, few get worse, all end within six."""
    found = [session(seed) for seed in SEEDS]
    assert sum(each.reached[COUNTED] for each in found) >= 6
    # 21 passes; one of these wins 1 mm of radial run-out for 0.16 mm of lateral, which the next pass wins back
    assert sum(each.worse for each in found) <= 2
    assert sum(each.ended is not None for each in found) >= 7
    assert np.median([each.keys for each in found]) <= 35


def test_exact_readings_of_an_exact_wheel_are_the_bound() -> None:
    found = [session(seed, Exact) for seed in SEEDS]
    assert sum(each.reached[COUNTED] for each in found) >= 6


def test_a_seized_nipple_is_named_by_the_third_reading_and_planned_round() -> None:
    named = asked = 0
    for seed in range(820, 824):
        case, rng = real_wheel(seed, run_out=(1.5, 3.5)), np.random.default_rng(seed)
        advisor = Learner(case)
        first = advisor.turns(*Person().read(case.real, rng))
        spoke = int(np.argmax(np.abs(first)))
        person = Person(seized=(spoke,))
        real = person.turn(case.real, first, rng)
        for _ in range(2):
            turns = advisor.turns(*person.read(real, rng))
            if spoke in advisor.stuck:
                assert turns[spoke] == 0
                break
            real = person.turn(real, turns, rng)
        asked += abs(first[spoke]) >= 0.25
        named += spoke in advisor.stuck
    assert named >= asked - 1


def planner_and_forecast(seed: int, done: Done) -> tuple[Planner, Forecast]:
    case = real_wheel(seed, run_out=(1.0, 1.5))
    read = steady(case.real)
    fit = fitted(System(model_of(case)([read]), [read], Reader()))
    model, now = fit.system.model, state(fit)
    return Planner(model, EqualFaults(), room(model.spokes), done), Forecast(model, now, fit.reader)


def test_no_pass_is_worse_in_what_it_is_for() -> None:
    for seed in range(830, 836):
        planner, forecast = planner_and_forecast(seed, Done())
        found = decide(planner, forecast, 1)
        assert found.turns.any() == (found.why == NOT_YET)
        for name in found.aims:
            if name in ("lateral", "radial"):
                assert getattr(found.after.mean, name) < getattr(found.now.mean, name)


@pytest.mark.parametrize(
    ("done", "whys"), [(Done(9.0, 9.0, 9.0, 99.0), {WITHIN}), (Done(1e-3, 1e-3, 1e-3, 1e-2), {BENT, NOT_YET})]
)
def test_why_it_is_left(done: Done, whys: set[str]) -> None:
    planner, forecast = planner_and_forecast(840, done)
    assert decide(planner, forecast, 1).why in whys


def test_turning_noise_is_not_offered() -> None:
    """A wheel as even as can be, read by somebody whose hand shakes: nothing that a reading could see."""
    case = real_wheel(841, run_out=(0.2, 0.25), bent=0.2)
    rng = np.random.default_rng(2)
    reads = [table(*Person(0.3, 0.3, 0.1, gross=0).read(case.real, rng)) for _ in range(4)]
    fit = fitted(System(model_of(case)(reads), reads, Reader()))
    model, now = fit.system.model, state(fit)
    planner = Planner(model, EqualFaults(), room(model.spokes), Done(0.05, 0.05, 0.5, 1.0))
    found = decide(planner, Forecast(model, now, fit.reader), 4)
    assert found.why in (END, BENT)
    assert not found.turns.any()


def test_other_weights_are_tried_only_where_none_is_preferred() -> None:
    planner, forecast = planner_and_forecast(842, Done())
    assert len(ways(planner)) == 7
    assert len(ways(Planner(planner.model, planner.equal, planner.room, planner.done, balance=False))) == 1
    assert left_as_it_is(AGAIN, forecast).turns.tolist() == [0.0] * planner.model.spokes
