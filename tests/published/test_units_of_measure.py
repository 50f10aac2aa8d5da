"""Exact values of units, as their defining documents give them.

Sources, labels P published, M from memory of the cited source, D derived independently:

[1] International yard and pound agreement, 1959 (Federal Register, 24 FR 5348): 1 yd = 0.9144 m, 1 lb = 0.45359237 kg.
[2] 3rd General Conference on Weights and Measures (CGPM), 1901: standard acceleration of gravity 9.80665 m/s2.
[3] BIPM, The International System of Units, table of derived units: 1 Pa = 1 N/m2.
"""

import pytest
from scipy import constants

from wheelcalc.answers.base import in_kgf
from wheelcalc.files.units import read

EXACT = 1e-15  # relative: every one is exact by definition, so only the last bit of a float may differ


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1 in", "length", 25.4),  # P (M) [1]: a 36th of 914.4
        ("3 ft", "length", 914.4),  # P (M) [1]
        ("5 1/2 in", "length", 139.7),  # D: 11 x 25.4 / 2
        ("7/16 in", "length", 11.1125),  # D: 7 x 25.4 / 16
        ("1 lb", "mass", 453.59237),  # P (M) [1]
        ("16 oz", "mass", 453.59237),  # P (M) [1]: avoirdupois, 16 to the pound
        ("1 kgf", "force", 9.80665),  # P [2]
        ("1 lbf", "force", 4.4482216152605),  # D: 0.45359237 x 9.80665, [1] and [2]
        ("1 MPa", "stress", 1.0),  # P [3]: 1e6 N over 1e6 mm2
        ("193 GPa", "stress", 193_000.0),  # D of [3]
    ],
)
def test_definition(text, kind, expected):
    assert read(text, kind, "key").value == pytest.approx(expected, rel=EXACT, abs=0)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        # D: scipy.constants keeps a table of its own, in m, kg and N
        ("1 in", "length", constants.inch * 1000),
        ("1 ft", "length", constants.foot * 1000),
        ("1 lb", "mass", constants.lb * 1000),
        ("1 oz", "mass", constants.oz * 1000),
        ("1 kgf", "force", constants.kgf),
        ("1 lbf", "force", constants.lbf),
    ],
)
def test_same_as_an_unrelated_table(text, kind, expected):
    assert read(text, kind, "key").value == pytest.approx(expected, rel=1e-14, abs=0)  # products of two rounded floats


def test_in_kgf():
    assert in_kgf(1176.798) == pytest.approx(120, rel=EXACT, abs=0)  # D: 120 x 9.80665, [2]
    assert in_kgf(read("73 kgf", "force", "key").value) == pytest.approx(73, rel=EXACT, abs=0)
