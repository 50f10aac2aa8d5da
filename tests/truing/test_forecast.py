"""What turns will bring: figures over drawn wheels, held against sums written out, and what is offered or left."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.making.random_wheels import PITCH
from tests.making.real_sessions import model_of, room, steady
from tests.making.real_wheels import Person, real_wheel
from wheelcalc.truing import verdict
from wheelcalc.truing.evidence import Reader, System, fitted
from wheelcalc.truing.faults import EqualFaults, Faults
from wheelcalc.truing.forecast import DRAWS, Forecast, Spread, forecast_of, spread_of
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import table
from wheelcalc.truing.turns import Done, Planner
from wheelcalc.truing.verdict import BENT, END, NOT_YET, STUCK, WITHIN, decide, shares, surely_within, within


@pytest.fixture(scope="module")
def forecast() -> Forecast:
    case = real_wheel(851, run_out=(1.0, 1.5))
    read = table(*Person(gross=0).read(case.real, np.random.default_rng(2)))
    return forecast_of(fitted(System(model_of(case)([steady(case.real)]), [read], Reader())))


@pytest.fixture(scope="module")
def turns(forecast: Forecast) -> np.ndarray:
    out = np.zeros(forecast.model.spokes)
    out[[1, 4, 9, 20]] = 0.5, -0.25, 0.125, -0.75
    return out


def of(
    lateral: float, radial: float, sigma: tuple[float, float] = (0.0, 0.0), spread: float = 3.0, dish: float = 0.0
) -> Spread:
    """Figures with these means and standard errors."""
    ends = np.tile([-1.0, 1.0], 50)
    even = np.full((100, 2), spread)
    return Spread(
        lateral + sigma[0] * ends, radial + sigma[1] * ends, np.full(100, dish), even, np.full((100, 2), 900.0)
    )


def test_figures_of_states_by_hand() -> None:
    """D: of two wheels of four spokes, written out."""
    case = real_wheel(851)
    model = model_of(case)([steady(case.real)])
    m = model.nodes
    states = np.zeros((2, len(model.true)))
    states[0, 3], states[0, 7], states[1, 2] = 0.5, -0.25, 0.3
    states[0, m + 4], states[1, m : 2 * m] = -0.7, 0.2
    states[:, model.tension] = 800.0
    states[0, 2 * m + np.flatnonzero(model.is_right)[0]] = 880.0
    found = spread_of(model, states)
    assert found.lateral.tolist() == [0.75, 0.3]
    assert found.radial.tolist() == [0.7, 0.0]
    assert_allclose(found.dish, [0.25 / m, 0.3 / m])
    right = np.full(m // 2, 800.0)
    right[0] = 880.0
    assert_allclose(found.spread, [[0, 100 * right.std() / right.mean()], [0, 0]], atol=1e-12)
    assert_allclose(found.tension, [[800.0, right.mean()], [800.0, 800.0]])
    assert (found.mean.lateral, found.sigma.lateral) == (pytest.approx(0.525), pytest.approx(0.225))
    assert found.mean.tension == (800.0, pytest.approx((right.mean() + 800) / 2))


def test_turns_move_the_mean_and_their_errors_the_rest(forecast: Forecast, turns: np.ndarray) -> None:
    """D: the same draws before and after, so the difference is the turns' own: their mean, and 0.12 of each with 0.03 of a turn."""
    model, known = forecast.model, replace(forecast, turning=0.6)
    moved = known.turned(turns) - known.states
    assert moved.shape == (DRAWS, len(model.true))
    by_turn = model.by_spoke * PITCH
    error = 0.6 * np.where(turns != 0, np.sqrt((0.12 * turns) ** 2 + 0.03**2), 0.0)
    covariance = by_turn * error**2 @ by_turn.T
    sigma = np.sqrt(np.diag(covariance))
    assert np.all(np.abs(moved.mean(axis=0) - by_turn @ turns) < 4.5 * sigma / np.sqrt(DRAWS) + 1e-12)
    assert_allclose(moved.std(axis=0), sigma, rtol=0.2)
    assert_allclose(
        replace(forecast, turning=0.0).turned(turns) - forecast.states, np.tile(by_turn @ turns, (DRAWS, 1)), atol=1e-9
    )
    assert_allclose(forecast.turned(0 * turns), forecast.states)
    assert_allclose(forecast.after(turns).lateral, spread_of(model, forecast.turned(turns)).lateral)


def test_states_scatter_as_the_readings_allow(forecast: Forecast) -> None:
    states = replace(forecast).states
    assert np.all(
        np.abs(states.mean(axis=0) - forecast.state.values) < 4.5 * forecast.state.sigma / np.sqrt(DRAWS) + 1e-9
    )
    assert_allclose(states.std(axis=0), forecast.state.sigma, rtol=0.2)
    assert_allclose(forecast.now.lateral, np.ptp(states[:, forecast.model.lateral], axis=1))


def test_what_will_be_read_has_the_readers_errors_in_it(forecast: Forecast) -> None:
    """D: readings less the states scatter by the errors of who reads; tensions by a share of each."""
    model, seen = forecast.model, []
    noise = replace(forecast.noise, lateral=0.21, radial=0.13, tension=0.07)

    def spied(_: Model, states: np.ndarray) -> Spread:
        seen.append(states)
        return of(1.0, 1.0)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("wheelcalc.truing.forecast.spread_of", spied)
        replace(forecast, noise=noise).read(forecast.states)
    off = seen[0] - forecast.states
    assert off[:, model.lateral].std() == pytest.approx(0.21, rel=0.03)
    assert off[:, model.radial].std() == pytest.approx(0.13, rel=0.03)
    assert (off / np.maximum(forecast.states, 1.0))[:, model.tension].std() == pytest.approx(0.07, rel=0.03)
    assert abs(off[:, model.lateral].mean()) < 0.01


def test_the_error_of_turns_is_the_one_learned(forecast: Forecast) -> None:
    case = real_wheel(851, run_out=(1.0, 1.5))
    fit = fitted(System(model_of(case)([steady(case.real)]), [steady(case.real)], Reader()))
    sizes = fit.sizes.copy()
    sizes[3] = 0.45
    found = forecast_of(replace(fit, sizes=sizes))
    assert found.turning == 0.45
    assert (found.noise.lateral, found.noise.tension) == (0.08 * sizes[6], 0.04 * sizes[8])


def planner(forecast: Forecast, done: Done) -> Planner:
    return Planner(forecast.model, EqualFaults(), room(forecast.model.spokes), done)


def test_shares_by_hand() -> None:
    found = shares(of(0.45, 0.4, spread=9.0, dish=1.2), Done(0.3, 0.5, 0.4, 6.0), 1.0)
    assert {name: float(each[0]) for name, each in found.items()} == {
        "lateral": pytest.approx(1.5),
        "radial": pytest.approx(0.8),
        "dish": pytest.approx(0.5),
        "spread": pytest.approx(1.5),
    }


@pytest.mark.parametrize(
    ("figures", "sure"),
    [
        (of(0.25, 0.40, (0.04, 0.09)), True),
        (of(0.25, 0.40, (0.06, 0.09)), False),
        (of(0.25, 0.40, (0.04, 0.11)), False),
        (of(0.31, 0.40), False),
    ],
)
def test_surely_within_is_within_by_a_standard_error(forecast: Forecast, figures: Spread, sure: bool) -> None:
    assert surely_within(figures, planner(forecast, Done(0.3, 0.5, 0.5, 6.0))) == sure


class Told(Forecast):
    """A forecast whose figures are told: now, after a turn, and as read then."""

    def tell(self, now: Spread, after: Spread) -> Told:
        self.__dict__.update(now=now, told=after)
        return self

    def turned(self, turns: np.ndarray) -> np.ndarray:
        return turns[None]

    def read(self, states: np.ndarray) -> Spread:
        return self.told  # type: ignore[attr-defined,no-any-return]


def decided(forecast: Forecast, monkeypatch: pytest.MonkeyPatch, now: Spread, after: Spread) -> verdict.Verdict:
    told = Told(forecast.model, forecast.state, forecast.noise).tell(now, after)
    monkeypatch.setattr(verdict, "spread_of", lambda *_: after)
    plan = planner(forecast, Done(0.3, 0.5, 0.5, 6.0))
    assert plan.next_pass(forecast.state.values).turns.any()
    return decide(plan, told, 1)


def test_straightness_is_not_given_up_for_evenness(forecast: Forecast, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same gain in evenness: offered where the run-outs stay, not where one that is or comes out of limits gets worse."""
    now, even = of(0.36, 0.3, spread=13.6), of(0.36, 0.3, spread=9.0)
    assert decided(forecast, monkeypatch, now, even).aims == ("spread",)
    assert decided(forecast, monkeypatch, now, of(0.52, 0.3, spread=9.0)).why in (BENT, END)
    assert decided(forecast, monkeypatch, now, of(0.36, 0.6, spread=9.0)).why in (BENT, END)
    # inside its limit it may
    assert decided(forecast, monkeypatch, now, of(0.36, 0.45, spread=9.0)).aims == ("spread",)
    # and where straightness is won too, one run-out may lose a little
    both = decided(forecast, monkeypatch, of(1.2, 0.3, spread=13.6), of(0.5, 0.55, spread=9.0))
    assert (both.why, set(both.aims)) == (NOT_YET, {"lateral", "spread"})


def test_within_limits_by_a_hair_is_turned_on_only_for_what_can_be_seen(
    forecast: Forecast, monkeypatch: pytest.MonkeyPatch
) -> None:
    hair = replace(of(0.28, 0.47, (0.02, 0.0)), radial=np.repeat([0.53, 0.38], [60, 40]))
    assert decided(forecast, monkeypatch, hair, of(0.28, 0.3, (0.02, 0.02))).aims == ("radial",)
    assert decided(forecast, monkeypatch, hair, hair).why == WITHIN
    sure = of(0.28, 0.42, (0.02, 0.06))
    assert decided(forecast, monkeypatch, sure, of(0.28, 0.3, (0.02, 0.02))).why == WITHIN


def test_a_gain_must_be_likely_and_seen(forecast: Forecast, monkeypatch: pytest.MonkeyPatch) -> None:
    """C, the choices: a gain of over 0.12 of the error of the next figure, and better in over 0.54 of the draws, after one pass."""
    now = of(0.6, 0.3)
    assert decided(forecast, monkeypatch, now, of(0.5, 0.3)).aims == ("lateral",)
    assert decided(forecast, monkeypatch, now, of(0.6, 0.3)).why in (BENT, END)
    # better in half of the draws, in the mean too, and not likely enough
    assert decided(forecast, monkeypatch, now, of(0.55, 0.3, (0.3, 0.0))).why in (BENT, END)


def test_within_is_up_to_the_limits(forecast: Forecast) -> None:
    plan = planner(forecast, Done(0.3, 0.5, 0.4, 6.0))
    assert plan.model.structure.rim_plane_x == 0
    assert within(Faults(0.3, 0.5, -0.4, (6.0, 5.0), (600.0, 900.0)), plan)
    assert not within(Faults(0.3001, 0.5, -0.4, (6.0, 5.0), (600.0, 900.0)), plan)
    assert not within(Faults(0.3, 0.5, -0.4001, (6.0, 5.0), (600.0, 900.0)), plan)
    assert surely_within(of(0.25, 0.375, (0.0625, 0.125)), planner(forecast, Done(0.3125, 0.5, 0.4, 6.0)))


@pytest.mark.parametrize(
    ("end", "freely", "why"),
    [
        (1.0, None, END),
        (1.1, None, END),
        (1.11, None, BENT),
        (2.2, 2.0, BENT),
        (2.2, 1.99, STUCK),
        (1.0, 0.8, STUCK),
        (1.0, 0.95, END),
    ],
)
def test_why_it_is_left_by_where_turning_without_end_would_come(end: float, freely: float | None, why: str) -> None:
    """C, the choice: a tenth beyond what is done is the rim, a tenth better without stuck nipples is those."""

    def ending(at: float | None, state: object = "now") -> Any:
        def in_the_end(given: object) -> float | None:
            assert given is state
            return at

        return SimpleNamespace(done=SimpleNamespace(share=lambda each: each), in_the_end=in_the_end)

    told = cast(Any, SimpleNamespace(state=SimpleNamespace(values="now")))
    assert verdict.why_left(ending(end), told, None if freely is None else ending(freely)) == why


def test_what_is_decided_is_the_pass_and_its_figures(forecast: Forecast, monkeypatch: pytest.MonkeyPatch) -> None:
    now, after = of(0.9, 0.3), of(0.5, 0.3)
    found = decided(forecast, monkeypatch, now, after)
    plan = planner(forecast, Done(0.3, 0.5, 0.5, 6.0))
    planned = [each.next_pass(forecast.state.values) for each in verdict.ways(plan)]
    turned = min(float(np.abs(each.turns).sum()) for each in planned)
    assert float(np.abs(found.turns).sum()) == turned  # all leave the same, as told: the fewest turns
    assert found.side_turns in [each.side_turns for each in planned]
    assert (found.now, found.after, found.after_reads) == (now, after, after)
    left = decided(forecast, monkeypatch, of(0.1, 0.1), of(0.1, 0.1))
    assert (left.why, left.turns.any()) == (WITHIN, False)


def tried(
    forecast: Forecast, now: Spread, after: Spread, reads: Spread, read: int = 1, *, dish: bool = True
) -> verdict.Tried:
    told = Told(forecast.model, forecast.state, forecast.noise).tell(now, reads)
    plan = replace(planner(forecast, Done(0.3, 0.5, 0.5, 6.0)), dish_known=dish)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            verdict, "spread_of", lambda model, states: after if model is told.model and states.any() else None
        )
        return verdict.weighed(plan, told, plan.next_pass(forecast.state.values), read)


def test_a_gain_is_held_against_the_error_of_the_next_reading(forecast: Forecast) -> None:
    """C, the choice: 0.12 of it for each pass read. D: readings that scatter by 0.15 mm are by half a limit of 0.3 mm."""
    now, after, reads = of(0.9, 0.3), of(0.858, 0.3), of(0.858, 0.3, (0.15, 0.0))
    found = tried(forecast, now, after, reads, 2)
    assert found.aims == ("lateral",)  # 0.14 gained of 0.12 that is asked
    assert tried(forecast, now, after, reads, 3).aims == ()  # of 0.18
    assert found.left == pytest.approx((0.858 / 0.3 - 1) ** 2)
    assert (found.after, found.reads) == (after, reads)


def test_what_is_out_by_its_error_may_be_gained_and_what_comes_out_is_worse(forecast: Forecast) -> None:
    now = replace(of(0.9, 0.3), radial=np.repeat([0.55, 0.42], 50))
    found = tried(forecast, now, of(0.6, 0.45), of(0.6, 0.45))
    assert found.aims == ("lateral", "radial")
    assert tried(forecast, of(0.9, 0.49), of(0.6, 0.45), of(0.6, 0.45)).aims == ("lateral",)
    assert tried(forecast, of(0.9, 0.49), of(0.6, 0.52), of(0.6, 0.52)).worse == ("radial",)
    assert tried(forecast, of(0.9, 0.45), of(0.6, 0.49), of(0.6, 0.49)).worse == ()
    assert tried(forecast, of(0.9, 0.52), of(0.6, 0.529), of(0.6, 0.529)).worse == ()  # less than a fiftieth


def test_the_dish_is_held_against_where_the_rim_should_be_or_is(forecast: Forecast) -> None:
    now, after = of(0.9, 0.3, dish=1.2), of(0.6, 0.3, dish=0.3)
    assert set(tried(forecast, now, after, after).aims) == {"lateral", "dish"}
    assert tried(forecast, now, after, after, dish=False).worse == ("dish",)  # moved from where it lay by 0.9 mm


def test_what_is_beyond_the_limits_by_hand() -> None:
    some = {"lateral": np.array([1.5, 0.2]), "radial": np.array([0.9, 3.0]), "spread": np.array([1.2, 1.0])}
    assert verdict.beyond(some).tolist() == pytest.approx([0.25 + 0.04, 4.0])


def test_other_weights_are_half_and_twice_of_each(forecast: Forecast) -> None:
    plan = planner(forecast, Done())
    first, *others = verdict.ways(plan)
    assert first is plan
    found = [(each.equal.lateral, each.equal.radial, each.equal.tension) for each in others]
    usual = (plan.equal.lateral, plan.equal.radial, plan.equal.tension)
    wanted = [tuple(v * (f if i == at else 1) for i, v in enumerate(usual)) for at in range(3) for f in (0.5, 2.0)]
    assert found == wanted
    assert len(verdict.ways(replace(plan, balance=False))) == 1


def test_what_is_left_has_no_turns_and_the_figures_of_now(forecast: Forecast) -> None:
    found = verdict.left_as_it_is(BENT, forecast)
    assert (found.why, found.side_turns, found.aims) == (BENT, (0.0, 0.0), ())
    assert found.turns.tolist() == [0.0] * forecast.model.spokes
    assert found.now is forecast.now
    assert found.after is forecast.now
    assert_allclose(found.after_reads.lateral, forecast.read(forecast.states).lateral)


def test_where_the_tensions_are_too_low_the_sides_are_turned_though_no_figure_gains(
    forecast: Forecast, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = of(0.6, 0.3)
    told = Told(forecast.model, forecast.state, forecast.noise).tell(now, now)
    monkeypatch.setattr(verdict, "spread_of", lambda *_: now)
    plan = planner(forecast, Done(0.3, 0.5, 0.5, 6.0))
    tensions = forecast.state.values[forecast.model.tension]
    wanted = np.full(len(tensions), max(tensions[side].mean() for side in forecast.model.sides) + 60.0)
    found = decide(replace(plan, room=replace(plan.room, floor=wanted, limit=wanted + 300.0)), told, 1)
    assert (found.why, found.aims) == (NOT_YET, ("tension",))
    assert any(found.side_turns)
    assert decide(plan, told, 1).why in (BENT, END)


def test_why_it_is_left_is_asked_with_the_planner_that_turns_freely(
    forecast: Forecast, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = of(0.6, 0.3)
    told = Told(forecast.model, forecast.state, forecast.noise).tell(now, now)
    monkeypatch.setattr(verdict, "spread_of", lambda *_: now)
    plan, freely = planner(forecast, Done(0.3, 0.5, 0.5, 6.0)), planner(forecast, Done(0.3, 0.5, 0.4, 6.0))
    monkeypatch.setattr(verdict, "why_left", lambda *given: given)
    assert decide(plan, told, 1, freely).why == (plan, told, freely)


def test_evenness_that_costs_straightness_is_no_aim(forecast: Forecast) -> None:
    worse = of(0.52, 0.3, spread=9.0)
    assert tried(forecast, of(0.36, 0.3, spread=13.6), worse, worse).aims == ()


def test_what_stays_as_it_was_is_not_better(forecast: Forecast) -> None:
    """Four draws in ten gain, six are within and stay: not over 0.54."""
    for counts, aims in (((40, 60), ()), ((55, 45), ("lateral",))):
        now = replace(of(0.6, 0.3), lateral=np.repeat([0.9, 0.2], counts))
        after = replace(now, lateral=np.repeat([0.5, 0.2], counts))
        assert tried(forecast, now, after, after).aims == aims
