"""Every key that a build file may have, by its dotted name; those of [limits] with what the table of limits says."""

from __future__ import annotations

from functools import cache

from wheelcalc.build.hub import Hub
from wheelcalc.build.old_wheel import JarSpokes
from wheelcalc.build.rim import Rim
from wheelcalc.build.section import Key
from wheelcalc.build.whole import Build
from wheelcalc.files import tables

LIMIT = "limits."
NAME = Key("text", "what it is called")  # of an entry of a list


@cache
def keys() -> dict[str, Key]:
    """Every key of the build file by its dotted name; default and text of a limit come from the table of limits."""
    rows = {LIMIT + row["name"]: row for row in tables.load("limits")}

    def filled(name: str, key: Key) -> Key:
        row = rows[name]
        return Key("number", str(row["text"]), key.low, key.high, float(row["value"]))

    return {name: filled(name, key) if name.startswith(LIMIT) else key for name, key in Build.keys_below()}


@cache
def lists() -> dict[str, dict[str, Key]]:
    """The lists of tables of the build file ([[jar.rims]] ...): name -> keys of one entry."""
    kinds = {"jar.spokes": JarSpokes, "jar.rims": Rim, "jar.hubs": Hub}
    return {
        path: {"name": NAME, **{key: each for key, each in kind.keys_below() if key != "part"}}
        for path, kind in kinds.items()
    }
