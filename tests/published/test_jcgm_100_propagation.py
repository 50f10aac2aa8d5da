"""First-order propagation of uncertainty, JCGM 100:2008, 5.1.2: u_c^2 = sum (c_i u_i)^2.

The error budget is held against the `uncertainties` library, which differentiates the formula itself, and against a
Monte Carlo run (JCGM 101:2008). Both work on the length's formula written out here, not on the project's code.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from uncertainties import ufloat, umath

from tests.making.builds import with_keys
from wheelcalc import answers

READINGS = {
    "rim__erd": (593.7, 0.43),
    "hub__over_locknut": (131.3, 0.31),
    "hub__left__pcd": (41.9, 0.52),
    "hub__left__locknut_to_flange": (29.8, 0.71),
    "hub__right__pcd": (47.3, 0.28),
    "hub__right__locknut_to_flange": (46.1, 0.64),
    "rim__hole_offset": (1.7, 0.22),
}
CROSSES = {"left": 2, "right": 3}


def length(readings: dict[str, object], side: str, cos: object = math.cos, sqrt: object = math.sqrt) -> object:
    sign = 1 if side == "right" else -1
    offset = (
        readings["hub__over_locknut"] / 2
        - readings[f"hub__{side}__locknut_to_flange"]
        - sign * readings["rim__hole_offset"]
    )
    rim, hub = readings["rim__erd"] / 2, readings[f"hub__{side}__pcd"] / 2
    return sqrt(rim**2 + hub**2 - 2 * rim * hub * cos(2 * math.pi * CROSSES[side] / 16) + offset**2)


@pytest.fixture
def answer() -> answers.lengths:
    readings = {key: f"{value} +- {sigma} mm" for key, (value, sigma) in READINGS.items()}
    return answers.lengths(with_keys(**readings, spokes__end_give=0, rim__measured="tensioned"))


@pytest.mark.parametrize("side", ["left", "right"])
def test_against_the_uncertainties_library(answer, side: str) -> None:
    variables = {key: ufloat(value, sigma, tag=key) for key, (value, sigma) in READINGS.items()}
    exact = length(variables, side, umath.cos, umath.sqrt)
    assert answer.sides[side].sigma == pytest.approx(exact.std_dev, rel=1e-4)
    shares = {share.reading: share.effect_mm for share in answer.error_budget if share.side == side}
    for variable, effect in exact.error_components().items():
        key = variable.tag.replace("__", ".")
        assert shares.get(key, 0.0) == pytest.approx(effect, rel=1e-3, abs=1e-6)
    assert len(shares) == 5


@pytest.mark.parametrize("side", ["left", "right"])
def test_against_a_monte_carlo_run(answer, side: str) -> None:
    rng = np.random.default_rng(20261125)
    draws = {key: rng.normal(value, sigma, 200_000) for key, (value, sigma) in READINGS.items()}
    lengths = length(draws, side, np.cos, np.sqrt)
    # 200,000 draws give a standard deviation to 0.16 % (one sigma); 1 % covers it and the second order.
    assert answer.sides[side].sigma == pytest.approx(lengths.std(), rel=0.01)
    inside = np.abs(lengths - lengths.mean()) < answer.sides[side].within
    assert inside.mean() == pytest.approx(0.95, abs=0.003)


def test_repeated_readings_are_a_mean_with_its_standard_error() -> None:
    # D: mean 602.866667, s = 0.550757; a rule's 0.5 as three degrees of freedom (JCGM 100 G.4: variances weighed by their
    # degrees of freedom): sqrt((3 x 0.25 + 2 x 0.303333) / 5 / 3) = 0.300740
    answer = answers.lengths(with_keys(rim__erd=[602.3, 602.9, 603.4], rim__bead_seat_diameter=630))
    assert answer.build.number("rim.erd") == pytest.approx(602.866667, abs=1e-6)
    assert answer.build.sigma("rim.erd") == pytest.approx(0.300740, abs=1e-6)


def test_the_advice_names_the_largest_share_and_its_gain(answer) -> None:
    worst = answer.error_budget[0]
    assert worst.reading == "rim.erd"
    side = "right" if answer.sides["right"].sigma > answer.sides["left"].sigma else "left"
    rest = math.sqrt(sum(s.effect_mm**2 for s in answer.error_budget if s.side == side and s.reading != worst.reading))
    assert f"+-{1.959964 * rest:.2f} mm instead of +-{1.959964 * answer.sides[side].sigma:.2f} mm" in answer.advice()
