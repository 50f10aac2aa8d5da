"""P: COMSOL application 'vibrating string': L 500 mm, d 1 mm, E 210 GPa, 7850 kg/m3, 1520 MPa: 440 Hz."""

import math

import pytest

from wheelcalc.tension import stepped, tone

TENSION = 1520 * math.pi / 4  # N
WIRE = {"youngs_modulus": 210_000.0, "density": 7.85e-9}
HALF_LAST_DIGIT = 0.5  # Hz


def test_string() -> None:
    found = tone.ideal_pitch(TENSION, 500.0, tone.mass_per_length(1.0, 7.85e-9))
    assert float(found) == pytest.approx(440, abs=HALF_LAST_DIGIT)


def test_stiff_wire_with_free_ends() -> None:
    assert float(tone.pinned_pitch(TENSION, 500.0, 1.0, **WIRE)) == pytest.approx(440, abs=HALF_LAST_DIGIT)
    assert float(stepped.pitch(([500.0], [1.0]), TENSION, 0.0, **WIRE)) == pytest.approx(440, abs=HALF_LAST_DIGIT)


def test_its_note() -> None:
    assert tone.note_name(440.0) == "A4"
