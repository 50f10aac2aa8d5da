"""How whole rounds of unlike makes are heard, a row a make: python -m tests.benchmarks.rounds [SEEDS] [MAKERS ...]

All rows are of one set of constants, and its makers have seen all four: what was measured before that stands in rounds.md.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np

from tests.making.plucked_rounds import MAKERS, Recorded, recorded
from wheelcalc.answers.plucking.compute import pluck
from wheelcalc.answers.plucking.content import Round
from wheelcalc.files.wav import Sound
from wheelcalc.truing.assign import SURE
from wheelcalc.wheel.errors import InputError

FIRST = 100
NEAR = 0.1  # s: a pluck found so near to a true one is that one
WRONG = 0.03  # of the pitch
# Allowed errors of a pitch, alone and where spokes touch.
WITHIN = {False: 0.005, True: 0.01}


@dataclass
class Row:
    """Of one true pluck: whether it is listed, its pitch's error and the one allowed, how sure; its hole right, and how sure."""

    listed: bool
    error: float = np.nan
    allowed: float = np.nan
    confidence: float = 0.0
    placed_right: bool = False
    assigned: float = 0.0


def rows(round_: Recorded) -> tuple[list[Row], bool]:
    """Every true pluck of a round, and whether the round was refused."""
    try:
        answer = pluck(round_.build, Sound(round_.sound, round_.rate), round_=Round(side=round_.side))
    except InputError:
        return [Row(False) for _ in round_.plucks], True
    used: set[int] = set()
    out = []
    for true in round_.plucks:
        near = [
            (each.spoke is None, abs(each.pluck.at - true.at), i)
            for i, each in enumerate(answer.heard)
            if i not in used and abs(each.pluck.at - true.at) < NEAR
        ]
        if not near:
            out.append(Row(False))
            continue
        *_, i = min(near)
        used.add(i)
        each = answer.heard[i]
        hole = None if each.spoke is None else int(answer.wheel.lacing.rim_hole[each.spoke])
        error = abs(each.pluck.pitch / true.pitch - 1)
        out.append(
            Row(
                True,
                error,
                WITHIN[round_.touching],
                each.pluck.confidence,
                hole == true.rim_hole,
                each.pluck.assigned,
            )
        )
    return out, False


def summary(name: str, found: list[Row], refused: int, count: int) -> str:
    listed = [each for each in found if each.listed]
    sure = [each for each in listed if each.confidence >= SURE]
    within = np.mean([each.error < each.allowed for each in listed])
    sure_within = np.mean([each.error < each.allowed for each in sure])
    wrong = sum(each.error > WRONG for each in listed)
    surely = sum(each.error > WRONG for each in sure)
    shifted = sum(not each.placed_right and each.assigned >= SURE for each in listed)
    return (
        f"{name:8} {len(found):4} plucks, listed {100 * len(listed) / len(found):5.1f} %, within {100 * within:5.1f} %, "
        f"surely {100 * len(sure) / len(listed):3.0f} %, of these within {100 * sure_within:5.1f} %; off by 3 % {wrong}, surely {surely}; "
        f"wrong hole surely {shifted}; rounds refused {refused} of {count}"
    )


def main(seeds: int, makers: list[str]) -> int:
    missed = 0
    for maker in makers:
        results = [rows(recorded(maker, FIRST + seed)) for seed in range(seeds)]
        found = [row for each, _ in results for row in each]
        print(summary(maker, found, sum(refused for _, refused in results), seeds), flush=True)
        missed += sum(each.error > WRONG and each.confidence >= SURE for each in found if each.listed)
        missed += sum(not each.placed_right and each.assigned >= SURE for each in found if each.listed)
    return int(missed > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 8, sys.argv[2:] or list(MAKERS)))
