"""Tension round the wheel as an unrolled strip from valve to valve: unloaded, with the rider on, and the limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.answers.tension_answer import TensionAnswer
from wheelcalc.paper.drawing import Drawing, text_width
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Floats

PAGE_WIDTH = 277.0  # mm: A4 on its side, less margins
WIDTH, HEIGHT = 1000.0, 540.0
LEFT, RIGHT, TOP, BOTTOM = 70.0, 215.0, 76.0, 80.0  # margins; labels of the lines stand in the right one
HEADROOM = 1.08  # of the highest line
STEPS = (50, 100, 200, 500, 1000)  # N between the marks of the scale
MOST_STEPS = 8
TITLE, SIZE = 18.0, 13.0  # of text
LABEL_GAP = 16.0  # between two labels, so that they do not touch
POINT = 3.4
STYLES = {
    ("right", "unloaded"): "solid",
    ("right", "rider on"): "dashed",
    ("left", "unloaded"): "dash-dot",
    ("left", "rider on"): "dotted",
}


@dataclass(frozen=True)
class Line:
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
    title = f"{answer.build}: tension from valve to valve"
    drawing = Drawing(WIDTH, HEIGHT, title, PAGE_WIDTH)
    drawing.text((WIDTH / 2, 28), title, min(TITLE, WIDTH / text_width(title, 1.0)), bold=True)
    drawing.text((LEFT, 56), _what(answer), SIZE, anchor="start")
    _frame(drawing, top)
    _holes(drawing, answer)
    for line in lines:
        _draw(drawing, line, top)
    _labels(drawing, lines, top)
    return drawing


def _sides(answer: TensionAnswer) -> Iterator[Line]:
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
            yield Line(f"{side}, {state}", angles, tensions[mask].tolist(), STYLES[side, state], fill, 1.6)


def _limits(answer: TensionAnswer) -> Iterator[Line]:
    """The lowest limit and the slack side's floor as lines across the strip."""
    least = min(answer.target.limits, key=lambda each: each.value)
    where = "" if least.side == "both" else f" {least.side}"
    yield Line(f"limit{where} {least.value:.0f} N ({least.name})", (0.0, 360.0), (least.value, least.value))
    floor = answer.known.number("tension.floor_stop")
    yield Line(f"floor {floor:.0f} N", (0.0, 360.0), (floor, floor))


def _x(angle_deg: float) -> float:
    return LEFT + angle_deg / 360 * (WIDTH - LEFT - RIGHT)


def _y(tension: float, top: float) -> float:
    return HEIGHT - BOTTOM - tension / top * (HEIGHT - TOP - BOTTOM)


def _draw(drawing: Drawing, line: Line, top: float) -> None:
    """The line and its points."""
    places = [(_x(angle), _y(force, top)) for angle, force in zip(line.angles_deg, line.tensions, strict=True)]
    drawing.path(places, line.width, line.style)
    for place in places if line.fill else []:
        drawing.circle(place, POINT, 1.2, fill=line.fill)


def _labels(drawing: Drawing, lines: Sequence[Line], top: float) -> None:
    """Names of the lines beside their right ends, moved apart where they would touch, with a hair line to the end."""
    order = sorted(lines, key=lambda line: line.tensions[-1], reverse=True)
    ends = np.array([_y(line.tensions[-1], top) for line in order])
    x = WIDTH - RIGHT
    for line, end, y in zip(order, ends.tolist(), _apart(ends).tolist(), strict=True):
        drawing.path([(_x(line.angles_deg[-1]) + 6, end), (x + 4, end), (x + 14, y)], 0.4)
        drawing.text((x + 18, y + SIZE / 3), line.label, min(SIZE, (RIGHT - 20) / text_width(line.label, 1.0)), "start")


def _apart(ends: Floats) -> Floats:
    """Heights as near to the given, increasing ones as gaps of `LABEL_GAP` allow."""
    steps = LABEL_GAP * np.arange(len(ends))
    # Without the gaps the heights must not decrease: the mean of the running maximum and minimum does that evenly.
    bare = ends - steps
    high, low = np.maximum.accumulate(bare), np.minimum.accumulate(bare[::-1])[::-1]
    return np.asarray((high + low) / 2 + steps)


def _what(answer: TensionAnswer) -> str:
    if answer.riding is None:
        return "N; unloaded"
    load = answer.riding.still
    return f"N; unloaded, and with the rider's {load.load:.0f} N on rim hole {load.node + 1}"


def _frame(drawing: Drawing, top: float) -> None:
    """The scale of tension and the two edges at the valve."""
    base, right = _y(0, top), WIDTH - RIGHT
    drawing.path([(LEFT, TOP), (LEFT, base), (right, base), (right, TOP)])
    step = next((each for each in STEPS if top / each <= MOST_STEPS), 10 ** math.ceil(math.log10(top / MOST_STEPS)))
    for force in range(0, int(top) + 1, step):
        y = _y(force, top)
        drawing.line((LEFT - 5, y), (LEFT, y))
        drawing.text((LEFT - 9, y + SIZE / 3), str(force), SIZE, "end")


def _holes(drawing: Drawing, answer: TensionAnswer) -> None:
    """Ticks and numbers of the rim holes, the valve at both ends, the road under the load."""
    holes, base = answer.wheel.rim.holes, HEIGHT - BOTTOM
    room = 0.9 * (WIDTH - LEFT - RIGHT) / holes
    size = min(SIZE, room / text_width(str(holes), 1.0))
    for hole in range(1, holes + 1):
        x = _x((hole - 0.5) * 360 / holes)
        drawing.line((x, base), (x, base + 5))
        drawing.text((x, base + 18), str(hole), size)
    for x in (LEFT, WIDTH - RIGHT):
        drawing.text((x, base + 38), "valve", SIZE)
    drawing.text((LEFT, base + 60), "rim hole", SIZE)
    if answer.riding is not None:
        x = _x((answer.riding.still.node + 0.5) * 360 / holes)
        drawing.arrow([(x, base + 48), (x, base + 26)], 1.4)
        drawing.text((x, base + 64), "road", SIZE)
