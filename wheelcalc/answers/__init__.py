"""One function per command: what the command line prints, as an object.

``answers.order("errand-rear.toml")`` returns the answer: `print` shows the text of the command line, a notebook the
page, `as_json()` is the command's JSON, `rows()` one of its lists as records for pandas or polars, `stops` whether it
says: do not order, do not ride.

Every answer takes a build the same way:

source : path of a build file, "-" for standard input, a dict of its sections and keys, whose numbers may be numpy's
    and quantities of any library of units, or what `wheelcalc.read_build` gave
overrides : other values for some keys, {"lacing.crosses": 2} or ["lacing.crosses=2"]
keys : the same by name, **{"lacing.crosses": 2}

A command's function bears its name (`order`); the module or package that works it out bears the name of the work
(`ordering`), so that loading one never hides the other.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wheelcalc.answers.broken_spoke import broken as broken
    from wheelcalc.answers.checking import check as check
    from wheelcalc.answers.comparing import compare as compare
    from wheelcalc.answers.fitting.compute import fit as fit
    from wheelcalc.answers.lacing.compute import lace as lace
    from wheelcalc.answers.measuring import measure as measure
    from wheelcalc.answers.ordering.compute import order as order
    from wheelcalc.answers.plucking.compute import pluck as pluck
    from wheelcalc.answers.reference import tables as tables
    from wheelcalc.answers.salvaging.compute import salvage as salvage
    from wheelcalc.answers.spoke_lengths import lengths as lengths
    from wheelcalc.answers.tapping import tap as tap
    from wheelcalc.answers.tensioning.compute import tension as tension
    from wheelcalc.answers.truing.compute import true as true
    from wheelcalc.paper.sheet.bench_sheet import sheet as sheet

_HOMES = {
    "broken": "broken_spoke",
    "check": "checking",
    "compare": "comparing",
    "fit": "fitting.compute",
    "lace": "lacing.compute",
    "lengths": "spoke_lengths",
    "measure": "measuring",
    "order": "ordering.compute",
    "pluck": "plucking.compute",
    "salvage": "salvaging.compute",
    "tables": "reference",
    "tap": "tapping",
    "tension": "tensioning.compute",
    "true": "truing.compute",
}
_ABOVE = {"sheet": "wheelcalc.paper.sheet.bench_sheet"}  # an answer that is made of others, a floor above

# What the docstrings say in short, for who asks with help().
_SHORT = "source, overrides, keys : as every answer takes them"

__all__ = [*_HOMES, *_ABOVE]  # noqa: PLE0604 - names, each once


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return _explained(getattr(import_module(f"{__name__}.{_HOMES[name]}"), name))
    if name in _ABOVE:
        return _explained(getattr(import_module(_ABOVE[name]), name))
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def _explained(function: Any) -> Any:
    """Return a function whose docstring says in full what it says in short."""
    if __doc__ and function.__doc__ and _SHORT in function.__doc__:
        full = __doc__.split("Every answer takes a build the same way:")[1].strip()
        function.__doc__ = function.__doc__.replace(_SHORT, full.replace("\n", "\n    "))
    return function


def __dir__() -> list[str]:
    return sorted(__all__)
