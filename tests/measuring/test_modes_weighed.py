"""Stiffness of a tapped rim by the whole posterior, drawn and added up, with the density of the peaks written out.

D: each mode brings a Poisson number of peaks near its place in the logarithm of frequency, strays lie anywhere. The
constants are the choices and the measured rims that mode_fit names (ours, MF).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from wheelcalc.arrays import Floats
from wheelcalc.measuring.mode_fit import Peak, fitted
from wheelcalc.measuring.rim_modes import BareRim, lateral_hz, radial_hz

RIM = BareRim(304.0, 538.0, 69e3 / 2.7e-3)
TRUE = (111.0, 219.0, 26.3)
BAND = (45.0, 1250.0)
DRAWS = 4000


def heard() -> list[Peak]:
    """A rim's own modes, read roughly, with two strays; some louder inward or sideways, some loud and some faint."""
    radial = radial_hz(RIM, np.array(TRUE[0]))[:3] * [1.002, 0.998, 1.003]
    lateral = lateral_hz(RIM, np.array(TRUE[2]), np.array(TRUE[2] / TRUE[1]))[:4] * [0.996, 1.002, 0.999, 1.004]
    peaks = [Peak(float(hz), 6.0, level) for hz, level in zip(radial, (7.0, 2.0, -3.0), strict=True)]
    peaks += [Peak(float(hz), -12.0, level) for hz, level in zip(lateral, (3.0, 14.0, -1.0, 0.0), strict=True)]
    return [*peaks, Peak(333.0, 1.0, -6.0), Peak(700.0, -2.0, -15.0)]


def log_likelihood(logs: Floats, peaks: list[Peak], struck: tuple[str, ...]) -> Floats:
    """Of logarithms of EI in plane, EI out of plane, GJ, (k, 3), over that of strays alone: (k,)."""
    in_plane, out, torsion = np.exp(logs).T
    expected, at_peaks = np.zeros(len(logs)), np.zeros((len(logs), len(peaks)))
    for kind, hz in (("radial", radial_hz(RIM, in_plane)), ("lateral", lateral_hz(RIM, torsion, torsion / out))):
        for waves, usual, place in zip(range(2, 7), (1.6, 1.6, 1.1, 0.7, 0.7), hz.T, strict=True):
            shown = usual * (1.0 if kind in struck else 0.4)
            shown = np.where(place < 80, np.minimum(shown, 0.7), shown) * ((place > BAND[0]) & (place < BAND[1]))
            expected += shown
            for i, peak in enumerate(peaks):
                wide = math.sqrt((0.0015 * waves**2) ** 2 + 0.008**2 + (0.3 / peak.hz) ** 2)
                bell = np.exp(-0.5 * ((math.log(peak.hz) - np.log(place)) / wide) ** 2) / (
                    wide * math.sqrt(2 * math.pi)
                )
                likelier = math.exp(max(-1.0, min(1.0, peak.louder / 10)) * (1 if kind == "radial" else -1))
                at_peaks[:, i] += shown * bell * likelier
    stray = np.array([2.0 * math.exp(-max(-1.0, min(1.0, peak.level / 10))) for peak in peaks])
    return np.asarray(np.log1p(at_peaks / stray).sum(axis=1) - expected)


def log_prior(logs: Floats) -> Floats:
    """Radii of gyration 4.6 and 5.1 mm, GJ / EI 0.17, and their spreads; density in the three logarithms asked."""
    in_plane, out, torsion = logs.T
    radial = (np.log(RIM.gyration(np.exp(in_plane))) - math.log(4.6)) / 0.40
    lateral = (np.log(RIM.gyration(np.exp(out))) - math.log(5.1)) / 0.30
    ratio = (torsion - out - math.log(0.17)) / 0.60
    scale = 0.40 * 0.30 * 0.60 * 4 * (2 * math.pi) ** 1.5  # a logarithm of EI is two of the radius
    return np.asarray(-0.5 * (radial**2 + lateral**2 + ratio**2) - math.log(scale))


def posterior(peaks: list[Peak], struck: tuple[str, ...], start: Floats, wide: Floats) -> tuple[Floats, Floats, float]:
    """Mean and standard deviation of the three logarithms, and of the evidence the logarithm, by weighed draws, twice."""
    rng, mean, covariance = np.random.default_rng(5), start, np.diag(wide**2)
    for _ in range(2):
        root = np.linalg.cholesky(1.5 * covariance)
        normal = rng.normal(size=(DRAWS, 3))
        drawn = mean + normal @ root.T
        proposed = -0.5 * np.sum(normal**2, axis=1) - 1.5 * math.log(2 * math.pi) - np.log(np.diag(root)).sum()
        weight = log_likelihood(drawn, peaks, struck) + log_prior(drawn) - proposed
        share = np.exp(weight - weight.max())
        evidence = float(weight.max() + math.log(share.mean()))
        share /= share.sum()
        mean = share @ drawn
        covariance = (drawn - mean).T * share @ (drawn - mean)
    return mean, np.sqrt(np.diag(covariance)), evidence


@pytest.mark.parametrize("struck", [("radial", "lateral"), ("lateral",)])
def test_stiffness_its_error_and_the_evidence_are_those_of_all_that_is_possible(struck: tuple[str, ...]) -> None:
    peaks = heard()
    found = fitted(RIM, peaks, BAND, struck)
    logs = np.log(found.stiffness)
    mean, sigma, evidence = posterior(peaks, struck, logs, np.array(found.sigma))
    # the density is not quite normal, and weighed draws err by a fiftieth of their deviation
    assert_allclose(logs, mean, atol=0.004)
    assert_allclose(found.sigma, sigma, rtol=0.1)
    assert found.evidence == pytest.approx(evidence, abs=0.08)
    assert {(mode.kind, mode.waves) for mode in found.modes} == {("radial", n) for n in (2, 3, 4)} | {
        ("lateral", n) for n in (2, 3, 4, 5)
    }


def test_of_a_pair_the_louder_names_the_mode() -> None:
    """Of two peaks of one mode, and of three only the two louder ones; alike loud, the lower."""
    peaks = heard()
    hz = peaks[4].hz  # lateral, three waves
    for levels, wanted in (
        ((1.0, 4.0), (1.004, 1.0)),
        ((4.0, 1.0), (1.0, 1.004)),
        ((2.0, 2.0), (1.0, 1.004)),
        ((1.0, 4.0, 7.0), (0.996, 1.004)),
    ):
        twins = [Peak(hz * at, -12.0, level) for at, level in zip((1.0, 1.004, 0.996), levels, strict=False)]
        found = fitted(RIM, [*peaks[:4], *twins, *peaks[5:]], BAND)
        (mode,) = (each for each in found.modes if (each.kind, each.waves) == ("lateral", 3))
        assert (mode.hz, mode.pair_hz) == pytest.approx((hz * wanted[0], hz * wanted[1]))
