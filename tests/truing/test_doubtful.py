"""Plucks of which it is doubtful whose spoke sounded: by hand."""

from __future__ import annotations

import numpy as np

from wheelcalc.truing.doubtful import doubtful, first_unsure

LEFT = np.array([True, False] * 4)
SIDES = (LEFT, ~LEFT)


def test_a_single_doubtful_pluck_is_left_out_and_its_side_stays() -> None:
    assigned = np.array([0.99, np.nan, 0.49, np.nan, 0.93, np.nan, 0.5, np.nan])
    left_out, whole = doubtful(assigned, SIDES)
    assert np.flatnonzero(left_out).tolist() == [2]
    assert whole == [False, False]
    assert first_unsure(assigned, LEFT) == 2


def test_a_side_of_which_less_than_half_is_sure_is_left_out_whole() -> None:
    assigned = np.array([0.99, 0.95, 0.89, 0.97, 0.7, 0.91, 0.8, 0.2])
    left_out, whole = doubtful(assigned, SIDES)
    assert whole == [True, False]
    assert np.flatnonzero(left_out).tolist() == [0, 2, 4, 6, 7]


def test_tensions_read_with_a_meter_stay_beside_doubtful_plucks() -> None:
    assigned = np.array([np.nan, np.nan, 0.6, 0.6, np.nan, np.nan, 0.6, 0.99])
    left_out, whole = doubtful(assigned, SIDES)
    assert np.flatnonzero(left_out).tolist() == [2, 6]
    assert whole == [True, False]


def test_nothing_said_is_no_doubt() -> None:
    left_out, whole = doubtful(np.full(8, np.nan), SIDES)
    assert not left_out.any()
    assert whole == [False, False]


def test_nine_in_ten_is_sure_and_half_of_a_side_is_enough() -> None:
    sure = np.array([0.9, np.nan, 0.9, np.nan, 0.6, np.nan, 0.6, np.nan])
    assert doubtful(sure, SIDES)[1] == [False, False]
    assert first_unsure(sure, LEFT) == 4
    assert doubtful(np.where(sure == 0.9, 0.899, sure), SIDES)[1] == [True, False]
