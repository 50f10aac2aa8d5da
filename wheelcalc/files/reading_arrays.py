"""Readings of a wheel that a program has as arrays: one value a rim hole, nan where nothing was read."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from wheelcalc.files.from_python import as_in_file
from wheelcalc.files.readings import COLUMNS, HOLE, READ, Numbers, RimReadings
from wheelcalc.files.values import shown
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.given import count, in_unit, is_quantity, number

# A reading's name -> the column of a file, and the unit that a quantity is brought to.
NAMES = {
    "lateral": ("lateral_mm", "mm"),
    "radial": ("radial_mm", "mm"),
    "tension": ("tension_N", "N"),
    "tension_sigma": ("tension_sigma_N", "N"),
    "pitch": ("pitch_hz", "Hz"),
    "assigned": ("assigned", ""),
    "turned": ("turned", "turn"),
}
UNITS = dict(NAMES.values())


def pass_of(given: Mapping[str, Any], holes: int, name: str) -> RimReadings:
    """Return the readings of one pass.

    Parameters
    ----------
    given : "lateral", "radial" [mm], "tension", "tension_sigma" [N], "pitch" [Hz], "turned" [turns, + tightens, after
        these readings] -> an array of one value a rim hole, counted forward from the valve, nan where nothing was
        read; or {rim hole: value}. The names of a file's columns ("lateral_mm") will do too, and "rim_hole" beside
        them says which rim holes the values belong to
    holes : of the rim
    name : of the pass, for messages

    Raises
    ------
    InputError
        If a name, a count of values or a value cannot be used.
    """
    at = None if given.get(HOLE) is None else [count(HOLE, each) for each in _list(HOLE, given[HOLE], name)]
    columns: dict[str, Numbers] = {}
    for key, values in given.items():
        if key == HOLE or values is None:
            continue
        column = NAMES[key][0] if key in NAMES else key
        if column not in COLUMNS:
            raise InputError(shown(key), f"is no reading; there are {', '.join(NAMES)}", name)
        columns[column] = dict(_read(key, column, values, at, holes, name))
    if not set(columns) & set(READ):
        raise InputError("", "names nothing that was read; give lateral, radial, tension or pitch", name)
    if "tension_N" in columns and "pitch_hz" in columns:
        raise InputError("", "has both tension and pitch; give one of them for the whole wheel", name)
    return RimReadings(name, columns, {})


def _read(
    key: str, column: str, values: Any, at: list[int] | None, holes: int, name: str
) -> Iterator[tuple[int, float]]:
    """Rim hole and value of all that was read of a column."""
    if isinstance(values, Mapping):
        pairs = [(count(HOLE, hole), each) for hole, each in values.items()]
    else:
        plain = _list(key, in_unit(key, values, UNITS[column]) if is_quantity(values) else values, name)
        places = at or list(range(1, holes + 1))
        if len(plain) != len(places):
            text = (
                f"found {len(plain)} values for {len(places)} rim holes; give one for each, nan where nothing was read"
            )
            raise InputError(key, text, name)
        pairs = list(zip(places, plain, strict=True))
    unit, least, most = COLUMNS[column]
    for hole, each in pairs:
        value = math.nan if each is None else number(f"{key}, rim hole {hole}", each, UNITS[column])
        if not 1 <= hole <= holes:
            raise InputError(key, f"found rim hole {hole}; this rim has holes 1 to {holes}", name)
        if math.isnan(value):
            continue
        if not least <= value <= most:
            text = f"found {value:g} {unit}; readings from {least:g} to {most:g} {unit} are believed"
            raise InputError(f"{key}, rim hole {hole}", text, name)
        yield hole, value


def _list(key: str, values: Any, name: str) -> list[Any]:
    plain = as_in_file(values)
    if not isinstance(plain, list) or any(isinstance(each, list) for each in plain):
        raise InputError(key, f"found {shown(values)}; give one value a rim hole, in a row", name)
    return plain
