"""A broken spoke against the wheel of the tests that is not linear, and against a general finite-element library."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.making.random_wheels import PITCH, Case, built, sections, simulated
from tests.making.uneven_wheels import rear, two_missing
from tests.oracles.wheel_solvers import Mesh, pynite_model
from tests.oracles.without_spoke import without_spoke
from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.arc import frames
from wheelcalc.tension.structure import Structure
from wheelcalc.truing import broken
from wheelcalc.truing.broken import home, without
from wheelcalc.truing.turns import Room
from wheelcalc.wheel.errors import InputError


def case(seed: int, tighter: float = 980.0) -> Case:
    rng = np.random.default_rng(seed)
    wheel = built(rng)
    believed, _ = sections(rng, wheel.rim.erd)
    return Case(wheel, believed, simulated(wheel, believed, tighter))


def structure(of: Case) -> Structure:
    left, right = (float(of.real.tensions[side].mean()) for side in (~of.is_right, of.is_right))
    return of.structure(left, right)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
@pytest.mark.parametrize("spoke", [8, 13])
def test_like_a_wheel_that_is_not_linear(seed: int, spoke: int) -> None:
    of = case(seed)
    found, real = without(structure(of), [spoke]), of.real.broken(spoke)
    lateral, radial = real.lateral - of.real.lateral, real.radial - of.real.radial
    # D: linear against finite displacements, and straight pieces of rim against arcs: 5 % of the run-out
    assert_allclose(found.lateral, lateral, atol=0.05 * np.ptp(lateral))
    assert_allclose(found.radial, radial, atol=0.05 * np.ptp(radial))
    assert_allclose(found.tensions, real.tensions, atol=15)
    assert found.tensions[spoke] == 0


@pytest.mark.parametrize("build", [rear, two_missing])
def test_like_the_general_library(build: object) -> None:
    """PyNiteFEA knows no tension terms: they are made small, and the answer is scaled."""
    wheel = build()  # type: ignore[operator]
    small, spoke, scale = replace(wheel, tensions=wheel.tensions / 1000), 6, 1000.0
    found = without(small, [spoke])
    left = found.structure
    mesh = Mesh.of(left, 6)
    model = pynite_model(left, mesh)
    node = int(wheel.spoke_nodes[spoke])
    axes = frames(wheel.node_angles_rad)[node]
    force = axes @ (-small.tensions[spoke] * wheel.pulls[spoke][:3])
    moment = axes @ (-small.tensions[spoke] * wheel.pulls[spoke][3:])
    for names, parts in ((("FY", "FZ", "FX"), force), (("MY", "MZ", "MX"), moment)):
        for name, part in zip(names, parts, strict=True):
            model.add_node_load(f"P{node}", name, float(part))
    model.analyze_linear(check_stability=False)
    combo = next(iter(model.load_combos))
    lateral = np.array([model.nodes[f"P{i}"].DY[combo] for i in range(left.node_count)])
    # D: PyNiteFEA with 6 straight pieces to a gap, 0.1 % from its own fine mesh
    assert_allclose(scale * found.lateral, scale * lateral, atol=0.005 * np.ptp(scale * lateral))
    changes = np.array([-model.members[f"S{k}"].axial(0.0, combo) for k in range(len(left.tensions))])
    kept = found.kept
    assert_allclose(
        scale * (found.tensions - small.tensions)[kept], scale * changes, atol=0.005 * wheel.tensions[spoke]
    )


def test_near_the_structure_whose_rim_keeps_its_forces() -> None:
    of = structure(case(5))
    found, kept = without(of, [11]), without_spoke(of, 11)
    assert_allclose(found.lateral, kept.lateral, atol=0.05 * np.ptp(kept.lateral))
    assert_allclose(found.tensions, kept.tensions, atol=0.03 * of.tensions.max())


def test_a_spoke_that_would_push_goes_slack() -> None:
    of = case(7, tighter=300.0)
    left = structure(of)
    weak = np.where(np.arange(len(left.tensions)) % 4 == 0, 0.02, 1.0)
    weak[9] = 4.0
    found = without(replace(left, tensions=left.tensions * weak), [9])
    assert found.slack
    assert all(found.tensions[i] == 0 for i in found.slack)
    assert found.tensions.min() >= 0
    assert 9 not in found.slack


def test_two_spokes_move_the_rim_further_than_one() -> None:
    of = case(2)
    one, two = (without(structure(of), spokes) for spokes in ([10], [10, 12]))
    real = of.real.broken(10).broken(12)
    assert np.ptp(two.lateral) > 1.5 * np.ptp(one.lateral)
    assert_allclose(two.lateral, real.lateral - of.real.lateral, atol=0.08 * np.ptp(two.lateral))


def test_too_few_spokes_hold_no_rim() -> None:
    with pytest.raises(InputError, match="do not hold the rim"):
        without(structure(case(2)), list(range(5, 26)))


def room(count: int, limit: float = 1300.0) -> Room:
    return Room(0.25, 1.0, np.full(count, 300.0), np.full(count, limit))


@pytest.mark.parametrize("seed", [1, 2, 4, 6])
def test_few_nipples_bring_the_rim_within_the_gap(seed: int) -> None:
    of = case(seed, tighter=850.0)
    gone = without(structure(of), [14])
    gap = 0.6 * float(np.abs(gone.lateral).max())
    found = home(gone, room(len(gone.kept)), gap, 9.0)
    assert np.abs(found.lateral).max() <= gap
    turned = np.flatnonzero(found.turns)
    assert 1 <= len(turned) <= 4
    assert np.abs((turned - 14 + 16) % len(gone.kept) - 16).max() <= 8
    assert 14 not in turned
    now = gone.tensions
    assert np.all(found.tensions <= np.maximum(now, 1300.0) + 0.01)
    real = of.real.broken(14).turned(found.turns * PITCH)
    # D: the linear plan on the wheel that is not linear
    assert np.abs(real.lateral - of.real.lateral).max() <= 1.15 * gap


def test_within_the_gap_nothing_is_turned() -> None:
    gone = without(structure(case(1)), [3])
    found = home(gone, room(len(gone.kept)), 5.0, 5.0)
    assert not found.turns.any()
    assert_allclose(found.lateral, gone.lateral)


def test_a_tyre_that_comes_out_too_far_is_brought_back_too() -> None:
    of = case(4, tighter=850.0)
    gone = without(structure(of), [14])
    out = float(gone.radial.max())
    found = home(gone, room(len(gone.kept)), 9.0, 0.8 * out)
    assert found.turns.any()
    assert found.radial.max() <= 0.8 * out


def wide(spokes: int) -> Room:
    return Room(step=0.125, most=2.0, floor=np.full(spokes, 50.0), limit=np.full(spokes, 3000.0))


def test_within_the_gaps_nothing_is_turned_and_nothing_changes() -> None:
    wheel = structure(case(3))
    gone = without(wheel, [5])
    found = home(gone, wide(len(wheel.tensions)), 50.0, 50.0)
    assert not found.turns.any()
    for name in ("lateral", "radial", "tensions"):
        assert_allclose(getattr(found, name), getattr(gone, name))


def test_what_the_turns_home_do_is_what_shortening_those_spokes_does() -> None:
    """D: superposition; the influences themselves are held against other solvers in tests/tension."""
    wheel = structure(case(3))
    gone = without(wheel, [5])
    found = home(gone, wide(len(wheel.tensions)), 0.1, 0.3)
    shorter = found.turns[gone.kept] * PITCH
    assert shorter.any()
    influence = shortening(gone.structure)
    assert_allclose(found.tensions[gone.kept], gone.tensions[gone.kept] + influence.tensions @ shorter)
    assert_allclose(found.lateral, gone.lateral + influence.lateral @ shorter)
    assert found.tensions[5] == 0


def test_spokes_far_from_the_gap_are_counted_round_the_rim() -> None:
    """D: from node i to the gap at node 0 it is i places forward or m - i back, whichever is less."""
    wheel = structure(case(2))
    m = wheel.node_count
    away = broken.nodes_away(without(wheel, [0]))
    assert away.tolist() == [min(i, m - i) for i in range(1, m)]


def test_too_few_are_refused_by_the_option() -> None:
    wheel = structure(case(1))
    with pytest.raises(InputError, match="do not hold the rim") as refused:
        without(wheel, range(1, len(wheel.tensions)))
    assert refused.value.key == "rim_holes"


def test_badness_and_bounds_of_the_way_home() -> None:
    """D: 0.2 mm sideways, 0.4 mm in plane and 300 N, each root mean square, weigh alike, a turn 0.01; bounds by hand."""
    gone = without(structure(case(3)), [5])
    kept, n = gone.kept, len(gone.kept)
    room = Room(0.25, 1.6, 500.0 + 90.0 * (np.arange(n) % 7), 700.0 + 110.0 * (np.arange(n) % 5))
    task, _ = broken.task_of(gone, room)
    x, influence = np.random.default_rng(4).normal(size=n - 1), shortening(gone.structure)
    lateral, radial, tensions = (each @ (0.25 * PITCH * x) for each in influence)
    expected = np.mean((gone.lateral + lateral) ** 2 - gone.lateral**2) / 0.2**2
    expected += np.mean((gone.radial + radial) ** 2 - gone.radial**2) / 0.4**2
    expected += np.mean(tensions**2) / 300**2 + 0.01 * np.sum((0.25 * x) ** 2)
    assert task.change(x) == pytest.approx(expected, rel=1e-9)
    assert (task.low.tolist(), task.high.tolist()) == ([-6.0] * (n - 1), [6.0] * (n - 1))
    now, floor, limit = gone.tensions[kept], room.floor[kept], room.limit[kept]
    assert np.any(now < floor)
    assert np.any(now > limit)
    assert_allclose(task.loss, [max(t - least, 0.0) for t, least in zip(now, floor, strict=True)], atol=1e-9)
    assert_allclose(task.gain, [max(most - t, 0.0) for t, most in zip(now, limit, strict=True)], atol=1e-9)


def test_a_gap_that_is_just_filled_is_enough() -> None:
    lateral, radial = np.array([0.25, -1.5, 0.5]), np.array([-9.0, 0.75, 0.5])
    assert broken.within_gaps(lateral, radial, 1.5, 0.75)
    assert not broken.within_gaps(lateral, radial, 1.49, 0.75)
    assert not broken.within_gaps(lateral, radial, 1.5, 0.74)


def test_a_spoke_that_still_pulls_a_little_is_not_slack() -> None:
    """By bisection: what one spoke must have pulled so that 0.5 N of it are left, while another goes slack."""
    wheel = structure(case(7, tighter=300.0))
    weak = np.where(np.arange(len(wheel.tensions)) == 14, 0.02, 1.0)
    weak[9] = 4.0

    def pulled(share: float) -> Structure:
        each = weak.copy()
        each[4] = share
        return replace(wheel, tensions=wheel.tensions * each)

    def once(whole: Structure) -> np.ndarray:
        """Tensions without spoke 9 while every other may push."""
        left, loads = broken.held_without(whole, np.arange(len(weak)) == 9), np.zeros((whole.node_count, 6))
        loads[whole.spoke_nodes[9]] = -whole.tensions[9] * whole.pulls[9]
        return np.asarray(whole.tensions + whole.stretched(left.displacements(loads)))

    low, high = 0.0, 4.0
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (low, middle) if once(pulled(middle))[4] > 0.5 else (middle, high)
    assert once(pulled(high))[4] == pytest.approx(0.5, abs=0.01)
    assert without(pulled(high), [9]).slack == (14,)
