"""One value of a build file: its kind checked, its unit taken off, its uncertainty found."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from wheelcalc.build.dimension import TOOL_SIGMA, Dimension
from wheelcalc.build.section import Key
from wheelcalc.files.words import meant
from wheelcalc.measuring.statistics import mean_sigma
from wheelcalc.wheel.constants import INCH, NEWTON_PER_KGF
from wheelcalc.wheel.errors import InputError, printable
from wheelcalc.wheel.parts import SIDES

MEASURES = ("length", "force", "mass", "angle", "stress", "area", "inertia", "stiffness", "number", "give")
LENGTH = Key("length", "")
PLAIN = {"number": "a plain number", "give": "a plain number of mm per 1000 N, such as 0.20"}
# Of wire, "14", "14/15/14", "gauge 14", "15 g"; no spoke is so thick, nor weighs so much.
GAUGES = re.compile(r"(?:#|(?:g|ga|gauge)\s*)?(?P<all>1[2-7](?:\s*/\s*1[2-7]){0,2})\s*(?:g|ga|gauge)?", re.IGNORECASE)
MOST = 1000  # values of one key; ours: no drawer holds more sizes, no dimension is read so often
LARGEST_SHOWN = 10**15  # ours: what is larger is a slip, and no line has room for it
WIRES = (1.2, 4.0)  # mm, C: only catches slips; wires are 1.4 to 3 mm thick
FOR_WIRE = "nipple.for_wire"
TYRE_MARKED = "bead_seat_diameter"  # stands on the tyre, whose name in inches is taken for it
LARGEST_INCHES = 40.0  # ours: wheels are called 12 to 36
LARGEST_BARE = 1e9  # above, the reader of text says what is wrong
UNIT = {
    "length": " mm",
    "lengths": " mm",
    "force": " N",
    "mass": " g",
    "angle": " degrees",
    "stress": " N/mm2",
    "area": " mm2",
    "inertia": " mm4",
    "give": " mm per 1000 N",
    "stiffness": " N m2",
}


def read_as_inches(path: str, key: Key, raw: Any, tool: str = "rule") -> Dimension:
    """Return a value that cannot be in mm but can in inches as if it had been written so; its origin is "inches".

    Raises
    ------
    InputError
        As `read` does, where inches do not explain it.
    """
    try:
        return read(path, key, raw, tool)
    except InputError:
        each = raw if isinstance(raw, list) else [raw]
        if (
            key.kind not in ("length", "lengths")
            or TYRE_MARKED in path
            or any(type(one) not in (int, float) for one in each)
        ):
            raise
        try:
            entry = read(path, key, [INCH * one for one in each] if isinstance(raw, list) else INCH * raw, tool)
        except InputError:
            entry = None
        if entry is None:
            raise
        return replace(entry, origin="inches")


def read(path: str, key: Key, raw: Any, tool: str = "rule") -> Dimension:
    """Return one value of a build file as a dimension.

    Parameters
    ----------
    path : the dotted key, for the message
    key : what it takes
    raw : as TOML gives it
    tool : "tape", "rule" or "calliper": what a bare reading was taken with

    Raises
    ------
    InputError
        If the value is of another kind or beyond the sensible range.
    """
    if isinstance(raw, list | Mapping) and len(raw) > MOST:
        raise InputError(path, f"found {len(raw)} values; at most {MOST} are read")
    if key.kind in MEASURES:
        return _measure(path, key, raw, tool)
    reader = {"count": _count, "flag": _flag, "text": _text, "wire": _wire, "stock": _stock}.get(key.kind)
    if reader is None:
        shapes = {
            "lengths": _lengths,
            "pairs": _pairs,
            "table": _table,
            "known": _known,
            "loosened": _loosened,
            "holes": _holes,
            "kept": _kept,
        }
        reader = shapes[key.kind]
    return Dimension(reader(path, key, raw))


def shown(value: object, most: int = 40) -> str:  # ours: fits one line of an error
    """Return what the user wrote, fit for one line of an error message."""
    if isinstance(value, int) and abs(value) > LARGEST_SHOWN:
        return "a whole number of many digits"
    if isinstance(value, str):
        return printable(value, most + 3)
    try:
        return printable(repr(value), most + 3)
    except ValueError:  # a number of more digits than Python writes out, somewhere inside
        return "something with a number of many digits"


def _measure(path: str, key: Key, raw: Any, tool: str) -> Dimension:
    value, sigma = _with_unit(path, key, raw)
    _in_range(path, key, value)
    repeats = tuple(_with_unit(path, key, each)[0] for each in raw) if isinstance(raw, list) else ()
    if repeats and key.kind == "length":
        sigma = mean_sigma(repeats, TOOL_SIGMA[key.tool or tool])
    elif sigma is None:
        sigma = TOOL_SIGMA[key.tool or tool] if key.reading or key.raw else 0.0
    return Dimension(value, sigma, "given", repeats)


def _with_unit(path: str, key: Key, raw: Any) -> tuple[float, float | None]:
    """Value and uncertainty; a bare number needs no reader of text, which is loaded only for others."""
    if key.kind in ("number", "give"):
        return _plain_number(path, raw, PLAIN[key.kind])
    if type(raw) in (int, float) and abs(raw) < LARGEST_BARE and not key.with_unit:
        return float(raw), None
    if isinstance(raw, str) and path.endswith(FOR_WIRE):
        _refuse_gauges(path, raw)
    if isinstance(raw, str) and TYRE_MARKED in path and (seat := _bead_seat(path, raw)) is not None:
        return seat, None
    from wheelcalc.files import units  # noqa: PLC0415

    reading = units.read(raw, key.kind, path, signed_sides=key.sided, unit_needed=key.with_unit)
    return reading.value, reading.sigma


def _bead_seat(path: str, text: str) -> float | None:
    from wheelcalc.files import tyre_marks  # noqa: PLC0415 - few files have the mark of a tyre

    return tyre_marks.bead_seat(path, text)


def _length(path: str, raw: Any) -> float:
    return _with_unit(path, LENGTH, raw)[0]


def _whole(path: str, raw: Any) -> int:
    if type(raw) is int and 0 <= raw < LARGEST_BARE:
        return raw
    from wheelcalc.files import units  # noqa: PLC0415

    return units.read_whole(raw, path)


def _plain_number(path: str, raw: Any, what: str) -> tuple[float, float | None]:
    """Return a number without a unit; as text it must carry its standard uncertainty: "0.4 +- 0.1"."""
    if not isinstance(raw, str) or "+-" not in raw:
        return _bare_number(path, raw, what), None
    try:
        value, sigma = (float(part) for part in raw.split("+-"))
    except ValueError:
        value = sigma = math.nan
    if not (math.isfinite(value) and math.isfinite(sigma) and sigma >= 0):
        raise InputError(path, f'found "{shown(raw)}"; write a number and its uncertainty, such as "0.4 +- 0.1"')
    return value, sigma


def _bare_number(path: str, raw: Any, what: str) -> float:
    number = isinstance(raw, int | float) and not isinstance(raw, bool)
    if not number or (isinstance(raw, int) and abs(raw) > LARGEST_SHOWN) or not math.isfinite(raw):
        raise InputError(path, f"found {shown(raw)}; write {what}")
    return float(raw)


def _in_range(path: str, key: Key, value: float) -> None:
    low = -math.inf if key.low is None else key.low
    high = math.inf if key.high is None else key.high
    if low <= value <= high:
        return
    unit = UNIT.get(key.kind, "")
    raise InputError(path, f"found {value:g}{unit}; sensible is {low:g} to {high:g}{unit}{_asks(path, key, value)}")


# How a number out of range may have been meant -> how many of the kind's own unit one of it is.
LIKELY: Mapping[str, Mapping[str, float]] = {
    "length": {"as cm": 10.0, "as inches": INCH, "as m": 1000.0, "with the decimal point one place back": 0.1},
    "force": {"as kgf": NEWTON_PER_KGF, "as kN": 1000.0},
    "mass": {"as kg": 1000.0},
}


def _asks(path: str, key: Key, value: float) -> str:
    """Ask after the unit, with what the number would be in others in which it is sensible."""
    unit = UNIT.get(key.kind, "")
    if not unit or value <= 0:
        return ""
    if TYRE_MARKED in path and value <= LARGEST_INCHES:
        from wheelcalc.files import tyre_marks  # noqa: PLC0415

        return f"; {tyre_marks.refused(f'{value:g}', '')}"
    low, high = key.low or 0.0, math.inf if key.high is None else key.high
    factors = LIKELY.get(key.kind, {}).items()
    would = {how: factor * value for how, factor in factors if low <= factor * value <= high}
    first, *more = [
        f"{how} {'' if nth else 'it is '}{size:.4g}{unit}" for nth, (how, size) in enumerate(would.items())
    ] or [""]
    read = f" Read {', '.join([first, *more])}" if first else ""
    return f"; were{unit} meant?{read}"


def _count(path: str, key: Key, raw: Any) -> int:
    count = _whole(path, raw)
    if (key.low is not None and count < key.low) or (key.high is not None and count > key.high):
        raise InputError(path, f"found {count}; sensible is {key.low:g} to {key.high:g}")
    return count


def _flag(path: str, _key: Key, raw: Any) -> bool:
    if not isinstance(raw, bool):
        raise InputError(path, f"found {shown(raw)}; write true or false")
    return raw


def _text(path: str, key: Key, raw: Any) -> str:
    if not isinstance(raw, str):
        raise InputError(path, f"found {shown(raw)}; write text in quotes{_choices(key)}")
    if key.choices and raw not in key.choices:
        return _choice(path, key, raw)
    demand_one_line(path, raw)
    return raw


def _choice(path: str, key: Key, text: str) -> str:
    """Return the choice in whatever case it is written; refuse another word, with the one that would do where that is plain."""
    if (word := text.strip().lower()) in key.choices:
        return word
    would_do = meant(key.choices, text)
    cure = f'write "{would_do}"' if would_do else f"write one of{_choices(key).removeprefix(', one of')}"
    raise InputError(path, f'found "{shown(text)}"; {cure}')


def demand_one_line(path: str, text: str) -> None:
    """Refuse a title or name that is not one short line of printable characters."""
    # Ours: a title or name of over 200 letters is no title.
    if not text.isprintable() or len(text) > 200:
        raise InputError(path, "found a line break, control character or over 200 characters; write one short line")


def _choices(key: Key) -> str:
    return ", one of " + ", ".join(f'"{choice}"' for choice in key.choices) if key.choices else ""


def _wire(path: str, _key: Key, raw: Any) -> tuple[float, float, float]:
    """Head end, middle and thread end [mm] from "2.0", "2.0/1.8/2.0" or "2.3/2.0" (head end, rest)."""
    plain = isinstance(raw, int | float) and not isinstance(raw, bool) and abs(raw) < LARGEST_SHOWN
    text = f"{raw:g}" if plain else raw
    if not isinstance(text, str):
        raise InputError(path, f'found {shown(raw)}; write the wire in quotes, such as "2.0/1.8/2.0"')
    _refuse_gauges(path, text)
    if not any(letter.isdigit() for letter in text):
        raise InputError(path, f'found "{shown(text)}"; write the diameters in mm, such as "2.0" or "2.0/1.8/2.0"')
    parts = [_length(path, part.strip()) for part in text.split("/")]
    if len(parts) > 3:
        raise InputError(path, f'found "{shown(text)}"; write one, two or three diameters')
    for diameter in parts:
        thinnest, thickest = WIRES
        if not thinnest <= diameter <= thickest:
            asks = f"; was {diameter / 10:g} mm meant?" if thinnest <= diameter / 10 <= thickest else ""
            text = f"found {diameter:g} mm; spoke wire is between {thinnest:g} and {thickest:g} mm thick{asks}"
            raise InputError(path, text)
    head, middle, thread = (*parts, parts[-1], parts[-1])[:3]
    return head, middle, thread


def _refuse_gauges(path: str, text: str) -> None:
    """Refuse the numbers of wire gauges, with the diameters that they mean."""
    if gauge := GAUGES.fullmatch(text.strip()):
        from wheelcalc.files import tables  # noqa: PLC0415 - only an error needs it

        diameters = {row["gauge"]: f"{row['diameter']:.1f}" for row in tables.load("gauges")}
        in_mm = "/".join(diameters[int(each)] for each in gauge["all"].split("/"))
        raise InputError(
            path, f'found "{shown(text)}", which is a gauge; in mm that is "{in_mm}" (`wheelcalc tables gauges`)'
        )


def _stock(path: str, key: Key, raw: Any) -> dict[float, int]:
    if not isinstance(raw, Mapping) or not raw:
        raise InputError(path, f'found {shown(raw)}; write a table of size = count, such as {{ "288" = 20 }}')
    out: dict[float, int] = {}
    for name, count in raw.items():
        size = _length(path, str(name))
        _in_range(path, key, size)
        if size in out:
            raise InputError(path, f"found {size:g} mm twice; write each size once")
        out[size] = _whole(path, count)
        if not 0 <= out[size] <= 10_000:
            raise InputError(path, f"found {out[size]} of {size:g} mm; write a count from 0 to 10000")
    return dict(sorted(out.items()))


def _lengths(path: str, key: Key, raw: Any) -> tuple[float, ...]:
    each = raw if isinstance(raw, list) else [raw]
    if not 1 <= len(each) <= 1000:
        raise InputError(path, f"found {len(each)} lengths; write one or several, at most 1000")
    out = tuple(_length(path, one) for one in each)
    for value in out:
        _in_range(path, key, value)
    return out


def _pairs(path: str, _key: Key, raw: Any) -> dict[str, tuple[float, ...]]:
    if not isinstance(raw, Mapping) or any(side not in SIDES for side in raw):
        raise InputError(path, f"found {shown(raw)}; write {{ left = [2.5], right = [] }}")
    # C: a range only catches slips of unit or decimal point.
    spacer = Key("lengths", "", 0.05, 40)
    return {side: _lengths(path, spacer, raw[side]) if raw.get(side, []) != [] else () for side in SIDES}


def _known(path: str, _key: Key, raw: Any) -> Any:
    from wheelcalc.files.pluck_tables import known_spokes  # noqa: PLC0415 - few files have them

    return known_spokes(path, raw)


def _loosened(path: str, _key: Key, raw: Any) -> Any:
    from wheelcalc.files.pluck_tables import loosened_spokes  # noqa: PLC0415 - few files have them

    return loosened_spokes(path, raw)


def _holes(path: str, _key: Key, raw: Any) -> tuple[int, ...]:
    from wheelcalc.files.truing_lists import stuck_holes  # noqa: PLC0415 - few files have them

    return stuck_holes(path, raw)


def _kept(path: str, _key: Key, raw: Any) -> Any:
    from wheelcalc.files.truing_lists import kept_readings  # noqa: PLC0415 - few files have them

    return kept_readings(path, raw)


def _table(path: str, _key: Key, raw: Any) -> Any:
    if not isinstance(raw, list):
        raise InputError(path, f"found {shown(raw)}; write a list")
    return raw
