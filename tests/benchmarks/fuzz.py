"""Many generated calls of every command in this process, or in two: what broke is shown once each and kept.

    nice -n 10 .venv/bin/python -m tests.benchmarks.fuzz --count 100000 --seed 1 --jobs 2 --keep /tmp/found

With --process each call is a process of the installed command: exit status, one line, no traceback, 5 s, 500 MB. A night's
run is 5,000 of them.

A single case comes back with --count 1 --seed SEED --first NUMBER, both as printed.
"""

from __future__ import annotations

import argparse
import collections
import multiprocessing
import os
import pickle
import sys
import tempfile
import time
import traceback
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"
os.environ["WHEELCALC_SHOW_FAULTS"] = "1"

from tests.tools import fuzz_calls, fuzz_values, fuzzing


def what_broke(error: BaseException) -> str:
    """A name for a fault, the same for all cases that meet it."""
    if isinstance(error, fuzzing.BrokenError):
        return str(error)[:60]
    ours = [frame for frame in traceback.extract_tb(error.__traceback__) if "/wheelcalc/" in frame.filename]
    where = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else "?"
    return f"{type(error).__name__} at {where}: {str(error)[:60]}"


def worker(
    task: tuple[int, int, int, str | None, bool],
) -> tuple[collections.Counter[tuple[str, int]], dict[str, list[str]], float]:
    seed, first, count, keep, as_process = task
    runner = fuzzing.run_installed if as_process else fuzzing.run
    statuses: collections.Counter[tuple[str, int]] = collections.Counter()
    found: dict[str, list[str]] = {}
    slowest = 0.0
    for number in range(first, first + count):
        one = fuzz_calls.case(fuzz_values.Draw(f"{seed} {number}"))
        began = time.process_time()
        try:
            with tempfile.TemporaryDirectory(dir="/dev/shm" if os.path.isdir("/dev/shm") else None) as folder:
                statuses[one.arguments[0], fuzzing.check(one, Path(folder), runner)] += 1
            fuzzing.memory()
        except (Exception, fuzzing.Hang) as error:
            name = f"{one.arguments[0]}: {what_broke(error)}"
            if name not in found:
                print(f"seed {seed} number {number}: {name}\n   {' '.join(one.arguments)[:400]}", flush=True)
                if keep:
                    Path(keep).mkdir(exist_ok=True)
                    (Path(keep) / f"{seed}-{number}.pickle").write_bytes(pickle.dumps((one, name)))
            found.setdefault(name, []).append(f"{seed} {number}")
            statuses[one.arguments[0], -1] += 1
        slowest = max(slowest, time.process_time() - began)
    return statuses, found, slowest


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--process", action="store_true", help="run the installed command, a process a call")
    parser.add_argument("--keep", help="folder for the cases that broke")
    options = parser.parse_args()
    size = max(1, min(500, options.count // options.jobs))
    tasks = [
        (options.seed, at, min(size, options.first + options.count - at), options.keep, options.process)
        for at in range(options.first, options.first + options.count, size)
    ]
    statuses: collections.Counter[tuple[str, int]] = collections.Counter()
    found: dict[str, list[str]] = {}
    began, slowest = time.monotonic(), 0.0
    with multiprocessing.Pool(options.jobs, maxtasksperchild=20) as pool:
        for counted, broken, slow in pool.imap_unordered(worker, tasks):
            statuses += counted
            slowest = max(slowest, slow)
            for name, cases in broken.items():
                found.setdefault(name, []).extend(cases)
    print(
        f"{sum(statuses.values())} cases in {time.monotonic() - began:.0f} s, the slowest {slowest:.2f} s of processor time"
    )
    print(f"{'command':10}{'0':>8}{'1':>8}{'2':>8}{'broken':>8}")
    for name in fuzzing.main.COMMANDS:
        print(f"{name:10}" + "".join(f"{statuses[name, status]:8}" for status in (0, 1, 2, -1)))
    for name, cases in sorted(found.items(), key=lambda pair: -len(pair[1])):
        print(f"{len(cases):6}  {name}  (first: seed {cases[0].replace(' ', ' --first ')})")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
