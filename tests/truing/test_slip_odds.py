"""Odds of slips: each part of the sum held against what it is by hand, or by scipy."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import multivariate_normal

from tests.making.real_sessions import model_of
from tests.making.real_wheels import Person, RealCase, real_wheel
from wheelcalc.truing import slips
from wheelcalc.truing.evidence import Fit, Reader, System, likeliest
from wheelcalc.truing.model import Model
from wheelcalc.truing.slips import (
    PRIOR,
    Glances,
    Likelier,
    Slip,
    changes,
    likelier,
    mean_tension,
    strain,
    tells_of_unit,
    together,
    variants,
)
from wheelcalc.truing.table import Table, table


@pytest.fixture(scope="module")
def case() -> RealCase:
    return real_wheel(634, run_out=(0.6, 4.0))


@pytest.fixture(scope="module")
def read(case: RealCase) -> Table:
    return table(*Person(gross=0).read(case.real, np.random.default_rng(5)))


@pytest.fixture(scope="module")
def model(case: RealCase, read: Table) -> Model:
    return model_of(case)([read])


def of(times: float, strained: float = 0.1, what: str = "lateral sign") -> Likelier:
    return Likelier(Slip(what, "newest", "", 0.01), times, 1.0, strained)


def test_ways_of_one_slip_add_up_and_are_never_sure_where_readings_stay_no_wheels() -> None:
    assert together([of(3.0), of(11.0), of(2.5)]).times == pytest.approx(16.5)
    assert together([of(300.0, 3.1), of(11.0, 9.0)]).times == pytest.approx(311.0)
    assert together([of(300.0, 3.2), of(11.0, 9.0)]).times == pytest.approx(311.0)
    assert together([of(300.0, 3.3), of(11.0, 0.0)]).times == 20.0
    assert together([of(3.0, 3.3), of(11.0, 5.0)]).times == pytest.approx(14.0)


def test_strain_is_what_is_beyond_the_usual_in_its_own_error(read: Table, model: Model) -> None:
    """D: regions, lateral, radial and tension alone, each in the error of its logarithm (1.6, 1.6, 1.6, 1.5)."""
    system = System(model, [read], Reader())
    sizes = np.array([9.0, 9.0, 9.0, 9.0, 9.0, 1.3, 2.1, 0.4, 1.7])
    expected = sum((math.log(size) / math.log(usual)) ** 2 for size, usual in ((1.3, 1.6), (2.1, 1.6), (1.7, 1.5)))
    assert strain(Fit(system, sizes, system.nothing())) == pytest.approx(expected)


def test_a_column_made_larger_must_run_out(read: Table) -> None:
    nan = np.full(len(read.lateral), np.nan)
    flat = replace(read, lateral=np.linspace(0, 0.49, len(nan)), radial=np.linspace(0, 0.51, len(nan)))
    assert not tells_of_unit(flat, (25.4, 1.0, 1.0))
    assert tells_of_unit(flat, (1.0, 25.4, 1.0))
    assert tells_of_unit(flat, (1.0, 1.0, 9.8))
    assert tells_of_unit(flat, (0.1, 0.1, 1.0))
    assert not tells_of_unit(replace(flat, radial=nan), (1.0, 25.4, 1.0))
    assert not tells_of_unit(replace(flat, radial=np.linspace(0, 0.5, len(nan))), (1.0, 25.4, 1.0))
    assert not tells_of_unit(flat, (1.5, 1.0, 1.0))


def test_the_mean_tension_of_wheels(read: Table) -> None:
    """D: a normal of the logarithm about 900 N, half a unit wide, over all tensions of all tables."""
    n = len(read.tensions)
    one, other = np.full(n, 500.0), np.full(n, np.nan)
    other[:2] = 700.0
    tables = [replace(read, tensions=one), replace(read, tensions=other)]
    mean = (500.0 * n + 1400.0) / (n + 2)
    assert mean_tension(tables) == pytest.approx(-0.5 * (math.log(mean / 900) / 0.5) ** 2)
    assert mean_tension([replace(read, tensions=np.full(n, np.nan))]) == 0.0
    assert mean_tension([replace(read, tensions=np.zeros(n))]) == pytest.approx(-0.5 * (math.log(1 / 900) / 0.5) ** 2)


def test_odds_before_any_reading_are_those_of_the_slip_by_its_ways(read: Table, model: Model) -> None:
    """D: each slip's odds, shared among its ways; of two tables half for the newest alone. Per unit of the readings as typed."""
    ways = Counter()
    for slip, tables in variants(model, [read]):
        assert (slip.scope, len(tables)) == ("newest", 1)
        assert slip.log_odds == pytest.approx(math.log(slip.odds) + slip.scale)
        ways[slip.what] += slip.odds
    assert {what: ways[what] for what in ("lateral sign", "radial sign", "columns swapped")} == {
        what: pytest.approx(PRIOR[what]) for what in ("lateral sign", "radial sign", "columns swapped")
    }
    # from the first hole alone, left as left: the same table mirrored, another true wheel
    assert ways["counted backwards"] == pytest.approx(0.75 * PRIOR["counted backwards"])
    assert ways["started at another hole"] == pytest.approx(PRIOR["started at another hole"])
    assert "turned the wrong way" not in ways
    turned = replace(read, turned=np.where(np.arange(len(read.turned)) % 3 == 0, 0.25, 0.0))
    both = Counter()
    for slip, tables in variants(model, [turned, read]):
        assert len(tables) == 2
        both[slip.what, slip.scope] += slip.odds
        if slip.scope == "newest":
            assert tables[0] is turned
    for what in ("lateral sign", "counted backwards", "started at another hole"):
        assert both[what, "newest"] == pytest.approx(PRIOR[what] / 2)
        assert both[what, "all"] == pytest.approx(PRIOR[what] / 2)
    assert both["turned the wrong way", "all"] == PRIOR["turned the wrong way"]
    *_, (last, (before, newest)) = variants(model, [turned, read])
    assert (last.what, newest) == ("turned the wrong way", read)
    assert_allclose(before.turned, -turned.turned)
    assert all(slip.what != "turned the wrong way" for slip, _ in variants(model, [read, read]))


def test_readings_are_likelier_per_unit_where_they_are_made_smaller(read: Table, model: Model) -> None:
    """D: change of variables, a factor for each reading."""
    m = len(read.lateral)
    scales = {slip.detail: slip.scale for slip, _ in variants(model, [read]) if slip.what == "units"}
    assert scales["lateral in tenths of a millimetre"] == pytest.approx(m * math.log(0.1))
    assert scales["tension in kgf"] == pytest.approx(len(read.tensions) * math.log(9.80665))
    assert all(slip.scale == 0 for slip, _ in variants(model, [read]) if slip.what != "units")


def test_moves_among_the_holes_by_hand(read: Table, model: Model) -> None:
    """D: a table that says in each cell at which hole it was read, from each way undone."""
    m = model.nodes
    numbered = table(np.arange(m) + 0.0, np.arange(m) + 100.0, np.arange(m) + 200.0, own_sigma=np.arange(m) + 300.0)
    ways = {(each.what, each.detail): each for each in changes(model, several=True)}
    by_hand = {
        ("started at another hole", "by 2"): [(np.arange(m) + 2) % m, (np.arange(m) - 2) % m],
        ("counted backwards", "from the last hole"): [(m - 1 - np.arange(m)) % m],
        ("counted backwards", "from the first hole"): [(-np.arange(m)) % m],
    }
    for name, orders in by_hand.items():
        moved = ways[name].change(numbered)
        assert moved is not None
        order = next(each for each in orders if moved.lateral[0] == each[0])
        for column, first in ((moved.lateral, 0), (moved.radial, 100), (moved.tensions, 200), (moved.own_sigma, 300)):
            assert_allclose(column, order + first)
    mirrored = ways["counted backwards", "from the last hole, left taken for right"].change(numbered)
    assert mirrored is not None
    assert_allclose(mirrored.lateral, -(m - 1.0 - np.arange(m)))
    assert_allclose(mirrored.radial, 100 + m - 1.0 - np.arange(m))
    swapped = ways["columns swapped", "lateral and radial"].change(numbered)
    assert swapped is not None
    assert (swapped.lateral[3], swapped.radial[3], swapped.tensions[3]) == (103.0, 3.0, 203.0)
    kgf = ways["units", "tension in kgf"].change(numbered)
    assert kgf is not None
    assert (kgf.tensions[1], kgf.own_sigma[1], kgf.lateral[1]) == (
        pytest.approx(201 * 9.80665),
        pytest.approx(301 * 9.80665),
        1.0,
    )
    shares = Counter()
    for each in changes(model, several=True):
        shares[each.what] += each.share
    assert all(share == pytest.approx(1.0) for share in shares.values())


def test_a_glance_is_scipys_with_everything_half_as_large_again(read: Table, model: Model) -> None:
    """D: of the same readings, mended or not, up to one constant; a share of 0.03 of them gross; the second looks up the first's root."""
    glances, seen = Glances(), []
    for some in (read, replace(read, lateral=-read.lateral), replace(read, radial=read.lateral, lateral=read.radial)):
        system = System(model, [some], Reader())
        covariance = Fit(system, np.full(9, 1.5), system.nothing()).covariance
        first = System(model, [read], Reader())
        wide = covariance if not seen else Fit(first, np.full(9, 1.5), first.nothing()).covariance
        wide = wide + 0.03 * np.diag(first.gross_variance)
        normal = multivariate_normal(np.zeros(len(wide)), wide, allow_singular=True)
        seen.append((glances.log(system), float(normal.logpdf(system.misfit))))
    ours, scipys = np.array(seen).T
    assert_allclose(ours - ours[0], scipys - scipys[0], rtol=1e-5, atol=1e-3)
    assert ours[0] - scipys[0] == pytest.approx(0.5 * len(read.values) * math.log(2 * math.pi), rel=1e-6)


def test_how_many_times_likelier_is_the_ratio_of_evidences_and_odds(case: RealCase, read: Table) -> None:
    """D: both fits made here; the slip undone is the readings as they were, before their sign was turned."""
    typed = replace(read, lateral=-read.lateral)
    found = {each.slip.what: each for each in likelier(model_of(case), [typed], Reader())}
    make = model_of(case)
    as_typed, mended = (likeliest(System(make([each]), [each], Reader())) for each in (typed, read))
    expected = math.exp(min(mended.log_marginal + math.log(0.01) - as_typed.log_marginal, 50.0))
    top = found["lateral sign"]
    assert top.times == pytest.approx(expected, rel=0.02)
    assert top.worst == pytest.approx(float(mended.sizes[-3:].max()), rel=1e-3)
    assert top.strain == pytest.approx(strain(mended), rel=1e-2, abs=1e-6)
    ordered = [each.times for each in likelier(model_of(case), [typed], Reader())]
    assert ordered == sorted(ordered, reverse=True)


def numbered(m: int) -> Table:
    """A table that says in each cell at which hole it was read."""
    return table(np.arange(m) + 0.0, np.arange(m) + 100.0, np.arange(m) + 200.0, own_sigma=np.arange(m) + 300.0)


def test_signs_and_pairs_are_undone_by_hand(model: Model) -> None:
    m = model.nodes
    ways = {(each.what, each.detail): each for each in changes(model, several=False)}
    lateral, radial, pairs, inches = (
        ways[name].change(numbered(m))
        for name in (
            ("lateral sign", ""),
            ("radial sign", ""),
            ("columns swapped", "left and right tensions"),
            ("units", "lateral and radial in inches"),
        )
    )
    assert lateral is not None
    assert (lateral.lateral[3], lateral.radial[3], lateral.tensions[3]) == (-3.0, 103.0, 203.0)
    assert radial is not None
    assert (radial.lateral[3], radial.radial[3], radial.tensions[3]) == (3.0, -103.0, 203.0)
    assert pairs is not None
    assert pairs.tensions[:6].tolist() == [201.0, 200.0, 203.0, 202.0, 205.0, 204.0]
    assert (pairs.lateral[3], pairs.radial[3]) == (3.0, 103.0)
    assert inches is not None
    assert (inches.lateral[3], inches.radial[3], inches.tensions[3]) == (
        pytest.approx(76.2),
        pytest.approx(103 * 25.4),
        203.0,
    )


@pytest.mark.parametrize("several", [False, True])
def test_starts_that_can_be_told(model: Model, several: bool) -> None:
    """D: of one reading by one hole either way, since two holes bring each side to itself; of two readings by any number."""
    m = model.nodes
    shifts = [each for each in changes(model, several=several) if each.what == "started at another hole"]
    moved = [each.change(numbered(m)) for each in shifts]
    wanted = list(range(1, m)) if several else [1, m - 1]
    assert [int(each.lateral[0]) for each in moved if each is not None] == wanted
    assert [each.detail for each in shifts] == [f"by {min(by, m - by)}" for by in wanted]
    assert [each.share for each in shifts] == pytest.approx([1 / len(wanted)] * len(wanted))


def test_a_tension_is_not_moved_to_a_hole_without_a_spoke() -> None:
    """D: of four holes the last has no spoke."""
    some, nodes = table(np.arange(4.0), np.arange(4.0), np.array([500.0, 600.0, np.nan])), np.array([0, 1, 2])
    back = (np.arange(4) - 1) % 4  # what was read at hole 3 goes to hole 4, where there is none
    moved = slips.moved_rows(some, nodes, back)
    assert moved is not None
    assert moved.tensions[1:].tolist() == [500.0, 600.0]
    assert slips.moved_rows(replace(some, tensions=np.array([500.0, 600.0, 700.0])), nodes, back) is None


def test_a_flat_table_is_no_table_in_inches(read: Table, model: Model) -> None:
    flat = replace(read, lateral=0.01 * np.arange(len(read.lateral)) % 0.3, radial=0 * read.radial)
    details = {slip.detail for slip, _ in variants(model, [flat]) if slip.what == "units"}
    assert "lateral and radial in inches" not in details
    assert "lateral and radial in inches" in {slip.detail for slip, _ in variants(model, [read])}


def test_turns_made_the_wrong_way_are_those_after_the_pass_before(read: Table, model: Model) -> None:
    turned = replace(read, turned=np.linspace(-1, 1, len(read.turned)))
    first, last = replace(read, radial=read.radial + 1), replace(read, radial=read.radial + 2)
    *_, (slip, tables) = variants(model, [first, turned, last])
    assert (slip.what, slip.scope, slip.detail, slip.odds) == ("turned the wrong way", "all", "", 0.005)
    assert (tables[0], tables[2], len(tables)) == (first, last, 3)
    assert_allclose(tables[1].turned, -turned.turned)


def test_the_mean_tension_and_the_unit_count_in_how_many_times_likelier(
    case: RealCase, read: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    """D: kgf undone: the evidence, the odds, the mean of wheels and a factor of 9.8 for each tension."""
    monkeypatch.setattr(slips, "MOST_LOG", 600.0)
    typed = replace(read, tensions=read.tensions / 9.80665)
    top = next(each for each in likelier(model_of(case), [typed], Reader()) if each.slip.what == "units")
    make = model_of(case)
    as_typed, mended = (likeliest(System(make([each]), [each], Reader())) for each in (typed, read))
    expected = mended.log_marginal - as_typed.log_marginal + mean_tension([read]) - mean_tension([typed])
    expected += math.log(0.004 / 5) + len(read.tensions) * math.log(9.80665)
    assert math.log(top.times) == pytest.approx(expected, abs=0.05)


def test_which_slips_are_looked_at_again(case: RealCase, read: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    """D: told glances of -10, means of tension -2 as typed and -5 mended: those with odds of over e^-5, units counted in."""
    looked: list[float] = []
    sizes = np.array([1, 1, 1, 1, 1, 9, 2, 3, 1.5])

    def told(system: System) -> Fit:
        looked.append(float(system.tables[0].tensions[0]))
        return Fit(system, sizes, system.nothing())

    typed = replace(read, tensions=read.tensions / 9.80665)
    monkeypatch.setattr(slips, "likeliest", told)
    monkeypatch.setattr(slips.Glances, "log", lambda *_: -10.0)
    monkeypatch.setattr(slips, "mean_tension", lambda tables: -2.0 if tables[0] is typed else -5.0)
    found = likelier(model_of(case), [typed], Reader())
    assert {each.slip.what for each in found} == {"lateral sign", "radial sign", "units"}
    assert len(looked) == 5  # as typed too, and two units
    assert all(each.worst == 3.0 for each in found)
    monkeypatch.setattr(slips, "MOST_LOOKED", 1)
    assert [each.slip.detail for each in likelier(model_of(case), [typed], Reader())] == [
        "lateral and radial in inches"
    ]
