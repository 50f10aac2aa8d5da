"""Tension round the wheel as an unrolled strip from valve to valve: unloaded, with the rider on, and the limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from wheelcalc.answers.tension import TensionAnswer
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Floats

WIDTH, HEIGHT = 1000.0, 520.0
LEFT, RIGHT, TOP, BOTTOM = 70.0, 200.0, 60.0, 80.0  # margins; labels of the lines stand in the right one
HEADROOM = 1.08  # of the highest line
STEPS = (50, 100, 200, 500, 1000)  # N between the lines of the scale
MOST_STEPS = 8
LABEL_GAP = 16.0  # between two labels, so that they do not touch
SOLID, LONG, SHORT, DOTS = "", "14 5", "7 5", "2 4"
LINES = {
    ("right", "unloaded"): SOLID,
    ("right", "rider on"): SHORT,
    ("left", "unloaded"): LONG,
    ("left", "rider on"): DOTS,
}


@dataclass(frozen=True)
class Line:
    """One line of the strip.

    Parameters
    ----------
    label : at its right end
    angles_deg, tensions : its points; a limit has two, at the valve and at the valve again
    dashes : of the pen
    filled : whether its points are filled; None: it has no points
    width : of the pen
    """

    label: str
    angles_deg: Sequence[float]
    tensions: Sequence[float]
    dashes: str
    filled: bool | None = None
    width: float = 1.6


@dataclass(frozen=True)
class Strip:
    """The picture; it shows itself in a notebook."""

    svg: str

    def _repr_svg_(self) -> str:
        return self.svg


def tension_strip(answer: TensionAnswer) -> Strip:
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
    parts = [*_frame(answer, top), *(part for line in lines for part in _drawn(line, top)), *_labels(lines, top)]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}" height="{HEIGHT:g}" '
        'font-family="sans-serif" font-size="13" fill="black" stroke="none">'
    )
    title = f"<title>{escape(answer.build)}: tension from valve to valve</title>"
    return Strip("\n".join([head, title, '<rect width="100%" height="100%" fill="white"/>', *parts, "</svg>"]))


def _sides(answer: TensionAnswer) -> Iterator[Line]:
    """Both sides' tensions, unloaded and with the rider on."""
    lacing = answer.wheel.lacing
    assert answer.rest is not None
    states: list[tuple[str, Floats]] = [("unloaded", answer.rest.tensions)]
    if answer.riding is not None:
        states.append(("rider on", answer.riding.still.tensions))
    for side in SIDES:
        mask = lacing.on(side)
        for state, tensions in states:
            filled = side == "right" if state == "unloaded" else None
            angles = lacing.rim_angle_deg[mask].tolist()
            yield Line(f"{side}, {state}", angles, tensions[mask].tolist(), LINES[side, state], filled)


def _limits(answer: TensionAnswer) -> Iterator[Line]:
    """The lowest limit of each side as lines across the strip, and the slack side's floor."""
    least = min(answer.target.limits, key=lambda each: each.value)
    where = "" if least.side == "both" else f" {least.side}"
    yield Line(
        f"limit{where} {least.value:.0f} N ({least.name})", (0.0, 360.0), (least.value, least.value), SOLID, width=0.8
    )
    floor = answer.known.number("tension.floor_stop")
    yield Line(f"floor {floor:.0f} N", (0.0, 360.0), (floor, floor), SOLID, width=0.8)


def _x(angle_deg: float) -> float:
    return LEFT + angle_deg / 360 * (WIDTH - LEFT - RIGHT)


def _y(tension: float, top: float) -> float:
    return HEIGHT - BOTTOM - tension / top * (HEIGHT - TOP - BOTTOM)


def _drawn(line: Line, top: float) -> Iterator[str]:
    """The line and its points."""
    places = [(_x(angle), _y(force, top)) for angle, force in zip(line.angles_deg, line.tensions, strict=True)]
    dashes = f' stroke-dasharray="{line.dashes}"' if line.dashes else ""
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    yield f'<polyline points="{points}" fill="none" stroke="black" stroke-width="{line.width:g}"{dashes}/>'
    if line.filled is not None:
        fill = "black" if line.filled else "white"
        for x, y in places:
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.4" fill="{fill}" stroke="black" stroke-width="1.2"/>'


def _labels(lines: Sequence[Line], top: float) -> Iterator[str]:
    """Names of the lines at their right ends, moved apart where they would touch, with a hair line to the end."""
    order = sorted(range(len(lines)), key=lambda i: lines[i].tensions[-1], reverse=True)
    ends = np.array([_y(lines[i].tensions[-1], top) for i in order])
    places = _apart(ends)
    x = WIDTH - RIGHT
    for i, end, y in zip(order, ends, places, strict=True):
        start = _x(lines[i].angles_deg[-1]) + 6
        yield (
            f'<polyline points="{start:.1f},{end:.1f} {x + 4:.1f},{end:.1f} {x + 14:.1f},{y:.1f}" fill="none" stroke="black" '
            'stroke-width="0.4"/>'
        )
        yield f'<text x="{x + 18:.1f}" y="{y + 4:.1f}">{escape(lines[i].label)}</text>'


def _apart(ends: Floats) -> Floats:
    """Heights as near to the given, increasing ones as gaps of `LABEL_GAP` allow."""
    steps = LABEL_GAP * np.arange(len(ends))
    # Without the gaps the heights must not decrease: the mean of the running maximum and minimum does that evenly.
    bare = ends - steps
    high, low = np.maximum.accumulate(bare), np.minimum.accumulate(bare[::-1])[::-1]
    return np.asarray((high + low) / 2 + steps)


def _frame(answer: TensionAnswer, top: float) -> Iterator[str]:
    """Title, scale, rim holes and the place of the load."""
    yield f'<text x="{LEFT}" y="24" font-size="16">{escape(answer.build)}: tension from valve to valve</text>'
    yield f'<text x="{LEFT}" y="44">N; {escape(_what(answer))}</text>'
    base, right = _y(0, top), WIDTH - RIGHT
    yield f'<path d="M{LEFT},{TOP} V{base} H{right} V{TOP}" fill="none" stroke="black" stroke-width="1"/>'
    step = next((each for each in STEPS if top / each <= MOST_STEPS), 10 ** math.ceil(math.log10(top / MOST_STEPS)))
    for force in np.arange(0, top, step):
        y = _y(float(force), top)
        yield f'<path d="M{LEFT - 5},{y:.1f} H{LEFT}" stroke="black"/>'
        yield f'<text x="{LEFT - 9}" y="{y + 4:.1f}" text-anchor="end">{force:.0f}</text>'
    yield from _holes(answer, base)


def _what(answer: TensionAnswer) -> str:
    if answer.riding is None:
        return "unloaded"
    load = answer.riding.still
    return f"unloaded, and with the rider's {load.load:.0f} N on rim hole {load.node + 1}"


def _holes(answer: TensionAnswer, base: float) -> Iterator[str]:
    """Ticks and numbers of the rim holes, the valve at both ends, the load."""
    holes = answer.wheel.rim.holes
    every = 1 if holes <= 40 else 2
    size = 11 if holes > 28 else 13
    for hole in range(1, holes + 1):
        x = _x((hole - 0.5) * 360 / holes)
        yield f'<path d="M{x:.1f},{base} v5" stroke="black"/>'
        if hole % every == 0:
            yield f'<text x="{x:.1f}" y="{base + 18}" text-anchor="middle" font-size="{size}">{hole}</text>'
    for x in (LEFT, WIDTH - RIGHT):
        yield f'<text x="{x}" y="{base + 40}" text-anchor="middle">valve</text>'
    middle = (LEFT + WIDTH - RIGHT) / 2
    yield f'<text x="{middle}" y="{base + 60}" text-anchor="middle">rim hole</text>'
    if answer.riding is not None:
        x = _x((answer.riding.still.node + 0.5) * 360 / holes)
        yield f'<path d="M{x:.1f},{base + 46} v-20 m-4,7 l4,-7 l4,7" fill="none" stroke="black" stroke-width="1.4"/>'
        yield f'<text x="{x + 8:.1f}" y="{base + 42}">road</text>'
