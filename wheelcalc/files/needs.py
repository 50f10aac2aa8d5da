"""Which keys each command needs: for its error messages, for `check` and for `start`."""

from __future__ import annotations

from wheelcalc.build.whole import Build
from wheelcalc.files.keys import keys
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

Choices = tuple[tuple[str, ...], ...]  # every entry is needed; an entry lists ways to have it

RIM = (("rim.holes",), ("rim.erd",), ("rim.erd_to",))
HUB = tuple(
    ways
    for side in SIDES
    for ways in (
        (f"hub.{side}.holes",),
        (f"hub.{side}.pcd",),
        (f"hub.{side}.locknut_to_flange", f"hub.{side}.offset"),
    )
)
GEOMETRY: Choices = (*RIM, *HUB)

NEEDS: dict[str, Choices] = {
    "lengths": GEOMETRY,
    "order": GEOMETRY,
    "lace": GEOMETRY,
    "tension": GEOMETRY,
    "true": GEOMETRY,
    "pluck": GEOMETRY,
    "tap": (("rim.section.mass",), ("rim.section.centroid_diameter", "rim.erd")),
    "measure": (("readings",),),
    "salvage": (),
    "compare": (),
    "sheet": (),
    "fit": (("frame.dropout_spacing",), ("hub.over_locknut",)),
}
# A need may be a whole section: any key below it will do.
SECTIONS = {"readings": "the raw readings, as taken; `wheelcalc measure --how rim.erd` shows how to take one"}


def missing(command: str, build: Build) -> list[tuple[str, ...]]:
    """Return what a command still lacks; each entry lists the keys of which one would do."""
    lacking = [ways for ways in NEEDS[command] if not any(_has(way, build) for way in ways)]
    if NEEDS[command][: len(GEOMETRY)] == GEOMETRY:
        lacking += [(key,) for key in _by_pattern(build) if key not in build]
        if any(f"hub.{side}.locknut_to_flange" in build for side in SIDES) and "hub.over_locknut" not in build:
            lacking.append(("hub.over_locknut",))
    if command == "salvage" and any(key.startswith("old_wheel.") and build.given(key) for key in build):
        lacking += [ways for ways in _of_the_old_wheel(build) if not any(way in build for way in ways)]
    return lacking


def _of_the_old_wheel(build: Build) -> Choices:
    """What a witness must tell: the flanges of its own hub, or of the new one where that stayed, and how it was laced."""
    hub = "old_wheel.hub" if any(key.startswith("old_wheel.hub.") for key in build) else "hub"
    flanges = tuple(tuple(way.replace("hub", hub, 1) for way in ways) for ways in HUB)
    return (*flanges, ("rim.holes",), *((f"old_wheel.{key}.left",) for key in ("crosses", "lengths")))


def _has(way: str, build: Build) -> bool:
    return way in build or (way in SECTIONS and any(key.startswith(f"{way}.") for key in build))


def _by_pattern(build: Build) -> list[str]:
    pattern = build.lacing.pattern
    if pattern == "listed":
        return ["lacing.spokes"]
    return [] if pattern == "radial" else [f"lacing.crosses.{side}" for side in SIDES]


def demand(command: str, build: Build) -> None:
    """Refuse a build that lacks what a command needs.

    Raises
    ------
    InputError
        Naming the first missing key, what to measure, and the other missing ones.
    """
    lacking = missing(command, build)
    if not lacking:
        return
    first, *others = lacking
    more = [name for name in dict.fromkeys(shortened(ways[0]) for ways in others) if name != shortened(first[0])]
    text = f"is missing and `{command}` needs it: {how(first[0])}"
    if first[1:]:
        text += f" (or give {' or '.join(first[1:])})"
    if more:
        text += f"; also missing: {', '.join(more)}"
    raise InputError(shortened(first[0]), text + _where_explained(first[0]))


def _where_explained(key: str) -> str:
    """Name the command that shows how to take the reading, where there is one."""
    from wheelcalc.files.how import topic  # noqa: PLC0415 - only an error needs it

    return f"; `wheelcalc measure --how {key}` shows how" if topic(key) else ""


def how(key: str) -> str:
    """What to measure or write for a key."""
    if key in SECTIONS:
        return SECTIONS[key]
    return keys()[key if key in keys() else key.rpartition(".")[0]].how


def shortened(key: str) -> str:
    """Return the key as one would write it for both sides at once."""
    parent, _, side = key.rpartition(".")
    return parent if side in SIDES and key not in keys() else key
