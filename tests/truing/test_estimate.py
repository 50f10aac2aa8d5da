"""From readings to the likeliest state: exact where all is known, honest where little is."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import multivariate_normal

from tests.making.random_wheels import Case, built, sections, simulated, untrue
from tests.making.true_by_readings import estimated
from wheelcalc.answers.truing.plan import fitted
from wheelcalc.tension.arc import LATERAL, RADIAL
from wheelcalc.truing.advice import bent, read_next, windup_turns
from wheelcalc.truing.estimate import Estimate, Readings, estimate, likeliest_prior, prior
from wheelcalc.truing.faults import EqualFaults, weights
from wheelcalc.truing.model import Model
from wheelcalc.wheel.parts import Wire


@pytest.fixture(scope="module")
def case() -> Case:
    """A rear wheel, real rim and believed rim alike, nothing wrong with it."""
    rng = np.random.default_rng(11)
    wheel = built(rng)
    believed, _ = sections(rng, wheel.rim.erd)
    return Case(wheel, believed, simulated(wheel, believed, 980.0))


@pytest.fixture(scope="module")
def model(case: Case) -> Model:
    left, right = (float(case.real.tensions[side].mean()) for side in (~case.is_right, case.is_right))
    return Model(case.structure(left, right), case.is_right)


def readings(
    model: Model, state: np.ndarray, every: int = 1, sigma: float = 0.05, tension_sigma: float = 30.0
) -> Readings:
    read = np.full(len(state), np.nan)
    read[::every] = state[::every]
    return Readings(
        lateral=read[model.lateral],
        radial=read[model.radial],
        tensions=read[model.tension],
        lateral_sigma=sigma,
        radial_sigma=sigma,
        tension_sigma=np.full(model.spokes, tension_sigma),
        tension_shared=np.zeros((0, model.spokes)),
    )


def test_exact_readings_give_the_state_back(model: Model) -> None:
    rng = np.random.default_rng(4)
    state = model.true + model.by_spoke @ (0.2 * rng.normal(size=model.spokes))
    lifted = readings(model, state, sigma=1e-4, tension_sigma=0.05)
    lifted = replace(lifted, radial=lifted.radial + 17.3)
    found = estimate(model, lifted).state
    assert_allclose(found[model.lateral], state[model.lateral], atol=1e-3)
    level = [values[model.radial] - values[model.radial].mean() for values in (found, state)]
    assert_allclose(*level, atol=1e-3)
    assert_allclose(found[model.tension], state[model.tension], atol=0.5)


def test_a_bent_rim_bends_the_wheel_as_it_does_one_that_is_not_linear(case: Case, model: Model) -> None:
    holes = case.wheel.rim.holes
    angle = (np.arange(holes) + 0.5) * 2 * np.pi / holes
    for waves, sideways in ((2, True), (3, True), (2, False), (4, False)):
        turned = waves * angle - np.pi / 2
        height = 0.2 * np.cos(turned)
        # bent without stretching, so the holes move along the rim by the slope over the waves squared
        bends = (
            {"lateral_bend": height} if sideways else {"radial_bend": height, "along": -0.2 * np.sin(turned) / waves}
        )
        real = simulated(case.wheel, case.believed, 980.0, **bends)
        number = int(np.flatnonzero((model.bends[0] == waves) & (model.bends[1] == sideways))[1])
        expected = 0.2 * model.by_bend[:, number]
        # D: the tests' own wheel; its rim has straight pieces, about 1 % softer or stiffer, and is not linear
        size = np.abs(expected[model.lateral if sideways else model.radial]).max()
        assert_allclose(real.lateral - case.real.lateral, expected[model.lateral], atol=0.04 * size + 0.001)
        assert_allclose(real.radial - case.real.radial, expected[model.radial], atol=0.04 * size + 0.001)
        forces = expected[model.tension]
        assert_allclose(real.tensions - case.real.tensions, forces, atol=0.08 * np.abs(forces).max())
        free = model.free_bends.reshape(holes, 6, -1)[:, LATERAL if sideways else RADIAL, number]
        assert_allclose(0.2 * free, height, atol=1e-12)


def test_a_bent_rim_is_told_apart_from_wrong_spokes(model: Model) -> None:
    rng = np.random.default_rng(5)
    number = int(np.flatnonzero((model.bends[0] == 2) & model.bends[1])[0])
    spokes = model.by_spoke @ (0.1 * rng.normal(size=model.spokes))
    both = estimate(model, readings(model, model.true + spokes + 0.5 * model.by_bend[:, number], tension_sigma=15.0))
    found = bent(model, both)
    assert found.lateral == pytest.approx(1.0, abs=3 * found.lateral_sigma)
    assert found.lateral_sigma < 0.15
    alone = bent(model, estimate(model, readings(model, model.true + spokes, tension_sigma=15.0)))
    assert alone.lateral < 0.15


@pytest.mark.parametrize("every", [1, 3, 5])
def test_its_doubts_are_honest(model: Model, every: int) -> None:
    rng = np.random.default_rng(6)
    root = np.linalg.cholesky(prior(model) + 1e-12 * np.eye(len(prior(model))))
    columns = np.concatenate([model.by_spoke, model.by_bend], axis=1)
    scores = []
    for _ in range(40):
        state = model.true + columns @ root @ rng.normal(size=len(root))
        exact = readings(model, state, every)
        noisy = replace(
            exact,
            lateral=exact.lateral + 0.05 * rng.normal(size=model.nodes),
            radial=exact.radial + 0.05 * rng.normal(size=model.nodes) + 3.0,
            tensions=exact.tensions + 30 * rng.normal(size=model.spokes),
        )
        found = estimate(model, noisy)
        scores.append(((found.state - state) / found.sigma)[model.lateral])
        scores.append(((found.state - state) / found.sigma)[model.tension])
    # D: standard scores have a root mean square of 1; 40 wheels of about 30 values that hang together scatter by 5 %
    assert np.sqrt(np.mean(np.concatenate(scores) ** 2)) == pytest.approx(1.0, abs=0.15)


def test_from_any_plane_the_dish_is_unknown_and_the_shape_is_not(model: Model) -> None:
    rng = np.random.default_rng(7)
    state = model.true + model.by_spoke @ (0.2 * rng.normal(size=model.spokes))
    shifted = readings(model, state, sigma=1e-3, tension_sigma=1.0)
    shifted = replace(shifted, lateral=shifted.lateral + 4.2, any_plane=True)
    found = estimate(model, shifted)
    shapes = [values[model.lateral] - values[model.lateral].mean() for values in (found.state, state)]
    assert_allclose(*shapes, atol=0.01)
    assert abs(found.state[model.lateral].mean() - state[model.lateral].mean()) < 1.0


def test_slips_are_left_out_and_nothing_else(case: Case, model: Model) -> None:
    slipped = readings(model, model.true)
    slipped.lateral[9] = 1.4
    slipped.tensions[3] += 400
    kept, found, left_out = fitted(model, slipped, 5.0)
    assert left_out == {"lateral": [9], "radial": [], "tension": [3]}
    assert np.isnan(kept.lateral[9])
    assert_allclose(found.state[model.lateral], 0, atol=0.05)
    assert found.state[model.tension][3] == pytest.approx(model.true[model.tension][3], abs=60)


def test_readings_of_a_wheel_far_out_of_true_are_no_slips() -> None:
    for seed in range(12):
        case = untrue(seed)
        if case.real.tensions.min() > 50:
            _, found = estimated(case, np.random.default_rng(seed))
            assert np.nanmax(np.abs(found.misfits)) < 5


@pytest.mark.parametrize("every", [4, 7])
def test_the_next_reading_is_the_one_that_takes_most_doubt(
    model: Model, every: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = prior(model)
    monkeypatch.setattr("wheelcalc.truing.estimate.likeliest_prior", lambda *_: before)
    few = readings(model, model.true, every)
    rows, _ = weights(model, EqualFaults())
    chosen = read_next(model, few, estimate(model, few), rows)
    assert chosen is not None

    def doubt(with_readings: Readings) -> float:
        return float(np.trace(rows @ estimate(model, with_readings).covariance @ rows.T))

    tried = {}
    for index in np.flatnonzero(~np.isfinite(few.values))[::3]:
        more = few.values
        more[index] = model.true[index]
        parts = {"lateral": more[model.lateral], "radial": more[model.radial], "tensions": more[model.tension]}
        tried[index] = doubt(replace(few, **parts))
    part = {"lateral": model.lateral, "radial": model.radial, "tension": model.tension}[chosen.quantity]
    more = few.values
    more[part.start + chosen.place] = model.true[part.start + chosen.place]
    best = replace(few, lateral=more[model.lateral], radial=more[model.radial], tensions=more[model.tension])
    # a second radial reading has a zero of its own to share, so the formula is not exact for the first ones
    assert doubt(best) <= min(tried.values()) * 1.02
    assert 1 - doubt(best) / doubt(few) == pytest.approx(chosen.share, rel=0.05)


def test_nothing_to_read_next_where_all_was_read(model: Model) -> None:
    all_read = readings(model, model.true)
    rows, _ = weights(model, EqualFaults())
    assert read_next(model, all_read, estimate(model, all_read), rows) is None


def test_a_spoke_winds_up() -> None:
    # D: 1000 N (0.4536 / 2 pi + 0.15 * 1 mm) = 222.2 N mm; 32 * 222.2 * 290 / (pi 16 * 76923) = 0.5333 rad = 0.0849 turn
    assert windup_turns(Wire(2.0, 2.0, 2.0), 290.0, 1000.0) == pytest.approx(0.0849, abs=0.0001)
    # D: ends of 20 and 25 mm as above, 245 mm of 1.5: (45 / 16 + 245 / 5.0625) / (290 / 16) = 2.825 times that
    assert windup_turns(Wire(2.0, 1.5, 2.0, (20.0, 25.0)), 290.0, 1000.0) == pytest.approx(2.825 * 0.0849, rel=0.001)


def test_where_only_radial_is_thin_radial_is_to_be_read(model: Model) -> None:
    thin = readings(model, model.true, tension_sigma=200.0)
    radial = thin.radial.copy()
    radial[6:20] = np.nan
    thin = replace(thin, radial=radial)
    rows, _ = weights(model, EqualFaults())
    chosen = read_next(model, thin, estimate(model, thin), rows)
    assert chosen is not None
    assert chosen.quantity == "radial"
    assert 6 <= chosen.place < 20


def test_errors_of_readings_by_hand() -> None:
    """D: squares of single errors, a zero that may lie anywhere (1 m) shared by all places, causes shared by tensions."""
    few = Readings(
        np.array([0.1, np.nan]),
        np.array([0.2, 0.3]),
        np.array([900.0, np.nan, 700.0]),
        lateral_sigma=0.2,
        radial_sigma=0.4,
        tension_sigma=np.array([30.0, 50.0, 40.0]),
        tension_shared=np.array([[20.0, np.nan, -10.0], [5.0, 6.0, 7.0]]),
    )
    expected = np.zeros((7, 7))
    expected[:2, :2] = np.diag([0.04, 0.04])
    expected[2:4, 2:4] = 1e6 + np.diag([0.16, 0.16])
    expected[4:, 4:] = [[900 + 425, 30, -165], [30, 2500 + 36, 42], [-165, 42, 1600 + 149]]
    assert_allclose(few.covariance(), expected, rtol=1e-12)
    assert_allclose(few.values, [0.1, np.nan, 0.2, 0.3, 900.0, np.nan, 700.0])
    expected[:2, :2] += 1e6
    assert_allclose(replace(few, any_plane=True).covariance(), expected, rtol=1e-12)


def test_what_is_likely_before_any_reading_by_hand(model: Model) -> None:
    """C, the choices named in the module: a quarter turn's 0.12 mm, 0.1 mm of bend over waves squared, dish 3 mm, level 25 %."""
    n, waves = model.spokes, model.bends[0]
    before = prior(model, 1.5, 0.6)
    dish, level = model.dish_and_level
    mean = model.structure.tensions.mean()
    spokes = 0.18**2 * np.eye(n) + 9 * np.outer(dish, dish) + (0.25 * mean) ** 2 * np.outer(level, level)
    assert_allclose(before[:n, :n], spokes, rtol=1e-9, atol=1e-12)
    assert_allclose(before[n:, n:], np.diag((0.06 * 4 / waves**2) ** 2), rtol=1e-9, atol=1e-15)
    assert not before[:n, n:].any()
    assert_allclose(prior(model), prior(model, 1.0, 1.0))


def likeliest_by_scipy(model: Model, rows: np.ndarray, misfit: np.ndarray, errors: np.ndarray) -> tuple[float, float]:
    """D: scipy.stats.multivariate_normal, times the normal errors of the sizes' own logarithms."""
    sizes = [2.0**k for k in range(-2, 4)]

    def likelihood(pair: tuple[float, float]) -> float:
        of = rows @ prior(model, *pair) @ rows.T + errors
        before = np.sum(np.log(pair) ** 2) / np.log(3) ** 2 / 2
        return float(multivariate_normal(np.zeros(len(misfit)), of).logpdf(misfit) - before)

    return max(((a, b) for a in sizes for b in sizes), key=likelihood)


@pytest.mark.parametrize(("spokes", "bends"), [(0.25, 0.5), (1.0, 4.0), (3.0, 0.25), (8.0, 8.0)])
def test_the_likeliest_sizes_are_scipys(model: Model, spokes: float, bends: float) -> None:
    """D: scipy.stats.multivariate_normal; a size has a normal logarithm of standard error log 3."""
    rng = np.random.default_rng(int(10 * spokes))
    columns = np.concatenate([model.by_spoke, model.by_bend], axis=1)[::2]
    errors = np.diag(np.where(np.arange(len(columns)) < model.nodes, 0.05, 20.0) ** 2)
    root = np.linalg.cholesky(prior(model, spokes, bends) + 1e-12 * np.eye(columns.shape[1]))
    misfit = columns @ root @ rng.normal(size=len(root)) + np.sqrt(np.diag(errors)) * rng.normal(size=len(columns))
    expected = prior(model, *likeliest_by_scipy(model, columns, misfit, errors))
    assert_allclose(likeliest_prior(model, columns, misfit, errors), expected)


class Bayes(NamedTuple):
    """What the readings say of the causes by the other form of Bayes' rule, and what it was worked out from."""

    columns: np.ndarray
    rows: np.ndarray
    errors: np.ndarray
    misfit: np.ndarray
    after: np.ndarray
    causes: np.ndarray


def by_bayes(model: Model, some: Readings) -> Bayes:
    """D: (P^-1 + A' R^-1 A)^-1 A' R^-1 y, which needs the causes' covariance and not the readings'."""
    columns = np.concatenate([model.by_spoke, model.by_bend], axis=1)
    read = np.isfinite(some.values)
    rows, errors = columns[read], some.covariance()[np.ix_(read, read)]
    misfit = some.values[read] - model.true[read]
    before = likeliest_prior(model, rows, misfit, errors)
    after = np.linalg.inv(np.linalg.inv(before) + rows.T @ np.linalg.solve(errors, rows))
    return Bayes(columns, rows, errors, misfit, after, after @ rows.T @ np.linalg.solve(errors, misfit))


@pytest.mark.parametrize("every", [1, 4])
def test_an_estimate_is_bayes_rule_in_its_other_form(model: Model, every: int) -> None:
    rng = np.random.default_rng(12)
    state = model.true + model.by_spoke @ (0.15 * rng.normal(size=model.spokes)) + 0.1 * model.by_bend[:, 5]
    some = readings(model, state + 0.02 * rng.normal(size=len(state)), every)
    columns, rows, errors, misfit, after, causes = by_bayes(model, some)
    read = np.isfinite(some.values)
    found = estimate(model, some)
    assert_allclose(found.state, model.true + columns @ causes, rtol=1e-5, atol=1e-5)
    assert_allclose(found.sigma, np.sqrt(np.diag(columns @ after @ columns.T)), rtol=1e-4)
    assert_allclose(found.covariance, columns @ after @ columns.T, rtol=1e-3, atol=1e-5)
    count = len(model.bends[0])
    assert_allclose(found.bends, causes[-count:], atol=1e-5)
    assert_allclose(found.bend_covariance, after[-count:, -count:], rtol=1e-4, atol=1e-9)
    # what is left of a reading has the covariance R - A P A' of the least squares
    left = misfit - rows @ causes
    spread = errors - rows @ after @ rows.T
    assert_allclose(found.misfits[read], left / np.sqrt(np.diag(spread)), rtol=1e-3, atol=1e-3)
    assert np.isnan(found.misfits[~read]).all()


def test_round_off_below_nothing_is_no_doubt() -> None:
    covariance = np.diag([4.0, -1e-18, 0.09])
    none = np.zeros(0)
    assert_allclose(Estimate(np.zeros(3), covariance, none, none, none).sigma, [2.0, 0.0, 0.3])


def test_the_ways_of_bending_come_after_the_spokes() -> None:
    """D: Bayes' rule in its other form, on a wheel that has more ways of bending than spokes."""
    rng = np.random.default_rng(11)
    wheel = next(each for each in (built(rng) for _ in range(99)) if each.rim.holes == 36)
    believed, _ = sections(rng, wheel.rim.erd)
    case = Case(wheel, believed, simulated(wheel, believed, 980.0))
    left, right = (float(case.real.tensions[side].mean()) for side in (~case.is_right, case.is_right))
    model = Model(case.structure(left, right), case.is_right)
    assert len(model.bends[0]) > model.spokes == 36
    some = readings(model, model.true + 0.4 * model.by_bend[:, 2], 3)
    found = estimate(model, some)
    expected = by_bayes(model, some)
    assert_allclose(found.bends, expected.causes[36:], atol=1e-6)
    assert_allclose(found.bend_covariance, expected.after[36:, 36:], atol=1e-8)


@pytest.mark.parametrize("seed", [*range(24), 80, 117])
def test_few_readings_leave_the_sizes_to_what_is_likely_before(model: Model, seed: int) -> None:
    """D: scipy.stats.multivariate_normal plus the logarithm's own normal errors, for three to eighteen readings."""
    rng = np.random.default_rng(seed)
    columns = np.concatenate([model.by_spoke, model.by_bend], axis=1)
    rows = columns[rng.choice(2 * model.nodes, 3 + 5 * (seed % 4), replace=False)]
    spokes, bends = 2 ** rng.uniform(-2, 3, 2)
    errors = 0.01**2 * np.eye(len(rows))
    of = rows @ prior(model, spokes, bends) @ rows.T + errors
    misfit = np.linalg.cholesky(of) @ rng.normal(size=len(rows))
    expected = prior(model, *likeliest_by_scipy(model, rows, misfit, errors))
    assert_allclose(likeliest_prior(model, rows, misfit, errors), expected)
