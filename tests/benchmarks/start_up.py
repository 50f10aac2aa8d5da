"""What a command costs as a whole process, against its imports alone, in turn in the same run.

Run it with an installed, byte-compiled wheelcalc (an editable one recompiles where PYTHONDONTWRITEBYTECODE is set):

    python -m venv /tmp/timing && /tmp/timing/bin/python -m pip install . && \\
    /tmp/timing/bin/python tests/benchmarks/start_up.py
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 21
IMPORTS = "import click, numpy, tabulate, tomllib, json, dataclasses"
RUN = "from wheelcalc.cli.main import main; main()"
PLAIN = """
[rim]
holes = 32
erd = 593.7
erd_to = "spoke end"
[hub]
over_locknut = 131.3
left = { holes = 16, pcd = 41.9, locknut_to_flange = 29.8 }
right = { holes = 16, pcd = 47.3, locknut_to_flange = 46.1 }
[lacing]
crosses = 3
"""


def seconds(command: list[str]) -> float:
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
    return time.perf_counter() - start


def compare(name: str, ours: list[str], baseline: list[str]) -> None:
    pairs = [(seconds(ours), seconds(baseline)) for _ in range(ROUNDS + 1)][1:]
    own, base = (statistics.median(each) for each in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    print(f"{name:34} {own * 1e3:6.1f} ms, baseline {base * 1e3:6.1f} ms, ratio {ratio:.2f} (median of {ROUNDS} pairs)")


def main() -> None:
    python = sys.executable
    with tempfile.TemporaryDirectory() as folder:
        build = Path(folder) / "plain.toml"
        build.write_text(PLAIN)
        compare("--help against import click", [python, "-c", RUN, "--help"], [python, "-c", "import click"])
        for command in ("lengths", "order"):
            compare(f"{command} against its imports", [python, "-c", RUN, command, str(build)], [python, "-c", IMPORTS])


if __name__ == "__main__":
    main()
