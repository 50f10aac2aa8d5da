"""Numbers as a program gives them: Python's, numpy's, or quantities of any library of units; checked and made plain.

A quantity is known by what it can do (`to` and `magnitude`), so that no library of units is loaded for it, and those
of a user's own registry are taken like all others. So are numpy's numbers (`item`).
"""

from __future__ import annotations

from collections.abc import Mapping
from numbers import Real
from typing import TYPE_CHECKING, Any

from wheelcalc.wheel.errors import InputError, printable

if TYPE_CHECKING:
    from wheelcalc.arrays import Floats

COUNT = "count"  # in place of a unit: a whole number
NUMBERS = "fiu"  # kinds of numpy's types
LONGEST_SHOWN = 40  # letters; ours: fits one line of an error


def is_quantity(value: object) -> bool:
    """Whether it is a number, or an array, with a unit."""
    return hasattr(value, "to") and hasattr(value, "magnitude") and hasattr(value, "units")


def in_unit(key: str, quantity: Any, unit: str) -> Any:
    """Magnitude of a quantity in a unit.

    Raises
    ------
    InputError
        If it cannot be turned into that unit.
    """
    try:
        return quantity.to(unit).magnitude
    except Exception:
        shown = printable(f"{quantity}", LONGEST_SHOWN)
        raise InputError(key, f"found {shown}; {would_do(unit)}") from None


def number(key: str, value: Any, unit: str) -> float:
    """One number as a float.

    Parameters
    ----------
    key : its name, for errors
    value : a number, or a quantity
    unit : what a plain number is in; "" where it has none

    Raises
    ------
    InputError
        If it is text, an array of several, or nothing that is a number.
    """
    if type(value) is float:
        return value
    if is_quantity(value):
        value = in_unit(key, value, unit)
    if getattr(value, "shape", ()) != ():
        said = f"found an array of shape {value.shape}; a part takes one number, `wheelcalc.batch` takes arrays"
        raise InputError(key, said)
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, bool) or not isinstance(value, Real):
        raise InputError(key, f"found {_shown(value)}; {would_do(unit)}")
    try:
        return float(value)
    except OverflowError:
        raise InputError(key, "found a whole number of many digits; write the reading itself") from None


def count(key: str, value: Any) -> int:
    """One count as an int; a whole float will do.

    Raises
    ------
    InputError
        If it is not a whole number.
    """
    if type(value) is int:
        return value
    counted = number(key, value, COUNT)
    if not counted.is_integer():
        raise InputError(key, f"found {counted:g}; {would_do(COUNT)}")
    return int(counted)


def numbers(key: str, value: Any, unit: str) -> Floats:
    """Numbers as an array of floats; one number is an array too.

    Parameters
    ----------
    key : their name, for errors
    value : a number, an array, list or column of them, or a quantity
    unit : what plain numbers are in; "" where they have none

    Raises
    ------
    InputError
        If they are no numbers, or of another kind than the unit.
    """
    import numpy as np  # noqa: PLC0415 - parts alone need no arrays

    plain = np.asarray(in_unit(key, value, unit) if is_quantity(value) else value)
    if plain.dtype.kind not in NUMBERS:
        said = f"found {_shown(plain.flat[0])}" if plain.size else "found nothing"
        raise InputError(key, f"{said}; {would_do(unit)}")
    return plain.astype(np.float64, copy=False)


def plain_fields(part: Any, units: Mapping[str, str]) -> None:
    """Make the numbers of a frozen part plain floats and ints; None stays where it is the default.

    Parameters
    ----------
    part : a dataclass, whose fields they are
    units : field -> unit, or `COUNT`
    """
    for name, unit in units.items():
        value = getattr(part, name)
        unknown = value is None and part.__dataclass_fields__[name].default is None
        if not unknown and type(value) is not (int if unit is COUNT else float):
            plain = count(name, value) if unit is COUNT else number(name, value, unit)
            object.__setattr__(part, name, plain)


def _shown(value: object) -> str:
    if isinstance(value, str):
        return f'"{printable(value, LONGEST_SHOWN)}"'
    return printable(repr(value), LONGEST_SHOWN)


def would_do(unit: str) -> str:
    """Say what would do where a number in this unit is taken."""
    if unit == COUNT:
        return "write a whole number, such as 36"
    if not unit:
        return "write a plain number"
    return f"write a plain number, taken in {unit}, or {_kind(unit)} with its own unit (a quantity)"


def _kind(unit: str) -> str:
    return {"mm": "a length", "N": "a force", "deg": "an angle", "g": "a mass"}.get(unit, f"in {unit}")
