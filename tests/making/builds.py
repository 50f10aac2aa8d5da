"""Build files for the tests, as trees of plain values; invented, unequal and not round."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build

PLAIN: dict[str, Any] = {
    "title": "Test wheel",
    "rim": {"holes": 32, "erd": 593.7, "erd_to": "spoke end", "bead_seat_diameter": 622, "tension_limit": 1265},
    "hub": {
        "over_locknut": 131.3,
        "left": {"holes": 16, "pcd": 41.9, "locknut_to_flange": 29.8, "hole_diameter": 2.6},
        "right": {"holes": 16, "pcd": 47.3, "locknut_to_flange": 46.1, "hole_diameter": 2.4},
    },
    "lacing": {"crosses": {"left": 2, "right": 3}},
}

# Flanges with their holes facing each other: one length hardly fits all spokes of a side.
ALIGNED: dict[str, Any] = {
    "rim": {"holes": 36, "erd": 602.8, "erd_to": "spoke end"},
    "hub": {
        "phase": "aligned",
        "left": {"holes": 18, "pcd": 50, "offset": 34.4},
        "right": {"holes": 18, "pcd": 50, "offset": 18.7},
    },
    "lacing": {"crosses": 2},
    "tension": {"target": "1000 N"},
}


def with_keys(**keys: Any) -> dict[str, Any]:
    """The plain build with some keys changed; two underscores stand for the dot, None takes a key out."""
    return changed_tree(PLAIN, **keys)


def changed_tree(plain: Mapping[str, Any], **keys: Any) -> dict[str, Any]:
    """A copy of a build with some keys changed; two underscores stand for the dot, None takes a key out."""
    tree = deepcopy(dict(plain))
    for path, value in keys.items():
        *sections, name = path.split("__")
        table = tree
        for section in sections:
            table = table.setdefault(section, {})
        if value is None:
            del table[name]
        else:
            table[name] = value
    return tree


def changed_from(plain: Mapping[str, Any], **changed: Any) -> Build:
    """Build by dotted key with some changed; two underscores stand for the dot, None takes a key out."""
    keys = {**plain, **{key.replace("__", "."): value for key, value in changed.items()}}
    return Build({key: Dimension(value) for key, value in keys.items() if value is not None})


def as_toml(tree: dict[str, Any], prefix: str = "") -> str:
    """TOML text of a tree of plain values."""
    from wheelcalc.files.writing import write_key

    values = {name: value for name, value in tree.items() if not isinstance(value, dict) or _inline(value)}
    lines = [write_key(name, value) for name, value in values.items()]
    for name, value in tree.items():
        if name not in values:
            lines += [f"\n[{prefix}{name}]", as_toml(value, f"{prefix}{name}.")]
    return "\n".join(lines)


def _inline(table: dict[str, Any]) -> bool:
    return set(table) <= {"left", "right"} and not any(isinstance(value, dict) for value in table.values())
