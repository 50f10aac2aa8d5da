"""J. Brandt, The Bicycle Wheel, 3rd ed. 1993: table 1 (p. 133) and the hoop compression; Burgoyne & Dilmaghanian 1993."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.parts import Section

RADIUS, SPOKES = 300.0, 36


def wheel(span: float = 280.0, tension: float = 0.0) -> Structure:
    """P: 36 spokes, R 300, spoke E 193 GPa, A 2.00; rim E 69 GPa, A 77, I 1124. The spokes' length is not printed.

    What bends sideways does not matter under a load in the plane.
    """
    angles = 2 * math.pi / SPOKES * np.arange(SPOKES)
    out = np.c_[np.zeros(SPOKES), np.sin(angles), np.cos(angles)]
    rim = Section(77.0, 1124.0, 5000.0, 2000.0, 69e3, 26e3, 2 * RADIUS)
    stiffness = np.full(SPOKES, 193e3 * 2.0 / span)
    tensions = np.full(SPOKES, tension)
    return Structure(rim, angles, np.arange(SPOKES), (RADIUS - span) * out, RADIUS * out, stiffness, tensions)


def test_table_1_500_newtons_at_one_spoke() -> None:
    """P at 10 %: the printed table does not satisfy its own equilibrium."""
    bare = wheel()
    load = bare.load_at(0, radial=-500.0)
    outward = bare.displacements(load)[:, 2]
    assert -outward[0] == pytest.approx(0.153, rel=0.1)
    assert -outward[[1, -1]] == pytest.approx([0.085, 0.085], rel=0.1)
    assert outward[18] == pytest.approx(0.007, rel=0.1)
    assert -bare.tension_changes(load)[0] == pytest.approx(198.0, rel=0.1)


def test_hoop_compression() -> None:
    """D: N T c_r / 2 pi = 5621 for 36 spokes at 981 N, c_r 1; P at 2 %: about 5700."""
    hoop = wheel(tension=981.0).hoop_forces
    assert -hoop == pytest.approx(np.full(SPOKES, 36 * 981.0 / (2 * math.pi)), rel=1e-9)
    assert -hoop[0] == pytest.approx(5621.0, abs=0.5)
    assert -hoop[0] == pytest.approx(5700.0, rel=0.02)


def test_loss_is_in_the_few_bottom_spokes() -> None:
    """P: C. J. Burgoyne & R. Dilmaghanian, J. Eng. Mech. ASCE 119(3), 1993, 439-455 (abstract).

    A road load takes tension from the few bottom spokes; the others change little and almost evenly.
    """
    bare = wheel()
    changes = bare.tension_changes(bare.load_at(18, radial=-500.0))
    bottom = changes < 0
    assert bottom[[17, 18, 19]].all()
    assert bottom.sum() <= 7
    assert changes[~bottom].max() < 0.1 * -changes.min()
    assert np.ptp(changes[:10]) < 0.01 * -changes.min()
