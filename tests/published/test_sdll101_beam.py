"""P inputs, D values: code_aster SDLL101, pinned beam under tension (formula of Blevins, Formulas for Natural Frequency, 1979, p. 144).

E 200 GPa, diameter 10 mm, length 2000 mm, density 7800 kg/m3. Frequencies from check-values, 'Thread, stretch, pitch'.
"""

import pytest
from numpy.testing import assert_allclose

from wheelcalc.tension import stepped, tone

TENSIONS = [0.0, 10.0, 100.0, 1000.0]  # N
FIRST = [4.9713, 5.0728, 5.9090, 11.2577]  # Hz
BEAM = {"youngs_modulus": 200_000.0, "density": 7.8e-9}


def test_closed_form() -> None:
    assert_allclose(tone.pinned_pitch(TENSIONS, 2000.0, 10.0, **BEAM), FIRST, rtol=0, atol=0.00005)


@pytest.mark.parametrize("lengths", [[2000.0], [310.0, 1250.0, 440.0]])
def test_chain_of_elements(lengths: list[float]) -> None:
    found = stepped.pitch((lengths, [10.0] * len(lengths)), TENSIONS, 0.0, **BEAM)
    assert_allclose(found, FIRST, rtol=0, atol=0.00008)  # half the last digit, and the elements' 5e-6 of the value


def test_tension_from_its_pitch() -> None:
    found = stepped.tension_from_pitch(([2000.0], [10.0]), FIRST[1:], 0.0, **BEAM)
    assert_allclose(found, TENSIONS[1:], rtol=0, atol=0.02)  # 0.00005 Hz is up to 0.018 N
