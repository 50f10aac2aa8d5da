"""NAFEMS selected benchmark FV6, free circular ring: its stiffness part through the arc element.

P: R 1 m, round bar of 0.1 m, E 200 GPa, nu 0.3, rho 8000: thin-ring frequencies, in plane and out of plane.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.linalg

from wheelcalc.tension.arc import arcs
from wheelcalc.tension.ring_blocks import assembled
from wheelcalc.wheel.parts import Section

RADIUS, DIAMETER, DENSITY = 1000.0, 100.0, 8000e-12  # mm, mm, t/mm3
AREA = math.pi * DIAMETER**2 / 4
INERTIA = math.pi * DIAMETER**4 / 64
PRINTED = {"in plane": (53.382, 150.99, 289.51), "out of plane": (51.849, 148.77, 286.98)}  # P, Hz
COMPONENTS = {"in plane": (1, 2, 3), "out of plane": (0, 4, 5)}


@pytest.mark.parametrize("way", PRINTED)
def test_frequencies_of_a_free_ring(way: str) -> None:
    """Mass: that of each arc at its node, no rotary inertia; the printed ring does not stretch, so its area is made large."""
    nodes = 60
    bar = Section(1e4 * AREA, INERTIA, INERTIA, 2 * INERTIA, 200e3, 200e3 / 2.6, 2 * RADIUS)
    matrices = arcs(bar, np.array([2 * math.pi / nodes]))
    stiffness = assembled(np.repeat(matrices.stiffness, nodes, axis=0), np.zeros((nodes, 6, 6))).whole()
    mass = np.zeros((nodes, 6))
    mass[:, :3] = DENSITY * AREA * 2 * math.pi * RADIUS / nodes
    pick = (6 * np.arange(nodes)[:, None] + np.array(COMPONENTS[way])).ravel()
    shift = 1e4  # 1/s2, carries the motions as a rigid body
    loaded = stiffness[np.ix_(pick, pick)] + shift * np.diag(mass.ravel()[pick])
    loaded += 1e-12 * np.trace(loaded) / len(loaded) * np.eye(len(loaded))
    inverse = scipy.linalg.eigh(np.diag(mass.ravel()[pick]), loaded, eigvals_only=True)[::-1]
    frequencies = np.sqrt(np.maximum(1 / inverse[:9] - shift, 0)) / (2 * math.pi)
    for printed, pair in zip(PRINTED[way], frequencies[3:].reshape(-1, 2), strict=True):
        assert pair == pytest.approx([printed, printed], rel=5e-4)
