"""Which spoke each pluck was: rounds made up with mistakes, as sounds that may be several pitches each."""

from __future__ import annotations

import numpy as np
import pytest

from wheelcalc.truing.assign import SURE, Assigned, Spokes, assign
from wheelcalc.truing.recording import Sounding
from wheelcalc.wheel.errors import InputError

RATIO = 0.78


def sounding(at: float, log_pitch: float, rng: np.random.Generator, evidence: float = 9.0) -> Sounding:
    """A pluck heard at its pitch, and less likely at some others."""
    others = rng.uniform(np.log(180), np.log(650), 3)
    pitches = np.append(log_pitch, others)
    told = np.append(evidence, evidence - rng.uniform(3, 8, 3))
    return Sounding(at, pitches, np.full(4, 0.001), told, evidence - 6, -10.0)


def knock(at: float, rng: np.random.Generator) -> Sounding:
    """A sound that rings like hardly any spoke."""
    return Sounding(at, rng.uniform(5.2, 6.4, 3), np.full(3, 0.002), np.array([1.0, 0.2, -1.0]), 0.0, -14.0)


def made_up(seed: int, again=(), missed=(), stray=(), both=True, pairs=False, count=24, marks=False):
    """A round with spokes plucked twice, passed over with a pause, and sounds between that are none."""
    rng = np.random.default_rng(seed)
    is_right = np.arange(count) % 2 == 0 if both else np.ones(count, dtype=bool)
    logs = np.log(400) + np.where(is_right, 0, np.log(RATIO)) + rng.normal(0, 0.04, count)
    with_next = np.zeros(count, dtype=bool)
    if pairs:
        with_next[::2] = True
        logs[1::2] = logs[::2]
    rows, at = [], 0.5
    for place in (0, *range(count), 0, 0) if marks else range(count):
        if place in missed:
            at += 0.9
            continue
        for _ in range(1 + (place in again)):
            rows.append((at, sounding(at, logs[place] + rng.normal(0, 0.001), rng), place))
            at += rng.uniform(0.8, 1.0)
    rows += [(when, knock(when, rng), -1) for when in stray]
    rows.sort(key=lambda row: row[0])
    return [row[1] for row in rows], Spokes(is_right, with_next, RATIO), np.array([row[2] for row in rows])


def places(sounds: list[Sounding], found: Assigned) -> np.ndarray:
    """The place given to each sound, -1 where it is none."""
    given = {each.at: each.place for each in found.plucks}
    return np.array([given.get(each.at, -1) for each in sounds])


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
    sounds, spokes, place = made_up(seed, **mistakes)
    got = assign(sounds, spokes)
    np.testing.assert_array_equal(places(sounds, got), place)
    assert sum(each.again for each in got.plucks) == len(mistakes.get("again", ()))
    assert got.passed_over == list(mistakes.get("missed", ()))
    assert got.left == 0


@pytest.mark.parametrize("seed", range(4))
def test_an_unheard_pluck_of_an_even_wheel_shifts_nothing_unmarked(seed: int) -> None:
    # Even in pitch on both sides, and the pluck that nobody heard left no gap: nothing tells where it was.
    sounds, spokes, place = made_up(seed, both=False)
    missed = 6 + 3 * seed
    shorter = [each for i, each in enumerate(sounds) if i != missed]
    moved = sounds[missed + 1].at - sounds[missed].at if missed + 1 < len(sounds) else 0.0
    shorter = [
        Sounding(each.at - moved * (i >= missed), each.log_pitch, each.share, each.evidence, each.voice, each.loud)
        for i, each in enumerate(shorter)
    ]
    truth = np.delete(place, missed)
    got = assign(shorter, spokes)
    assert len(got.plucks) == truth.size
    wrong = [each for each, real in zip(got.plucks, truth, strict=True) if each.place != real]
    assert all(each.assigned < SURE for each in wrong)
    assert sum(each.assigned < SURE for each in got.plucks) >= truth.size // 3


def test_marks_settle_where_the_round_begins_and_ends() -> None:
    sounds, spokes, place = made_up(2, both=False, marks=True)
    got = assign(sounds, spokes)
    np.testing.assert_array_equal(places(sounds, got), place)
    assert got.marked == (True, True)
    # Two neighbours happen to sound alike within 0.3 per cent, so that it is not quite sure.
    assert all(each.assigned > 0.8 for each in got.plucks)


def test_a_weak_pluck_between_two_strong_ones_is_heard_where_it_stands() -> None:
    sounds, spokes, place = made_up(4)
    weak = sounds[9]
    # The wrong pitch is the likelier one by itself.
    told = np.array([2.0, 3.0, 0.0, 0.0])
    pitches = np.append(weak.log_pitch[0], [np.log(610), np.log(233), np.log(190)])
    sounds[9] = Sounding(weak.at, pitches, weak.share, told, 0.0, -20.0)
    found = assign(sounds, spokes).plucks[9]
    assert found.place == place[9]
    assert found.pitch == pytest.approx(float(np.exp(weak.log_pitch[0])))


def test_a_round_that_ends_early() -> None:
    sounds, spokes, _ = made_up(3, both=False)
    got = assign(sounds[:10], spokes)
    assert [each.place for each in got.plucks] == list(range(10))
    assert got.left == 14


def test_one_pluck() -> None:
    rng = np.random.default_rng(1)
    got = assign([sounding(1.0, float(np.log(390)), rng, 14.0)], made_up(1)[1])
    assert [each.place for each in got.plucks] == [0]


def test_more_than_two_to_a_spoke_is_refused() -> None:
    sounds, _, _ = made_up(1, both=False)
    few = Spokes(np.ones(7, dtype=bool), np.zeros(7, dtype=bool), 1.0)
    with pytest.raises(InputError, match=r"2\d plucks for 7 spokes"):
        assign(sounds, few)
