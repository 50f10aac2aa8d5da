"""Which reading is wrong: every slip of the trade weighed by how well it explains where the spoke ends came out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.salvage import trade
from wheelcalc.salvage.cases import GUESSED, Case
from wheelcalc.salvage.catalogue import ANY_SLIP, Slip, all_slips
from wheelcalc.salvage.witness import SHARED, Values, Witness, joined_misfits
from wheelcalc.wheel.parts import SIDES

NONE = "none"
# Ours: a slip as likely as this is named as the one, from this on it is named at all; what is told apart is looked for
# among so many explanations.
SURE, NAMED, AMONG = 0.8, 0.02, 8
# C: spokes are sold in whole mm; ours: so many of old ones are (others are of inches, or were cut), and so true to it
# that a bundle is with its elbows [mm]. The whole ones beside a reading.
WHOLE, TRUE_TO, BESIDE = 0.85, 0.15, np.array([-1.0, 0.0, 1.0, 2.0])


@dataclass(frozen=True)
class Explanation:
    """One slip, or none, and how likely it is.

    Parameters
    ----------
    what, look : in words, and the one look that settles it
    probability : that it happened, and no other did
    misfit : what remains unexplained at its likeliest size, root mean square over the sides [mm]
    reading : what it is about
    would_be : what the readings then are, by name, the likeliest [mm, count]
    """

    what: str
    look: str
    probability: float
    misfit: float
    reading: str = ""
    would_be: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Verdict:
    """What the seen ends say of the readings.

    Parameters
    ----------
    explanations : none among them, the likeliest first; their probabilities add up to one
    unexplained : misfit of the readings as they stand, root mean square over the sides [mm]
    divider : the look that would tell the likeliest explanations apart best, and what it would leave open
    """

    explanations: tuple[Explanation, ...]
    unexplained: float
    divider: str

    @cached_property
    def none(self) -> Explanation:
        """That nothing slipped."""
        return next(each for each in self.explanations if each.what == NONE)

    @property
    def best(self) -> Explanation:
        """The likeliest slip, whether or not one happened."""
        return next(each for each in self.explanations if each.what != NONE)

    @property
    def agree(self) -> bool:
        """Whether it is likelier that nothing slipped than that anything did."""
        return self.none.probability >= 0.5

    @property
    def told(self) -> bool:
        """Whether one slip is sure enough to be named alone."""
        return self.best.probability >= SURE

    @property
    def named(self) -> tuple[Explanation, ...]:
        """The slips that are likely enough to be named."""
        return tuple(each for each in self.explanations if each.what != NONE and each.probability >= NAMED)

    @property
    def words(self) -> str:
        """Which reading is wrong, or that it cannot be told, in a sentence or two."""
        if self.agree:
            return f"None need be: the spokes' ends sit {self.unexplained:.1f} mm from where the readings put them, within their errors."
        if self.told:
            sure = f"Most likely ({100 * self.best.probability:.0f} %): {self.best.what}."
            return f"{sure} It leaves {self.best.misfit:.1f} mm of {self.unexplained:.1f} unexplained."
        if self.named:
            others = "; ".join(f"{each.what} ({100 * each.probability:.0f} %)" for each in self.named[:4])
            none = (
                f"; or nothing at all ({100 * self.none.probability:.0f} %)" if self.none.probability >= NAMED else ""
            )
            return f"Cannot tell these apart: {others}{none}."
        return "No single slip explains it: perhaps two things are wrong, or one that is not in this list."

    @property
    def look(self) -> str:
        """The one measurement that settles it, or settles most; empty where there is nothing to settle."""
        if self.agree:
            return ""
        return f"To be sure: {self.best.look}" if self.told else f"Read this one to know: {self.divider}"


def with_inches(verdict: Verdict | None, keys: Sequence[str]) -> Verdict:
    """Return the verdict where some readings cannot be in mm and were taken as inches: that they are is what happened.

    Parameters
    ----------
    verdict : on the readings as inches; None where no ends were seen
    keys : of the build file that were taken so
    """
    words: dict[str, list[str]] = {}
    for key in keys:
        sides = [part for part in key.split(".") if part in SIDES]
        word = next(part for part in reversed(key.split(".")) if part not in SIDES)
        words.setdefault(word, []).extend(sides)
    named = [
        f"{word}{f', {own[0]}' if len(own) == 1 else ', both sides' if own else ''}" for word, own in words.items()
    ]
    what = f"{' and '.join(named)}: inches for mm"
    look = f"Measure {', '.join(keys)} again, in mm."
    none = Explanation(NONE, "", 0.0, 0.0)
    if verdict is None:
        return Verdict((Explanation(what, look, 1.0, 0.0, keys[0]), none), 0.0, look)
    best = Explanation(what, look, verdict.none.probability, verdict.none.misfit, keys[0])
    others = [each for each in verdict.explanations if each.what not in (NONE, what)]
    same = [each for each in verdict.explanations if each.what == what]
    best = replace(best, probability=best.probability + sum(each.probability for each in same))
    ranked = sorted([best, *others, none], key=lambda each: -each.probability)
    return Verdict(tuple(ranked), verdict.unexplained, verdict.divider)


def explain(cases: Sequence[Case]) -> Verdict:
    """Weigh the slips.

    Parameters
    ----------
    cases : one or two wheels whose ends were seen, sharing one rim

    Notes
    -----
    Bayes: the probability of a slip is how often it is made, times how likely the readings are if it was, over the sum
    of the same for all slips and for none. A slip says what the readings would be without it, in several sizes; each is
    weighed by the misfit r of the ends and its covariance C, N(r; 0, C), by the spread of the ends where enough were
    seen, and by how usual such parts are; the sizes are summed over (the marginal likelihood). C is first-order
    propagation (JCGM 100:2008, 5.1.2) of all readings' errors, a reading of the rim moving all wheels at once.
    """
    witnesses = [Witness(case) for case in cases]
    plain = [witness.values for witness in witnesses]
    none = _log_likelihood(witnesses, plain)
    weighed = [_Weighed(NONE, "", "", float(none.logs[0]) + np.log(1 - ANY_SLIP), none.rms[0], plain)]
    every_slip: list[tuple[Slip, int]] = []
    for index, witness in enumerate(witnesses):
        every_slip += [(slip, index) for slip in all_slips(witness, with_rim=index == 0)]
    total = sum(slip.weight for slip, _ in every_slip)
    tried = [_tried(slip, index, witnesses) for slip, index in every_slip]
    weighed += [_weighed(each, own, total) for each, own in zip(tried, _likelihoods(tried), strict=True)]
    return _verdict(weighed, float(none.rms[0]), witnesses)


@dataclass(frozen=True, eq=False)
class _Likelihood:
    """Log likelihood of each version, (k,), and the root mean square of its misfits [mm]."""

    logs: Floats
    rms: Floats


@dataclass(frozen=True, eq=False)
class _Weighed:
    """A slip with the log of prior and marginal likelihood together, and the readings at its likeliest size."""

    what: str
    look: str
    reading: str
    log: float
    misfit: float
    values: Sequence[Mapping[str, Any]]


@dataclass(frozen=True, eq=False)
class _Tried:
    """A slip undone: the wheels without it, and all their readings in every version of it, each (k,)."""

    slip: Slip
    witnesses: Sequence[Witness]
    versions: Sequence[Values]

    @property
    def many(self) -> int:
        """In how many versions."""
        return len(self.slip.shares)


def _tried(slip: Slip, index: int, witnesses: Sequence[Witness]) -> _Tried:
    moved = list(witnesses)
    if slip.case is not witnesses[index].case:
        moved[index] = Witness(slip.case)
    versions = []
    for place, witness in enumerate(moved):
        own = {name: value for name, value in slip.versions.items() if place == index or name in SHARED}
        versions.append(
            {name: np.full(len(slip.shares), own.get(name, value)) for name, value in witness.values.items()}
        )
    return _Tried(slip, moved, versions)


def _likelihoods(tried: Sequence[_Tried]) -> list[_Likelihood]:
    """Of each slip; all that leave the wheels' errors as they are in one call."""
    together: dict[tuple[int, ...], list[int]] = {}
    for at, each in enumerate(tried):
        together.setdefault(tuple(id(witness) for witness in each.witnesses), []).append(at)
    every_slip: dict[int, _Likelihood] = {}
    for places in together.values():
        some = [tried[at] for at in places]
        versions = [
            {name: np.concatenate([each.versions[wheel][name] for each in some]) for name in witness.values}
            for wheel, witness in enumerate(some[0].witnesses)
        ]
        every = _log_likelihood(some[0].witnesses, versions)
        ends = np.cumsum([each.many for each in some])[:-1]
        parts = zip(np.split(every.logs, ends), np.split(every.rms, ends), strict=True)
        every_slip |= {at: _Likelihood(logs, rms) for at, (logs, rms) in zip(places, parts, strict=True)}
    return [every_slip[at] for at in range(len(tried))]


def _weighed(tried: _Tried, likelihood: _Likelihood, total: float) -> _Weighed:
    slip = tried.slip
    logs = likelihood.logs + np.log(np.maximum(slip.shares, 1e-300))
    likeliest = int(np.argmax(logs))
    of = f" ({slip.case.name})" if len(tried.witnesses) > 1 and slip.name not in SHARED else ""
    prior = np.log(ANY_SLIP * slip.weight / total)
    return _Weighed(
        slip.what + of,
        slip.look,
        slip.name,
        float(_log_sum(logs) + prior + slip.bonus),
        float(likelihood.rms[likeliest]),
        [{name: value[likeliest] for name, value in each.items()} for each in tried.versions],
    )


def _log_sum(logs: Floats) -> float:
    top = float(np.max(logs))
    return top + float(np.log(np.exp(logs - top).sum())) if np.isfinite(top) else -np.inf


def _log_likelihood(witnesses: Sequence[Witness], versions: Sequence[Values]) -> _Likelihood:
    misfits, covariance = joined_misfits(witnesses, versions)
    logs = np.logaddexp(
        np.log(1 - WHOLE) + log_normal(misfits, covariance),
        np.log(WHOLE) + log_whole(witnesses, versions, misfits, covariance),
    )
    for witness, values in zip(witnesses, versions, strict=True):
        logs = logs + witness.spread_evidence(values) + _usual(witness, values)
    logs = np.where(np.isfinite(logs), logs, -np.inf)
    return _Likelihood(logs, np.sqrt((misfits**2).mean(axis=1)))


def log_normal(misfits: Floats, covariance: Floats) -> Floats:
    """Log of N(misfits; 0, covariance), (..., k) for misfits (..., k, n); constants of all left out."""
    with np.errstate(invalid="ignore", divide="ignore"):
        precision = np.linalg.inv(covariance)
        squares = np.einsum("...ki,kij,...kj->...k", misfits, precision, misfits)
        return np.asarray(-squares / 2 - np.linalg.slogdet(covariance)[1] / 2)


def log_whole(witnesses: Sequence[Witness], versions: Sequence[Values], misfits: Floats, covariance: Floats) -> Floats:
    """The same, for spokes of whole mm.

    Notes
    -----
    A length read as m is one of the whole ones n beside it, N(m; n, s); given n its error is known, so that the misfit
    becomes what it would be with n, and its covariance loses s^2 (D). Summed over the whole lengths of both sides.
    """
    count, width = misfits.shape
    rest, moves, logs = covariance.copy(), np.zeros((1, count, width)), np.zeros((1, count))
    for index, (witness, values) in enumerate(zip(witnesses, versions, strict=True)):
        for place, side in enumerate(SIDES):
            column, sigma = 2 * index + place, witness.sigmas.get(f"length.{side}", 0.0)
            if witness.as_ordered or not sigma:
                continue
            rest[:, column, column] -= sigma**2
            read = np.broadcast_to(values[f"length.{side}"], (count,))
            off = read - (np.floor(read) + BESIDE[:, None])  # (n, k)
            true = np.hypot(sigma, TRUE_TO)
            near = -((off / true) ** 2) / 2 - np.log(true * np.sqrt(2 * np.pi))
            shift = np.zeros((len(BESIDE), count, width))
            shift[:, :, column] = off
            moves = (moves[:, None] + shift[None]).reshape(-1, count, width)
            logs = (logs[:, None] + near[None]).reshape(-1, count)
    both = logs + log_normal(misfits + moves, rest)
    top = both.max(axis=0)
    with np.errstate(invalid="ignore"):
        return np.where(np.isfinite(top), top + np.log(np.exp(both - top).sum(axis=0)), -np.inf)


def _usual(witness: Witness, values: Values) -> Floats:
    """How usual these parts are, and the places of an old wheel's ends; where a hub cannot be, not at all."""
    build = witness.case.build
    names = ("pcd", "over", "erd") if witness.as_ordered else ("pcd", "crosses", "over", "erd")
    parts = {name: value for name, value in values.items() if name.startswith(names)}
    if build["rim.erd"].origin == GUESSED:
        del parts["erd"]
    parts |= {f"offset.{side}": witness.offset(side, values) for side in SIDES}
    seat = build.rim.bead_seat_diameter
    front = build.position == "front"
    usual = trade.log_density(parts, rear=not front, bead_seat=None if seat is None else float(seat))
    if witness.as_ordered:
        return usual
    return np.asarray(usual + sum(trade.log_end(values[f"end.{side}"]) for side in SIDES))


def _verdict(weighed: Sequence[_Weighed], unexplained: float, witnesses: Sequence[Witness]) -> Verdict:
    """Slips of the same words are one; the likeliest first."""
    top = max(each.log for each in weighed)
    total = sum(np.exp(each.log - top) for each in weighed)
    merged: dict[str, list[_Weighed]] = {}
    for each in weighed:
        merged.setdefault(each.what, []).append(each)
    rows = []
    for what, alike in merged.items():
        probability = float(sum(np.exp(each.log - top) for each in alike) / total)
        rows.append((probability, max(alike, key=lambda each: each.log), what))
    rows.sort(key=lambda row: -row[0])
    explanations = tuple(
        Explanation(what, one.look, probability, float(one.misfit), one.reading, _changed(one.values, witnesses))
        for probability, one, what in rows
    )
    return Verdict(explanations, unexplained, divider_of(explanations[:AMONG], witnesses))


def _changed(values: Sequence[Mapping[str, Any]], witnesses: Sequence[Witness]) -> tuple[tuple[str, float], ...]:
    """The readings that a slip would change, and what they then are."""
    out = {}
    for witness, own in zip(witnesses, values, strict=True):
        for name, value in own.items():
            if abs(float(value) - float(witness.values[name])) > 1e-9:
                out[name] = float(value)
    return tuple(out.items())


def divider_of(explanations: Sequence[Explanation], witnesses: Sequence[Witness]) -> str:
    """The look that parts the likeliest explanations best.

    Notes
    -----
    Each look shows one reading anew, with its tool's error; two explanations that foresee values d apart are told apart
    with a chance of about 1 - exp(-(d / sigma)^2 / 8) (the overlap of two normals, D). The look with the largest sum
    of that over all pairs, each weighed by both probabilities, is named.
    """
    looks = {name: each.look for each in reversed(explanations) for name, _ in each.would_be}
    sigmas = {name: sigma for witness in witnesses for name, sigma in witness.sigmas.items()}
    gains = {}
    for name in looks:
        values = [dict(each.would_be).get(name, float(witnesses[-1].values[name])) for each in explanations]
        apart = (np.subtract.outer(values, values) / max(1.4 * sigmas.get(name, 0.2), 0.05)) ** 2
        shares = np.array([each.probability for each in explanations])
        gains[name] = float((np.outer(shares, shares) * (1 - np.exp(-apart / 8))).sum())
    return looks[max(gains, key=lambda name: gains[name])] if gains else ""
