"""Readings that no wheel has: single ones at the door, columns that are scatter; wheels of two makes, read as people do, pass."""

from __future__ import annotations

import numpy as np
import pytest

from tests.making.other_wheels import OtherPerson, other_wheel
from tests.making.real_sessions import model_of
from tests.making.real_wheels import Person, RealCase, kink, real_wheel
from wheelcalc.truing.agreement import Disagreeing, disagreeing, strays
from wheelcalc.truing.evidence import Reader, System, fitted, state
from wheelcalc.truing.table import Table, table

MAKES = {"real": (real_wheel, Person), "other": (other_wheel, OtherPerson)}
NOTHING_KEPT = np.zeros(36, dtype=bool)


def wave(height: float = 1.0) -> np.ndarray:
    return np.round(height * np.cos(2 * np.radians(10 * np.arange(36) + 17)), 2)


@pytest.mark.parametrize("holes", [[10], [0, 35], [10, 11], [3, 17, 29]])
def test_a_few_readings_that_no_wheel_has_are_strays(holes: list[int]) -> None:
    column = wave()
    column[holes] = np.resize([30.0, -24.0, 17.5], len(holes))
    assert np.flatnonzero(strays(column, 15.0, NOTHING_KEPT)).tolist() == sorted(holes)
    kept = np.arange(36) == holes[0]
    assert np.flatnonzero(strays(column, 15.0, kept)).tolist() == sorted(set(holes) - {holes[0]})


def test_what_was_not_read_is_no_stray() -> None:
    column = wave()
    column[[10, 20]] = 30.0, np.nan
    assert np.flatnonzero(strays(column, 15.0, NOTHING_KEPT)).tolist() == [10]
    assert not strays(np.where(np.arange(36) % 9 == 0, 30.0 * (np.arange(36) == 9), np.nan), 15.0, NOTHING_KEPT).any()


def test_a_buckled_wheel_a_kink_and_a_column_in_tenths_have_no_strays() -> None:
    """Neighbours agree, or all are so large."""
    assert not strays(wave(25.0), 15.0, NOTHING_KEPT).any()
    assert not strays(wave() + kink(36, 11.0, 3.0, 14.0), 15.0, NOTHING_KEPT).any()
    assert not strays(10 * wave(1.8), 15.0, NOTHING_KEPT).any()
    many = wave()
    many[::4] = 30.0
    assert not strays(many, 15.0, NOTHING_KEPT).any()


def found(case: RealCase, *tables: Table) -> list[Disagreeing]:
    fit = fitted(System(model_of(case)(tables), tables, Reader()))
    return list(disagreeing(fit, state(fit)))


@pytest.mark.parametrize("make", MAKES)
def test_readings_of_wheels_agree(make: str) -> None:
    """Run-outs of 0.2 to 4 mm, one reading in thirty grossly wrong; read all round and at every third hole."""
    maker, person = MAKES[make]
    for seed in range(3500, 3508):
        case, rng = maker(seed, run_out=(0.2, 4.0)), np.random.default_rng(seed)
        lateral, radial, tensions = person().read(case.real, rng)
        assert found(case, table(lateral, radial, tensions)) == []
        few = np.arange(len(lateral)) % 3 > 0
        lateral[few], radial[few] = np.nan, np.nan
        assert found(case, table(lateral, radial, tensions)) == []


@pytest.mark.parametrize("make", MAKES)
def test_scatter_does_not(make: str) -> None:
    """Numbers of no wheel, each 0.5 mm about nothing, beside the tensions of one."""
    maker, person = MAKES[make]
    told = 0
    for seed in range(3510, 3518):
        case, rng = maker(seed), np.random.default_rng(seed)
        _, _, tensions = person().read(case.real, rng)
        lateral, radial = np.round(0.5 * rng.normal(size=(2, len(tensions))), 2)
        told += {each.column for each in found(case, table(lateral, radial, tensions))} != set()
    assert told >= 7


def test_one_who_read_as_coarsely_before_is_known() -> None:
    """A wheel far out of true is told of by coarse readings too; once it is truer, they are no other than before."""
    case, rng = real_wheel(3520, run_out=(0.4, 0.5)), np.random.default_rng(5)
    coarse = Person(lateral=0.45, radial=0.45, gross=0.0)
    reads = [table(*coarse.read(case.real, rng)) for _ in range(2)]
    assert found(case, reads[0]) != []
    assert found(case, *reads) == []


def test_a_column_of_which_many_are_left_out_does_not_agree() -> None:
    """Spikes of 2 mm at a third of the holes: each alone would be a misread one."""
    case, rng = real_wheel(3521, run_out=(0.8, 1.0)), np.random.default_rng(6)
    lateral, radial, tensions = Person(gross=0.0).read(case.real, rng)
    lateral[1::3] += 2.0 * rng.choice([-1, 1], len(lateral[1::3]))
    (only,) = found(case, table(lateral, radial, tensions))
    assert only.column == "lateral"
    assert only.left_out > len(lateral) / 4
