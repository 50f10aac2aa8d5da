"""A coverage-guided fuzzer chooses what the generators of `tests/tools/fuzz_calls.py` draw (needs the extra `fuzz`).

    nice -n 10 python -m tests.benchmarks.fuzz_coverage CORPUS -atheris_runs=50000 -max_len=4096

The first fault ends the run and is written to crash-*; give that file as the only argument to see it again.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"
os.environ["WHEELCALC_SHOW_FAULTS"] = "1"

import atheris

with atheris.instrument_imports(include=["wheelcalc"]):
    from tests.tools import fuzz_calls, fuzz_values, fuzzing
    from wheelcalc.cli.main import COMMANDS, job

    for name in COMMANDS:
        job.get_command(None, name)  # type: ignore[arg-type]


def one(data: bytes) -> None:
    with tempfile.TemporaryDirectory(dir="/dev/shm" if os.path.isdir("/dev/shm") else None) as folder:
        fuzzing.check(fuzz_calls.case(fuzz_values.Chosen(data)), Path(folder))


if __name__ == "__main__":
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()
