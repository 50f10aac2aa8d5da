"""The floors of the house: nothing imports upward or in a circle, only files, page and cli know the outside."""

from __future__ import annotations

import ast
import re
from graphlib import TopologicalSorter
from pathlib import Path

from wheelcalc.files import tables

PACKAGE = Path(__file__).parents[1] / "wheelcalc"
FLOORS = [
    {"wheel"},
    {"build"},
    {"measuring", "tension", "spokes", "bike"},
    {"salvage", "truing", "files", "page"},
    {"joined"},
    {"answers"},
    {"paper"},
    {"stand"},
    {"cli"},
]
OUTSIDE = {"tomllib", "csv", "wave", "pint", "click", "tabulate"}
KNOW_THE_OUTSIDE = ("files", "page", "cli")
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE)
SURFACE = {"wheelcalc.answers"}  # names its functions for types alone; the sheet among them lives a floor above
LEVEL = re.compile("_(stop|caution|note)$")


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


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0]


def upward(path: Path) -> set[str]:
    """Rooms above its own that a module imports from."""
    own = floor(room_of(path))
    rooms = {name.split(".")[1] for name in imported(path) if name.startswith("wheelcalc.")}
    return {room for room in rooms if (PACKAGE / room).is_dir() and floor(room) > own}


def test_every_room_has_a_line_for_who_comes_next() -> None:
    """Folders and modules beside them in the table of DEVELOPERS.md, the floors in its order."""
    page = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [line for line in page.splitlines() if line.startswith("| `wheelcalc/")]
    rooms = {path.relative_to(PACKAGE.parent) for path in PACKAGE.rglob("*") if any(path.glob("*.py"))}
    own = {path.relative_to(PACKAGE.parent) for path in PACKAGE.glob("[a-z]*.py")}
    for room in rooms | own:
        row = next((line for line in rows if f"`wheelcalc/{room.parts[1]}`" in line), "")
        assert row, room
        assert len(room.parts) < 3 or f"`{room.parts[2]}`" in row or f"`{room.parts[1]}/{room.parts[2]}`" in row, room
    said = page[page.index("Floors: ") :].partition(". ")[0].removeprefix("Floors: ")
    assert [set(each.split(", ")) for each in said.split(" < ")] == FLOORS


def test_nothing_imports_upward() -> None:
    found = {name_of(path): upward(path) for path in MODULES if name_of(path) not in SURFACE}
    assert {name: rooms for name, rooms in found.items() if rooms} == {}


def test_only_some_rooms_know_the_outside() -> None:
    found = {
        name_of(path): OUTSIDE & {name.split(".")[0] for name in imported(path)}
        for path in MODULES
        if room_of(path) not in KNOW_THE_OUTSIDE
    }
    assert {name: outside for name, outside in found.items() if outside} == {}


def name_of(path: Path) -> str:
    return ".".join(("wheelcalc", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Imports for types alone count too: whoever reads one module of a circle must read them all."""
    names = {name_of(path) for path in MODULES}
    graph = {name_of(path): names.intersection(imported(path)) for path in MODULES if path.name != "__init__.py"}
    TopologicalSorter(graph).prepare()  # raises CycleError, which names the circle


def names_in(path: Path) -> tuple[set[str], set[str]]:
    """Texts in a module that may be a limit's name, and expressions of those that an f-string puts together."""
    whole, made = set(), set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            whole.add(node.value.removeprefix("limits."))
        elif isinstance(node, ast.Attribute):
            whole.add(node.attr)
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
    used = [name for name in tables.limits() if {name, LEVEL.sub("", name)} & whole or made.fullmatch(name)]
    assert used == list(tables.limits())
