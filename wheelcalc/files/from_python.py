"""What a program gives instead of a file: numbers and arrays of numpy, quantities of any library of units, as the file has them.

Nothing is loaded for that: a quantity is known by what it can do. It becomes the text that a person would write
("602.4 mm"), so that everything after it, the checks and the messages too, is the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from numbers import Real
from typing import Any

from wheelcalc.wheel.given import is_quantity

# A unit of every kind that a build file has, as libraries of units and as the file write it.
WRITTEN = {
    "mm": "mm",
    "N": "N",
    "g": "g",
    "N/mm**2": "N/mm2",
    "mm**2": "mm2",
    "mm**4": "mm4",
    "N*m**2": "N m2",
    "deg": "deg",
}
AS_TOML_HAS_IT = (str, bool, int, float)


def as_in_file(value: Any) -> Any:
    """Return a value, or a whole tree of them, with nothing in it that a file could not hold.

    Parameters
    ----------
    value : numpy's and other numbers become Python's, arrays, tuples and columns of a table lists, quantities text
        with a unit; with an uncertainty too, where their magnitude has one (`nominal_value`, `std_dev`). What is known
        to nobody stays as it is, for the reader to refuse.
    """
    if isinstance(value, Mapping):
        return {name: as_in_file(each) for name, each in value.items()}
    if isinstance(value, list | tuple | range):
        return [as_in_file(each) for each in value]
    return value if type(value) in AS_TOML_HAS_IT else _plain(value)


def _plain(value: Any) -> Any:
    if is_quantity(value):
        return _written(value)
    if hasattr(value, "nominal_value") and hasattr(value, "std_dev"):
        return f"{value.nominal_value!r} +- {value.std_dev!r}"
    listing = getattr(value, "tolist", None) or getattr(value, "to_list", None)
    if listing is not None:
        return listing()
    return float(value) if isinstance(value, Real) else value


def _written(quantity: Any) -> Any:
    """Return a quantity as text, an array of them as a list of texts; without a unit as plain numbers."""
    if str(quantity.units) in ("", "dimensionless"):
        return as_in_file(quantity.magnitude)
    for unit, written in WRITTEN.items():
        try:
            magnitude = as_in_file(quantity.to(unit).magnitude)
        except Exception:
            continue
        if isinstance(magnitude, list):
            return [f"{each!r} {written}" for each in magnitude]
        return f"{magnitude} {written}" if isinstance(magnitude, str) else f"{magnitude!r} {written}"
    return str(quantity)
