"""Pictures of wheels and answers, as SVG; each shows itself in a notebook, `svg()` is its text."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.wheel import Wheel

if TYPE_CHECKING:
    from wheelcalc.answers.base import Answer
    from wheelcalc.paper.drawing import Drawing

__all__ = ["lacing_map", "picture"]

# Command whose answer has a picture -> the function that draws it, in the module of its name.
DRAWN_BY = {
    "tension": "tension_strip",
    "true": "truing_strip",
    "pluck": "pluck_strip",
    "tap": "spectrum",
}


def lacing_map(wheel: Wheel, title: str = "") -> Drawing:
    """Draw both faces of a wheel with the number of every hole.

    Parameters
    ----------
    wheel : which
    title : heads it
    """
    if not isinstance(wheel, Wheel):
        raise InputError("lacing_map", f"found {type(wheel).__name__}; give a Wheel, such as answer.wheel of `lace`")
    drawn: Drawing = import_module("wheelcalc.paper.lacing_map").lacing_map(wheel, title)
    return drawn


def picture(answer: Answer | Wheel) -> Drawing:
    """Draw what the command of an answer draws: the map, the strip from valve to valve, or the spectrum.

    Parameters
    ----------
    answer : of `lace` (the map), `tension`, `true`, `pluck` (the strip) or `tap` (the spectrum); a wheel (the map)

    Raises
    ------
    InputError
        If that answer has no picture.

    Examples
    --------
    >>> from wheelcalc import answers, pictures
    >>> pictures.picture(answers.tension("examples/errand-rear.toml")).svg().startswith("<svg ")
    True
    """
    if isinstance(answer, Wheel):
        return lacing_map(answer)
    if not hasattr(answer, "schema"):
        raise InputError("picture", f"found {type(answer).__name__}; give an answer or a Wheel")
    command = answer.schema.split("/")[1]
    if command == "lace":
        made: Any = answer
        return lacing_map(made.wheel, answer.title)
    if command not in DRAWN_BY:
        raise InputError("picture", f"{command} has none; there is one of lace, {', '.join(DRAWN_BY)}")
    name = DRAWN_BY[command]
    drawn: Drawing = getattr(import_module(f"wheelcalc.paper.{name}"), name)(answer)
    return drawn
