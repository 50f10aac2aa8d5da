"""How well wrong readings are found: random old wheels with each slip of the catalogue; prints the table and the calibration.

Run by hand: `python tests/benchmarks/slips.py [wheels a slip] [share of hubs with flanges alike] [seed]`; a share below
0: wheels as no shop sells them.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict

import numpy as np

from tests.making import old_wheels
from tests.making.salvaged_wheels import known_of, loading
from wheelcalc.salvage.cases import old_wheel
from wheelcalc.salvage.slips import Verdict, explain


def verdict_of(tree: old_wheels.Tree) -> Verdict:
    return explain([old_wheel(known_of(tree), loading)])


def main(wheels: int = 40, alike: float = 0.6, seed: int = 5) -> None:
    rng = np.random.default_rng(seed)

    def wheel() -> old_wheels.Tree:
        return old_wheels.odd_wheel(rng) if alike < 0 else old_wheels.old_wheel(rng, alike=alike)

    doubted = sum(not verdict_of(wheel()).agree for _ in range(10 * wheels))
    print(f"right readings doubted: {doubted} of {10 * wheels}")
    bins: dict[int, list[float]] = defaultdict(lambda: [0, 0.0, 0])
    print(f"{'slip':26} first  named  silent  an innocent alone  taken for")
    for name, (_, words) in old_wheels.SLIPS.items():
        counts, taken = Counter(), Counter()
        for _ in range(wheels):
            verdict = verdict_of(old_wheels.with_slip(rng, wheel(), name))
            top, right = verdict.explanations[0], old_wheels.holds(verdict.best.what, words)
            counts["first"] += right and top is verdict.best
            counts["named"] += any(old_wheels.holds(each.what, words) for each in verdict.named)
            counts["silent"] += verdict.agree
            counts["innocent"] += verdict.told and not right
            if not (right and top is verdict.best):
                taken[top.what] += 1
            for each in verdict.explanations:
                row = bins[min(int(each.probability * 10), 9)]
                row[0] += 1
                row[1] += each.probability
                row[2] += old_wheels.holds(each.what, words)
        shares = [counts[word] / wheels for word in ("first", "named", "silent", "innocent")]
        print(
            f"{name:26}{shares[0]:6.2f} {shares[1]:6.2f} {shares[2]:7.2f} {shares[3]:18.2f}  {dict(taken.most_common(2))}"
        )
    print("\nprobability said, how often it was so, in how many")
    for _, (count, said, so) in sorted(bins.items()):
        print(f"{said / count:6.3f} {so / count:6.3f} {count:7.0f}")


if __name__ == "__main__":
    main(*(kind(text) for kind, text in zip((int, float, int), sys.argv[1:], strict=False)))
