"""A wheel to be trued as an unrolled strip from valve to valve: lateral, radial, tension; now and after the turns."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from wheelcalc.answers.broken import BrokenAnswer
from wheelcalc.answers.true_answer import TrueAnswer
from wheelcalc.paper.drawing import Drawing, text_width
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Floats

PAGE_WIDTH = 277.0  # mm: A4 on its side, less margins
WIDTH, HEIGHT = 1000.0, 690.0
LEFT, RIGHT, TOP = 78.0, 210.0, 62.0  # margins; the names of the lines stand in the right one
PANEL, GAP = 160.0, 30.0  # heights of a panel and between two
TITLE, SIZE = 18.0, 12.5
LABEL_GAP = 15.0
POINT = 3.0
NOW, AFTER = "dashed", "solid"
MARKS = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 100.0, 200.0, 500.0, 1000.0)  # between lines of a scale
MOST_MARKS = 6


@dataclass(frozen=True)
class Line:
    """One line of a panel.

    Parameters
    ----------
    label : beside its right end
    angles_deg, values : its points
    style, width : of the pen
    points : angles and values that are marked, (k, 2); filled "black" or "white"
    fill : of these
    """

    label: str
    angles_deg: Floats
    values: Floats
    style: str = AFTER
    width: float = 1.4
    points: Sequence[tuple[float, float]] = field(default=())
    fill: str = "white"


@dataclass(frozen=True)
class Panel:
    """A scale and its lines."""

    title: str
    lines: Sequence[Line]


def truing_strip(answer: TrueAnswer | BrokenAnswer) -> Drawing:
    """Draw where the rim lies and what the spokes carry, now and after the turns."""
    drawing = Drawing(WIDTH, HEIGHT, f"{answer.build}: truing, from valve to valve", PAGE_WIDTH)
    drawing.text((WIDTH / 2, 26), drawing.title, min(TITLE, WIDTH / text_width(drawing.title, 1.0)), bold=True)
    for number, panel in enumerate(_panels(answer)):
        with drawing.at(0, TOP + number * (PANEL + GAP), f"panel-{number + 1}"):
            _draw(drawing, panel)
    with drawing.at(0, TOP + 3 * PANEL + 2 * GAP):
        _holes(drawing, answer)
    return drawing


def _panels(answer: TrueAnswer | BrokenAnswer) -> Iterator[Panel]:
    holes = answer.wheel.rim.holes
    angles = (np.arange(holes) + 0.5) * 360 / holes
    if isinstance(answer, TrueAnswer):
        model, state = answer.planner.model, answer.estimate.state
        then = answer.passes[0].state if answer.passes else state
        now = (state[model.lateral], _level(state[model.radial]), state[model.tension])
        after = (then[model.lateral], _level(then[model.radial]), then[model.tension])
        done, middle = answer.planner.done, model.structure.rim_plane_x
        read = answer.readings
        yield Panel(
            "lateral, mm (+ right)",
            [*_place(angles, now[0], after[0], read.lateral), *_bounds(middle, done.lateral / 2, "done")],
        )
        off = (read.radial - state[model.radial])[np.isfinite(read.radial)]
        radial = read.radial - (off.mean() if off.size else 0.0) - state[model.radial].mean()
        yield Panel(
            "radial, mm (+ out)", [*_place(angles, now[1], after[1], radial), *_bounds(0.0, done.radial / 2, "done")]
        )
    else:
        now = (answer.gone.lateral, answer.gone.radial, answer.gone.tensions)
        after = (answer.home.lateral, answer.home.radial, answer.home.tensions)
        none = np.full(holes, np.nan)
        gap = answer.pad_gap or math.inf
        yield Panel("lateral, mm (+ right)", [*_place(angles, now[0], after[0], none), *_bounds(0.0, gap, "brake pad")])
        yield Panel("radial, mm (+ out)", [*_place(angles, now[1], after[1], none)])
    yield Panel("tension, N", [*_tensions(answer, now[2], after[2]), *_limits(answer)])


def _level(values: Floats) -> Floats:
    return np.asarray(values - values.mean())


def _place(angles: Floats, now: Floats, after: Floats, read: Floats) -> Iterator[Line]:
    """The rim now, with the readings as points, and after the turns."""
    points = [
        (angle, value) for angle, value in zip(angles.tolist(), read.tolist(), strict=True) if math.isfinite(value)
    ]
    label = "now, points: as read" if points else "now"
    yield Line(label, angles, now, NOW, points=points)
    yield Line("after the turns", angles, after)


def _bounds(middle: float, most: float, name: str) -> Iterator[Line]:
    if math.isfinite(most):
        ends = np.array([0.0, 360.0])
        for sign in (1, -1):
            value = middle + sign * most
            yield Line(f"{name} {value:+.2f}", ends, np.full(2, value), "solid", 0.6)


def _tensions(answer: TrueAnswer | BrokenAnswer, now: Floats, after: Floats) -> Iterator[Line]:
    lacing = answer.wheel.lacing
    for side, fill in zip(SIDES, ("white", "black"), strict=True):
        mask = lacing.on(side)
        angles = lacing.rim_angle_deg[mask]
        points = list(zip(angles.tolist(), after[mask].tolist(), strict=True))
        yield Line(f"{side}, now", angles, now[mask], NOW, 1.0)
        yield Line(f"{side}, after", angles, after[mask], AFTER, points=points, fill=fill)


def _limits(answer: TrueAnswer | BrokenAnswer) -> Iterator[Line]:
    """Limit and floor; one limit where both sides have the same."""
    ends = np.array([0.0, 360.0])
    limits = {side: answer.setup.limit(side) for side in SIDES}
    alike = limits["left"] == limits["right"]
    for side, limit in list(limits.items())[: 1 if alike else 2]:
        if math.isfinite(limit):
            yield Line(f"limit{'' if alike else f' {side}'} {limit:.0f}", ends, np.full(2, limit), "solid", 0.6)
    floor = answer.known.number("tension.floor_stop")
    yield Line(f"floor {floor:.0f}", ends, np.full(2, floor), "solid", 0.6)


def _x(angle_deg: float) -> float:
    return LEFT + angle_deg / 360 * (WIDTH - LEFT - RIGHT)


def _draw(drawing: Drawing, panel: Panel) -> None:
    """The scale, the lines, their points and names."""
    values = np.concatenate(
        [line.values for line in panel.lines] + [[y for _, y in line.points] for line in panel.lines]
    )
    low, high = float(values.min()), float(values.max())
    step = next((mark for mark in MARKS if (high - low) / mark <= MOST_MARKS), MARKS[-1])
    low, high = step * math.floor(low / step), step * math.ceil(high / step)

    def y(value: float) -> float:
        return PANEL - (value - low) / (high - low) * PANEL

    drawing.path([(LEFT, 0), (LEFT, PANEL), (_x(360), PANEL), (_x(360), 0)], 0.8)
    for mark in np.arange(low, high + step / 2, step).tolist():
        drawing.line((LEFT - 5, y(mark)), (LEFT, y(mark)), 0.8)
        digits = 0 if step >= 1 else 2 if step < 0.1 else 1
        drawing.text((LEFT - 8, y(mark) + SIZE / 3), f"{mark + 0.0:.{digits}f}", SIZE, "end")
    if low < 0 < high:
        drawing.line((LEFT, y(0)), (_x(360), y(0)), 0.4)
    for line in panel.lines:
        drawing.path([(_x(a), y(v)) for a, v in zip(line.angles_deg, line.values, strict=True)], line.width, line.style)
        for angle, value in line.points:
            drawing.circle((_x(angle), y(value)), POINT, 1.0, fill=line.fill)
    drawing.text((LEFT, -8), panel.title, SIZE, "start", bold=True)
    _names(drawing, [(line.label, y(float(line.values[-1]))) for line in panel.lines])


def _names(drawing: Drawing, names: Sequence[tuple[str, float]]) -> None:
    """Names of the lines beside their right ends, moved apart where they would touch."""
    order = sorted(names, key=lambda each: each[1])
    ends = np.array([end for _, end in order])
    steps = LABEL_GAP * np.arange(len(ends))
    bare = ends - steps
    spread = (np.maximum.accumulate(bare) + np.minimum.accumulate(bare[::-1])[::-1]) / 2 + steps
    x = _x(360)
    for (label, end), place in zip(order, spread.tolist(), strict=True):
        drawing.path([(x + 3, end), (x + 14, place)], 0.4)
        drawing.text((x + 18, place + SIZE / 3), label, min(SIZE, (RIGHT - 20) / text_width(label, 1.0)), "start")


def _holes(drawing: Drawing, answer: TrueAnswer | BrokenAnswer) -> None:
    """Numbers of the rim holes; a triangle above those whose nipple is turned, its point up where it is tightened."""
    holes = answer.wheel.rim.holes
    size = min(SIZE, 0.9 * (WIDTH - LEFT - RIGHT) / holes / text_width(str(holes), 1.0))
    for hole in range(1, holes + 1):
        x = _x((hole - 0.5) * 360 / holes)
        drawing.line((x, 0), (x, 5), 0.8)
        drawing.text((x, 18), str(hole), size)
    rows = answer.turn_rows() if isinstance(answer, BrokenAnswer) else answer.turn_rows(0)
    for row in rows:
        x, up = _x((row["rim_hole"] - 0.5) * 360 / holes), row["turns"] > 0
        base, tip = (34, 24) if up else (24, 34)
        drawing.path([(x - 5, base), (x + 5, base), (x, tip)], 0.8, fill="black" if up else "white")
    for x in (_x(0), _x(360)):
        drawing.text((x, 48), "valve", SIZE)
    drawing.text((_x(180), 48), "rim hole; black triangle: nipple tighter, white one: looser", SIZE)
