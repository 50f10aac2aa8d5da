"""The key that was meant by one that is not known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher, get_close_matches

from wheelcalc.wheel.parts import SIDES

LONGEST = 100  # letters of a path that are looked at; ours: no key has more than 45
# Ours: how alike a last word, a whole path and a name of the trade must be to be named.
ALIKE, WHOLE_ALIKE, SAID_ALIKE = 0.7, 0.6, 0.9
# C: what the trade calls a dimension -> the key that holds it.
SAID = {
    "rim.diameter": "rim.erd",
    "rim.weight": "rim.section.mass",
    "rim.limit": "rim.tension_limit",
    "rim.tension": "rim.tension_limit",
    "rim.size": "rim.bead_seat_diameter",
    "rim.bsd": "rim.bead_seat_diameter",
    "rim.tyre_size": "rim.bead_seat_diameter",
    "rim.offset": "rim.hole_offset",
    "rim.asymmetry": "rim.hole_offset",
    "rim.spokes": "rim.holes",
    "hub.old": "hub.over_locknut",
    "hub.width": "hub.over_locknut",
    "hub.spacing": "hub.over_locknut",
    "hub.type": "hub.drive",
    "hub.disc": "hub.rotor",
    "hub.flange_spacing": "hub.flange_distance",
    "hub.flange_diameter": "hub.left.pcd",
    "hub.left.pitch_circle": "hub.left.pcd",
    "hub.right.pitch_circle": "hub.right.pcd",
    "hub.left.flange_diameter": "hub.left.pcd",
    "hub.right.flange_diameter": "hub.right.pcd",
    "hub.left.diameter": "hub.left.pcd",
    "hub.right.diameter": "hub.right.pcd",
    "spokes.head": "hub.left.spoke_head",
    "spokes.crosses": "lacing.crosses",
    "spokes.gauge": "spokes.wire",
    "spokes.diameter": "spokes.wire",
    "spokes.thickness": "spokes.wire",
    "spokes.count": "rim.holes",
    "spokes.length": "stock.lengths",
    "frame.spacing": "frame.dropout_spacing",
    "frame.width": "frame.dropout_spacing",
    "fork.dropout_spacing": "frame.dropout_spacing",
    "nipple.thread": "nipple.for_wire",
    "nipple.diameter": "nipple.for_wire",
    "tension.limit": "rim.tension_limit",
    "tension.maximum": "rim.tension_limit",
    "load.weight": "load.rider",
}


def nearest(path: str, known: Sequence[str]) -> str | None:
    """Return the known key most like one that is not: the same last word first, in its own table before others.

    Parameters
    ----------
    path : dotted, as written
    known : dotted keys, in the order in which they are taken where they are equally like it
    """
    path = path[:LONGEST].lower()
    if said := get_close_matches(path, SAID, 1, SAID_ALIKE):
        return SAID[said[0]] if SAID[said[0]] in known else None
    table, word = path.partition(".")[0], _last(path)
    inside = [key for key in known if key.startswith(f"{table}.")]
    if same := [key for key in inside if _last(key) == word]:
        return _most_like(path, same)
    if alike := get_close_matches(word, [_last(key) for key in inside], 1, ALIKE):
        return _most_like(path, [key for key in inside if _last(key) == alike[0]])
    if elsewhere := [key for key in known if _last(key) == word]:
        return _most_like(path, elsewhere) if "." in path else elsewhere[0]
    return next(iter(get_close_matches(path, known, 1, WHOLE_ALIKE)), None)


def _last(path: str) -> str:
    return path.rpartition(".")[2]


def _most_like(path: str, keys: Iterable[str]) -> str:
    """Return the key most like a path; of a key of both sides the left one, where the path names none."""
    parts = path.split(".")
    named = any(side in parts for side in SIDES)
    return max(keys, key=lambda key: SequenceMatcher(None, path, key if named else _without_side(key)).ratio())


def _without_side(key: str) -> str:
    return ".".join(part for part in key.split(".") if part not in SIDES)
