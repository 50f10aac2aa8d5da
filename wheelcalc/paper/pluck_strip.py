"""Tensions heard in a recording as an unrolled strip from valve to valve: each spoke, its side's mean, 10 % either way."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.plucking.answer import PluckAnswer
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.strip import Strip, step_of
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

STRIP = Strip(left=70.0, right=190.0, size=13.0)
HEIGHT, TOP, BASE = 520.0, 92.0, 450.0
POINT = 4.0
FILL = {"left": "white", "right": "black"}
STYLE = {"left": "dash-dot", "right": "solid"}
LEAST_STEP = 20.0  # N between the marks of the scale
MOST_STEPS = 9
EVEN = 0.1  # of the mean, either way: the usual tolerance of evenness


def pluck_strip(answer: PluckAnswer) -> Drawing:
    """Draw the tension of every spoke that was heard against its place on the rim."""
    drawing = STRIP.drawing(HEIGHT, f"{answer.title}: tension as heard, from valve to valve")
    height = "calibrated" if answer.calibrated else "not calibrated: compare the spokes of one side only"
    for at, text in (
        (54, f"N; {height}. Bars: error of the ear, 19 times in 20."),
        (74, "Filled: right. Open: left. Thin lines: 10 % either way of the side's mean."),
    ):
        drawing.text((STRIP.left, at), text, STRIP.size, "start")
    low, high = _range(answer)
    _scale(drawing, low, high)
    STRIP.holes(drawing, answer.wheel.rim.holes, BASE)
    STRIP.valves(drawing, BASE + 38)
    drawing.text((STRIP.x(180), BASE + 44), "rim hole", STRIP.size)
    lines = [(label, _y(force, low, high), style, width) for label, force, style, width in _lines(answer)]
    for _, y, style, width in lines:
        drawing.path([(STRIP.left, y), (STRIP.end, y)], width, style)
    STRIP.names(drawing, [(label, 360, y) for label, y, _, _ in lines if label])
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


def _y(force: float, low: float, high: float) -> float:
    return BASE - (force - low) / (high - low) * (BASE - TOP)


def _scale(drawing: Drawing, low: float, high: float) -> None:
    step = step_of(high - low, MOST_STEPS, LEAST_STEP)
    forces = [step * number for number in range(math.ceil(low / step), math.floor(high / step) + 1)]
    STRIP.frame(drawing, TOP, BASE, [(_y(force, low, high), f"{force:.0f}") for force in forces])


def _spokes(drawing: Drawing, answer: PluckAnswer, low: float, high: float) -> None:
    """A point and a bar for every spoke heard; a question mark where one was plucked but not surely heard."""
    lacing = answer.wheel.lacing
    for spoke in np.flatnonzero(np.isfinite(answer.tension)).tolist():
        x, force = STRIP.x(float(lacing.rim_angle_deg[spoke])), float(answer.tension[spoke])
        within = NINETEEN_IN_TWENTY * float(answer.own[spoke])
        drawing.line((x, _y(force - within, low, high)), (x, _y(force + within, low, high)), 0.8)
        drawing.circle((x, _y(force, low, high)), POINT, 1.2, fill=FILL[lacing.sides[spoke]])
    for each in answer.heard:
        if not each.pluck.usable and each.spoke is not None and not math.isfinite(answer.tension[each.spoke]):
            drawing.text((STRIP.x(float(lacing.rim_angle_deg[each.spoke])), BASE - 6), "?", STRIP.size)
