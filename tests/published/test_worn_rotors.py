"""Rotors that are worn out. P: L. Zinn, technical column (2011): by the thickness when new.

1.5 mm for all is unsafe: a rotor of 2.0 mm is worn out at 1.8 (1.7 in the maker's earlier papers).
"""

from __future__ import annotations

import pytest

from wheelcalc.files import tables

WORN = {2.0: 1.8, 1.85: 1.55, 1.8: 1.5, 1.6: 1.4}


def test_each_new_thickness_has_its_own_limit() -> None:
    rows = [row for row in tables.load("rotors") if row["name"] == "thickness, worn out"]
    assert {row["new"]: row["value"] for row in rows} == WORN
    assert all("mark" in row["note"] for row in rows)


def test_none_wears_by_more_than_three_tenths() -> None:
    """P: 0.2 to 0.3 in all."""
    for row in tables.load("rotors"):
        if row["name"] == "thickness, worn out":
            assert row["new"] - row["value"] == pytest.approx(0.25, abs=0.051)
