"""A drawer of own parts: a TOML file with [[rims]], [[hubs]], [[spokes]], [[cranks]], each with a name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from wheelcalc.build.dimension import TOOL_SIGMA
from wheelcalc.files.values import demand_one_line, shown
from wheelcalc.wheel.errors import InputError

# List of the drawer -> section of the build file whose keys its parts have.
SECTIONS = {"rims": "rim", "hubs": "hub", "spokes": "spokes", "cranks": "crank"}
# Sections of a build that may take a part, and what kind.
TAKERS = {"rim": "rim", "hub": "hub", "spokes": "spokes", "crank": "crank", "old_wheel.hub": "hub"}
ASIDE = ("title", "measuring")  # may stand in a drawer besides


class Part(NamedTuple):
    """One part: the file that it is from, its kind ("rim", "hub", "spokes", "crank"), name, keys and tool."""

    file: str
    kind: str
    name: str
    table: Mapping[str, Any]
    tool: str


DRAWER_ONLY = {"rims", "hubs", "cranks"}  # a build file has [spokes] too
BUILD_ONLY = {"rim", "hub", "position"}  # of a build file, never of a drawer


def is_drawer(tree: Mapping[str, Any]) -> bool:
    """Whether a tree of plain values is a drawer and not a build file."""
    begun = any(isinstance(tree.get(name), list) for name in SECTIONS) or any(name in tree for name in DRAWER_ONLY)
    return begun and set(tree) <= {*SECTIONS, *ASIDE}


def drawer_of(tree: Mapping[str, Any], file: str) -> list[Part]:
    """Return the parts of a drawer's tree of plain values.

    Raises
    ------
    InputError
        If something else stands in it, or a part has no name.
    """
    tool = "rule"
    out = []
    if BUILD_ONLY & set(tree) and not DRAWER_ONLY & set(tree):
        text = f"is a build file, not a drawer: a drawer holds {_lists()}, each with a name"
        raise InputError("--parts", text, file)
    for section, entries in tree.items():
        if section == "measuring":
            tool = _tool(entries, file)
        elif section not in (*SECTIONS, *ASIDE):
            raise InputError(section, f"does not belong into a drawer; write {_lists()}", file)
    for section, kind in SECTIONS.items():
        entries = tree.get(section, [])
        if not (isinstance(entries, list) and all(isinstance(each, Mapping) for each in entries)):
            double = f"write [[{section}]], in double brackets, once for each, and below it its name and keys"
            raise InputError(section, double, file)
        for number, entry in enumerate(entries, start=1):
            name = entry.get("name")
            if not isinstance(name, str) or not name.strip():
                raise InputError(f"{section}.name", f"is missing in the {_nth(number)} of them; give it a name", file)
            try:
                demand_one_line(f"{section}.name", name)
            except InputError as error:
                raise error.in_file(file) from None
            out.append(Part(file, kind, name, {key: each for key, each in entry.items() if key != "name"}, tool))
    return out


def _tool(section: object, file: str) -> str:
    """The tool that the parts were read with."""
    tool = section.get("tool", "rule") if isinstance(section, Mapping) and set(section) <= {"tool"} else section
    if not isinstance(tool, str) or tool not in TOOL_SIGMA:
        raise InputError("measuring.tool", f"found {shown(tool)}; write one of {', '.join(TOOL_SIGMA)}", file)
    return tool


def _lists() -> str:
    return ", ".join(f"[[{section}]]" for section in SECTIONS)


def _nth(number: int) -> str:
    return {1: "first", 2: "second", 3: "third"}.get(number, f"{number}th")


def together(drawers: Iterable[Sequence[Part]]) -> list[Part]:
    """Join drawers; a kind of parts must not have one name twice.

    Raises
    ------
    InputError
        If it has.
    """
    seen: dict[tuple[str, str], Part] = {}
    for part in (each for parts in drawers for each in parts):
        first = seen.setdefault((part.kind, part.name), part)
        if first is not part:
            where = "too" if first.file == part.file else f"and in {first.file}"
            raise InputError(
                f"{part.kind}.name", f'found "{part.name}" twice, here {where}; give each a name of its own', part.file
            )
    return list(seen.values())


def taken(parts: Sequence[Part], kind: str, name: str, key: str) -> Part:
    """Return the part that a build asks for.

    Raises
    ------
    InputError
        If no drawer has it; the message names what is near.
    """
    for part in parts:
        if (part.kind, part.name) == (kind, name):
            return part
    if not parts:
        raise InputError(key, f'found "{name}", but no drawer was opened; give it as `drawers`')
    elsewhere = [part for part in parts if part.name == name]
    if elsewhere:
        other = elsewhere[0]
        raise InputError(key, f'found "{name}", which is in {other.file} as {other.kind}, not as {kind}')
    own = [part.name for part in parts if part.kind == kind]
    files = ", ".join(dict.fromkeys(part.file for part in parts))
    hint = f"it has {', '.join(own)}" if own else f"it has no {kind}"
    raise InputError(key, f'found "{name}", which is not in {files}; {hint}')
