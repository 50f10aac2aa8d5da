"""Which spacers make up a plan: against a search by hand, and in the words of `fit`."""

from __future__ import annotations

import time
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wheelcalc import answers
from wheelcalc.bike.spacers import from_drawer
from wheelcalc.bike.stacks import Stacks, made_of
from wheelcalc.cli.main import run

DONOR = str(Path(__file__).parents[2] / "examples" / "donor-hub.toml")
thick = st.sampled_from([0.5, 0.8, 1.0, 1.2, 1.85, 2.5])


def test_by_hand() -> None:
    # D: 3.5 = 2.5 + 1 and 2.5 itself, three pieces; with one 2.5 less, 1.5 + 1 on the right, four
    assert made_of(3.5, 2.5, {1: 4, 1.5: 2, 2.5: 2}, {}) == Stacks(((2.5, 1.0), (2.5,)), ((), ()))
    assert made_of(3.5, 2.5, {1: 4, 1.5: 2, 2.5: 1}, {}) == Stacks(((2.5, 1.0), (1.5, 1.0)), ((), ()))
    assert made_of(3.5, 2.5, {1: 4}, {}) is None


def test_a_loose_spacer_comes_off_and_may_go_over() -> None:
    # D: 2 off the left is -2; the same 2 on the right is (-2, +2)
    assert made_of(-2, 0, {}, {"left": (2.0,)}) == Stacks(((), ()), ((2.0,), ()))
    assert made_of(-2, 2, {}, {"left": (2.0,)}) == Stacks(((), (2.0,)), ((2.0,), ()))
    assert made_of(-0.5, 0, {1.5: 1}, {"left": (2.0,)}) == Stacks(((1.5,), ()), ((2.0,), ()))


@settings(deadline=None, max_examples=60)
@given(
    st.floats(0, 7),
    st.dictionaries(thick, st.integers(0, 2), max_size=2),
    st.lists(thick, max_size=2),
    st.lists(thick, max_size=1),
)
def test_every_plan_of_the_drawer_has_its_fewest_spacers(
    missing: float, drawer: dict[float, int], on_left: list[float], on_right: list[float]
) -> None:
    loose = {"left": tuple(on_left), "right": tuple(on_right)}
    pieces = [size for size, count in drawer.items() for _ in range(count)]
    choices = [((0.0, 0.0, 0), (size, 0.0, 1), (0.0, size, 1)) for size in pieces]
    choices += [((0.0, 0.0, 0), (-size, 0.0, 1), (-size, size, 2)) for size in loose["left"]]
    choices += [((0.0, 0.0, 0), (0.0, -size, 1), (size, -size, 2)) for size in loose["right"]]
    fewest: dict[tuple[float, float], int] = {}
    for pick in product(*choices):
        way = (round(sum(each[0] for each in pick), 4) + 0.0, round(sum(each[1] for each in pick), 4) + 0.0)
        fewest[way] = min(sum(each[2] for each in pick), fewest.get(way, 99))
    for left, right in from_drawer(missing, 0.5, drawer, loose).tolist():
        stacks = made_of(left, right, drawer, loose)
        assert stacks is not None
        for side, plan in enumerate((left, right)):
            assert sum(stacks.on[side]) - sum(stacks.off[side]) == pytest.approx(plan, abs=1e-4)
        assert sum(map(len, (*stacks.on, *stacks.off))) == fewest[(round(left, 4) + 0.0, round(right, 4) + 0.0)]


def test_an_axle_and_a_drawer_full_of_spacers_are_done_at_once() -> None:
    loose = {"left": (1, 1.1, 1.2, 1.3, 1.4, 1.5, 0.6, 0.7), "right": (0.5, 0.8, 0.9, 1.6, 1.7, 1.8, 1.9, 0.3)}
    start = time.process_time()
    assert made_of(-3.85, 0.15, {1: 300, 0.5: 6, 0.3: 7, 0.7: 5, 2: 3}, loose) is None  # D: all are tenths
    stacks = made_of(-4.2, 0.2, {1: 300, 0.5: 6, 0.3: 7, 0.7: 5, 2: 3}, loose)
    assert stacks is not None
    assert sum(stacks.on[0]) - sum(stacks.off[0]) == pytest.approx(-4.2)
    assert sum(stacks.on[1]) - sum(stacks.off[1]) == pytest.approx(0.2)
    assert time.process_time() - start < 20  # trying every choice of the loose ones took minutes


def test_fit_names_the_spacers(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["fit", DONOR]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "3.5 mm on the left and 2.5 mm on the right. Of those on hand: 2.5 + 1 mm left, 2.5 mm right." in text
    assert answers.fit(DONOR).as_json()["stacks"] == {
        "on": {"left": [2.5, 1.0], "right": [2.5]},
        "off": {"left": [], "right": []},
    }


def test_fit_says_what_comes_off_first(capsys: pytest.CaptureFixture[str]) -> None:
    moved = [
        "--set",
        "hub.loose_spacers={ left = [2], right = [] }",
        "--set",
        "spacers.fitted={ left=-0.5, right=6.5 }",
    ]
    run(["fit", DONOR, *moved])
    text = " ".join(capsys.readouterr().out.split())
    assert "Take 2 mm off the left. Then put on: 1.5 mm left, 2.5 + 2.5 + 1.5 mm right." in text


@pytest.mark.parametrize("more", [["--set", "spacers.fitted={ left = 3.1, right = 3 }"], ["--set", "hub.axle=through"]])
def test_no_names_where_the_drawer_does_not_make_it(more: list[str]) -> None:
    assert answers.fit(DONOR, more[1::2]).as_json()["stacks"] is None
