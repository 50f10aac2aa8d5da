"""A wheel to be trued as a strip from valve to valve: lateral, radial, tension, now and after the turns, and each turn."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from wheelcalc.answers.broken_spoke import BrokenAnswer
from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.page import signed_turn
from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.strip import DOT, HAIR, SIZE, Mark, Panel, Pen, Sample, Strip
from wheelcalc.wheel.parts import SIDES

# Edges of the panels, and where the turns are written.
LATERAL, RADIAL, TENSION, TURN = (50.0, 136.0), (150.0, 222.0), (236.0, 318.0), 328.0
NOW, AFTER = ("dashed", 1.0), ("solid", 1.6)  # style and width
BOUND = ("dash-dot", 1.0)
OF_SIDE = {"left": Mark("dot", "white"), "right": Mark("dot", "black")}
TIGHTER, LOOSER = Mark("up", "black"), Mark("down", "white")
WAY = "Tighter is clockwise, seen from the tyre."
LEAST_STEP = {"lateral": 0.05, "radial": 0.05, "tension": 50.0}  # mm, mm, N between the marks of a scale
LEAST_SPAN = {"lateral": 0.4, "radial": 0.4, "tension": 200.0}  # so that noise does not look like a fault


@dataclass(frozen=True)
class Curve:
    """One line of a panel.

    Parameters
    ----------
    angles_deg, values : its points
    pen : style and width
    mark : at its points; None: they are not marked
    """

    angles_deg: Floats
    values: Floats
    pen: Pen
    mark: Mark | None = None


@dataclass(frozen=True)
class Content:
    """What one panel shows.

    Parameters
    ----------
    name, unit : head it
    edges : where it lies
    curves : its lines
    bounds : name and value of each limit
    read : the readings, one for each rim hole; NaN where there is none
    """

    name: str
    unit: str
    edges: tuple[float, float]
    curves: Sequence[Curve]
    bounds: Sequence[tuple[str, float]] = ()
    read: Floats = field(default_factory=lambda: np.empty(0))

    @property
    def panel(self) -> Panel:
        """Its scale, from its lowest value to its highest."""
        values = np.concatenate([*(curve.values for curve in self.curves), self.read, [v for _, v in self.bounds]])
        low, high = float(np.nanmin(values)), float(np.nanmax(values))
        room = max(0.04 * (high - low), (LEAST_SPAN[self.name] - (high - low)) / 2)
        return Panel(*self.edges, low - room, high + room)


def truing_strip(answer: TrueAnswer | BrokenAnswer) -> Drawing:
    """Draw where the rim lies, what the spokes carry, now and after the turns, and the turn of each nipple."""
    contents = list(_read(answer) if isinstance(answer, TrueAnswer) else _broken(answer))
    turned = bool(answer.turn_rows())
    said = WAY if turned else "No nipple is to be turned."
    strip = Strip(f"{answer.title}: trueing", answer.wheel.lacing, [said], list(_samples(contents, turned)), 2)
    for content in contents:
        _draw(strip, content)
    _turns(strip, answer)
    strip.feet([(name, content.panel.x(value)) for content in contents for name, value in content.bounds if name])
    return strip.finished()


def _samples(contents: Sequence[Content], turned: bool) -> Iterator[Sample]:
    if turned:
        yield Sample("now", NOW)
    yield Sample("after the turns" if turned else "now", AFTER)
    if any(np.isfinite(content.read).any() for content in contents):
        yield Sample("as read", mark=Mark("spot"))
    for side, mark in OF_SIDE.items():
        yield Sample(side, AFTER, mark)
    if turned:
        yield Sample("tighter", mark=TIGHTER)
        yield Sample("looser", mark=LOOSER)


def _read(answer: TrueAnswer) -> Iterator[Content]:
    model, state, then, read = answer.planner.model, answer.state, answer.state_after, answer.newest
    done, middle, angles = answer.planner.done, model.structure.rim_plane_x, _angles(answer)
    lateral = [Curve(angles, state[model.lateral], NOW), Curve(angles, then[model.lateral], AFTER)]
    yield Content("lateral", "mm, + right", LATERAL, lateral, _bounds(middle, done.lateral), read.lateral)
    radial = [Curve(angles, _level(each[model.radial]), pen) for each, pen in ((state, NOW), (then, AFTER))]
    off = (read.radial - state[model.radial])[np.isfinite(read.radial)]
    points = read.radial - (off.mean() if off.size else 0.0) - state[model.radial].mean()
    yield Content("radial", "mm, + out", RADIAL, radial, _bounds(0.0, done.radial), points)
    yield _tension(answer, state[model.tension], then[model.tension])


def _broken(answer: BrokenAnswer) -> Iterator[Content]:
    angles, gone, home = _angles(answer), answer.gone, answer.home
    gap = [] if answer.pad_gap is None else [("", -answer.pad_gap), ("brake pads", answer.pad_gap)]
    lateral = [Curve(angles, gone.lateral, NOW), Curve(angles, home.lateral, AFTER)]
    yield Content("lateral", "mm, + right", LATERAL, lateral, gap)
    yield Content("radial", "mm, + out", RADIAL, [Curve(angles, gone.radial, NOW), Curve(angles, home.radial, AFTER)])
    yield _tension(answer, gone.tensions, home.tensions)


def _angles(answer: TrueAnswer | BrokenAnswer) -> Floats:
    holes = answer.wheel.rim.holes
    return np.asarray((np.arange(holes) + 0.5) * 360 / holes)


def _level(values: Floats) -> Floats:
    return np.asarray(values - values.mean())


def _bounds(middle: float, width: float) -> list[tuple[str, float]]:
    """Both edges of what is true enough; the name stands under one of them."""
    return [("", middle - width / 2), (f"done within {width:g}", middle + width / 2)] if math.isfinite(width) else []


def _tension(answer: TrueAnswer | BrokenAnswer, now: Floats, after: Floats) -> Content:
    lacing, curves = answer.wheel.lacing, []
    for side in SIDES:
        mask = lacing.on(side)
        angles = lacing.rim_angle_deg[mask]
        curves += [Curve(angles, now[mask], NOW), Curve(angles, after[mask], AFTER, OF_SIDE[side])]
    return Content("tension", "N", TENSION, curves, list(_limits(answer)))


def _limits(answer: TrueAnswer | BrokenAnswer) -> Iterator[tuple[str, float]]:
    """Limit and floor; one limit where both sides have the same."""
    limits = {side: answer.at_tensions.limit(side) for side in SIDES}
    alike = limits["left"] == limits["right"]
    for side, limit in list(limits.items())[: 1 if alike else 2]:
        if math.isfinite(limit):
            yield f"limit{'' if alike else f' {side}'} {limit:.0f}", limit
    floor = answer.build.tension.floor_stop
    yield f"floor {floor:.0f}", floor


def _draw(strip: Strip, content: Content) -> None:
    """The scale, the limits, the lines and their points."""
    panel = content.panel
    strip.panel(panel, (content.name, content.unit), LEAST_STEP[content.name])
    if panel.low < 0 < panel.high:
        strip.across(panel, 0, ("solid", HAIR))
    for _, value in content.bounds:
        strip.across(panel, value, BOUND)
    for curve in content.curves:
        strip.curve(panel, curve.angles_deg, curve.values, curve.pen, curve.mark)
    if content.read.size:
        strip.curve(panel, (np.arange(strip.holes) + 0.5) * 360 / strip.holes, content.read, None, Mark("spot"))


def _turns(strip: Strip, answer: TrueAnswer | BrokenAnswer) -> None:
    """The turn of each nipple, in the row of its rim hole; which spoke is broken."""
    rows = answer.turn_rows()
    if rows:
        strip.drawing.text((TURN, strip.heads_at + 0.9 * SIZE), "turns", SIZE, "start", bold=True)
    for row in rows:
        y, mark = strip.row(row["rim_hole"]), TIGHTER if row["turns"] > 0 else LOOSER
        mark.draw(strip.drawing, TURN + DOT, y)
        strip.drawing.text((TURN + 2 * DOT + 4, y + SIZE / 3), signed_turn(row["turns"]), SIZE, "start", bold=True)
    for spoke in answer.broken if isinstance(answer, BrokenAnswer) else ():
        y = strip.row(int(answer.wheel.lacing.rim_hole[spoke]))
        strip.drawing.text((TURN, y + SIZE / 3), "broken", SIZE, "start", bold=True)
