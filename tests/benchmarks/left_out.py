"""How far the ear's own numbers are fitted to one make of sounds: python -m tests.benchmarks.left_out [SEEDS]

Each of them is tried lower and higher, one after the other, on rounds of all makes but one; what does best there is judged on
the one left out. A row is a make left out: what its three others would choose, and how it is heard with that and as it stands.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np

from tests.benchmarks.rounds import WRONG, Row, rows
from tests.making.plucked_rounds import MAKERS, recorded
from wheelcalc.answers.plucking import compute
from wheelcalc.truing import assign, hearing, pitches, recording
from wheelcalc.truing.assign import SURE

FIRST = 100
# Name, where it stands, what it is times these: all numbers of the ear that are no choice of range or size.
TRIED = {
    "TEMPER": (assign, (0.7, 1.1)),
    "STRAY (a sound)": (assign, (0.3, 3.0)),
    "OTHER": (assign, (0.6, 1.6)),
    "UNTOLD": (assign, (0.4, 2.5)),
    "SIDE_SPREAD": (assign, (0.6, 1.5)),
    "TELLING": (assign, (0.5, 2.0)),
    "LEAST_LIKENESS": (hearing, (0.7, 1.3)),
    "STRAY (a peak)": (pitches, (0.6, 1.15)),
    "OFF_SINGLE": (pitches, (0.6, 1.5)),
    "OFF_TOGETHER": (pitches, (0.6, 1.5)),
    "NOT_HEARD": (pitches, (0.6, 1.5)),
    "STILL": (recording, (0.5, 2.0)),
    "STIFFER": (compute, (0.85, 1.2)),
}


@contextmanager
def changed(name: str, times: float) -> Iterator[None]:
    """With one number of the ear changed."""
    module, key = TRIED[name][0], name.split(maxsplit=1)[0]
    old = getattr(module, key)
    new = tuple(each * times for each in old) if isinstance(old, tuple) else old * times
    if key == "STIFFER":
        new = (1.0, new[1])
    setattr(module, key, new)
    try:
        yield
    finally:
        setattr(module, key, old)


def merit(found: list[Row]) -> float:
    """Per cent of plucks listed and read well enough, less ten for each surely wrong."""
    good = [each.listed and each.error < each.allowed for each in found]
    wrong = sum(each.listed and each.error > WRONG and each.confidence >= SURE for each in found)
    shifted = sum(each.listed and not each.placed_right and each.assigned >= SURE for each in found)
    return 100 * float(np.mean(good)) - 10 * (wrong + shifted)


def main(seeds: int) -> None:
    sounds = {maker: [recorded(maker, FIRST + seed) for seed in range(seeds)] for maker in MAKERS}

    def heard() -> dict[str, float]:
        return {maker: merit([row for each in own for row in rows(each)[0]]) for maker, own in sounds.items()}

    ours = heard()
    print("as it stands ", {maker: round(value, 1) for maker, value in ours.items()}, flush=True)
    found: dict[tuple[str, float], dict[str, float]] = {}
    for name, (_, factors) in TRIED.items():
        for times in factors:
            with changed(name, times):
                found[name, times] = heard()
            print(
                f"{name} x {times}: ",
                {maker: round(value, 1) for maker, value in found[name, times].items()},
                flush=True,
            )
    for left in MAKERS:
        others = [maker for maker in MAKERS if maker != left]
        gain = {key: np.mean([value[maker] - ours[maker] for maker in others]) for key, value in found.items()}
        best = max(gain, key=lambda key: gain[key])
        print(
            f"{left} left out: the others gain most ({gain[best]:+.1f}) by {best[0]} x {best[1]}; "
            f"with it {found[best][left]:.1f}, as it stands {ours[left]:.1f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 6)
