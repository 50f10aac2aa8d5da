"""wheelcalc: a bicycle wheel from mixed and used parts, from the first reading to the safe ride.

Modules load when asked for: ``from wheelcalc import Hub, Flange, Rim, Wheel, lacing, answers``.

What stands in ``__all__`` here and in `answers`, `lacing`, `batch`, `pictures` and `tone` stays (reference/stable.md);
all else may move.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wheelcalc import answers as answers
    from wheelcalc import batch as batch
    from wheelcalc import pictures as pictures
    from wheelcalc.files.buildfile import BuildFile as BuildFile
    from wheelcalc.files.buildfile import read_build as read_build
    from wheelcalc.spokes.lengths import geometric_length as geometric_length
    from wheelcalc.tension import tone as tone
    from wheelcalc.tension.targets import ratio_left_to_right as ratio_left_to_right
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
    from wheelcalc.wheel.wheel import crossing_angle_rad as crossing_angle_rad
    from wheelcalc.wheel.wheel import span as span

__version__ = "0.2.0"

_HOMES = {
    "BuildFile": "wheelcalc.files.buildfile",
    "Flange": "wheelcalc.wheel.parts",
    "Hub": "wheelcalc.wheel.parts",
    "InputError": "wheelcalc.wheel.errors",
    "Lacing": "wheelcalc.wheel.lacing",
    "Nipple": "wheelcalc.wheel.parts",
    "Rim": "wheelcalc.wheel.parts",
    "Section": "wheelcalc.wheel.parts",
    "Wheel": "wheelcalc.wheel.wheel",
    "Wire": "wheelcalc.wheel.parts",
    "crossing_angle_rad": "wheelcalc.wheel.wheel",
    "geometric_length": "wheelcalc.spokes.lengths",
    "ratio_left_to_right": "wheelcalc.tension.targets",
    "read_build": "wheelcalc.files.buildfile",
    "span": "wheelcalc.wheel.wheel",
}
_MODULES = {
    "answers": "wheelcalc.answers",
    "batch": "wheelcalc.batch",
    "lacing": "wheelcalc.wheel.lacing",
    "pictures": "wheelcalc.pictures",
    "tone": "wheelcalc.tension.tone",
}

__all__ = ["__version__", *_HOMES, *_MODULES]  # noqa: PLE0604 - names, each once


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    if name in _MODULES:
        return import_module(_MODULES[name])
    raise AttributeError(f"module 'wheelcalc' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
