"""One function per command: what the command line prints, as an object.

``answers.order("errand-rear.toml")`` returns the answer; its `as_json` is the command's JSON.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wheelcalc.answers.broken import broken as broken
    from wheelcalc.answers.check import check as check
    from wheelcalc.answers.compare import compare as compare
    from wheelcalc.answers.fit import fit as fit
    from wheelcalc.answers.lace import lace as lace
    from wheelcalc.answers.lengths import lengths as lengths
    from wheelcalc.answers.measure import measure as measure
    from wheelcalc.answers.order import order as order
    from wheelcalc.answers.pluck import pluck as pluck
    from wheelcalc.answers.salvage import salvage as salvage
    from wheelcalc.answers.tables import tables as tables
    from wheelcalc.answers.tension import tension as tension
    from wheelcalc.answers.true import true as true

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
    "tension",
    "true",
]


class _Answers(ModuleType):
    """The package; loading a module of it must not hide the function that bears the same name."""

    def __getattr__(self, name: str) -> Any:
        if name in __all__:
            import_module(f"{__name__}.{name}")
            return self.__dict__[name]
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

    def __setattr__(self, name: str, value: Any) -> None:
        found = getattr(value, name) if name in __all__ and isinstance(value, ModuleType) else value
        super().__setattr__(name, found)

    def __dir__(self) -> list[str]:
        return sorted(__all__)


sys.modules[__name__].__class__ = _Answers
