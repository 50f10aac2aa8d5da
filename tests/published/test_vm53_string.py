"""P: ANSYS verification manual VM53, vibration of a string under tension (W. T. Thomson, Vibration Theory and Applications, 1965, p. 264).

Inputs and frequencies as printed; units inch, pound, second. The published string has no bending stiffness.
"""

import math

import pytest
from numpy.testing import assert_allclose

from wheelcalc.tension import stepped, tone

LENGTH, AREA, FORCE, DENSITY = 100.0, 0.00306796, 500.0, 0.00073
PUBLISHED = (74.708, 149.42, 224.12)  # Hz
HALF_LAST_DIGIT = (0.0005, 0.005, 0.005)


@pytest.mark.parametrize("partial", [1, 2, 3])
def test_ideal_string(partial: int) -> None:
    found = tone.ideal_pitch(FORCE, LENGTH, DENSITY * AREA, partial)
    assert float(found) == pytest.approx(PUBLISHED[partial - 1], abs=HALF_LAST_DIGIT[partial - 1])


def test_chain_of_elements_without_bending_stiffness() -> None:
    # In tenths of an inch, because 0.0625 is thinner than a wire may be in mm; forces and seconds stay, so stress and
    # density per volume are 1e2 and 1e4 times smaller. 1 psi for Young's modulus leaves a string, as published.
    wire = ([310.0, 690.0], [10 * math.sqrt(4 * AREA / math.pi)] * 2)
    found = stepped.partials(wire, FORCE, 0.0, count=3, youngs_modulus=1.0 / 1e2, density=DENSITY / 1e4)
    assert_allclose(found, PUBLISHED, rtol=4e-5)  # half the last digit of 149.42 is 3.3e-5
