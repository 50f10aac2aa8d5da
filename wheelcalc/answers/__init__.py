"""One function per command: what the command line prints, as an object.

``answers.order("errand-rear.toml")`` returns the answer; its `as_json` is the command's JSON.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wheelcalc.answers.lengths import lengths as lengths
    from wheelcalc.answers.order import order as order

_COMMANDS = ("lengths", "order")

__all__ = ["lengths", "order"]


def __getattr__(name: str) -> Any:
    if name in _COMMANDS:
        return getattr(import_module(f"wheelcalc.answers.{name}"), name)
    raise AttributeError(f"module 'wheelcalc.answers' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
