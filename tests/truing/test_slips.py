"""Slips of whole columns: found at the first reading or at the second, and not where there are none. Seeds not tuned on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from tests.making.real_sessions import Learner, model_of
from tests.making.real_wheels import Person, RealCase, real_wheel
from wheelcalc.truing.evidence import Reader
from wheelcalc.truing.slips import PRIOR, Likelier, changes, likelier, widened
from wheelcalc.truing.table import Table, table

SEEDS = range(620, 628)
Read = tuple[np.ndarray, np.ndarray, np.ndarray]
SURE = 20.0


def read(seed: int) -> tuple[RealCase, Read]:
    case = real_wheel(seed, run_out=(0.6, 4.0))
    return case, Person().read(case.real, np.random.default_rng(seed))


def found(case: RealCase, *tables: Table) -> Likelier | None:
    out = likelier(model_of(case), tables, Reader())
    return out[0] if out and out[0].times > SURE else None


def lateral_sign(read: Read) -> Read:
    return -read[0], *read[1:]


def by_three(read: Read) -> Read:
    lateral, radial, tensions = (np.roll(each, 3) for each in read)
    return lateral, radial, tensions


def backwards(read: Read) -> Read:
    lateral, radial, tensions = (each[::-1] for each in read)
    return lateral, radial, tensions


def swapped(read: Read) -> Read:
    return read[1], read[0], read[2]


def in_kgf(read: Read) -> Read:
    return read[0], read[1], read[2] / 9.81


@pytest.mark.parametrize(
    ("slip", "named", "least"),
    [
        (lateral_sign, {"lateral sign"}, 6),
        (by_three, {"started at another hole", "counted backwards", "columns swapped"}, 7),
        (backwards, {"started at another hole", "counted backwards", "columns swapped"}, 7),
        (swapped, {"columns swapped"}, 7),
        (in_kgf, {"units"}, 8),
    ],
)
def test_a_slip_is_found_at_the_first_reading(slip: Callable[[Read], Read], named: set[str], least: int) -> None:
    """One reading alone: moves by any odd number, from either end and swapped sides look alike, so any of them is named."""
    right = 0
    for seed in SEEDS:
        case, cells = read(seed)
        top = found(case, table(*slip(cells)))
        right += top is not None and top.slip.what in named
    assert right >= least


def test_readings_as_they_are_raise_no_alarm() -> None:
    for seed in range(640, 654):
        case, cells = read(seed)
        assert found(case, table(*cells)) is None, seed


@pytest.mark.parametrize("seed", [3015, 3021, 3073])
def test_readings_whose_causes_are_hard_to_find_are_no_slip(seed: int) -> None:
    """Wheels far out of true: looked at too shortly, a tenth of their readings seemed gross, and a slip likelier than that."""
    case, cells = read(seed)
    assert found(case, table(*cells)) is None


@pytest.mark.parametrize("lateral_phase", [0.0, 0.6, 1.57])
@pytest.mark.parametrize("waves", [1, 2])
@pytest.mark.parametrize("seed", [653, 654])
def test_readings_smooth_round_the_rim_raise_no_alarm(seed: int, waves: int, lateral_phase: float) -> None:
    """Invented: a wave in lateral and in all tensions alike, which no wheel on its own spokes has. No slip made it so."""
    case = real_wheel(seed)
    model = model_of(case)([table(*Person().read(case.real, np.random.default_rng(seed)))])
    angle = model.structure.node_angles_rad
    high = 1 + 0.1 * np.cos(waves * angle[model.structure.spoke_nodes])
    lateral = np.round(0.8 * np.cos(waves * angle - lateral_phase), 2)
    some = table(lateral, np.round(0.1 * np.sin(waves * angle), 2), np.round(high * model.structure.tensions))
    assert found(case, some) is None


@pytest.mark.parametrize("dish", [-1.3, 1.3])
def test_sides_that_do_not_go_with_the_dish_are_no_slip(dish: float) -> None:
    """Invented: off the middle, the sides' tensions as of a wheel in the middle and 5 % apart from that."""
    case = real_wheel(655)
    tensions = case.real.tensions
    means = [tensions[side].mean() * share for side, share in ((~case.is_right, 1.05), (case.is_right, 1.0))]
    m = case.wheel.rim.holes
    some = table(np.full(m, dish), np.zeros(m), np.round(np.where(case.is_right, means[1], means[0])))
    assert found(case, some) is None


def mirrored(read: Read) -> Read:
    return -read[0][::-1], read[1][::-1], read[2][::-1]


def by_four(read: Read) -> Read:
    lateral, radial, tensions = (np.roll(each, 4) for each in read)
    return lateral, radial, tensions


@pytest.mark.parametrize("slip", [mirrored, by_four])
@pytest.mark.parametrize("seed", [630, 631])
def test_what_looks_like_another_true_wheel_the_turns_tell(slip: Callable[[Read], Read], seed: int) -> None:
    """Read one way and turned the other, both times."""
    case, _ = read(seed)
    rng, person, asked = np.random.default_rng(seed), Person(), Learner(case)
    turns = asked.turns(*slip(person.read(case.real, rng)))
    assert turns.any()
    real = person.turn(case.real, turns, rng)
    assert found(case, asked.tables[0], table(*slip(person.read(real, rng)))) is not None


def test_turned_the_wrong_way_is_told_from_a_good_pass() -> None:
    case, cells = read(633)
    rng, person, asked = np.random.default_rng(1), Person(), Learner(case)
    turns = asked.turns(*cells)
    good, wrong = (person.turn(case.real, way * turns, rng) for way in (1, -1))
    assert found(case, asked.tables[0], table(*person.read(good, rng))) is None
    top = found(case, asked.tables[0], table(*person.read(wrong, rng)))
    assert top is not None
    assert top.slip.what == "turned the wrong way"


def test_every_slip_is_undone_by_its_change() -> None:
    """D: what each slip does, done by hand, comes back to the readings as they were."""
    case, cells = read(634)
    model, m = model_of(case)([table(*cells)]), case.wheel.rim.holes
    lateral, radial, tensions = cells
    slips = {
        ("lateral sign", ""): (-lateral, radial, tensions),
        ("started at another hole", "by 1"): tuple(np.roll(each, 1) for each in cells),
        ("counted backwards", "from the last hole"): tuple(each[::-1] for each in cells),
        ("columns swapped", "left and right tensions"): (lateral, radial, tensions[np.arange(m) ^ 1]),
        ("units", "lateral in tenths of a millimetre"): (10 * lateral, radial, tensions),
    }
    ways = {}
    for each in changes(model, several=True):
        ways.setdefault((each.what, each.detail), each)
    for name, slipped in slips.items():
        back = ways[name].change(table(*slipped))
        assert back is not None
        for column, expected in zip((back.lateral, back.radial, back.tensions), cells, strict=True):
            np.testing.assert_allclose(column, expected, err_msg=str(name))
    assert sum(PRIOR.values()) == pytest.approx(0.05)


def test_a_change_of_unit_counts_every_reading_once() -> None:
    """D: 3 lateral readings tenfold, 2 tensions by 9.8."""
    some = table(np.array([0.1, np.nan, 0.3, 0.2]), np.full(4, np.nan), np.array([90.0, 80.0, np.nan, np.nan]))
    assert widened(some, (0.1, 1.0, 9.8)) == pytest.approx(3 * np.log(0.1) + 2 * np.log(9.8))
    assert widened(replace(some, tensions=np.full(4, np.nan)), (1.0, 5.0, 9.8)) == 0.0
