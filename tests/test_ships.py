"""The wheel file alone, unpacked far from the checkout, runs every command. `tests/ships.py` tries more Pythons."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.tools import ships
from wheelcalc.cli.main import COMMANDS


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built from a copy without anything that git does not know."""
    place = tmp_path_factory.mktemp("ships")
    shutil.copytree(ships.ROOT, place / "copy", ignore=shutil.ignore_patterns(".*", "dist", "__pycache__"))
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(place)]
    subprocess.run(build, cwd=place / "copy", check=True, capture_output=True)
    (found,) = place.glob("*.whl")
    return found


@pytest.fixture(scope="module")
def desk(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the examples in one place and what the wheel file holds in another."""
    place = tmp_path_factory.mktemp("desk")
    zipfile.ZipFile(wheel).extractall(place / "installed")
    shutil.copytree(ships.ROOT / "examples", place / "desk")
    return place / "desk"


def test_it_holds_only_what_runs(wheel: Path) -> None:
    names = ships.names(wheel)
    assert {name.split("/")[0] for name in names if ".dist-info" not in name} == {"wheelcalc"}
    assert "wheelcalc/reference/limits.toml" in names
    assert "wheelcalc/py.typed" in names


def test_every_command_is_tried() -> None:
    assert {call.split()[0] for call in ships.CALLS} == set(COMMANDS)


EACH_CALL = """
import contextlib, io, json, sys
import wheelcalc
assert 'installed' in wheelcalc.__file__
from wheelcalc.cli.main import run
told = []
for words in json.loads(sys.argv[1]):
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()) as err:
        status = run(words)
    told.append([status, err.getvalue()])
print(json.dumps(told))
"""


def test_it_runs_without_the_checkout(desk: Path) -> None:
    """Every call in one process, in its order, so that libraries are loaded once."""
    environment = {**os.environ, "PYTHONPATH": str(desk.parent / "installed")}
    calls = [[word.replace("spoke_end", "spoke end") for word in call.split()] for call in ships.CALLS]
    command = [sys.executable, "-W", "error", "-c", EACH_CALL, json.dumps(calls)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=desk, env=environment)
    assert done.returncode == 0, done.stderr
    for call, (status, err) in zip(ships.CALLS, json.loads(done.stdout), strict=True):
        assert status in (0, 1), (call, err)
        assert re.fullmatch(r"|Written: .*", err, re.DOTALL), (call, err)
