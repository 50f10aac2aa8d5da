"""What happened between two recordings: mishaps made to the non-linear wheel of the tests, which is not the library's."""

from __future__ import annotations

import numpy as np
import pytest

from tests.making.random_wheels import untrue
from wheelcalc.tension.arc import frames
from wheelcalc.truing import two_recordings
from wheelcalc.truing.two_recordings import AXLE, LATERAL_BEND, MISREAD, OUTWARD, RADIAL_BEND, SPOKE, change

NOISE = 0.006  # of a log ratio: two pitches read to 0.2 % each, times 2.2 (D)
TURN = 25.4 / 56


def wheel(seed: int):
    case = untrue(seed, most=0.7)
    case.real = case.real.turned(np.full(len(case.wheel.lacing), 0.1))
    return case


def after(case, mishap, seed: int, noise: float = NOISE):
    """Log ratios of the tensions after a mishap (a function of the non-linear wheel) and some bedding in."""
    rng = np.random.default_rng(seed)
    then = case.real.tensions
    now = mishap(case.real).turned(-0.006 - 0.003 * rng.normal(size=then.size)).tensions
    return np.log(now / then) + noise * rng.normal(size=then.size)


def found(case, log_ratio, partner=None):
    none = np.full(log_ratio.size, -1)
    left, right = (case.real.tensions[side].mean() for side in (~case.is_right, case.is_right))
    partner = none if partner is None else partner
    return change(case.structure(left, right), case.is_right, case.real.tensions, log_ratio, partner, NOISE)


def unwound(spoke: int, turns: float):
    def mishap(real):
        longer = np.zeros(len(real.tensions))
        longer[spoke] = -turns * TURN
        return real.turned(longer)

    return mishap


@pytest.mark.parametrize(("seed", "spoke", "turns"), [(1, 4, 0.25), (2, 9, 0.5), (3, 14, -0.25), (4, 0, 0.375)])
def test_one_nipple_that_unwound(seed: int, spoke: int, turns: float) -> None:
    case = wheel(seed)
    got = found(case, after(case, unwound(spoke, turns), seed))
    assert [(each.kind, each.place) for each in got.events] == [(SPOKE, spoke)]
    # The rim's section is only believed, and the tensions the mean ones: a quarter of it.
    assert got.events[0].amount == pytest.approx(turns, rel=0.25)


def test_two_nipples() -> None:
    case = wheel(5)
    got = found(case, after(case, lambda real: unwound(12, 0.4)(unwound(3, 0.3)(real)), 5))
    assert sorted((each.kind, each.place) for each in got.events) == [(SPOKE, 3), (SPOKE, 12)]


@pytest.mark.parametrize("seed", range(1, 9))
def test_nothing_but_bedding_in(seed: int) -> None:
    case = wheel(seed)
    got = found(case, after(case, lambda real: real, seed))
    assert got.events == ()
    assert all(-0.05 < level < 0 for level, _ in got.level.values())


@pytest.mark.parametrize(("wrong", "amount"), [(6, 0.12), (11, -0.2)])
def test_a_pitch_that_was_misread(wrong: int, amount: float) -> None:
    case = wheel(6)
    log_ratio = after(case, lambda real: real, 6)
    log_ratio[wrong] += amount
    got = found(case, log_ratio)
    assert [(each.kind, each.place) for each in got.events] == [(MISREAD, wrong)]


def test_with_pairs_that_sound_together_and_spokes_not_heard() -> None:
    case = wheel(7)
    count = len(case.wheel.lacing)
    partner = np.arange(count).reshape(-1, 4)[:, [2, 3, 0, 1]].ravel() if count % 4 == 0 else np.full(count, -1)
    then, now = (real.tensions for real in (case.real, unwound(10, 0.5)(case.real)))
    mixed = [(each + each[np.maximum(partner, 0)]) / 2 if partner[0] >= 0 else each for each in (then, now)]
    log_ratio = np.log(mixed[1] / mixed[0]) + NOISE * np.random.default_rng(7).normal(size=count)
    log_ratio[[1, 5]] = np.nan
    first = found(case, log_ratio, partner).events[0]
    assert first.kind == SPOKE
    assert 10 in (first.place, *first.also)


def moments(structure, about: int):
    """The loads that stand for a kink, as the library makes them, taken out of its call of the structure."""
    seen = {}

    class Spy:
        def __getattr__(self, name):
            return getattr(structure, name)

        def tension_changes(self, loads):
            seen["loads"] = loads
            return structure.tension_changes(loads)

    two_recordings.bends_about(Spy(), about)
    return seen["loads"]


@pytest.mark.parametrize("about", [AXLE, OUTWARD])
def test_a_kink_leaves_no_moment_on_the_wheel(about: int) -> None:
    case = wheel(1)
    structure = case.structure(700.0, 900.0)
    loads = moments(structure, about)
    axes = frames(structure.node_angles_rad)
    whole = np.einsum("mij,kmj->ki", axes, loads[:, :, 3:])
    assert np.abs(loads).max() > 1000
    np.testing.assert_allclose(whole, 0, atol=1e-6 * np.abs(loads).max())


@pytest.mark.parametrize(("about", "kind"), [(OUTWARD, LATERAL_BEND), (AXLE, RADIAL_BEND)])
def test_a_bent_rim(about: int, kind: str) -> None:
    case = wheel(2)
    structure = case.structure(*(case.real.tensions[side].mean() for side in (~case.is_right, case.is_right)))
    rng = np.random.default_rng(3)
    bent = 0.6 * two_recordings.bends_about(structure, about)[:, 5] / structure.tensions
    got = found(case, bent - 0.01 + NOISE * rng.normal(size=bent.size))
    assert (got.events[0].kind, got.events[0].place) == (kind, 5)
