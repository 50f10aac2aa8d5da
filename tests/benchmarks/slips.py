"""How well wrong readings are found: random old wheels with each slip of the catalogue; prints the table and the calibration.

Run by hand: `python -m tests.benchmarks.slips [wheels a slip] [world] [seed] [slips, ; between]`; the worlds are those of
WORLDS. Record: slips.md.
"""

from __future__ import annotations

import contextlib
import sys
from collections import Counter, defaultdict
from collections.abc import Callable
from itertools import pairwise

import numpy as np

from tests.making import old_wheels, other_old_wheels
from tests.making.salvaged_wheels import known_of, loading
from tests.oracles import ideal_old_wheels, ideal_other_old_wheels
from wheelcalc.salvage.cases import old_wheel
from wheelcalc.salvage.slips import Verdict, explain
from wheelcalc.wheel.errors import InputError

Maker = Callable[[np.random.Generator], old_wheels.Tree]
Observer = Callable[[old_wheels.Tree, np.random.Generator], dict[str, float]]
# Who knows a world: probability of each slip by the readings.
OBSERVERS: dict[str, Observer] = {
    "shops": lambda tree, rng: ideal_old_wheels.posteriors(tree, rng, alike=0.6),
    "unlike": lambda tree, rng: ideal_old_wheels.posteriors(tree, rng, alike=0.1),
    "odd": lambda tree, rng: ideal_old_wheels.posteriors(tree, rng, alike=None),
    "others": ideal_other_old_wheels.posteriors,
}
WORLDS: dict[str, Maker] = {
    "shops": lambda rng: old_wheels.old_wheel(rng, alike=0.6),
    "unlike": lambda rng: old_wheels.old_wheel(rng, alike=0.1),
    "odd": old_wheels.odd_wheel,
    "others": other_old_wheels.other_wheel,
}
BINS = (0.0, 0.02, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)


def verdict_of(tree: old_wheels.Tree) -> Verdict:
    return explain([old_wheel(known_of(tree), loading)])


def _slipped(rng: np.random.Generator, wheel: Maker, slip: old_wheels.Slip) -> tuple[Verdict, old_wheels.Tree]:
    """A wheel with a slip; another one where it makes a reading that no build file takes."""
    for _ in range(20):
        tree = wheel(rng)
        slip(rng, tree)
        with contextlib.suppress(InputError):
            return verdict_of(tree), tree
    raise AssertionError("no wheel takes this slip")


def main(wheels: int = 40, world: str = "shops", seed: int = 5, only: str = "") -> None:
    rng, wheel = np.random.default_rng(seed), WORLDS[world]
    slips = other_old_wheels.SLIPS if world == "others" else old_wheels.SLIPS
    slips = {name: slip for name, slip in slips.items() if not only or name in only.split(";")}
    doubted = sum(not verdict_of(wheel(rng)).agree for _ in range(10 * wheels))
    print(f"World {world}, seed {seed}: right readings doubted: {doubted} of {10 * wheels}\n")
    bins: dict[int, list[float]] = defaultdict(lambda: [0, 0.0, 0])
    print(
        "| slip | first | first among slips | named | silent | an innocent over 80 % | the best observer first | taken for |"
    )
    print("|---|---|---|---|---|---|---|---|")
    total: Counter[str] = Counter()
    for name, (slip, words) in slips.items():
        counts, taken, best = Counter(), Counter(), []
        for _ in range(wheels):
            verdict, tree = _slipped(rng, wheel, slip)
            top, right = verdict.explanations[0], old_wheels.holds(verdict.best.what, words)
            counts["first"] += right and top is verdict.best
            counts["among slips"] += right
            counts["named"] += any(old_wheels.holds(each.what, words) for each in verdict.named)
            counts["silent"] += verdict.agree
            counts["innocent"] += verdict.told and not right
            if not (right and top is verdict.best):
                taken[top.what] += 1
            for each in verdict.explanations:
                row = bins[int(np.searchsorted(BINS, each.probability, side="right"))]
                row[0] += 1
                row[1] += each.probability
                row[2] += old_wheels.holds(each.what, words)
            if name in ideal_old_wheels.NAMES:
                chances = OBSERVERS[world](tree, rng)
                best.append(max(chances, key=lambda each: chances[each]) == name)
        total += counts
        shares = [counts[word] / wheels for word in ("first", "among slips", "named", "silent", "innocent")]
        ideal = f"{np.mean(best):.2f}" if best else ""
        others = "; ".join(f"{what} {count}" for what, count in taken.most_common(3))
        print(f"| {name} | {' | '.join(f'{each:.2f}' for each in shares)} | {ideal} | {others} |")
    every = wheels * len(slips)
    print(
        f"| all | {' | '.join(f'{total[w] / every:.2f}' for w in ('first', 'among slips', 'named', 'silent', 'innocent'))} | | |"
    )
    print("\n| probability said, from to | mean said | how often it was so | in how many |\n|---|---|---|---|")
    for at, (low, high) in enumerate(pairwise(BINS), start=1):
        if at in bins:
            count, said, so = bins[at]
            print(f"| {low:g} to {high:g} | {said / count:.3f} | {so / count:.3f} | {count:.0f} |")


if __name__ == "__main__":
    main(*(kind(text) for kind, text in zip((int, str, int, str), sys.argv[1:], strict=False)))
