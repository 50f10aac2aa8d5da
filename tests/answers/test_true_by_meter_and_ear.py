"""Readings of one pass of which some tensions came off a meter and some by ear."""

from __future__ import annotations

import numpy as np

from tests.making.stands import file_of
from wheelcalc import answers
from wheelcalc.answers.truing.readings import pass_readings
from wheelcalc.files.readings import passes_of
from wheelcalc.measuring import assemble


def test_both_count_each_spoke_by_its_own() -> None:
    """A meter's reading stays as read; a note becomes the tension that it would be without any meter's beside it."""
    file = file_of()
    wheel = assemble.wheel(file.build)
    mixed = passes_of("rim_hole,tension_N,pitch_hz\n1,905,\n2,512,\n3,,371\n4,,318\n", "r.csv", 32)[0]
    heard = passes_of("rim_hole,pitch_hz\n3,371\n4,318\n", "r.csv", 32)[0]
    both, ear = (pass_readings(file.build, wheel, each) for each in (mixed, heard))
    assert both.tensions[:2].tolist() == [905, 512]
    assert np.isnan(both.sigma[:2]).all()
    np.testing.assert_allclose(both.tensions[2:4], ear.tensions[2:4])
    np.testing.assert_allclose(both.sigma[2:4], ear.sigma[2:4])
    assert np.isnan(both.tensions[4:]).all()


def test_notes_of_a_log_are_worked_with() -> None:
    rows = "".join(f"{hole},{0.03 * (hole % 5):.2f},{371 + hole % 3 if hole % 2 else ''}\n" for hole in range(1, 33))
    read = passes_of(f"rim_hole,lateral_mm,pitch_hz\n{rows}", "r.csv", 32)
    assert answers.true(file_of(), read).was_read("tensions")
