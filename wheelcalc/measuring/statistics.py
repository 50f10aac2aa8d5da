"""Several readings of one thing: their mean, whether they agree, and which one is odd."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

# C: conventional significance levels. Below the first, readings are said to disagree; the second is "hardly by chance".
DISAGREE, HARDLY_BY_CHANCE = 0.05, 0.01
# Ours: a repeat further out than this many times what the other repeats and the tool allow is named.
TOO_FAR = 4.0


class Mean(NamedTuple):
    """Weighted mean of several values of one quantity.

    Parameters
    ----------
    value, sigma : the mean and its standard uncertainty; widened where the values disagree
    chi_square : sum of the squared differences from the mean, each over its own sigma
    chance : that errors of this size alone make them differ so much or more; 1 for a single value
    """

    value: float
    sigma: float
    chi_square: float
    chance: float

    @property
    def agree(self) -> bool:
        """Whether the values agree within their errors."""
        return self.chance >= DISAGREE

    @property
    def within(self) -> float:
        """What the mean is sure to, 19 times in 20 [mm]."""
        return NINETEEN_IN_TWENTY * self.sigma


def weighted_mean(values: Sequence[float], sigmas: Sequence[float]) -> Mean:
    """Mean with weights 1/sigma^2, and the chi-square test of whether the values agree.

    Notes
    -----
    Where they disagree the uncertainty is multiplied by sqrt(chi_square / (n - 1)), the ratio of R. T. Birge, Phys.
    Rev. 40 (1932) 207 (M): the errors stated were too small, or one value is wrong.

    An exact value (sigma 0) goes before all others.
    """
    if min(sigmas) <= 0:
        exact = [value for value, sigma in zip(values, sigmas, strict=True) if sigma <= 0]
        return Mean(sum(exact) / len(exact), 0.0, 0.0, 1.0)
    weights = [sigma**-2 for sigma in sigmas]
    mean = sum(w * value for w, value in zip(weights, values, strict=True)) / sum(weights)
    chi_square = sum(w * (value - mean) ** 2 for w, value in zip(weights, values, strict=True))
    freedom = len(values) - 1
    chance = chi_square_chance(chi_square, freedom) if freedom else 1.0
    widened = math.sqrt(chi_square / freedom) if chance < DISAGREE else 1.0
    return Mean(mean, max(widened, 1.0) / math.sqrt(sum(weights)), chi_square, chance)


def chi_square_chance(chi_square: float, freedom: int) -> float:
    """Chance that chi-square with so many degrees of freedom is at least this large.

    Notes
    -----
    The closed sums for whole degrees of freedom: M. Abramowitz & I. A. Stegun, Handbook of Mathematical Functions
    (1964), 26.4.4 and 26.4.5 (M).
    """
    half = chi_square / 2
    if freedom % 2 == 0:
        return math.exp(-half) * sum(half**i / math.factorial(i) for i in range(freedom // 2))
    terms = (half ** (i - 0.5) / math.gamma(i + 0.5) for i in range(1, (freedom + 1) // 2))
    return float(math.erfc(math.sqrt(half)) + math.exp(-half) * sum(terms))


def in_words(mean: Mean) -> str:
    """Whether the values agree, said so that no table of chi-square is needed."""
    if mean.agree:
        return "they agree within their errors"
    if mean.chance < 0.0005:  # ours: once in 2000 and less is said in words
        return "they disagree: errors of this size alone would hardly ever make them differ so much"
    return (
        f"they disagree: errors of this size alone would make them differ so much once in {1 / mean.chance:.0f} times"
    )


def odd_repeat(repeats: Sequence[float], tool: float) -> int | None:
    """Index of the one repeat that is out by more than the others allow, None where there is none.

    Parameters
    ----------
    repeats : of one reading [mm]
    tool : standard uncertainty of the tool [mm]

    Notes
    -----
    Each repeat is held against the mean of the others: too far is more than `TOO_FAR` times the standard uncertainty of
    that difference, from the others' scatter and the tool together. Of two repeats neither can be called the odd one.
    """
    if len(repeats) < 3:
        return None
    far = [_distance(repeats, index, tool) for index in range(len(repeats))]
    worst = max(range(len(far)), key=far.__getitem__)
    return worst if far[worst] > TOO_FAR else None


def _distance(repeats: Sequence[float], index: int, tool: float) -> float:
    """Repeat from the mean of the others, in standard uncertainties."""
    rest = [value for place, value in enumerate(repeats) if place != index]
    mean = sum(rest) / len(rest)
    scatter = sum((value - mean) ** 2 for value in rest) / (len(rest) - 1)
    return abs(repeats[index] - mean) / math.sqrt((scatter + tool**2) * (1 + 1 / len(rest)))


def apart(repeats: Sequence[float], tool: float) -> bool:
    """Whether two repeats are further apart than the tool allows."""
    return len(repeats) == 2 and abs(repeats[0] - repeats[1]) > TOO_FAR * math.sqrt(2) * tool


TOOL_FREEDOM = 3  # ours: a tool's stated error counts as so many degrees of freedom
# Ours: of a tool's error so much may be the same in all readings (where the rule is held, how its marks lie), which no
# scatter shows.
SHARED_BY_ALL = 0.5


def mean_sigma(values: Sequence[float], tool: float) -> float:
    """Standard uncertainty of the mean of repeated readings, the tool's error t and their scatter s together.

    Notes
    -----
    sqrt((3 t^2 + (n - 1) s^2) / (n + 2) / n): s^2 under a scaled inverse chi-squared prior of three degrees of freedom
    round t^2 (D), so that two equal readings and two nearly equal ones weigh alike.
    """
    count = len(values)
    return math.sqrt((TOOL_FREEDOM * tool**2 + _squares(values)) / (TOOL_FREEDOM + count - 1) / count)


def hand(lists: Iterable[Sequence[float]], tool: float) -> float:
    """Standard uncertainty of one reading by this person, as the repeats of everything that was read tell it.

    Parameters
    ----------
    lists : repeats of unlike things, each by the same hand with the same tool [mm]
    tool : the tool's stated error [mm]

    Notes
    -----
    As `mean_sigma`, the squares and degrees of freedom of all lists together. A list that the tool hardly ever scatters
    so far is no witness of it: one of its readings is another thing.
    """
    total, freedom = TOOL_FREEDOM * tool**2, TOOL_FREEDOM
    for values in lists:
        squares, own = _squares(values), len(values) - 1
        if own and within_tool(values, tool):
            total, freedom = total + squares, freedom + own
    return max(math.sqrt(total / freedom), SHARED_BY_ALL * tool)


def within_tool(values: Sequence[float], tool: float) -> bool:
    """Whether repeats scatter no further than the tool does but once in a hundred times."""
    return chi_square_chance(_squares(values) / tool**2, len(values) - 1) >= HARDLY_BY_CHANCE


def _squares(values: Sequence[float]) -> float:
    mean = sum(values) / len(values)
    return sum((value - mean) ** 2 for value in values)


def log_scatter(values: Sequence[float], tool: float, freedom: float) -> float:
    """Logarithm of how likely repeated readings scatter as they do, whatever their mean.

    Notes
    -----
    Normal readings, their variance under a scaled inverse chi-squared prior of `freedom` round tool^2, their mean flat:
    the integrals over both are closed (D).
    """
    count, mean = len(values), sum(values) / len(values)
    squares, known = sum((value - mean) ** 2 for value in values), freedom * tool**2
    both = (freedom + count - 1) / 2
    return (
        math.lgamma(both)
        - math.lgamma(freedom / 2)
        + freedom / 2 * math.log(known)
        - (count - 1) / 2 * math.log(math.pi)
        - math.log(count) / 2
        - both * math.log(known + squares)
    )
