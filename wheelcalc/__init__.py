"""wheelcalc: a bicycle wheel from mixed and used parts, from the first reading to the safe ride.

Modules load when asked for: ``from wheelcalc import Hub, Flange, Rim, Wheel, lacing, answers``.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wheelcalc import answers as answers
    from wheelcalc.wheel import lacing as lacing
    from wheelcalc.wheel.errors import InputError as InputError
    from wheelcalc.wheel.lacing import Lacing as Lacing
    from wheelcalc.wheel.parts import Flange as Flange
    from wheelcalc.wheel.parts import Hub as Hub
    from wheelcalc.wheel.parts import Nipple as Nipple
    from wheelcalc.wheel.parts import Rim as Rim
    from wheelcalc.wheel.parts import Section as Section
    from wheelcalc.wheel.parts import Wire as Wire
    from wheelcalc.wheel.wheel import Wheel as Wheel

__version__ = "0.2.0"

_HOMES = {
    "Flange": "wheelcalc.wheel.parts",
    "Hub": "wheelcalc.wheel.parts",
    "Nipple": "wheelcalc.wheel.parts",
    "Rim": "wheelcalc.wheel.parts",
    "Section": "wheelcalc.wheel.parts",
    "Wire": "wheelcalc.wheel.parts",
    "Wheel": "wheelcalc.wheel.wheel",
    "Lacing": "wheelcalc.wheel.lacing",
    "InputError": "wheelcalc.wheel.errors",
}
_MODULES = {"lacing": "wheelcalc.wheel.lacing", "answers": "wheelcalc.answers"}

__all__ = [
    "Flange",
    "Hub",
    "InputError",
    "Lacing",
    "Nipple",
    "Rim",
    "Section",
    "Wheel",
    "Wire",
    "__version__",
    "answers",
    "lacing",
]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    if name in _MODULES:
        return import_module(_MODULES[name])
    raise AttributeError(f"module 'wheelcalc' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
