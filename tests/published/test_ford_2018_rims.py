"""Two bare rims that somebody tapped and bent: M. Ford, PhD thesis, Northwestern University 2018, acoustic testing.

P: radius of the centroid, mass, E I in plane, G J and mu = G J / E I out of plane from the taps, as given. D: the peaks, of
spectra of the same recordings, struck inward and sideways; 58.5, 402.1 and 428.0 Hz sound all the time and are none.
"""

from __future__ import annotations

import numpy as np
import pytest

from wheelcalc.measuring.mode_fit import Fit, Peak, fitted
from wheelcalc.measuring.rim_modes import BareRim, lateral_hz, radial_hz

ALUMINIUM = 69e3 / 2.7e-3  # N/mm2 per g/mm3
BAND = (45.0, 640.0)  # Hz, within which the peaks were looked for

# name: R mm, mass g; tapped E I in plane, G J N m2, mu; peaks struck inward; struck sideways
RIMS = {
    "shallow double wall": (
        (304.0, 538.0),
        (111.0, 26.3, 0.120),
        (91.9, 255.4, 259.7, 277.6, 496.3, 572.0),
        (82.1, 255.4, 273.9, 559.5, 565.9, 572.0),
    ),
    "single wall": (
        (302.0, 551.0),
        (125.0, 19.2, 0.123),
        (71.0, 97.2, 234.5, 238.5, 267.1, 274.9, 490.6, 526.6),
        (69.6, 234.5, 238.9, 267.5, 274.9, 375.8, 482.1, 490.6, 526.6),
    ),
}


def of_both(inward: tuple[float, ...], sideways: tuple[float, ...]) -> list[Peak]:
    """The peaks of both recordings; how loud they are is not printed, only where they are."""

    def also(hz: float, others: tuple[float, ...]) -> bool:
        return any(abs(other / hz - 1) < 0.003 for other in others)

    return [Peak(hz, 0.0 if also(hz, sideways) else 10.0) for hz in inward] + [
        Peak(hz, -10.0) for hz in sideways if not also(hz, inward)
    ]


def told(name: str) -> Fit:
    (radius, mass), _, inward, sideways = RIMS[name]
    return fitted(BareRim(radius, mass, ALUMINIUM), of_both(inward, sideways), BAND)


@pytest.mark.parametrize("name", RIMS)
def test_stiffness_from_the_printed_peaks(name: str) -> None:
    """Tolerances: the source's own errors are 8, 5 and 20 %, of another reading of the same sound."""
    in_plane, torsion, ratio = RIMS[name][1]
    found = told(name).stiffness
    assert found.in_plane == pytest.approx(in_plane, rel=0.05)
    assert found.torsion == pytest.approx(torsion, rel=0.08)
    assert found.torsion / found.out_of_plane == pytest.approx(ratio, rel=0.25)


@pytest.mark.parametrize("name", RIMS)
def test_errors_hold_what_was_tapped(name: str) -> None:
    in_plane, torsion, ratio = RIMS[name][1]
    found = told(name)
    off = np.log(found.stiffness) - np.log([in_plane, torsion / ratio, torsion])
    assert (np.abs(off) < 1.96 * np.array(found.sigma)).all()
    assert (np.array(found.sigma) < [0.05, 0.15, 0.15]).all()


def test_modes_of_the_single_wall() -> None:
    """Which peak is which: D, by the printed stiffness and the printed formulas, nearest mode within 4 %."""
    (radius, mass), (in_plane, torsion, ratio), _, _ = RIMS["single wall"]
    rim = BareRim(radius, mass, ALUMINIUM)
    by = {"radial": radial_hz(rim, np.array(in_plane)), "lateral": lateral_hz(rim, np.array(torsion), np.array(ratio))}
    modes = told("single wall").modes
    assert {(mode.kind, mode.waves) for mode in modes} == {(kind, n) for kind in by for n in (2, 3, 4)}
    for mode in modes:
        assert mode.hz == pytest.approx(by[mode.kind][mode.waves - 2], rel=0.04)
    assert 375.8 not in {hz for mode in modes for hz in (mode.hz, mode.pair_hz)}


def test_thin_ring_formulas() -> None:
    """D: n = 3 by hand for R 304 mm, 538 g, 111 and 26.3 N m2, mu 0.12: 24 / sqrt(10) and 24 / sqrt(2.08) times the root."""
    rim = BareRim(304.0, 538.0, 1e12)  # a material so stiff for its weight that its section is a line: no shear
    assert rim.ring == pytest.approx(0.0949695, rel=1e-5)
    assert radial_hz(rim, np.array(111.0))[1] == pytest.approx(259.467, abs=0.01)
    assert lateral_hz(rim, np.array(26.3), np.array(0.12))[1] == pytest.approx(276.927, abs=0.01)
