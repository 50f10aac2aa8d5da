"""The floors of the house: nothing imports upward or in a circle, only files and cli know the outside, all stays short."""

from __future__ import annotations

import ast
import re
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from wheelcalc.files import tables

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
LEVEL = re.compile("_(stop|caution|note)$")
MOST_LINES_OF_A_FUNCTION = 40  # its docstring not counted


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


def name_of(path: Path) -> str:
    return ".".join(("wheelcalc", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Imports for types alone count too: whoever reads one module of a circle must read them all."""
    names = {name_of(path) for path in MODULES}
    graph = {name_of(path): names.intersection(imported(path)) for path in MODULES if path.name != "__init__.py"}
    TopologicalSorter(graph).prepare()  # raises CycleError, which names the circle


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_functions_fit_on_a_screen(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            first = node.body[0]
            docstring = 0 if ast.get_docstring(node) is None else (first.end_lineno or 0) - first.lineno + 1
            assert (node.end_lineno or 0) - node.lineno + 1 - docstring <= MOST_LINES_OF_A_FUNCTION, node.name


def names_in(path: Path) -> tuple[set[str], set[str]]:
    """Texts in a module that may be a limit's name, and expressions of those that an f-string puts together."""
    whole, made = set(), set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            whole.add(node.value.removeprefix("limits."))
        elif isinstance(node, ast.JoinedStr):
            own = [part.value.removeprefix("limits.") for part in node.values if isinstance(part, ast.Constant)]
            if any(re.search("[a-z]{4}", LEVEL.sub("", text)) for text in own) and not any(" " in text for text in own):
                parts = [re.escape(part.value) if isinstance(part, ast.Constant) else r"\w+" for part in node.values]
                made.add("".join(parts).removeprefix(r"limits\."))
    return whole, made


def test_every_limit_is_used() -> None:
    """Whoever sets a limit in the build file moves something by it; some names are made of a stem and its level."""
    found = [names_in(path) for path in MODULES]
    whole = set().union(*(names for names, _ in found))
    made = re.compile("|".join(sorted(set().union(*(names for _, names in found)))))
    for name in tables.limits():
        assert name in whole or LEVEL.sub("", name) in whole or made.fullmatch(name), name
