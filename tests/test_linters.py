"""Linter, formatter and strict types are part of the tests, so that one command says whether all is well."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("command", [["ruff", "check"], ["ruff", "format", "--check"], ["mypy"]], ids=" ".join)
def test_clean(command: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
