"""Spoke threads are two systems. P: DIN 79012 as two trade pages quote it; D: British cycle sizes.

15, 14 and 13 gauge are 0.072, 0.080 and 0.092 in wire grown by rolling to 2.096, 2.299 and 2.604 mm; that is the gauge
in inches (old wire gauge) plus 0.0105 in.
"""

from __future__ import annotations

import pytest

from wheelcalc.files import tables

OLD_WIRE_IN = {1.8: 0.072, 2: 0.080, 2.3: 0.092}


def test_the_outer_diameters_are_the_wire_and_what_rolling_adds() -> None:
    rows = [row for row in tables.load("threads") if row["part"] == "spoke" and row.get("core", 0) > 1.6]
    assert len(rows) == 3
    for row in rows:
        # Printed to 0.001 mm, the inches to 0.0001 (0.0025 mm).
        assert row["diameter"] == pytest.approx(25.4 * (OLD_WIRE_IN[row["wire"]] + 0.0105), abs=0.003)


def test_no_pitch_is_assumed_for_the_thickest_wire() -> None:
    (row,) = (row for row in tables.load("threads") if row["part"] == "spoke" and row["wire"] == 2.6)
    assert "pitch" not in row
    assert "tpi" not in row
