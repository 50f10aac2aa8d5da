"""ANSYS verification manual VM18: out-of-plane bending of a curved bar (quarter circle, built in, load at its end)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wheelcalc.tension.arc import LATERAL, arcs
from wheelcalc.wheel.parts import Section


def test_quarter_circle_cantilever() -> None:
    """P: 2.648 in printed; D: its own formula gives 2.6493 (tolerance 0.1 %). r 100 in, d 2 in, 50 lb, E 30e6 psi, nu 0.3."""
    inertia = math.pi * 2.0**4 / 64
    shear = 30e6 / 2.6
    bar = Section(math.pi, inertia, inertia, 2 * inertia, 30e6, shear, 200.0)
    held = arcs(bar, np.array([math.pi / 2])).stiffness[0, 6:, 6:]
    sag = np.linalg.solve(held, 50.0 * np.eye(6)[LATERAL])[LATERAL]
    formula = 50 * 100**3 * (math.pi / 4 / (30e6 * inertia) + (3 * math.pi / 4 - 2) / (shear * 2 * inertia))
    assert formula == pytest.approx(2.6493, abs=5e-5)
    assert sag == pytest.approx(formula, rel=1e-9)
    assert sag == pytest.approx(2.648, rel=1e-3)
