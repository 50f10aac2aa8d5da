"""Which of the sounds are plucks, at which pitch, of which spoke: decided together for the whole round.

What each sound may be (`recording`) is weighed with the order of the holes, the rhythm, the level of each side, pairs that touch,
spokes plucked again, left out or not heard (`walk`). A wheel's level is not known before: the few levels that explain the
sounds best are all walked, and count by how well they do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.truing.recording import Sounding
from wheelcalc.truing.walk import ANY_PITCH, Steps, Walked, walked
from wheelcalc.wheel.errors import InputError

# Ours: peaks of one sound are not independent of each other, so that together they tell this share of what each would.
TEMPER = 0.9
# Ours: chance that a sound that begins is none of the round, and that it rings like a spoke all the same; that nothing of a
# pluck can be heard but that something was struck; and that the right pitch is not among those kept.
OTHER, STRAY, UNTOLD, NOT_AMONG = 0.5, 0.01, 0.05, 0.05
# D: a pitch that peaks agree with is one of as many as fit, 0.6 per cent each, between the least and the greatest.
FINE = float(np.log(ANY_PITCH / (0.006 * np.sqrt(2 * np.pi))))
# Of the logarithm of the pitch: how far the spokes of a side lie from its level, most and the odd ones; least and most believed.
SIDE_SPREAD, ODD_SPREAD, ODD = 0.05, 0.25, 0.08
LEAST_SPREAD, MOST_SPREAD = 0.015, 0.1
RATIO_SPREAD = 0.05  # how far the sides' levels are from the balance of a wheel in the middle
LEVEL_STEP, LEVELS, LEVELS_APART = 0.02, 3, 0.12
BESIDE = 0.3  # of log pitch, ours: a level may lie so far beside all that was heard, five semitones
WIDER = 1.5  # ours: times the spread of a side, while the level is still sought
MOST_EVIDENCE = 50.0  # of a logarithm, ours: beyond it a pitch is certain, and an exponential still a number
SHORTEST_GAP = 0.05  # s, ours: no hand plucks faster
GAPS = (0.45, 0.65, 0.9, 1.3, 1.9)  # s, usual times between plucks that are tried
APART_CHANCE = 0.2  # that spokes which should touch do not
ALIKE_CHANCE = 0.03  # that both sides sound alike in a dished wheel, or that one side was plucked and both are meant
MARKS_CHANCE = 0.05  # that start and end are marked
TOUCHING_SHARE = 0.95  # of the spokes that should touch so many do
SURELY_SAME = 0.999  # a spoke plucked twice is the same
TRIED_SPREAD = 0.3
USUAL_SPREAD, LEAST_RHYTHM, MOST_RHYTHM = 0.25, 0.1, 0.4  # of the logarithm of the gap
MOST_WALKS, HOPELESS = 4, 10.0  # so many are looked at more closely; not those behind by that, ln of a likelihood ratio
# Ours: what is off between the table and a real wheel's spokes is off in all of them alike, so that a whole level is told from another
# by no more than so many plucks tell; levels nearer than that (of the logarithm) are one.
TELLING, ONE_LEVEL = 6.0, 0.06
ROUNDS = 2  # in which level, spread and rhythm are read off what was found, and all is walked again
MOST_STRAYS = 6
# Ours: ln of the likelihood ratio that a pluck of a good recording adds, or all of a poor one; knocks and talk add 9 at most.
TELLS, TELLS_IN_ALL = 4.0, 11.0
MOST_VOICE = 6.0  # no single sound says more than this of what the whole is
LISTED = 0.5  # likelier than not
MENTIONED = 0.05  # ours: what may be a pluck is listed, as doubtful as it is: a person hears again what was there
READ, READ_TOGETHER = 0.005, 0.01  # what a pitch is to be read to, as a share: of a spoke alone, and of two that touch
GUESSED = 0.2  # a pitch less sure than this is not said
SURE = 0.95  # of a pitch or a spoke: 19 times in 20


@dataclass(frozen=True, eq=False)
class Spokes:
    """The spokes in the order in which they were to be plucked, (m,).

    Parameters
    ----------
    is_right : side
    sounds_with_next : whether it touches the next one and so has the same pitch
    ratio : pitch of the left side over that of the right one, as expected
    """

    is_right: Bools
    sounds_with_next: Bools
    ratio: float


@dataclass(frozen=True)
class Pluck:
    """One pluck.

    Parameters
    ----------
    at : when it began [s]
    pitch : of its fundamental [Hz]; nan where none can be told
    share : standard uncertainty of the pitch, as a share of it
    confidence : 0 to 1 that this is its fundamental, read to half a per cent, or to one where spokes touch
    place : of its spoke in the order of the round, from 0; -1: of none
    assigned : 0 to 1 that it is this spoke
    again : whether it is the spoke of the pluck before once more
    there : 0 to 1 that it was a pluck at all
    """

    at: float
    pitch: float
    share: float
    confidence: float
    place: int
    assigned: float
    again: bool
    there: float = 1.0

    @property
    def known(self) -> bool:
        """Whether its pitch is more than a guess."""
        return self.confidence >= GUESSED

    @property
    def sure(self) -> bool:
        """Whether its pitch is as sure as figures usually are, 19 times in 20."""
        return self.confidence >= SURE

    @property
    def likely(self) -> bool:
        """Whether it is likelier a pluck than not."""
        return self.there >= LISTED

    @property
    def placed(self) -> bool:
        """Whether its spoke is as sure."""
        return self.place >= 0 and self.assigned >= SURE

    @property
    def usable(self) -> bool:
        """Whether pitch and spoke are likelier right than not."""
        return self.place >= 0 and min(self.confidence, self.assigned) >= LISTED


@dataclass(frozen=True, eq=False)
class Assigned:
    """What was heard.

    Parameters
    ----------
    plucks : in order
    passed_over : places that seem to have been left out between others
    left : how many at the end were not reached
    marked : whether two plucks of the first spoke mark the start, and the end, of the round
    likeness : 0 to 1, how much the whole is like a round of plucks
    voice : ln of how much likelier its partials are a voice's or an instrument's than a spoke's, mean over the plucks
    log_likelihood : ln of how much likelier all that is heard is so than if its peaks lay anywhere
    """

    plucks: Sequence[Pluck]
    passed_over: list[int]
    left: int
    marked: tuple[bool, bool]
    likeness: float
    voice: float
    log_likelihood: float = 0.0


@dataclass(frozen=True, eq=False)
class _Level:
    """Pitches of the sides [ln Hz], how their spokes differ, and the rhythm: mean and spread of the logarithm of the gaps."""

    right: float
    left: float
    spread: float
    gap: float
    rhythm: float


def assign(sounds: Sequence[Sounding], spokes: Spokes) -> Assigned:
    """Decide what the sounds of a round are.

    Raises
    ------
    InputError
        If there are more plucks than two to a spoke.
    """
    if not any(each.log_pitch.size for each in sounds):
        return Assigned([], [], spokes.is_right.size, (False, False), 0.0, 0.0)
    at, log_pitch, evidence = _arrays(sounds)
    posterior, apart, likely, told, marks = _posterior(at, log_pitch, evidence, spokes)
    read_off = _read_off(sounds, log_pitch, posterior, apart, spokes)
    ends = (read_off.marked[0] and marks, read_off.marked[1] and marks)
    return replace(
        read_off,
        marked=ends,
        likeness=_likeness(sounds, posterior, told),
        voice=_voice(sounds, posterior),
        log_likelihood=likely,
    )


def _voice(sounds: Sequence[Sounding], posterior: Floats) -> float:
    """Ln of how much likelier whole multiples of a fundamental are than a spoke's partials, mean over the plucks."""
    taken_as_spoke = posterior[:, :, :-1].sum(axis=1)
    best, weight = taken_as_spoke.argmax(axis=1), taken_as_spoke.max(axis=1)
    over = [
        float(np.clip(each.voice - each.evidence[pitch], -MOST_VOICE, MOST_VOICE))
        if pitch < each.evidence.size
        else 0.0
        for each, pitch in zip(sounds, best.tolist(), strict=True)
    ]
    return float(weight @ np.array(over) / max(float(weight.sum()), 1e-9))


def _likeness(sounds: Sequence[Sounding], posterior: Floats, told: float) -> float:
    """0 to 1: how much of what sounds is of the round, how surely its pitches are known, whether each pluck or all tell enough."""
    in_round = np.minimum(posterior.sum(axis=(1, 2)), 1.0)
    if in_round.sum() < LISTED:
        return 0.0
    power = 10 ** (np.array([each.loud for each in sounds]) / 10)
    taken_as_spoke = posterior[:, :, :-1].sum(axis=1).max(axis=1)
    share, sure = np.sum(power * in_round) / power.sum(), np.sum(taken_as_spoke) / in_round.sum()
    enough = max(told / in_round.sum() / TELLS, told / TELLS_IN_ALL)
    return float(share * sure * np.clip(enough, 0, 1))


def _arrays(sounds: Sequence[Sounding]) -> tuple[Floats, Floats, Floats]:
    """When, pitches (n, k) and their evidence (n, k + 1), tempered; the last column is for another pitch."""
    most = max(each.log_pitch.size for each in sounds)
    log_pitch, evidence = np.full((len(sounds), most), np.nan), np.full((len(sounds), most + 1), -1e9)
    for row, each in enumerate(sounds):
        log_pitch[row, : each.log_pitch.size] = each.log_pitch
        if each.log_pitch.size:
            evidence[row, : each.log_pitch.size] = TEMPER * each.evidence - FINE
        evidence[row, -1] = np.logaddexp(np.log(UNTOLD), evidence[row, :-1].max() + np.log(NOT_AMONG))
    return np.array([each.at for each in sounds]), log_pitch, evidence


def _posterior(
    at: Floats, log_pitch: Floats, evidence: Floats, spokes: Spokes
) -> tuple[Floats, Floats, float, float, bool]:
    """Of each sound at each place and pitch; the likelihoods of each being none of the round: nothing or a stray, (n, 2);
    ln of how much likelier the round is than nothing; whether it is likelier a marked one.
    """
    pluck = np.logaddexp.reduce(evidence[:, :-1], axis=1)
    apart = np.stack([np.full(at.size, np.log(OTHER)), np.log(STRAY) + pluck], axis=1)
    none = np.logaddexp(apart[:, 0], apart[:, 1])
    levels = _levels(log_pitch, evidence, spokes)
    alike = _levels(log_pitch, evidence, replace(spokes, ratio=1.0))[0]
    kinds = [(level, 1 - ALIKE_CHANCE) for level in levels] + [(alike, ALIKE_CHANCE)] * (spokes.ratio != 1)

    def walks(levels: Sequence[_Level], ways: Sequence[Spokes], marks: bool) -> list[Walked]:
        steps = (
            _steps(at, log_pitch, evidence, none, way, each, marks) for way, each in zip(ways, levels, strict=True)
        )
        return walked(list(steps))

    tried = [replace(levels[0], gap=float(np.log(gap))) for gap in GAPS]
    likely = [each.log_likelihood for each in walks(tried, [spokes] * len(tried), False)]
    gap = tried[int(np.argmax(likely))].gap
    begun = []
    for marks in (False, True):
        plans = [
            (
                replace(level, gap=gap),
                way,
                float(np.log(chance * usual * (MARKS_CHANCE if marks else 1 - MARKS_CHANCE))),
            )
            for way, chance in _ways(spokes)
            for level, usual in kinds
        ]
        every = walks([level for level, _, _ in plans], [way for _, way, _ in plans], marks)
        begun += [(plan[2] + each.log_likelihood, *plan, marks, each) for plan, each in zip(plans, every, strict=True)]
    begun.sort(key=lambda each: -each[0])
    alike_in_all = max(1.0, at.size / TELLING)
    close: list[tuple[float, _Level, Spokes, float, bool, Walked]] = []
    for each in begun:
        new = all(abs(each[1].right - other[1].right) > ONE_LEVEL for other in close)
        behind = (begun[0][0] - each[0]) / (alike_in_all if new else 1.0)
        if behind < HOPELESS and (new or len(close) < MOST_WALKS):
            close.append(each)
    ended: list[Walked] = []
    marked: list[bool] = []
    chances: list[float] = []
    rights: list[float] = []
    for marks in (False, True):
        rows = [each for each in close if each[4] == marks]
        if not rows:
            continue
        learned, ways, last = [each[1] for each in rows], [each[2] for each in rows], [each[5] for each in rows]
        for _ in range(ROUNDS):
            learned = [
                _learned(level, _folded(each.posterior, marks), at, log_pitch, spokes)
                for level, each in zip(learned, last, strict=True)
            ]
            last = walks(learned, ways, marks)
        ended += [replace(each, posterior=_folded(each.posterior, marks)) for each in last]
        marked += [marks] * len(rows)
        rights += [each.right for each in learned]
        chances += [row[3] + each.log_likelihood for row, each in zip(rows, last, strict=True)]
    weight = _weights(np.array(chances), np.array(rights), alike_in_all)
    return (
        np.asarray(sum(w * assigned.posterior for w, assigned in zip(weight, ended, strict=True))),
        apart,
        max(chances),
        max(chances) - float(none.sum()),
        bool(weight @ np.array(marked) > LISTED),
    )


def _weights(chances: Floats, rights: Floats, alike_in_all: float) -> Floats:
    """What each walk counts: within a level by its likelihood, a level against another by that of a few plucks."""
    nearest = np.abs(rights[:, None] - rights) < ONE_LEVEL
    best = np.where(nearest, chances, -np.inf).max(axis=1)
    weight = np.exp((best - best.max()) / alike_in_all + chances - best)
    return np.asarray(weight / weight.sum())


def _ways(spokes: Spokes) -> list[tuple[Spokes, float]]:
    """Spokes that touch, and the same held apart; with the chance of each."""
    if not spokes.sounds_with_next.any():
        return [(spokes, 1.0)]
    held = replace(spokes, sounds_with_next=np.zeros_like(spokes.sounds_with_next))
    return [(spokes, 1 - APART_CHANCE), (held, APART_CHANCE)]


def _levels(log_pitch: Floats, evidence: Floats, spokes: Spokes) -> list[_Level]:
    """The levels that most sounds are near, best first."""
    shift = float(np.log(spokes.ratio))
    if spokes.is_right.all() or not spokes.is_right.any():
        shift = 0.0
    grid = np.arange(np.nanmin(log_pitch) - BESIDE, np.nanmax(log_pitch) + BESIDE, LEVEL_STEP)
    right = _near_level(log_pitch[:, :, None] - grid, WIDER * SIDE_SPREAD)
    left = _near_level(log_pitch[:, :, None] - grid - shift, WIDER * SIDE_SPREAD)
    share = spokes.is_right.mean()
    chance = np.exp(np.minimum(evidence[:, :-1], MOST_EVIDENCE))[:, :, None] * (share * right + (1 - share) * left)
    score = np.log(OTHER + np.nansum(chance, axis=1)).sum(axis=0)
    out: list[_Level] = []
    for best in np.argsort(-score).tolist():
        if all(abs(grid[best] - each.right) > LEVELS_APART for each in out):
            out.append(_Level(float(grid[best]), float(grid[best]) + shift, SIDE_SPREAD, 0.0, TRIED_SPREAD))
            if len(out) == LEVELS:
                break
    return out


def _near_level(away: Floats, spread: float) -> Floats:
    """Likelihood of a pitch so far from its side's level, over that of any pitch."""
    near = np.exp(-0.5 * (away / spread) ** 2) / spread
    odd = np.exp(-0.5 * (away / ODD_SPREAD) ** 2) / ODD_SPREAD
    return np.asarray(ANY_PITCH / np.sqrt(2 * np.pi) * ((1 - ODD) * near + ODD * odd))


def _steps(
    at: Floats, log_pitch: Floats, evidence: Floats, none: Floats, spokes: Spokes, level: _Level, marks: bool
) -> Steps:
    sides = [np.log(_near_level(log_pitch - each, level.spread) + 1e-30) for each in (level.left, level.right)]
    by_side = np.nan_to_num(np.pad(np.stack(sides), ((0, 0), (0, 0), (0, 1))), nan=-1e9)
    place = _places(spokes, marks)
    by_place = np.moveaxis(by_side[spokes.is_right[place].astype(int)], 0, 1)
    alike = np.where(spokes.sounds_with_next[place], TOUCHING_SHARE, 0.0)
    alike[:-1][place[1:] == place[:-1]] = SURELY_SAME
    alike[-1] = 0.0
    return Steps(at, log_pitch, evidence, none, by_place, alike, level.gap, level.rhythm, marks)


def _places(spokes: Spokes, marks: bool) -> Ints:
    """The spokes in the order of a round that ends where it began, with or without marks, (p,)."""
    once = np.arange(spokes.is_right.size)
    return np.concatenate([[0], once, [0, 0]] if marks else [once, [0]])


def _folded(posterior: Floats, marks: bool) -> Floats:
    """A posterior of a marked round as one of an unmarked one: both plucks of a mark are at one place."""
    if not marks:
        return posterior
    out = posterior[:, 1:-1].copy()
    out[:, 0] += posterior[:, 0]
    out[:, -1] += posterior[:, -1]
    return out


def _learned(level: _Level, posterior: Floats, at: Floats, log_pitch: Floats, spokes: Spokes) -> _Level:
    """Level, spread and rhythm as the walks found them, held together by what is usual."""
    is_right = np.append(spokes.is_right, spokes.is_right[0])
    pitch = np.nan_to_num(log_pitch)
    by_side = np.stack([posterior[:, mask, :-1].sum(axis=1) for mask in (~is_right, is_right)])
    means = []
    for counts, old in zip(by_side, (level.left, level.right), strict=True):
        weight = counts * (np.abs(pitch - old) < 4 * level.spread)
        # Ours: the level before counts as two spokes.
        means.append(float((np.sum(weight * pitch) + 2 * old) / (weight.sum() + 2)))
    off = pitch - np.array(means)[:, None, None]
    weight = by_side * (np.abs(off) < 4 * level.spread)
    spread = np.sqrt((np.sum(weight * off**2) + 4 * SIDE_SPREAD**2) / (weight.sum() + 4))
    sure = posterior.sum(axis=(1, 2)) > LISTED
    gap, rhythm = level.gap, level.rhythm
    if sure.sum() > 4:
        logs = np.log(np.maximum(np.diff(at[sure]), SHORTEST_GAP))
        gap = float(np.median(logs))
        # D: 1.4826 median absolute deviations are a standard deviation, where errors are normal.
        around = 1.4826 * float(np.median(np.abs(logs - gap)))
        rhythm = float(
            np.clip(
                np.sqrt((around**2 * sure.sum() + 4 * USUAL_SPREAD**2) / (sure.sum() + 4)), LEAST_RHYTHM, MOST_RHYTHM
            )
        )
    return _Level(means[1], means[0], float(np.clip(spread, LEAST_SPREAD, MOST_SPREAD)), gap, rhythm)


def _within(share: float, spokes: Spokes) -> float:
    """Chance that a pitch of the right partial, of such a standard uncertainty, is read well enough to be told (D: normal)."""
    allowed = READ_TOGETHER if spokes.sounds_with_next.any() else READ
    return math.erf(allowed / (math.sqrt(2) * share)) if share > 0 else 0.0


def _read_off(
    sounds: Sequence[Sounding], log_pitch: Floats, posterior: Floats, apart: Floats, spokes: Spokes
) -> Assigned:
    """The likeliest of each sound, and how sure it is."""
    count = spokes.is_right.size
    in_round = np.minimum(posterior.sum(axis=(1, 2)), 1.0)
    stray = (1 - in_round) * np.exp(apart[:, 1] - np.logaddexp(apart[:, 0], apart[:, 1]))
    by_place = posterior.sum(axis=2)
    holes = by_place[:, :count].copy()
    holes[:, 0] += by_place[:, count]
    plucks: list[Pluck] = []
    positions: list[int] = []
    for row, sound in enumerate(sounds):
        if in_round[row] + stray[row] < MENTIONED:
            continue
        place = int(holes[row].argmax()) if in_round[row] > stray[row] else -1
        by_pitch = posterior[row, :, :-1].sum(axis=0)
        if sound.log_pitch.size:
            own = np.exp(TEMPER * (sound.evidence - sound.evidence.max()))
            by_pitch[: own.size] += stray[row] * own / own.sum()
        best = int(by_pitch.argmax())
        position = int(by_place[row].argmax()) if place >= 0 else -1
        again = position >= 0 and bool(positions) and positions[-1] == position
        assigned = float(holes[row, place] / max(in_round[row] + stray[row], LISTED)) if place >= 0 else 0.0
        sure = float(by_pitch[best] / max(in_round[row] + stray[row], LISTED))
        share = float(sound.share[best]) if sound.share.size else np.nan
        plucks.append(
            Pluck(
                sound.at,
                float(np.exp(log_pitch[row, best])),
                share,
                sure * _within(share, spokes),
                place,
                assigned,
                again,
                float(min(in_round[row] + stray[row], 1.0)),
            )
        )
        positions += [position] if position >= 0 else []
    there = [each for each in plucks if each.likely]
    if sum(each.place >= 0 for each in there) > 2 * count + 2 or len(there) > 2 * count + MOST_STRAYS:
        raise InputError(
            "",
            f"has {len(there)} plucks for {count} spokes; check the side, the first rim hole and what was skipped, or cut it to one round",
        )
    reached = max(positions, default=-1)
    missed = sorted(set(range(min(reached + 1, count))) - set(positions))
    marked = (positions.count(0) > 1, positions.count(count) > 1)
    return Assigned(plucks, missed, max(count - 1 - reached, 0), marked, 0.0, 0.0)
