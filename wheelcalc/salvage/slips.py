"""Which reading is wrong: the single slips of the trade, ranked by how well each explains where the ends came out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.measuring.statistics import DISAGREE, HARDLY_BY_CHANCE, chi_square_chance
from wheelcalc.salvage.cases import Case
from wheelcalc.salvage.catalogue import Slip, all_slips, with_values
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

# Ours: two explanations that lie closer than this many standard uncertainties cannot be told apart.
TELL_APART = 3.0
# Seen ends of one side in this many or more also tell how far they spread.
ENOUGH_FOR_SPREAD = 4


@dataclass(frozen=True)
class Explanation:
    """How well one slip explains what was seen.

    Parameters
    ----------
    what, look : of the slip
    misfit : what remains unexplained, root mean square over the seen ends [mm]
    chi_square : the same in standard uncertainties, all errors and what they share counted
    """

    what: str
    look: str
    misfit: float
    chi_square: float


@dataclass(frozen=True)
class Verdict:
    """What the seen ends say of the readings.

    Parameters
    ----------
    unexplained : explanation by no slip at all
    agree : whether readings and ends agree within their errors
    explanations : slips, the best first
    explains : whether the best one leaves no more than the errors allow
    rivals : other slips that these readings cannot tell from the best one
    """

    unexplained: Explanation
    agree: bool
    explanations: tuple[Explanation, ...]
    explains: bool
    rivals: tuple[Explanation, ...]

    @property
    def best(self) -> Explanation:
        """The slip that explains most."""
        return self.explanations[0]

    @property
    def told(self) -> bool:
        """Whether there is something to explain, one slip does, and no other one does as well."""
        return not self.agree and self.explains and not self.rivals

    @property
    def words(self) -> str:
        """Which reading is wrong, or that it cannot be told, in a sentence or two."""
        best, misfit = self.best, self.unexplained.misfit
        if self.agree:
            return f"None need be: the spokes' ends sit where the readings put them, within their errors ({misfit:.1f} mm off)."
        if self.told:
            return f"Most likely: {best.what}. It leaves {best.misfit:.1f} mm of {misfit:.1f} unexplained."
        if self.explains:
            others = "; or ".join(each.what for each in self.rivals[:3])
            return f"Cannot tell: {best.what}; or {others}. These readings do not tell them apart."
        return "No single slip explains it: perhaps two things are wrong, or one that is not in this list."

    @property
    def look(self) -> str:
        """The one measurement that settles it, or settles most; empty where there is nothing to settle."""
        if self.agree:
            return ""
        return f"{'To be sure' if self.told else 'One look that settles most'}: {self.best.look}"


def explain(cases: Sequence[Case]) -> Verdict:
    """Rank the slips by what remains unexplained.

    Parameters
    ----------
    cases : one or two wheels whose ends were seen, sharing one rim

    Notes
    -----
    Every slip predicts where the ends would be; the misfit r is weighed with the covariance C of all reading errors,
    chi-square = r' C^-1 r. Two explanations a and b are told apart where (p_a - p_b)' C^-1 (p_a - p_b) is at least
    `TELL_APART` squared.
    """
    seen = np.concatenate([_seen(case) for case in cases])
    root = np.linalg.cholesky(_covariance(cases))
    tried = [(slip, _moved(slip, cases)) for slip in all_slips(cases)]
    kept = [slip for slip, moved in tried if moved is not None]
    plain = np.concatenate([_predicted(case) for case in cases])
    predictions = np.array([plain, *(moved for _, moved in tried if moved is not None)])
    whitened = np.linalg.solve(root, predictions.T).T
    misfits = np.linalg.solve(root, seen) - whitened
    chi_squares = (misfits**2).sum(axis=1)
    left = np.sqrt(((seen - predictions)[:, _is_mean(cases)] ** 2).mean(axis=1))
    order = 1 + np.argsort(chi_squares[1:], kind="stable")
    near = np.linalg.norm(whitened - whitened[order[0]], axis=1) < TELL_APART
    numbered = {
        int(i): Explanation(kept[i - 1].what, kept[i - 1].look, float(left[i]), float(chi_squares[i])) for i in order
    }
    best = numbered[int(order[0])]
    return Verdict(
        unexplained=Explanation("no slip", "", float(left[0]), float(chi_squares[0])),
        agree=chi_square_chance(float(chi_squares[0]), len(seen)) >= DISAGREE,
        explanations=tuple(numbered.values()),
        explains=chi_square_chance(best.chi_square, len(seen)) >= HARDLY_BY_CHANCE,
        rivals=tuple(one for i, one in numbered.items() if near[i] and one is not best),
    )


# What was seen and what is predicted


def _spreads(case: Case) -> list[str]:
    return [side for side in SIDES if len(case.ends[side]) >= ENOUGH_FOR_SPREAD]


def _seen(case: Case) -> Floats:
    """Mean end position of each side, then the spread of those that were seen often enough [mm]."""
    spreads = [float(np.std(case.ends[side], ddof=1)) for side in _spreads(case)]
    return np.array([*(case.seen(side) for side in SIDES), *spreads])


def _predicted(case: Case) -> Floats:
    ends = case.predicted()
    spreads = [math.hypot(float(np.std(ends[side])), case.eye[side]) for side in _spreads(case)]
    return np.array([*(float(ends[side].mean()) for side in SIDES), *spreads])


def _is_mean(cases: Sequence[Case]) -> list[int]:
    out, start = [], 0
    for case in cases:
        out += [start, start + 1]
        start += 2 + len(_spreads(case))
    return out


def _covariance(cases: Sequence[Case]) -> Floats:
    """Covariance of what is seen less what is predicted [mm2]; a reading of the rim moves all wheels at once."""
    own = np.concatenate([_own_variance(case) for case in cases])
    out = np.diag(own)
    keys = {(_owner(index, key), key) for index, case in enumerate(cases) for key in case.known if _counts(case, key)}
    for owner, key in sorted(keys):
        both = []
        for index, case in enumerate(cases):
            touched = owner in (-1, index) and _counts(case, key)
            both.append(_move_by_error(case, key) if touched else np.zeros(len(_seen(case))))
        moved = np.concatenate(both)
        out += np.outer(moved, moved)
    return out


def _own_variance(case: Case) -> Floats:
    means = [case.lengths[side].sigma ** 2 + case.end_sigma(side) ** 2 for side in SIDES]
    spreads = []
    for side, predicted in zip(_spreads(case), _predicted(case)[2:], strict=True):
        # D: the standard deviation of n normal values is known to about its own size over sqrt(2 (n - 1)).
        spreads.append(float(predicted) ** 2 / (2 * (len(case.ends[side]) - 1)))
    return np.array([*means, *spreads])


def _owner(index: int, key: str) -> int:
    """Readings of rim and nipple are shared by the wheels (-1), those of a hub are its wheel's own."""
    return -1 if key.startswith(("rim.", "nipple.")) else index


def _counts(case: Case, key: str) -> bool:
    entry = case.known.get(key)
    return entry is not None and entry.sigma > 0 and key.startswith(("rim.", "nipple.", "hub.", "frame.wheel_offset"))


def _move_by_error(case: Case, key: str) -> Floats:
    entry = case.known[key]
    above, below = (_predicted(with_values(case, {key: entry.value + step})) for step in (entry.sigma, -entry.sigma))
    return np.asarray((above - below) / 2)


def _moved(slip: Slip, cases: Sequence[Case]) -> Floats | None:
    """What would be seen if the slip had happened, None where it cannot have."""
    parts, touched = [], False
    for case in cases:
        moved = case if slip.only and slip.only != case.name else slip.move(case)
        if moved is None:
            return None
        touched = touched or moved is not case
        try:
            parts.append(_predicted(moved))
        except InputError:
            return None
    return np.concatenate(parts) if touched else None
