"""Rare causes one by one: what each wins is the evidence with it less that without, and what is kept up to date stays right."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.making.random_wheels import PITCH
from tests.making.real_sessions import model_of
from tests.making.real_wheels import Person, RealCase, kink, real_wheel
from wheelcalc.truing.evidence import USUALLY, Believed, Causes, Fit, Reader, Search, System, state
from wheelcalc.truing.table import Table, table

STUCK, BACK = 6, 13


def system_of(
    case: RealCase, *, seed: int = 1, moved: float = 0.0, believed: Believed = USUALLY, passes: int = 3
) -> System:
    """Readings of some passes; one nipple never turns, another is turned the wrong way after the second, the stand moves then."""
    rng, real, tables = np.random.default_rng(seed), case.real, list[Table]()
    n = len(case.is_right)
    for number in range(passes):
        turned = np.where(rng.random(n) < 0.3, 0.125 * rng.integers(1, 4, n) * rng.choice([-1, 1], n), 0.0)
        turned[[STUCK, BACK]] = 0.5, -0.375
        lateral, radial, tensions = Person(gross=0).read(real, rng)
        lateral[number * 2] = np.nan  # the passes are not read alike
        last = number == passes - 1
        tables.append(table(lateral + moved * (number == 2), radial, tensions, turned=0 * turned if last else turned))
        really = turned.copy()
        really[STUCK] = 0
        really[BACK] *= -1 if number == 1 else 1
        real = real.turned(really * PITCH)
    return System(model_of(case)(tables), tables, Reader(), believed)


@pytest.fixture(scope="module")
def case() -> RealCase:
    return real_wheel(61, run_out=(1.0, 1.5))


def evidence(system: System, causes: Causes) -> float:
    return Fit(system, np.full(9, 1.1), causes).log_evidence


def check(system: System, causes: Causes, kind: str) -> Causes:
    """The best choice of one kind: its gain, and what it leaves; the causes after it."""
    search = Search(Fit(system, np.full(9, 1.1), causes))
    gain, move = getattr(search, f"_{kind}")()
    move()
    after = Causes(search.gross, tuple(search.kinks), tuple(search.moved), tuple(search.stuck), tuple(search.reversed))
    assert gain == pytest.approx(evidence(system, after) - evidence(system, causes), rel=1e-5, abs=1e-4)
    fresh = Fit(system, np.full(9, 1.1), after)
    assert_allclose(search.inverse, fresh.inverse, rtol=1e-4, atol=1e-5 * np.abs(fresh.inverse).max())
    assert_allclose(search.left, fresh.left)
    return after


@pytest.mark.parametrize("kind", ["gross", "kink", "stand", "nipple"])
def test_what_a_cause_wins_is_the_difference_of_the_evidence(case: RealCase, kind: str) -> None:
    """Three taken one after another, so that some are taken beside others of their kind."""
    system = system_of(case, moved=1.4)
    causes = system.nothing()
    for _ in range(3):
        causes = check(system, causes, kind)


def test_the_nipple_that_never_turned_and_the_one_turned_back_are_chosen(case: RealCase) -> None:
    system = system_of(case)
    first = check(system, system.nothing(), "nipple")
    second = check(system, first, "nipple")
    assert second.stuck == (STUCK,)
    assert second.reversed == ((1, BACK),)


def test_causes_wrongly_taken_are_given_back(case: RealCase) -> None:
    system = system_of(case)
    turned = int(np.flatnonzero(np.abs(system.tables[0].turned) > 0.2)[0])
    assert turned not in (STUCK, BACK)
    right = replace(system.nothing(), stuck=(STUCK,), reversed=((1, BACK),))
    assert check(system, replace(right, stuck=(STUCK, turned)), "nipple").stuck == (STUCK,)
    assert check(system, replace(right, reversed=((1, BACK), (0, turned))), "nipple").reversed == ((1, BACK),)
    assert check(system, replace(right, moved=(2,)), "stand").moved == ()
    wrong = right.gross.copy()
    wrong[5] = True
    assert not check(system, replace(right, gross=wrong), "gross").gross[5]
    kinked = check(system, replace(right, kinks=(4,)), "kink")
    assert kinked.kinks == ()


def test_the_pass_before_which_the_stand_moved_is_chosen(case: RealCase) -> None:
    system = system_of(case, moved=1.4)
    assert check(system, system.nothing(), "stand").moved == (2,)


def test_a_nipple_not_asked_is_neither_stuck_nor_reversed(case: RealCase) -> None:
    system = system_of(case)
    asked = {int(each) for each in np.flatnonzero(np.any([each.turned != 0 for each in system.tables[:-1]], axis=0))}
    causes = system.nothing()
    for _ in range(6):
        causes = check(system, causes, "nipple")
        assert set(causes.stuck) <= asked
        assert all(system.tables[number].turned[spoke] != 0 for number, spoke in causes.reversed)


def test_what_is_believed_of_a_nipple_counts(case: RealCase) -> None:
    surely = replace(USUALLY, stuck={STUCK: -30.0})
    system = system_of(case, believed=surely)
    assert STUCK not in check(system, system.nothing(), "nipple").stuck
    told = system_of(case, believed=replace(USUALLY, stuck={2: 2.5, 9: -1.0, 14: 0.3, 4: 0.0}))
    assert told.nothing().stuck == (2, 14)


def test_what_was_really_made_of_turns() -> None:
    made = np.array([0.5, -0.25, 0.125, 0.0, 1.0])
    causes = Causes(np.zeros(3, dtype=bool), stuck=(0, 4), reversed=((1, 1), (0, 2), (1, 4)))
    assert causes.really(1, made).tolist() == [0.0, 0.25, 0.125, 0.0, 0.0]
    assert causes.really(0, made).tolist() == [0.0, -0.25, -0.125, 0.0, 0.0]
    assert made.tolist() == [0.5, -0.25, 0.125, 0.0, 1.0]


def test_a_moved_stand_moves_lateral_readings_from_then_on(case: RealCase) -> None:
    system = system_of(case)
    passes, _ = system.at
    assert_allclose(system.stand(2), np.where((passes >= 2) & (system.kind == 0), 2.0, 0.0))
    assert_allclose(system.stand(1), np.where((passes >= 1) & (system.kind == 0), 2.0, 0.0))


def test_the_state_with_rare_causes_is_bayes_rule(case: RealCase) -> None:
    """D: a kink is one more way of bending, and turns not made, or made back, are other turns."""
    system = system_of(case)
    kinked = 7
    causes = replace(system.nothing(), kinks=(kinked,), stuck=(STUCK,), reversed=((1, BACK),))
    sizes = np.array([1.3, 0.8, 1.1, 0.9, 1.9, 1.6, 1.2, 0.7, 1.4])
    found = state(Fit(system, sizes, causes))
    really = [each.turned.copy() for each in system.tables]
    for each in really:
        each[STUCK] = 0
    really[1][BACK] *= -1
    other = System(
        system.model, [replace(each, turned=now) for each, now in zip(system.tables, really, strict=True)], Reader()
    )
    # the errors of turning stay those of the turns as they were said to be made
    other.__dict__["turn_sigma"] = system.turn_sigma
    other.__dict__["misfit"] = system.left(causes)
    plain = state(Fit(other, sizes, replace(other.nothing(), kinks=(kinked,))))
    assert_allclose(found.values, plain.values, atol=1e-6)
    assert_allclose(found.sigma, plain.sigma, rtol=1e-6)


def test_the_state_with_a_kink_is_that_without_and_the_kink(case: RealCase) -> None:
    """D: the kink's height as one more unknown of standard error 2 mm, the rest given it."""
    system, kinked, sizes = system_of(case), 7, np.array([1.3, 0.8, 1.1, 0.9, 1.9, 1.6, 1.2, 0.7, 1.4])
    fit = Fit(system, sizes, system.nothing())

    def by(left: np.ndarray) -> np.ndarray:
        other = replace(fit)
        other.__dict__["left"] = left
        return state(other).values

    bend = 2.0 * system.kinks[0][:, kinked]
    column = system.by_bend @ bend
    weighed = fit.inverse @ column
    precision = 1 + float(column @ weighed)
    height = float(weighed @ fit.left) / precision
    own = system.model.by_bend @ bend - (by(column) - by(0 * column))
    found = state(Fit(system, sizes, replace(system.nothing(), kinks=(kinked,))))
    plain = state(fit)
    assert_allclose(found.values, plain.values + own * height, atol=1e-5)
    assert_allclose(found.sigma**2, plain.sigma**2 + own**2 / precision, rtol=1e-4, atol=1e-7)


def test_a_kink_of_the_rim_is_the_bump_drawn(case: RealCase) -> None:
    """D: each bump of 1 mm at every half hole, of each width, as waves of the free rim, whose sum over its ways comes back to it."""
    model = model_of(case)([table(*Person().read(case.real, np.random.default_rng(1)))])
    system = System(model, [table(*Person().read(case.real, np.random.default_rng(1)))], Reader())
    bends, kinds = system.kinks
    m = model.nodes
    assert bends.shape[1] == 2 * 5 * 2 * m
    assert kinds.tolist() == [0] * (10 * m) + [1] * (10 * m)
    lateral = model.bends[1]
    assert not bends[~lateral][:, kinds == 0].any()
    assert not bends[lateral][:, kinds == 1].any()
    heights = model.free_bends.reshape(m, 6, -1)
    at = 3 * 2 * m + 9  # the fourth width (4 holes), centred 4.5 holes on
    bump = kink(m, 4.5, 4.0, 1.0)
    rim = sum(
        np.abs(np.fft.rfft(bump)[k]) ** 2 for k in range(2, (m + 1) // 2)
    )  # what moves the rim as a whole, and the shortest wave, are lost
    sideways = max((heights[:, i] @ bends[:, at] for i in range(6)), key=np.ptp)
    assert np.sum(np.abs(np.fft.rfft(sideways)[2 : (m + 1) // 2]) ** 2) == pytest.approx(rim, rel=1e-6)
    assert abs(int(np.argmax(sideways)) - 4.5) <= 0.5
