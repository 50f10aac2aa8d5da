"""What raises the chance that a line of an order fits: another length, two of them, or a reading taken again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.spokes.lengths import NOT_READ, Share, combined
from wheelcalc.spokes.ordering import EDGE, Line, Window, chance_inside
from wheelcalc.wheel.findings import Finding

# C: lengths come in whole mm; who cuts spokes to order does so to half a mm.
GRADES = (1.0, 0.5)
WORTH_SAYING = 0.01  # ours: a remedy that gains less than one in a hundred is none


class LineRemedy(NamedTuple):
    """What to do, and the chance of the line (of its worse part) after it."""

    text: str
    chance: float


def findings(
    lines: Iterable[Line], cut: Sequence[Floats], budget: Sequence[Share], window: Window, build: Build
) -> Iterator[Finding]:
    """Say which lines are not sure enough and what would raise their chance.

    Parameters
    ----------
    lines, cut : of the order, and the cut length of each spoke of each line [mm]
    budget : what each reading does to the lengths
    window, build : where ends may sit; `limits.low_chance`
    """
    limit = build.limits.low_chance
    for line, own in zip(lines, cut, strict=True):
        if line.chance < limit:
            best = _best(list(_remedies(line, own, budget, window)), line.chance, limit)
            yield Finding(
                "caution",
                "low-chance",
                f"The chance that the {line.length:g} mm spokes on the {line.side} fit is only {100 * line.chance:.0f} % (under "
                f"{100 * limit:.0f} %).",
                "Nothing that is read or bought raises it: change the crosses, or widen the window of [stock] if you dare."
                if best is None
                else f"{best.text} That makes it {100 * best.chance:.0f} %.",
            )


def _best(remedies: Sequence[LineRemedy], now: float, limit: float) -> LineRemedy | None:
    """The first that brings the line over the limit, else the one that raises it most; None where none does."""
    enough = [each for each in remedies if each.chance >= limit]
    raising = [each for each in remedies if each.chance > now + WORTH_SAYING]
    return enough[0] if enough else max(raising, key=lambda each: each.chance, default=None)


def _remedies(line: Line, cut: Floats, budget: Sequence[Share], window: Window) -> Iterator[LineRemedy]:
    sigma = combined(budget, line.side)
    for grade in GRADES:
        length, chance = _best_length(cut, sigma, window, grade)
        if abs(length - line.length) > EDGE:
            yield LineRemedy(f"Buy {length:g} mm for them instead, where you can have that length.", chance)
    yield from _repeated(line, budget, window)
    for grade in GRADES:
        parts = [_best_length(part, sigma, window, grade) for part in _in_two(cut)]
        if len(parts) == 2:
            lengths = " and ".join(f"{length:g}" for length, _ in parts)
            yield LineRemedy(f"Buy two lengths for them, {lengths} mm.", min(chance for _, chance in parts))


def _best_length(cut: Floats, sigma: float, window: Window, grade: float) -> tuple[float, float]:
    """Length of that grade with the best chance for all these spokes, and that chance."""
    middle = (float(cut.min()) + float(cut.max()) + window.beyond - window.short) / 2
    length = round(middle / grade) * grade
    return length, float(chance_inside(length - cut.max(), length - cut.min(), sigma, window))


def _in_two(cut: Floats) -> list[Floats]:
    """Spokes parted where their lengths lie furthest apart; one part where all are alike."""
    ordered = np.sort(cut)
    gaps = np.diff(ordered)
    if not len(gaps) or gaps.max() <= EDGE:
        return [ordered]
    at = int(np.argmax(gaps)) + 1
    return [ordered[:at], ordered[at:]]


def _repeated(line: Line, budget: Sequence[Share], window: Window) -> Iterator[LineRemedy]:
    """The readings that err most, known exactly: the first, or the first two, or three."""
    readings = [each for each in budget if each.side == line.side and not each.reading.startswith(NOT_READ)]
    for count in range(1, min(3, len(readings)) + 1):
        again = {each.reading for each in readings[:count]}
        sigma = combined((each for each in budget if each.reading not in again), line.side)
        chance = float(chance_inside(line.least_end, line.most_end, sigma, window))
        names = " and ".join(each.reading for each in readings[:count])
        yield LineRemedy(f"Read {names} again, several times and with a better tool; then choose anew.", chance)
