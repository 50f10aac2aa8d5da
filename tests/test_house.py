"""The floors of the house: nothing imports upward, and only files and cli know the outside."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "wheelcalc"
FLOORS = [
    {"wheel"},
    {"measuring", "tension", "spokes", "bike"},
    {"salvage", "truing", "files"},
    {"answers"},
    {"paper"},
    {"cli"},
]
OUTSIDE = {"tomllib", "csv", "wave", "pint", "click", "tabulate"}
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE)
MOST_LINES = 400


def imported(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names += [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
    return names


def floor(room: str) -> int:
    return next(level for level, rooms in enumerate(FLOORS) if room in rooms)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_nothing_imports_upward(path: Path) -> None:
    own = floor(path.parent.name)
    rooms = {name.split(".")[1] for name in imported(path) if name.startswith("wheelcalc.")}
    upward = {room for room in rooms if (PACKAGE / room).is_dir() and floor(room) > own}
    assert not upward


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_only_files_and_cli_know_the_outside(path: Path) -> None:
    if path.parent.name not in ("files", "cli"):
        assert not OUTSIDE & {name.split(".")[0] for name in imported(path)}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_modules_fit_in_the_head(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES
