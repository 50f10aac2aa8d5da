"""Outside diameters of tyres. P: W. Zorn, measured on his pages (read 2026); ISO 5775 as an encyclopaedia quotes it.

A tyre's height is its section, and below a section of 28 mm the section + 2.5 mm.
"""

from __future__ import annotations

import pytest

from wheelcalc.bike.geometry import tyre_diameter

# Section, bead seat diameter, measured outside diameter [mm].
MEASURED = [(37, 349, 420), (32, 369, 430), (28, 406, 469), (47, 406, 498), (25, 559, 617), (47, 559, 645)]


@pytest.mark.parametrize(("section", "bead_seat", "outside"), MEASURED)
def test_measured_tyres(section: float, bead_seat: float, outside: float) -> None:
    # P: tyres of one section differ by so much from each other (4 mm a side), and so does the rule from them.
    assert tyre_diameter(bead_seat, section) == pytest.approx(outside, abs=8.0)


def test_a_narrow_tyre_stands_higher_than_it_is_wide() -> None:
    """Without the clause 25-559 comes out 8 mm short (D: 559 + 50 = 609), with it 3 (D: 559 + 55 = 614)."""
    assert tyre_diameter(559.0, 25.0) == pytest.approx(614.0, abs=1e-9)
    assert tyre_diameter(622.0, 23.0) == pytest.approx(673.0, abs=1e-9)
