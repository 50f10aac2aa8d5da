"""The key that was meant by one that is not known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher, get_close_matches

from wheelcalc.wheel.parts import SIDES

LONGEST = 100  # letters of a path that are looked at; ours: no key has more than 45
# Ours: how alike a last word, a whole path and a name of the trade must be to be named.
ALIKE, WHOLE_ALIKE, SAID_ALIKE = 0.7, 0.6, 0.9
# C: section -> what the trade calls a dimension of it -> the key that holds it.
OTHER_NAMES = {
    "rim": {
        "diameter": "rim.erd",
        "weight": "rim.section.mass",
        "limit": "rim.tension_limit",
        "tension": "rim.tension_limit",
        "size": "rim.bead_seat_diameter",
        "bsd": "rim.bead_seat_diameter",
        "tyre_size": "rim.bead_seat_diameter",
        "offset": "rim.hole_offset",
        "asymmetry": "rim.hole_offset",
        "spokes": "rim.holes",
        "name": "rim.part",
    },
    "hub": {
        "name": "hub.part",
        "old": "hub.over_locknut",
        "width": "hub.over_locknut",
        "spacing": "hub.over_locknut",
        "type": "hub.drive",
        "disc": "hub.rotor",
        "flange_spacing": "hub.flange_distance",
        "flange_diameter": "hub.left.pcd",
    },
    **{
        f"hub.{side}": dict.fromkeys(("pitch_circle", "flange_diameter", "diameter"), f"hub.{side}.pcd")
        for side in SIDES
    },
    "spokes": {
        "head": "hub.left.spoke_head",
        "crosses": "lacing.crosses",
        "gauge": "spokes.wire",
        "diameter": "spokes.wire",
        "thickness": "spokes.wire",
        "count": "rim.holes",
        "length": "stock.lengths",
    },
    "frame": {
        "spacing": "frame.dropout_spacing",
        "width": "frame.dropout_spacing",
    },
    "fork": {
        "dropout_spacing": "frame.dropout_spacing",
    },
    "nipple": {
        "thread": "nipple.for_wire",
        "diameter": "nipple.for_wire",
    },
    "tension": {
        "limit": "rim.tension_limit",
        "maximum": "rim.tension_limit",
    },
    "load": {
        "weight": "load.rider",
    },
}
SAID = {"name": "title"} | {
    f"{table}.{word}": key for table, words in OTHER_NAMES.items() for word, key in words.items()
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
