"""Tensions heard in a recording as an unrolled strip from valve to valve: each spoke, its side's mean, 10 % either way."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.pluck_answer import PluckAnswer
from wheelcalc.paper.drawing import Drawing, text_width
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

PAGE_WIDTH = 277.0  # mm: A4 on its side, less margins
WIDTH, HEIGHT = 1000.0, 520.0
LEFT, RIGHT, TOP, BOTTOM = 70.0, 190.0, 92.0, 70.0  # margins; names of the lines stand in the right one
TITLE, SIZE = 18.0, 13.0
POINT = 4.0
FILL = {"left": "white", "right": "black"}
STYLE = {"left": "dash-dot", "right": "solid"}
STEPS = (20, 50, 100, 200, 500, 1000)  # N between the marks of the scale
MOST_STEPS = 9
EVEN = 0.1  # of the mean, either way: the usual tolerance of evenness


def pluck_strip(answer: PluckAnswer) -> Drawing:
    """Draw the tension of every spoke that was heard against its place on the rim."""
    title = f"{answer.build}: tension as heard, from valve to valve"
    drawing = Drawing(WIDTH, HEIGHT, title, PAGE_WIDTH)
    drawing.text((WIDTH / 2, 28), title, min(TITLE, WIDTH / text_width(title, 1.0)), bold=True)
    height = "calibrated" if answer.calibrated else "not calibrated: compare the spokes of one side only"
    drawing.text((LEFT, 54), f"N; {height}. Bars: error of the ear, 19 times in 20.", SIZE, "start")
    drawing.text(
        (LEFT, 74), "Filled: right. Open: left. Thin lines: 10 % either way of the side's mean.", SIZE, "start"
    )
    low, high = _range(answer)
    _scale(drawing, low, high)
    _holes(drawing, answer)
    for label, force, style, width in _lines(answer):
        drawing.path([(LEFT, _y(force, low, high)), (WIDTH - RIGHT, _y(force, low, high))], width, style)
        if label:
            drawing.text((WIDTH - RIGHT + 8, _y(force, low, high) + SIZE / 3), label, SIZE, "start")
    _spokes(drawing, answer, low, high)
    return drawing


def _range(answer: PluckAnswer) -> tuple[float, float]:
    """Lowest and highest tension of the scale [N]."""
    within = NINETEEN_IN_TWENTY * answer.own
    forces = [force for _, force, _, _ in _lines(answer)]
    low = min(float(np.nanmin(answer.tension - within)), *forces)
    high = max(float(np.nanmax(answer.tension + within)), *forces)
    room = 0.05 * (high - low)
    return max(low - room, 0.0), high + room


def _lines(answer: PluckAnswer) -> Iterator[tuple[str, float, str, float]]:
    """Name, tension, style and width of each line across the strip."""
    for name, side in answer.sides.items():
        yield f"{name}, mean {side.tension:.0f} N", side.tension, STYLE[name], 1.6
        for sign in (-1, 1):
            yield "", side.tension * (1 + sign * EVEN), STYLE[name], 0.5


def _x(angle_deg: float) -> float:
    return LEFT + angle_deg / 360 * (WIDTH - LEFT - RIGHT)


def _y(force: float, low: float, high: float) -> float:
    return HEIGHT - BOTTOM - (force - low) / (high - low) * (HEIGHT - TOP - BOTTOM)


def _scale(drawing: Drawing, low: float, high: float) -> None:
    base, right = HEIGHT - BOTTOM, WIDTH - RIGHT
    drawing.path([(LEFT, TOP), (LEFT, base), (right, base), (right, TOP)])
    step = next((each for each in STEPS if (high - low) / each <= MOST_STEPS), STEPS[-1])
    for force in range(math.ceil(low / step) * step, int(high) + 1, step):
        y = _y(force, low, high)
        drawing.line((LEFT - 5, y), (LEFT, y))
        drawing.text((LEFT - 9, y + SIZE / 3), str(force), SIZE, "end")


def _holes(drawing: Drawing, answer: PluckAnswer) -> None:
    """Ticks and numbers of the rim holes, the valve at both ends."""
    holes, base = answer.wheel.rim.holes, HEIGHT - BOTTOM
    size = min(SIZE, 0.9 * (WIDTH - LEFT - RIGHT) / holes / text_width(str(holes), 1.0))
    for hole in range(1, holes + 1):
        x = _x((hole - 0.5) * 360 / holes)
        drawing.line((x, base), (x, base + 5))
        drawing.text((x, base + 18), str(hole), size)
    for x in (LEFT, WIDTH - RIGHT):
        drawing.text((x, base + 38), "valve", SIZE)
    drawing.text(((LEFT + WIDTH - RIGHT) / 2, base + 44), "rim hole", SIZE)


def _spokes(drawing: Drawing, answer: PluckAnswer, low: float, high: float) -> None:
    """A point and a bar for every spoke heard; a question mark where one was plucked but not surely heard."""
    lacing = answer.wheel.lacing
    for spoke in np.flatnonzero(np.isfinite(answer.tension)).tolist():
        x, force = _x(float(lacing.rim_angle_deg[spoke])), float(answer.tension[spoke])
        within = NINETEEN_IN_TWENTY * float(answer.own[spoke])
        drawing.line((x, _y(force - within, low, high)), (x, _y(force + within, low, high)), 0.8)
        drawing.circle((x, _y(force, low, high)), POINT, 1.2, fill=FILL[lacing.sides[spoke]])
    for each in answer.heard:
        if each.pluck.doubtful and each.spoke is not None and not math.isfinite(answer.tension[each.spoke]):
            drawing.text((_x(float(lacing.rim_angle_deg[each.spoke])), HEIGHT - BOTTOM - 6), "?", SIZE)
