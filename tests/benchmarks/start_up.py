"""What each command costs as a whole process, against the modules of others that it imports, in turn in one run."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from tests.benchmarks.timing import Row, paired

ROUNDS = 21
EXAMPLES = Path(__file__).parents[2] / "examples"
RUN = "from wheelcalc.cli.main import main; main()"
# What a command imports that is not ours, in its order; printed by the command itself at its end.
IMPORTED = """
import atexit, sys
before = set(sys.modules)
atexit.register(lambda: print(*[n for n in sys.modules if n not in before and not n.startswith("wheelcalc")], file=sys.stderr))
"""
AGAIN = """
import importlib, sys
for name in sys.argv[1:]:
    try:
        importlib.import_module(name)
    except ImportError:
        pass
"""
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
CALLS = (
    "measure errand-rear-salvage.toml",
    "salvage errand-rear-salvage.toml",
    "fit errand-rear.toml",
    "lengths plain.toml",
    "lengths errand-rear.toml",
    "order errand-rear.toml",
    "lace errand-rear.toml",
    "tension errand-rear.toml",
    "true errand-rear.toml errand-rear-readings.csv",
    "true errand-rear.toml --broken 14",
    "pluck errand-rear.toml errand-rear-right.wav --side right",
    "sheet errand-rear.toml",
    "check errand-rear.toml",
    "compare errand-rear.toml errand-rear-fitted.toml",
    "tables keys",
)


def process(code: str, *arguments: str) -> str:
    """Run Python in a process that may keep its compiled files; what it wrote to standard error."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=False, env=environment
    )
    if done.returncode not in (0, 1):
        raise SystemExit(f"{arguments}: {done.stderr}")
    return done.stderr


def rows() -> Iterator[Row]:
    yield paired(
        "`--help`", partial(process, RUN, "--help"), "`import click`", partial(process, "import click"), ROUNDS
    )
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "plain.toml").write_text(PLAIN)
        for path in EXAMPLES.iterdir():
            (Path(folder) / path.name).symlink_to(path)
        before = Path.cwd()
        os.chdir(folder)
        try:
            for call in CALLS:
                imported = process(IMPORTED + RUN, *call.split()).split()
                ours, theirs = partial(process, RUN, *call.split()), partial(process, AGAIN, *imported)
                yield paired(f"`{call.replace('errand-rear', 'errand')}`", ours, "its imports", theirs, ROUNDS)
        finally:
            os.chdir(before)
