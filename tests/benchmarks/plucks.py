"""How well plucks are heard, on many synthetic rounds: python -m tests.benchmarks.plucks [SEEDS]

Each round has 30 plucks; each kind of nothing is 12 s long. Aims are the issue's; exits with 1 where one is missed.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from tests.making.pluck_sessions import KINDS_OF_NOTHING, heard, refused, score, session

FIRST = 20_000
# Name, signal to noise [dB], touching pairs, least share found, error [share], least share within it.
AIMS = [
    ("single, 20 dB", 20, False, 0.98, 0.005, 0.95),
    ("touching, 20 dB", 20, True, 0.98, 0.01, 0.90),
    ("single, 10 dB", 10, False, 0.90, 0.01, 0.90),
    ("touching, 10 dB", 10, True, 0.90, 0.01, 0.90),
]


def main(seeds: int) -> int:
    missed = 0
    for name, snr_db, touching, least_found, share, least_within in AIMS:
        got = score([session(FIRST + seed, snr_db, touching) for seed in range(seeds)])
        errors = np.abs(got.errors[got.found])
        octaves = int(np.sum(errors > 0.3))
        good = np.mean(got.found) >= least_found and got.within(share) >= least_within and not got.unflagged
        good &= got.false == 0 and (snr_db < 20 or octaves == 0)
        missed += not good
        print(
            f"{name:16} {got.errors.size} plucks, found {100 * np.mean(got.found):.1f} %, false {got.false} (doubtful "
            f"{got.doubtful_false}), within "
            f"{100 * share:g} %: {100 * got.within(share):.1f} %, median {100 * np.median(errors):.3f} %, above 3 %: "
            f"{int(np.sum(errors > 0.03))} (unflagged {got.unflagged}), octaves {octaves}, flagged "
            f"{100 * np.mean(got.confidence[got.found] < 0.5):.1f} %{'' if good else '  MISSED'}"
        )
    for kind in KINDS_OF_NOTHING:
        heard_none = [refused(kind, FIRST + seed) for seed in range(seeds)]
        missed += not all(heard_none)
        print(f"only {kind:8} refused {sum(heard_none)} of {len(heard_none)}{'' if all(heard_none) else '  MISSED'}")
    one = session(FIRST, 20, False, rates=(96000,))
    start = time.perf_counter()
    heard(one.sound, one.rate, [one.table], 30)
    took, lasts = time.perf_counter() - start, one.sound.size / one.rate
    print(f"{lasts:.0f} s at 96 kHz: {took:.2f} s, {took / lasts:.3f} of its length")
    return int(missed > 0 or took > lasts / 5)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20))
