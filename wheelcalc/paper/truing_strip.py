"""A wheel to be trued as an unrolled strip from valve to valve: lateral, radial, tension; now and after the turns."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from wheelcalc.answers.broken_spoke import BrokenAnswer
from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.strip import Strip, step_of
from wheelcalc.wheel.parts import SIDES

STRIP = Strip(left=78.0, right=210.0, size=12.5)
HEIGHT, TOP = 690.0, 62.0
PANEL, GAP = 160.0, 30.0  # heights of a panel and between two
POINT = 3.0
NOW, AFTER = "dashed", "solid"
LEAST_STEP = 0.05  # mm between the marks of a scale; of newtons there are always more
MOST_STEPS = 6


@dataclass(frozen=True)
class Curve:
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
    lines: Sequence[Curve]


def truing_strip(answer: TrueAnswer | BrokenAnswer) -> Drawing:
    """Draw where the rim lies and what the spokes carry, now and after the turns."""
    drawing = STRIP.drawing(HEIGHT, f"{answer.title}: trueing, from valve to valve")
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
        model, state, then = answer.planner.model, answer.state, answer.state_after
        now = (state[model.lateral], _level(state[model.radial]), state[model.tension])
        after = (then[model.lateral], _level(then[model.radial]), then[model.tension])
        done, middle = answer.planner.done, model.structure.rim_plane_x
        read = answer.taken
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


def _place(angles: Floats, now: Floats, after: Floats, read: Floats) -> Iterator[Curve]:
    """The rim now, with the readings as points, and after the turns."""
    points = [
        (angle, value) for angle, value in zip(angles.tolist(), read.tolist(), strict=True) if math.isfinite(value)
    ]
    label = "now, points: as read" if points else "now"
    yield Curve(label, angles, now, NOW, points=points)
    yield Curve("after the turns", angles, after)


def _bounds(middle: float, most: float, name: str) -> Iterator[Curve]:
    if math.isfinite(most):
        ends = np.array([0.0, 360.0])
        for sign in (1, -1):
            value = middle + sign * most
            yield Curve(f"{name} {value:+.2f}", ends, np.full(2, value), "solid", 0.6)


def _tensions(answer: TrueAnswer | BrokenAnswer, now: Floats, after: Floats) -> Iterator[Curve]:
    lacing = answer.wheel.lacing
    for side, fill in zip(SIDES, ("white", "black"), strict=True):
        mask = lacing.on(side)
        angles = lacing.rim_angle_deg[mask]
        points = list(zip(angles.tolist(), after[mask].tolist(), strict=True))
        yield Curve(f"{side}, now", angles, now[mask], NOW, 1.0)
        yield Curve(f"{side}, after", angles, after[mask], AFTER, points=points, fill=fill)


def _limits(answer: TrueAnswer | BrokenAnswer) -> Iterator[Curve]:
    """Limit and floor; one limit where both sides have the same."""
    ends = np.array([0.0, 360.0])
    limits = {side: answer.setup.limit(side) for side in SIDES}
    alike = limits["left"] == limits["right"]
    for side, limit in list(limits.items())[: 1 if alike else 2]:
        if math.isfinite(limit):
            yield Curve(f"limit{'' if alike else f' {side}'} {limit:.0f}", ends, np.full(2, limit), "solid", 0.6)
    floor = answer.build.tension.floor_stop
    yield Curve(f"floor {floor:.0f}", ends, np.full(2, floor), "solid", 0.6)


def _draw(drawing: Drawing, panel: Panel) -> None:
    """The scale, the lines, their points and names."""
    values = np.concatenate(
        [line.values for line in panel.lines] + [[y for _, y in line.points] for line in panel.lines]
    )
    low, high = float(values.min()), float(values.max())
    step = step_of(high - low, MOST_STEPS, LEAST_STEP)
    low, high = step * math.floor(low / step), step * math.ceil(high / step)

    def y(value: float) -> float:
        return PANEL - (value - low) / (high - low) * PANEL

    digits = 0 if step >= 1 else 2 if step < 0.1 else 1
    marks = np.arange(low, high + step / 2, step).tolist()
    STRIP.frame(drawing, 0, PANEL, [(y(mark), f"{mark + 0.0:.{digits}f}") for mark in marks])
    if low < 0 < high:
        drawing.line((STRIP.left, y(0)), (STRIP.end, y(0)), 0.4)
    for line in panel.lines:
        drawing.path(
            [(STRIP.x(a), y(v)) for a, v in zip(line.angles_deg, line.values, strict=True)], line.width, line.style
        )
        for angle, value in line.points:
            drawing.circle((STRIP.x(angle), y(value)), POINT, 1.0, fill=line.fill)
    drawing.text((STRIP.left, -8), panel.title, STRIP.size, "start", bold=True)
    STRIP.names(drawing, [(line.label, 360, y(float(line.values[-1]))) for line in panel.lines])


def _holes(drawing: Drawing, answer: TrueAnswer | BrokenAnswer) -> None:
    """Numbers of the rim holes; a triangle above those whose nipple is turned, its point up where it is tightened."""
    holes = answer.wheel.rim.holes
    STRIP.holes(drawing, holes, 0)
    rows = answer.turn_rows()
    for row in rows:
        x, up = STRIP.x((row["rim_hole"] - 0.5) * 360 / holes), row["turns"] > 0
        base, tip = (34, 24) if up else (24, 34)
        drawing.path([(x - 5, base), (x + 5, base), (x, tip)], 0.8, fill="black" if up else "white")
    STRIP.valves(drawing, 48)
    drawing.text((STRIP.x(180), 48), "rim hole; black triangle: nipple tighter, white one: looser", STRIP.size)
