"""One function per command: what the command line prints, as an object.

``answers.order("errand-rear.toml")`` returns the answer; its `as_json` is the command's JSON.

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

__all__ = [
    "broken",
    "check",
    "compare",
    "fit",
    "lace",
    "lengths",
    "measure",
    "order",
    "pluck",
    "salvage",
    "tables",
    "tap",
    "tension",
    "true",
]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
