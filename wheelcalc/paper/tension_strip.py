"""Tension round the wheel as a strip from valve to valve: unloaded, with the rider on, and the limits."""

from __future__ import annotations

from collections.abc import Iterator

from wheelcalc.answers.tensioning.answer import TensionAnswer
from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.strip import MARGIN, NUMBERS, ROW, SIZE, WIDTH, Mark, Panel, Pen, Sample, Strip
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

LEFT, RIGHT = NUMBERS + 8, WIDTH - 52  # the road has its place right of it
HEADROOM = 1.04  # of the highest line
LEAST_STEP = 50.0  # N between the marks of the scale
UNLOADED: dict[str, Pen] = {"right": ("solid", 1.6), "left": ("dash-dot", 1.6)}
RIDER_ON: dict[str, Pen] = {"right": ("dashed", 1.6), "left": ("dotted", 1.6)}
OF_SIDE = {"right": Mark("dot", "black"), "left": Mark("dot", "white")}


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
    curves = [*_curves(answer)]
    bounds = dict(_bounds(answer))
    highest = max(*bounds.values(), *(float(values.max()) for _, _, values in curves))
    panel = Panel(LEFT, RIGHT, 0.0, HEADROOM * highest)
    lacing = answer.wheel.lacing
    said = f"{answer.title}: tension round the wheel"
    strip = Strip(said, lacing, [*_load(answer)], [sample for sample, _, _ in curves])
    strip.panel(panel, ["tension, N"], LEAST_STEP)
    for value in bounds.values():
        strip.across(panel, value)
    for sample, side, values in curves:
        mask = lacing.on(side)
        strip.curve(panel, lacing.rim_angle_deg[mask], values[mask], sample.pen, sample.mark)
    _road(strip, answer)
    strip.feet([(name, panel.x(value)) for name, value in bounds.items()])
    return strip.finished()


def _curves(answer: TensionAnswer) -> Iterator[tuple[Sample, str, Floats]]:
    """Both sides, unloaded and with the rider on: what each line is, its side, the tensions of all spokes."""
    for side in SIDES:
        if answer.rest is not None:
            yield Sample(f"{side}, unloaded", UNLOADED[side], OF_SIDE[side]), side, answer.rest.tensions
        if answer.riding is not None:
            yield Sample(f"{side}, rider on", RIDER_ON[side]), side, answer.riding.still.tensions


def _bounds(answer: TensionAnswer) -> Iterator[tuple[str, float]]:
    """The lowest limit and the slack side's floor."""
    least = min(answer.target.limits, key=lambda each: each.value_N)
    where = "" if least.side == "both" else f" {least.side}"
    yield f"limit{where} {least.value_N:.0f} N ({least.name})", least.value_N
    floor = answer.build.tension.floor_stop
    yield f"floor {floor:.0f} N", floor


def _load(answer: TensionAnswer) -> Iterator[str]:
    if answer.riding is not None:
        load = answer.riding.still
        yield f"Rider on: {load.load:.0f} N at rim hole {load.node + 1}."


def _road(strip: Strip, answer: TensionAnswer) -> None:
    """Where the road pushes."""
    if answer.riding is not None:
        y = strip.row(answer.riding.still.node + 1)
        strip.drawing.text((WIDTH - MARGIN, y + SIZE / 3), "road", SIZE, "end")
        strip.drawing.arrow([(WIDTH - MARGIN - 29, y), (RIGHT + 2, y)], 1.4, ROW / 2)
