"""Three-point deflection gauge. Expected values: D, the beam's equations solved another way."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import solve_bvp

from wheelcalc.tension.deflection import gauge_deflection, gauge_tension
from wheelcalc.tension.tone import bending_stiffness
from wheelcalc.wheel.errors import InputError


@pytest.mark.parametrize("clamped", [False, True])
@pytest.mark.parametrize("tension", [70.0, 930.0])
def test_against_the_differential_equation(clamped: bool, tension: float) -> None:
    force, span, ei = 23.0, 137.0, float(bending_stiffness(1.8))

    def slopes(_: np.ndarray, y: np.ndarray) -> np.ndarray:  # EI y'''' = T y''
        return np.vstack([y[1], y[2], y[3], tension / ei * y[2]])

    def ends(left: np.ndarray, middle: np.ndarray) -> np.ndarray:
        held = left[1] if clamped else left[2]
        return np.array(
            [left[0], held, middle[1], ei * middle[3] + force / 2]
        )  # half the span: slope 0, half the force

    x = np.linspace(0, span / 2, 60)
    solved = solve_bvp(slopes, ends, x, np.zeros((4, x.size)), tol=1e-9)
    expected = abs(float(solved.sol(span / 2)[0]))
    assert float(gauge_deflection(force, span, tension, 1.8, clamped=clamped)) == pytest.approx(expected, rel=1e-6)


@settings(max_examples=50, deadline=None)
@given(tension=st.floats(1, 3000), d=st.floats(1.4, 2.4), span=st.floats(60, 250), clamped=st.booleans())
def test_inverse_and_monotony(tension: float, d: float, span: float, clamped: bool) -> None:
    moved = gauge_deflection(17.0, span, tension, d, clamped=clamped)
    assert float(gauge_tension(17.0, span, moved, d, clamped=clamped)) == pytest.approx(tension, rel=1e-6, abs=1e-6)
    assert gauge_deflection(17.0, span, tension * 1.01, d, clamped=clamped) < moved


def test_arrays() -> None:
    moved = gauge_deflection(17.0, 130.0, [400.0, 900.0], [2.0, 1.8])
    assert_allclose(gauge_tension(17.0, 130.0, moved, [2.0, 1.8]), [400.0, 900.0])


def test_series_meets_the_quotient() -> None:
    ei = float(bending_stiffness(2.0))
    for u in (0.0299999, 0.0300001):
        tension = ei * (2 * u / 100) ** 2
        bow = float(gauge_deflection(1.0, 100.0, tension, 2.0)) / (100**3 / (16 * ei))
        assert bow == pytest.approx(1 / 3 - 2 * 0.0009 / 15, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: gauge_tension(10, 100, 2.0, 2.0), "slack"),
        (lambda: gauge_tension(10, 100, 0.0, 2.0), "deflection"),
        (lambda: gauge_deflection(10, 100, -5.0, 2.0), "tension"),
    ],
)
def test_bad_input(call, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()


def test_another_metal_there_and_back() -> None:
    """D: the string's part does not know the metal; what bends does, so half the modulus moves more."""
    soft = 103e3  # M: titanium
    moved = gauge_deflection(17.0, 130.0, 640.0, 2.0, youngs_modulus=soft)
    assert moved > gauge_deflection(17.0, 130.0, 640.0, 2.0)
    slack = gauge_deflection(17.0, 130.0, 0.0, 2.0, youngs_modulus=soft)
    # D: F L^3 / 48 EI of a beam without tension
    assert float(slack) == pytest.approx(17.0 * 130.0**3 / (48 * soft * np.pi * 2.0**4 / 64), rel=1e-12)
    assert float(gauge_tension(17.0, 130.0, moved, 2.0, youngs_modulus=soft)) == pytest.approx(640.0, rel=1e-6)


def test_a_slack_wire_has_no_tension() -> None:
    slack = gauge_deflection(17.0, 130.0, 0.0, 2.0)
    assert float(gauge_tension(17.0, 130.0, slack, 2.0)) == pytest.approx(0.0, abs=1e-6)


def test_bow_of_a_nearly_slack_wire() -> None:
    """D: series of tanh to the sixth power of u (Abramowitz and Stegun 4.5.64)."""
    ei, u = float(bending_stiffness(2.0)), 0.0297
    bow = float(gauge_deflection(1.0, 100.0, ei * (2 * u / 100) ** 2, 2.0)) / (100**3 / (16 * ei))
    series = 1 / 3 - 2 * u**2 / 15 + 17 * u**4 / 315 - 62 * u**6 / 2835
    assert bow == pytest.approx(series, rel=1e-10)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: gauge_deflection(10, 100, 1_000_000.5, 2.0), "a tension in N, 0 or above"),
        (lambda: gauge_tension(10, 100, 1000.5, 2.0), "deflection.*above 0 mm"),
    ],
)
def test_out_of_range(call, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()
