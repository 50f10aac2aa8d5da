"""Text with a unit to floats in mm, N, g, N/mm2 and degrees; the only module that knows pint.

pint's own parser never sees a user's text (it reads "1,5 mm" as 15 mm and "1 000 mm" as 0 mm): one strict expression
splits number and unit, the unit is looked up in a list, and only then it is converted: decimal multiples by their
factor, all others by pint.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from wheelcalc.wheel.errors import InputError

# Characters; no reading needs more.
LONGEST_TEXT = 100

# In any base unit: far above every reading, far below where squares overflow.
LARGEST = 1e12

# Kind of quantity to the unit of its floats, by pint's name.
BASE_UNIT = {
    "length": "mm",
    "force": "N",
    "mass": "g",
    "angle": "deg",
    "stress": "N/mm**2",
    "area": "mm**2",
    "inertia": "mm**4",
    "stiffness": "N*m**2",
}

# Spelling to pint's name, by kind.
UNITS = {
    "length": {
        "mm": "mm",
        "cm": "cm",
        "m": "m",
        "in": "inch",
        "inch": "inch",
        "inches": "inch",
        '"': "inch",
        "\u2033": "inch",
        "ft": "ft",
    },
    "force": {"N": "N", "kN": "kN", "kgf": "kgf", "lbf": "lbf"},
    "mass": {"g": "g", "kg": "kg", "lb": "lb", "oz": "oz"},
    "angle": {"deg": "deg", "degree": "deg", "degrees": "deg", "°": "deg"},
    "stress": {"N/mm2": "N/mm**2", "N/mm²": "N/mm**2", "MPa": "MPa", "GPa": "GPa"},
    "area": {"mm2": "mm**2", "mm²": "mm**2"},
    "inertia": {"mm4": "mm**4", "mm⁴": "mm**4"},
    "stiffness": {"N m2": "N*m**2", "Nm2": "N*m**2", "N m²": "N*m**2", "N mm2": "N*mm**2"},
}

# Units that are so many of their kind's own: these need no pint, which costs more than everything else at start-up.
# D: by the prefixes alone; 1 MPa is 1 N/mm2.
DECIMAL = {"cm": 10.0, "m": 1000.0, "kN": 1000.0, "kg": 1000.0, "MPa": 1.0, "GPa": 1000.0}

_EXAMPLE = {
    "length": "602.4 mm",
    "force": "1000 N",
    "mass": "14 kg",
    "angle": "72 deg",
    "stress": "200 GPa",
    "area": "138 mm2",
    "inertia": "1450 mm4",
    "stiffness": "110 +- 2 N m2",
}

_FORCE_FOR_MASS = {"kg": "kgf", "g": "kgf", "lb": "lbf", "oz": "lbf"}

_TYPE_IN_TOML = {"dict": "table", "tuple": "list"}

_PLUS_MINUS = re.compile(r"\+/-|\+-|±")

_READING = re.compile(
    r"""
    (?P<sign>[+-]?)
    (?:
        (?: (?P<whole>[0-9]+) (?:[ ]+|-) )?  (?P<top>[0-9]+) / (?P<bottom>[0-9]+)
      | (?P<decimal>(?: [0-9]+ \.? [0-9]* | \.[0-9]+ ) (?:[eE][+-]?[0-9]+)?)
    )
    [ \xa0]*
    (?P<unit>(?: [^\W\d_] | ["'\u2033°%] ) .*)?
    """,
    re.VERBOSE,
)

_SIDE = re.compile(r"(?P<size>.*\S)[ ]+(?P<side>left|right)", re.DOTALL)

_GROUPED = re.compile(r"[0-9]+(?:[ ,.'_\u2019\xa0\u2009\u202f][0-9]+)+(?![0-9/])")


class Reading(NamedTuple):
    """One value as it was read.

    Parameters
    ----------
    value : in mm, N, g, degrees, N/mm2, mm2, mm4 or N m2, as its kind says
    sigma : standard uncertainty, same unit; None where none was given
    """

    value: float
    sigma: float | None


class _Refused(Exception):  # noqa: N818 - never leaves this module
    """What is wrong, as the rest of a sentence that begins with what was found."""


class _Part(NamedTuple):
    """A number, and its unit as written ("" where there is none)."""

    number: float
    unit: str
    fraction: bool


def read(value: object, kind: str, key: str, *, signed_sides: bool = False, unit_needed: bool = False) -> Reading:
    """Read what a build file or `--set` gives for one quantity.

    Parameters
    ----------
    value : a number in the base unit; text with a number, its unit and perhaps "+- 0.5 mm" (one standard uncertainty);
        or two or more of these without uncertainty: repeated readings
    kind : length, force, mass, angle, stress, area, inertia or stiffness
    key : the build file's key, for errors
    signed_sides : whether "2.5 mm left" (-2.5) and "2.5 mm right" are read too
    unit_needed : whether a number without a unit is refused

    Returns
    -------
    Value and standard uncertainty in the base unit; of repeated readings the mean and its standard error [1]_, which
    is 0 where they are all alike.

    Raises
    ------
    InputError
        If it cannot be read, is not finite, or is beyond `LARGEST`.

    References
    ----------
    .. [1] JCGM 100:2008, Guide to the expression of uncertainty in measurement, 4.2.3.
    """
    if isinstance(value, list | tuple):
        return _repeated(value, kind, key, signed_sides, unit_needed)
    return _single(value, kind, key, signed_sides, unit_needed)


def read_whole(value: object, key: str) -> int:
    """Read a count: a whole number of 0 or more, also as 36.0 or text.

    Raises
    ------
    InputError
        If it is anything else, has a unit or is beyond `LARGEST`.
    """
    try:
        return _count(value)
    except _Refused as refused:
        raise InputError(key, f"{_found(value)} {refused}") from None


def plain_number(text: str) -> float | None:
    """A number or fraction without a unit, with a decimal point or comma ("-1 1/8", "0,5"); None where it is none."""
    try:
        part = _split(_trimmed(text.replace(",", ".")), "")
    except _Refused:
        return None
    return None if part.unit else part.number


def _repeated(values: Sequence[object], kind: str, key: str, signed_sides: bool, unit_needed: bool) -> Reading:
    if len(values) < 2:
        few = f"a list of {len(values)} is not a set of repeated readings; write two or more, or one without brackets"
        raise InputError(key, few)
    readings = [_single(value, kind, key, signed_sides, unit_needed) for value in values]
    for value, reading in zip(values, readings, strict=True):
        if reading.sigma is not None:
            text = f"{_found(value)} is one of several readings; leave out its own uncertainty, their scatter counts"
            raise InputError(key, text)
    return _mean([reading.value for reading in readings])


def _mean(values: list[float]) -> Reading:
    """Mean and standard error, s / sqrt(n)."""
    count = len(values)
    if min(values) == max(values):
        return Reading(values[0], 0.0)
    mean = math.fsum(values) / count
    scatter = math.hypot(*(value - mean for value in values))
    return Reading(mean, scatter / math.sqrt(count * (count - 1)))


def _single(value: object, kind: str, key: str, signed_sides: bool, unit_needed: bool) -> Reading:
    try:
        if isinstance(value, str):
            return _from_text(value, kind, signed_sides, unit_needed)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _Refused(f"is not {_a(kind)}; write for example {_EXAMPLE[kind]}")
        if unit_needed:
            raise _Refused(f"has no unit; write for example {_with_unit(value, kind)}")
        return Reading(_within_reach(value), None)
    except _Refused as refused:
        raise InputError(key, f"{_found(value)} {refused}") from None


def _with_unit(number: float, kind: str) -> str:
    return f"{number:g} {_EXAMPLE[kind].rpartition(' ')[2]}"


def _count(value: object) -> int:
    if isinstance(value, str):
        number = _count_in_text(value)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        number = _within_reach(value)
    else:
        raise _Refused("is not a count; write a whole number such as 36")
    if not number.is_integer() or number < 0:
        raise _Refused("is not a count; write a whole number of 0 or more")
    return int(number)


def _count_in_text(text: str) -> float:
    part = _split(_trimmed(text), "36")
    if part.unit or part.fraction:
        raise _Refused("is not a count; write a whole number alone, such as 36")
    return _within_reach(part.number)


def _from_text(text: str, kind: str, signed_sides: bool, unit_needed: bool) -> Reading:
    size, side = _without_side(_trimmed(text), signed_sides)
    pieces = [piece.strip() for piece in _PLUS_MINUS.split(size)]
    if len(pieces) > 2:
        raise _Refused("has more than one uncertainty; write for example 602.4 +- 0.5 mm")
    parts = [_split(piece, _EXAMPLE[kind]) for piece in pieces]
    value, *errors = _with_common_unit(parts)
    if unit_needed and not value.unit:
        raise _Refused(f"has no unit; write for example {_with_unit(value.number, kind)}")
    sigmas = [_in_base_unit(error, kind) for error in errors]
    if any(sigma <= 0 for sigma in sigmas):
        raise _Refused("has an uncertainty that is not above zero; write it as in 602.4 +- 0.5 mm, or leave it out")
    number = _in_base_unit(value, kind)
    return Reading(0.0 - number if side == "left" else number, sigmas[0] if sigmas else None)


def _trimmed(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise _Refused(f"is longer than {LONGEST_TEXT} characters; write one number and its unit")
    trimmed = text.strip().replace("\u2212", "-")
    if not trimmed:
        raise _Refused("is empty; write a number")
    _refuse_separators(trimmed)
    return trimmed


def _without_side(text: str, signed_sides: bool) -> tuple[str, str]:
    match = _SIDE.fullmatch(text) if signed_sides else None
    size, side = match.group("size", "side") if match else (text, "")
    if {"left", "right"} & set(size.lower().split()):
        would_do = "write the side last, as in 2.5 mm left" if signed_sides else "leave out the side"
        raise _Refused(f"has a side that cannot be read here; {would_do}")
    if side and size[0] in "+-":
        raise _Refused("has both a sign and a side; write one of them (+ is right)")
    return size, side


def _split(text: str, example: str) -> _Part:
    """Split one number from its unit."""
    match = _READING.fullmatch(text)
    if match is None:
        unit = " with a unit" if " " in example else ""
        raise _Refused(f"is not one plain number{unit}; write for example {example}")
    unit = match["unit"] or ""
    size = _fraction(match) if match["top"] else float(match["decimal"])
    return _Part(-size if match["sign"] == "-" else size, unit, match["top"] is not None)


def _fraction(match: re.Match[str]) -> float:
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if bottom == 0:
        raise _Refused("divides by zero; write a fraction such as 7/16 in")
    if match["whole"] and top >= bottom:
        raise _Refused("has a whole number before a fraction of 1 or more; write it as in 5 1/2 in")
    return whole + top / bottom


def _with_common_unit(parts: list[_Part]) -> list[_Part]:
    """Give a value the unit that follows its uncertainty ("602.4 +- 0.5 mm")."""
    if parts[0].unit and not parts[-1].unit:
        raise _Refused("has a unit before the uncertainty only; write it last, as in 602.4 +- 0.5 mm")
    parts = [part if part.unit else part._replace(unit=parts[-1].unit) for part in parts]
    if any(part.fraction and not part.unit for part in parts):
        raise _Refused("is a fraction without a unit; write for example 5 1/2 in")
    return parts


def _in_base_unit(part: _Part, kind: str) -> float:
    base = BASE_UNIT[kind]
    unit = _known_unit(part, kind) if part.unit else base
    if unit == base:
        return _within_reach(part.number)
    if unit in DECIMAL:
        return _within_reach(part.number * DECIMAL[unit])
    return _within_reach(float(registry().Quantity(part.number, unit).m_as(base)))


def _within_reach(number: float) -> float:
    if not abs(number) <= LARGEST:
        raise _Refused(f"is not a finite number up to {LARGEST:g}; write the reading itself")
    return float(number)


@cache
def registry() -> Any:
    """The registry, pint's, of the units that a build file may use, and no others."""
    import pint  # noqa: PLC0415 - only a unit that is no decimal multiple of its kind's own needs it

    return pint.UnitRegistry(Path(__file__).with_name("units.txt"))


def _known_unit(part: _Part, kind: str) -> str:
    known = UNITS[kind]
    if part.unit in known:
        return known[part.unit]
    takes = f"{_a(kind)} takes {_listed(kind)}"
    others = [other for other in UNITS if part.unit in UNITS[other]]
    if not others:
        raise _Refused(f"has the unknown unit {_found(part.unit)}{_nearest(part.unit, kind)}; {takes}")
    if kind == "force" and others == ["mass"]:
        raise _Refused(f"is a mass where a force is needed; write {_FORCE_FOR_MASS[part.unit]} ({takes})")
    if kind == "mass" and part.unit in ("kgf", "lbf"):
        raise _Refused(f"is a force where a mass is needed; write {part.unit.removesuffix('f')} ({takes})")
    raise _Refused(f"is {_a(others[0])}; {takes}")


def _nearest(unit: str, kind: str) -> str:
    from difflib import get_close_matches  # noqa: PLC0415 - only an error needs it

    by_lower = {known.lower(): known for known in UNITS[kind]}
    near = get_close_matches(unit.lower(), by_lower, n=1)
    return f" (the nearest is {by_lower[near[0]]})" if near else ""


def _listed(kind: str) -> str:
    """Accepted spellings that every terminal shows."""
    shown = [spelling for spelling in UNITS[kind] if spelling.isascii()]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _refuse_separators(text: str) -> None:
    """Refuse decimal commas and thousands separators, and say what was meant where that can be known."""
    for match in _GROUPED.finditer(text):
        if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", match[0]):
            thousands, decimal = match[0].replace(",", ""), match[0].replace(",", ".")
            raise _Refused(f"can mean {thousands} or {decimal}; write the one that is meant, without the comma")
    meant = _GROUPED.sub(lambda match: _with_point(match[0]), text)
    if meant != text and all(_READING.fullmatch(piece.strip()) for piece in _PLUS_MINUS.split(meant)):
        what = "a comma" if "," in text else "a separator"
        raise _Refused(f"has {what} inside the number; write {_one_line(meant)}")


def _with_point(number: str) -> str:
    """Write "1 000,5" as "1000.5"; as it stands where the groups make no sense."""
    groups = re.split(r"[^0-9]", number)
    last_mark = re.findall(r"[^0-9]", number)[-1]
    decimals = f".{groups.pop()}" if last_mark in ".," and number.count(last_mark) == 1 else ""
    if any(len(group) != 3 for group in groups[1:]):
        return number
    return "".join(groups) + decimals


def _found(value: object) -> str:
    """Show what was found, whatever it is."""
    if isinstance(value, str):
        quote = "'" if '"' in value else '"'
        return f"{quote}{_one_line(value)}{quote}"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) > LARGEST:
        return "a whole number of many digits"
    if isinstance(value, int | float):
        return str(value)
    name = type(value).__name__
    return _a(_TYPE_IN_TOML.get(name, name))


def _one_line(text: str) -> str:
    """Shorten a text and escape what a terminal may not show."""
    # Ours: 40 letters of what was typed fit into one line of an error.
    short = text if len(text) <= 40 else text[:37] + "..."
    return "".join(
        sign if sign.isprintable() and sign <= "\xff" else sign.encode("unicode_escape").decode("ascii")
        for sign in short
    )
