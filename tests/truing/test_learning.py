"""What older passes taught is believed of later ones: nipples that do not turn, the reader's errors, give and stiffness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.making.real_sessions import model_of
from tests.making.real_wheels import Person, RealCase, real_wheel
from wheelcalc.arrays import Floats
from wheelcalc.truing import learning
from wheelcalc.truing.evidence import USUALLY, Fit, Reader, System, fitted, inverted
from wheelcalc.truing.learning import REMEMBERED, Learned, Past, learned, slopes
from wheelcalc.truing.table import Table, table

STUCK = 5


def passes(case: RealCase, count: int, asked: Sequence[int], seed: int, person: Person, freed: int = 99) -> list[Table]:
    """Readings of some passes, nipples asked to turn after each; the stuck one after some (from 1), and from `freed` on it turns."""
    rng, real, tables = np.random.default_rng(seed), case.real, []
    for number in range(1, count + 1):
        turns = np.where(
            rng.random(len(case.is_right)) < 0.25, 0.125 * rng.choice([-2, -1, 1, 2], len(case.is_right)), 0
        )
        turns[STUCK] = 0.5 * (-1) ** number if number in asked else 0.0
        last = number == count
        tables.append(table(*person.read(real, rng), turned=np.zeros(len(turns)) if last else turns))
        really = replace(person, seized=(STUCK,) if number < freed else ())
        real = really.turn(real, turns, rng)
    return tables


@pytest.fixture(scope="module")
def case() -> RealCase:
    return real_wheel(47, run_out=(0.8, 1.2))


def after_each(case: RealCase, tables: list[Table]) -> list[list[int]]:
    """Nipples named as stuck after each pass."""
    past = Past(model_of(case), Reader())
    return [past.after(tables[:count]).stuck for count in range(1, len(tables) + 1)]


def test_a_stuck_nipple_is_not_forgotten_though_nobody_asks_it_again(case: RealCase) -> None:
    tables = passes(case, 7, (1, 2), 3, Person(gross=0))
    named = after_each(case, tables)
    assert [STUCK in each for each in named[2:]] == [True] * 5
    assert sum(len(set(each) - {STUCK}) for each in named) == 0
    # by the newest passes alone nothing could be said of it
    assert STUCK not in learned(model_of(case), tables[-REMEMBERED:], Reader()).stuck
    # nor need the passes have been looked at one by one
    assert STUCK in Past(model_of(case), Reader()).after(tables).stuck


def test_a_nipple_that_was_freed_is_asked_again(case: RealCase) -> None:
    tables = passes(case, 8, (1, 2, 6, 7), 4, Person(gross=0), freed=6)
    named = after_each(case, tables)
    assert STUCK in named[4]
    assert STUCK not in named[7]


def test_the_readers_errors_are_remembered(case: RealCase) -> None:
    """One who reads at 0.25 mm and 9 %: after six passes a seventh of few readings is still believed to be read so."""
    tables = passes(case, 7, (), 5, Person(lateral=0.25, radial=0.25, tension=0.09, gross=0))
    past = Past(model_of(case), Reader())
    taught = past.after(tables[:6]).taught()
    believed = Reader()
    lateral, radial, tension = np.exp(taught.sizes[-3:]) * (believed.lateral, believed.radial, believed.tension)
    assert (lateral, radial, tension) == (
        pytest.approx(0.25, rel=0.25),
        pytest.approx(0.25, rel=0.25),
        pytest.approx(0.09, rel=0.3),
    )
    assert np.all(taught.sizes_sigma[-3:] < 0.5 * USUALLY.sizes_sigma[-3:])
    few = np.full(len(tables[6].lateral), np.nan)
    few[::6] = tables[6].lateral[::6]
    unread = np.full(len(few), np.nan)
    short = table(few, unread, unread)
    alone = learned(model_of(case), [replace(short, tensions=tables[6].tensions)], Reader()).fit.reader
    system = System(model_of(case)(tables[6:]), [short], Reader(), taught)
    told = Fit(system, np.exp(taught.sizes), system.nothing()).reader
    assert abs(told.lateral - 0.25) < abs(alone.lateral - 0.25)


def test_what_is_the_passes_own_is_not_taught(case: RealCase) -> None:
    taught = Past(model_of(case), Reader()).after(passes(case, 3, (), 6, Person(gross=0))).taught()
    assert (taught.sizes[0], taught.sizes_sigma[0]) == (0.0, pytest.approx(np.log(3)))


def test_give_and_stiffness_start_from_what_was_taught(case: RealCase) -> None:
    """Where nothing was turned since, they are what was believed."""
    tables = passes(case, 2, (), 7, Person(gross=0))
    believed = replace(USUALLY, model=np.array([0.2, -0.3]), model_sigma=np.array([0.1, 0.15]))
    same = learned(
        model_of(case), [replace(each, turned=np.zeros(len(each.turned))) for each in tables], Reader(), believed
    )
    assert (same.give, same.stiffness) == (pytest.approx(np.exp(0.2)), pytest.approx(np.exp(-0.3)))
    assert same.sigma.tolist() == [0.1, 0.15]


def test_the_slope_in_give_and_stiffness_is_that_of_the_evidence(case: RealCase) -> None:
    """D: differences of the evidence itself, whose own prior has neither."""
    tables = passes(case, 3, (), 8, Person(gross=0))
    make, at = model_of(case), np.array([0.1, 0.2])

    def fit_at(logs: Floats) -> Fit:
        system = System(make(tables, *np.exp(logs).tolist()), tables, Reader())
        return Fit(system, np.full(9, 1.2), system.nothing())

    slope, curve = slopes(make, fit_at(at), at)
    for i, way in enumerate(np.eye(2)):
        # the differences are taken from `at` to a tenth further on
        rise = (fit_at(at + 0.1 * way).log_evidence - fit_at(at).log_evidence) / 0.1
        assert slope[i] == pytest.approx(rise - at[i] / 0.35**2, abs=0.12 * curve[i, i])
    assert np.all(np.linalg.eigvalsh(curve) >= 1 / 0.35**2 - 1e-9)


def test_slope_and_curvature_in_give_and_stiffness(case: RealCase, monkeypatch: pytest.MonkeyPatch) -> None:
    """D: by finer differences of the evidence, which has no prior of either; the curvature by those of covariance and misfit."""
    step = 1e-3
    monkeypatch.setattr(learning, "APART", step)
    tables = passes(case, 3, (1,), 8, Person(gross=0))
    make, at = model_of(case), np.array([0.1, 0.2])
    believed = replace(USUALLY, model=np.array([0.3, -0.2]), model_sigma=np.array([0.4, 0.25]))

    def fit_at(logs: Floats) -> Fit:
        system = System(make(tables, *np.exp(logs).tolist()), tables, Reader(), believed)
        return Fit(system, np.linspace(0.8, 1.6, 9), replace(system.nothing(), stuck=(STUCK,), kinks=(11,)))

    fit = fit_at(at)
    slope, curve = slopes(make, fit, at)
    inverse = np.linalg.inv(fit.covariance)
    w, rise, wider, moved = inverse @ fit.left, [], [], []
    for way in step * np.eye(2):
        up, down = fit_at(at + way), fit_at(at - way)
        rise.append((up.log_evidence - down.log_evidence) / (2 * step))
        wider.append((up.covariance - down.covariance) / (2 * step) @ w)
        moved.append((up.left - down.left) / (2 * step))
    assert_allclose(slope, rise - (at - believed.model) / [0.16, 0.0625], rtol=1e-2)
    expected = 0.5 * np.array(wider) @ inverse @ np.array(wider).T + np.array(moved) @ inverse @ np.array(moved).T
    assert_allclose(curve, expected + np.diag([1 / 0.16, 1 / 0.0625]), rtol=1e-2)


def test_one_step_is_newtons(case: RealCase, monkeypatch: pytest.MonkeyPatch) -> None:
    """D: from what was believed, by slope and curvature there, and no longer than 0.7 of a logarithm; the errors are the curvature's."""
    tables, make = passes(case, 3, (), 8, Person(gross=0)), model_of(case)
    believed = replace(USUALLY, model=np.array([0.1, -0.15]))
    told = [(np.array([3.0, -1.0]), np.array([[20.0, 4.0], [4.0, 10.0]])), (np.array([-9.0, 9.0]), np.eye(2))]
    asked: list[Floats] = []

    def slopes_told(_: object, fit: Fit, at: Floats) -> tuple[Floats, Floats]:
        assert_allclose(fit.system.model.true, make(tables, *np.exp(at)).true)
        asked.append(at)
        return told[len(asked) - 1]

    monkeypatch.setattr(learning, "slopes", slopes_told)
    once = learned(make, tables, Reader(), believed)
    # D: (20 x + 4 y, 4 x + 10 y) = (3, -1): x = 34 / 184, y = -32 / 184; the inverse's diagonal 10 / 184, 20 / 184
    assert_allclose(once.model, [0.1 + 34 / 184, -0.15 - 32 / 184])
    assert_allclose(once.sigma, np.sqrt([10 / 184, 20 / 184]))
    assert_allclose(once.fit.system.model.by_spoke, make(tables, *np.exp(once.model)).by_spoke)
    assert (once.give, once.stiffness) == (pytest.approx(np.exp(once.model[0])), pytest.approx(np.exp(once.model[1])))
    asked.clear()
    twice = learned(make, tables, Reader(), believed, steps=2)
    assert_allclose(asked, [believed.model, once.model])
    assert_allclose(twice.model - once.model, [-0.7, 0.7])
    asked.clear()
    begun = learned(make, tables, Reader(), believed, start=once)
    assert_allclose(asked, [once.model])
    assert_allclose(begun.model - once.model, [34 / 184, -32 / 184])
    asked.clear()
    still = [replace(each, turned=0 * each.turned) for each in tables[:2]] + tables[:1]
    assert_allclose(learned(make, still, Reader(), believed).model, believed.model)
    assert asked == []  # nothing was turned before the last reading


def test_what_a_wheel_teaches(case: RealCase) -> None:
    """D: the likeliest sizes and their errors by the curvature; of stuck nipples what the evidence says, none to twenty to one."""
    tables = passes(case, 3, (1, 2), 3, Person(gross=0))
    system = System(model_of(case)(tables), tables, Reader(), replace(USUALLY, stuck={2: -0.5}))
    asked = int(np.flatnonzero((np.abs(tables[0].turned) > 0.2) & (np.arange(len(tables[0].turned)) != STUCK))[0])
    causes = replace(system.nothing(), stuck=(STUCK, asked, 2))
    fit = Fit(system, np.linspace(0.8, 1.6, 9), causes)
    found = Learned(fit, np.array([0.2, -0.1]), np.array([0.3, 0.05]))
    taught = found.taught()
    assert (taught.model.tolist(), taught.model_sigma.tolist()) == ([0.2, -0.1], [0.3, 0.05])
    assert taught.sizes.tolist() == [0.0, *np.log(fit.sizes[1:])]
    usual = np.sqrt(np.diag(np.linalg.inv(fit.about[1])))
    assert_allclose(taught.sizes_sigma, [np.log(3), *usual[1:]])

    def odds(spoke: int) -> float:
        others = replace(causes, stuck=tuple(each for each in causes.stuck if each != spoke))
        return fit.log_evidence - Fit(system, fit.sizes, others).log_evidence

    assert odds(STUCK) > 3.1
    assert odds(asked) < 0
    assert taught.stuck == {STUCK: pytest.approx(np.log(20)), asked: 0.0, 2: pytest.approx(min(max(odds(2), 0), 3))}


def test_a_nipple_asked_for_a_fifth_of_a_turn_before_the_last_reading_may_be_stuck(case: RealCase) -> None:
    n = len(case.is_right)
    turned = np.zeros((3, n))
    turned[:, 1], turned[:, 2], turned[:2, 3], turned[2, 4], turned[:2, 5] = 0.1, -0.09, (0.15, -0.15), 0.5, (0.2, 0.0)
    read = passes(case, 3, (), 3, Person(gross=0))
    tables = [replace(each, turned=now) for each, now in zip(read, turned, strict=True)]
    system = System(model_of(case)(tables), tables, Reader(), replace(USUALLY, stuck={7: -1.0}))
    fit = Fit(system, np.ones(9), replace(system.nothing(), stuck=(1, 2, 3, 4, 5, 7)))
    assert Learned(fit, USUALLY.model, USUALLY.model_sigma).stuck == [1, 3, 5, 7]


def test_of_a_long_past_the_newest_four_are_weighed_and_the_older_believed(
    case: RealCase, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each pass once, from where the one before ended; those that are turned from are shared with those believed."""
    asked: list[tuple[int, int, object, object]] = []
    tables = cast("list[Table]", list(range(1, 10)))

    def taught(name: object) -> Learned:
        return cast("Learned", SimpleNamespace(name=name, taught=lambda: name))

    def learned_told(_: object, newest: list[int], reader: object, believed: object, start: Any) -> Learned:
        assert reader == Reader(0.2)
        asked.append((newest[0], newest[-1], believed, start and start.name))
        return taught(f"after {newest[-1]}")

    monkeypatch.setattr(learning, "learned", learned_told)
    past = Past(model_of(case), Reader(0.2))
    for count in (1, 2, 3, 4, 5, 6, 7):
        assert past.after(tables[:count]) is past.after(tables[:count])
    alone = [(1, 1, USUALLY, None), (1, 2, USUALLY, "after 1"), (1, 3, USUALLY, "after 2"), (1, 4, USUALLY, "after 3")]
    later = [(2, 5, "after 2", "after 4"), (3, 6, "after 3", "after 5"), (4, 7, "after 4", "after 6")]
    assert asked == alone + later
    asked.clear()
    Past(model_of(case), Reader(0.2)).after(tables[:8])
    assert asked == [(1, 2, USUALLY, None), (2, 5, "after 2", None), (5, 8, "after 5", None)]


def test_after_begins_where_a_glance_ended(case: RealCase, monkeypatch: pytest.MonkeyPatch) -> None:
    tables, begun = passes(case, 5, (1,), 10, Person(gross=0)), []

    def learned_told(*given: Any) -> Learned:
        begun.append(given[4])
        return cast("Learned", SimpleNamespace(taught=lambda: USUALLY))

    def make(some: Any, give: float, stiffness: float) -> Any:
        assert (give, stiffness) == (1.0, 1.0)
        return model_of(case)(some)

    past = Past(make, Reader())
    glance = past.glance(tables[:4])
    monkeypatch.setattr(learning, "learned", learned_told)
    known = past.after(tables)
    assert begun[-1] is glance
    past.after(tables[:4])
    assert past.glance(tables[:4]) is not glance
    assert past.glance(tables) is known


@pytest.mark.parametrize("size", [1, 64, 65, 200])
def test_a_root_is_inverted_by_halves(size: int) -> None:
    rng = np.random.default_rng(size)
    some = rng.normal(size=(size, size))
    root = np.linalg.cholesky(some @ some.T + np.eye(size))
    assert_allclose(inverted(root), np.linalg.inv(root), atol=1e-9)


def test_beliefs_count_in_the_evidence(case: RealCase) -> None:
    """D: sizes and stuck nipples weigh by what is believed of them."""
    tables = passes(case, 2, (1,), 9, Person(gross=0))
    model = model_of(case)(tables)
    believed = replace(USUALLY, sizes=np.full(9, 0.3), sizes_sigma=np.full(9, 0.5), stuck={STUCK: 1.5, 2: -6.0})
    plain, told = System(model, tables, Reader()), System(model, tables, Reader(), believed)
    assert told.nothing().stuck == (STUCK,)
    sizes = np.linspace(0.8, 1.6, 9)
    causes = replace(plain.nothing(), stuck=(STUCK, 2))
    gained = Fit(told, sizes, causes).log_evidence - Fit(plain, sizes, causes).log_evidence
    usual = np.log([3, 2, 2, 1.5, 2, 1.6, 1.6, 1.6, 1.5])
    expected = 1.5 - 6.0 - 2 * np.log(0.01)
    expected += -0.5 * np.sum(((np.log(sizes) - 0.3) / 0.5) ** 2) + 0.5 * np.sum((np.log(sizes) / usual) ** 2)
    assert gained == pytest.approx(expected, rel=1e-6)


def test_a_glance_is_of_the_newest_passes_alone_and_where_the_next_begins(case: RealCase) -> None:
    tables = passes(case, 6, (1,), 10, Person(gross=0))
    past, make = Past(model_of(case), Reader()), model_of(case)
    found = past.glance(tables[:5])
    newest = tables[1:5]
    again = fitted(System(make(newest), newest, Reader()), rounds=1)
    assert_allclose(found.fit.sizes, again.sizes)
    assert (found.give, found.stiffness, found.sigma.tolist()) == (1.0, 1.0, [0.35, 0.35])
    assert past.glance(tables[:5]) is found
    known = past.after(tables)
    assert past.glance(tables) is known
    whole = Past(model_of(case), Reader())
    assert whole.after(tables).stiffness == pytest.approx(known.stiffness, rel=0.1)
