"""P: J. S. Allen, Check spoke tension by ear (1987): a pitch and a free length fix the stress, and the diameter hardly moves the note."""

import math

import pytest

from wheelcalc.tension import tone


def area(diameter: float) -> float:
    return math.pi / 4 * diameter**2


@pytest.mark.parametrize(("thick", "thin"), [(2.0, 1.8), (2.0, 1.5), (2.34, 1.6)])
def test_at_a_given_stress_the_note_stays(thick: float, thin: float) -> None:
    stress = 318.0  # N/mm2, 1000 N on 2.0
    high = float(tone.pinned_pitch(stress * area(thick), 290.0, thick))
    low = float(tone.pinned_pitch(stress * area(thin), 290.0, thin))
    assert abs(high / low - 1) < 0.01  # D: stiffness only; a string would give exactly the same
    assert 12 * abs(math.log2(high / low)) < 0.2  # semitones


def test_at_a_given_force_the_note_moves() -> None:
    # D: check-values table, pinned: 349.261 and 462.791 Hz at 1000 N, five semitones apart
    thick, thin = (float(tone.pinned_pitch(1000.0, 290.0, d)) for d in (2.0, 1.5))
    assert 12 * math.log2(thin / thick) == pytest.approx(4.87, abs=0.01)
