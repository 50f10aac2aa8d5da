"""The lists of tables in [pluck]: spokes of known tension, spokes plucked while they were loosened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from wheelcalc.files import units
from wheelcalc.wheel.errors import InputError

# C: a range only catches slips of unit or decimal point.
TENSION_RANGE = (10.0, 5000.0)  # N
PITCH_RANGE = (20.0, 5000.0)  # Hz
MOST_TURNS = 10.0
KNOWN_EXAMPLE = '[{ rim_hole = 1, tension = "980 N" }]'
LOOSENED_EXAMPLE = "[{ rim_hole = 5, turns = [0, 0.5, 1], pitch_hz = [388, 352, 311] }]"


def known_spokes(path: str, raw: Any) -> tuple[dict[str, Any], ...]:
    """Read `pluck.known`: rim_hole, tension [N] and its standard uncertainty tension_sigma [N], None where not stated.

    Raises
    ------
    InputError
        If an entry is not a rim hole and a tension, or a rim hole is named twice.
    """
    out = []
    for entry in _entries(path, raw, {"rim_hole", "tension"}, KNOWN_EXAMPLE):
        where = f"{path}, rim hole {entry['rim_hole']}"
        reading = units.read(entry["tension"], "force", f"{where}, tension")
        _in_range(f"{where}, tension", reading.value, TENSION_RANGE, "N")
        out.append({"rim_hole": entry["rim_hole"], "tension": reading.value, "tension_sigma": reading.sigma or None})
    return tuple(out)


def loosened_spokes(path: str, raw: Any) -> tuple[dict[str, Any], ...]:
    """Read `pluck.loosened`: rim_hole, turns loosened in all at each reading, and the pitch then [Hz].

    Raises
    ------
    InputError
        If an entry lacks something, the counts differ, the turns do not rise from 0 or the pitches do not fall.
    """
    out = []
    for entry in _entries(path, raw, {"rim_hole", "turns", "pitch_hz"}, LOOSENED_EXAMPLE):
        where = f"{path}, rim hole {entry['rim_hole']}"
        turns = _numbers(f"{where}, turns", entry["turns"], (0.0, MOST_TURNS), "turns")
        pitches = _numbers(f"{where}, pitch_hz", entry["pitch_hz"], PITCH_RANGE, "Hz")
        if len(turns) != len(pitches) or len(turns) < 2:
            raise InputError(where, f"found {len(turns)} turns and {len(pitches)} pitches; write two or more of each")
        if turns[0] != 0 or any(b <= a for a, b in pairwise(turns)):
            raise InputError(
                f"{where}, turns", "must start at 0 and rise, all counted from the start, as in [0, 0.5, 1]"
            )
        if any(b >= a for a, b in pairwise(pitches)):
            raise InputError(f"{where}, pitch_hz", "must fall with every loosening; check the spoke and the readings")
        out.append({"rim_hole": entry["rim_hole"], "turns": turns, "pitch_hz": pitches})
    return tuple(out)


def _entries(path: str, raw: Any, names: set[str], example: str) -> list[Mapping[str, Any]]:
    """The tables of the list, each with just these names, each rim hole once."""
    # C: no rim has more than 144 holes, see rim.holes.
    if not isinstance(raw, Sequence) or isinstance(raw, str) or not raw or len(raw) > 144:
        raise InputError(path, f"is not a list of tables; write {example}")
    seen: set[int] = set()
    for entry in raw:
        if not isinstance(entry, Mapping) or set(entry) != names:
            raise InputError(path, f"needs {', '.join(sorted(names))} in each table and nothing else; write {example}")
        hole = entry["rim_hole"]
        # C: no rim has more than 144 holes, see rim.holes.
        if isinstance(hole, bool) or not isinstance(hole, int) or not 1 <= hole <= 144:
            raise InputError(path, f"found a rim hole that is not a whole number of 1 or more; write {example}")
        if hole in seen:
            raise InputError(path, f"names rim hole {hole} twice; write each once")
        seen.add(hole)
    return list(raw)


def _numbers(path: str, raw: Any, limits: tuple[float, float], unit: str) -> tuple[float, ...]:
    if not isinstance(raw, Sequence) or isinstance(raw, str):
        raise InputError(path, "is not a list of numbers; write such as [0, 0.5, 1]")
    for each in raw:
        if isinstance(each, bool) or not isinstance(each, int | float):
            raise InputError(path, "holds something that is not a plain number; write such as [0, 0.5, 1]")
        _in_range(path, each, limits, unit)
    return tuple(float(each) for each in raw)


def _in_range(path: str, value: float, limits: tuple[float, float], unit: str) -> None:
    if not limits[0] <= value <= limits[1]:
        raise InputError(path, f"found {value:g} {unit}; sensible is {limits[0]:g} to {limits[1]:g} {unit}")
