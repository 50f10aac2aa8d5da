"""Tension round the wheel as an unrolled strip from valve to valve: unloaded, with the rider on, and the limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wheelcalc.answers.tensioning.answer import TensionAnswer
from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.strip import Strip, step_of
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

STRIP = Strip(left=70.0, right=215.0, size=13.0)
HEIGHT, TOP, BASE = 540.0, 76.0, 460.0
HEADROOM = 1.08  # of the highest line
LEAST_STEP = 50.0  # N between the marks of the scale
MOST_STEPS = 8
POINT = 3.4
STYLES = {
    ("right", "unloaded"): "solid",
    ("right", "rider on"): "dashed",
    ("left", "unloaded"): "dash-dot",
    ("left", "rider on"): "dotted",
}


@dataclass(frozen=True)
class Curve:
    """One line of the strip.

    Parameters
    ----------
    label : at its right end
    angles_deg, tensions : its points; a limit has two, at the valve and at the valve again
    style : of the pen
    fill : of its points; empty: it has none
    width : of the pen
    """

    label: str
    angles_deg: Sequence[float]
    tensions: Sequence[float]
    style: str = "solid"
    fill: str = ""
    width: float = 0.8


def tension_strip(answer: TensionAnswer) -> Drawing:
    """Draw tension against the place on the rim.

    Raises
    ------
    InputError
        If the answer has no tensions to draw.
    """
    if answer.rest is None:
        raise InputError(
            "-o", "there is no tension to draw, because no target could be set; `wheelcalc tension` says why"
        )
    lines = [*_limits(answer), *_sides(answer)]
    top = HEADROOM * max(max(line.tensions) for line in lines)
    drawing = STRIP.drawing(HEIGHT, f"{answer.title}: tension from valve to valve")
    drawing.text((STRIP.left, 56), _what(answer), STRIP.size, anchor="start")
    _scale(drawing, top)
    _holes(drawing, answer)
    for line in lines:
        _draw(drawing, line, top)
    STRIP.names(drawing, [(line.label, line.angles_deg[-1], _y(line.tensions[-1], top)) for line in lines])
    return drawing


def _sides(answer: TensionAnswer) -> Iterator[Curve]:
    """Both sides' tensions, unloaded and with the rider on."""
    lacing = answer.wheel.lacing
    states: list[tuple[str, Floats]] = [("unloaded", answer.rest.tensions)] if answer.rest else []
    if answer.riding is not None:
        states.append(("rider on", answer.riding.still.tensions))
    for side in SIDES:
        mask = lacing.on(side)
        for state, tensions in states:
            fill = {"right": "black", "left": "white"}[side] if state == "unloaded" else ""
            angles = lacing.rim_angle_deg[mask].tolist()
            yield Curve(f"{side}, {state}", angles, tensions[mask].tolist(), STYLES[side, state], fill, 1.6)


def _limits(answer: TensionAnswer) -> Iterator[Curve]:
    """The lowest limit and the slack side's floor as lines across the strip."""
    least = min(answer.target.limits, key=lambda each: each.value)
    where = "" if least.side == "both" else f" {least.side}"
    yield Curve(f"limit{where} {least.value:.0f} N ({least.name})", (0.0, 360.0), (least.value, least.value))
    floor = answer.build.tension.floor_stop
    yield Curve(f"floor {floor:.0f} N", (0.0, 360.0), (floor, floor))


def _y(tension: float, top: float) -> float:
    return BASE - tension / top * (BASE - TOP)


def _draw(drawing: Drawing, line: Curve, top: float) -> None:
    """The line and its points."""
    places = [(STRIP.x(angle), _y(force, top)) for angle, force in zip(line.angles_deg, line.tensions, strict=True)]
    drawing.path(places, line.width, line.style)
    for place in places if line.fill else []:
        drawing.circle(place, POINT, 1.2, fill=line.fill)


def _what(answer: TensionAnswer) -> str:
    if answer.riding is None:
        return "N; unloaded"
    load = answer.riding.still
    return f"N; unloaded, and with the rider's {load.load:.0f} N on rim hole {load.node + 1}"


def _scale(drawing: Drawing, top: float) -> None:
    step = step_of(top, MOST_STEPS, LEAST_STEP)
    forces = [step * number for number in range(math.floor(top / step) + 1)]
    STRIP.frame(drawing, TOP, BASE, [(_y(force, top), f"{force:.0f}") for force in forces])


def _holes(drawing: Drawing, answer: TensionAnswer) -> None:
    """The rim holes, the valve at both ends, the road under the load."""
    holes = answer.wheel.rim.holes
    STRIP.holes(drawing, holes, BASE)
    STRIP.valves(drawing, BASE + 38)
    drawing.text((STRIP.left, BASE + 60), "rim hole", STRIP.size)
    if answer.riding is not None:
        x = STRIP.x((answer.riding.still.node + 0.5) * 360 / holes)
        drawing.arrow([(x, BASE + 48), (x, BASE + 26)], 1.4)
        drawing.text((x, BASE + 64), "road", STRIP.size)
