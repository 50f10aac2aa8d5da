"""Which spoke each pluck was: rounds made up with mistakes."""

from __future__ import annotations

import numpy as np
import pytest

from wheelcalc.truing.assign import Played, Spokes, assign
from wheelcalc.wheel.errors import InputError

RATIO = 0.78


def made_up(seed: int, again=(), missed=(), stray=(), both=True, pairs=False, count=24):
    """A round with spokes plucked twice, passed over with a pause, and sounds between that are none."""
    rng = np.random.default_rng(seed)
    is_right = np.arange(count) % 2 == 0 if both else np.ones(count, dtype=bool)
    logs = np.log(400) + np.where(is_right, 0, np.log(RATIO)) + rng.normal(0, 0.04, count)
    with_next = np.zeros(count, dtype=bool)
    if pairs:
        with_next[::2] = True
        logs[1::2] = logs[::2]
    rows, at = [], 0.5
    for place in range(count):
        if place in missed:
            at += 0.9
            continue
        for _ in range(1 + (place in again)):
            rows.append((at, np.exp(logs[place] + rng.normal(0, 0.001)), False, place))
            at += rng.uniform(0.8, 1.0)
    rows += [(when, 700.0, True, -1) for when in stray]
    times, pitch, doubtful, place = (np.array(column) for column in zip(*sorted(rows), strict=True))
    return Played(times, pitch, doubtful), Spokes(is_right, with_next, RATIO), place


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(
    "mistakes",
    [
        {},
        {"both": False},
        {"again": (3,)},
        {"again": (0, 11, 23)},
        {"missed": (7,)},
        {"stray": (4.1,)},
        {"again": (5,), "missed": (16,)},
        {"both": False, "pairs": True},
        {"both": False, "pairs": True, "stray": (3.3, 9.9)},
    ],
)
def test_rounds_with_mistakes(seed: int, mistakes: dict) -> None:
    played, spokes, place = made_up(seed, **mistakes)
    got = assign(played, spokes)
    np.testing.assert_array_equal(got.place, place)
    assert got.again.sum() == len(mistakes.get("again", ()))
    assert got.passed_over == list(mistakes.get("missed", ()))
    assert got.left == 0


def test_a_round_that_ends_early() -> None:
    played, spokes, _ = made_up(3, both=False)
    got = assign(Played(played.at[:10], played.pitch[:10], played.doubtful[:10]), spokes)
    np.testing.assert_array_equal(got.place, np.arange(10))
    assert got.left == 14


def test_one_pluck() -> None:
    got = assign(Played(np.array([1.0]), np.array([390.0]), np.array([False])), made_up(1)[1])
    assert got.place.tolist() == [0]


def test_more_than_two_to_a_spoke_is_refused() -> None:
    played, spokes, _ = made_up(1)
    few = Spokes(spokes.is_right[:11], spokes.sounds_with_next[:11], 1.0)
    with pytest.raises(InputError, match="24 plucks for 11 spokes"):
        assign(played, few)
