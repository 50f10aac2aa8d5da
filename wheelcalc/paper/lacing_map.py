"""The lacing as a picture: the wheel from the right and turned over, and both flanges large, with every hole numbered."""

from __future__ import annotations

import numpy as np

from wheelcalc.arrays import Bools, Floats
from wheelcalc.paper.drawing import BELOW_LINE, LETTER_HEIGHT, Drawing, text_width
from wheelcalc.wheel import facts
from wheelcalc.wheel.joining import LETTER, hole_one_deg
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

PAGE_WIDTH = 277.0  # mm: A4 on its side, less margins
AROUND = 105.0  # mm of the drawing round each wheel, for numbers and arrow
LEAST_HALF = 385.0  # mm: a quarter of the sheet's width, so that flanges and legend find room below a small wheel
TITLE = 60.0
SIZE = 17.0  # of numbers, largest
FACE_SIZE = 23.0  # of those of a face alone: 11 px on a screen of 390
NEAR, FAR = 2.6, 1.0  # line widths of the flange that faces the reader, and of the other
HUB_RADIUS, HUB_STUB = 150.0, 80.0  # of the flanges drawn large, and how much of each spoke they show [mm]
HEAD_STYLE = {True: "dashed", False: "solid"}


def lacing_map(wheel: Wheel, title: str) -> Drawing:
    """Draw a wheel's lacing.

    Parameters
    ----------
    wheel : the wheel
    title : stands over it

    Returns
    -------
    The drawing. In the groups "from-right" and "turned-over" every spoke is a line between its hub and rim points in
    the wheel's plane, true to scale in mm (turned over: mirrored), with its rim and hub hole as data.
    """
    half = max(wheel.rim.erd / 2 + AROUND, LEAST_HALF)
    below = 2 * (HUB_RADIUS + HUB_STUB) + TITLE
    drawing = Drawing(4 * half, TITLE + 2 * half + below, f"{title}: lacing map", PAGE_WIDTH)
    drawing.text((2 * half, 36), f"{title}: lacing map", 26, bold=True)
    for number, side in enumerate(("right", "left")):
        with drawing.at(half * (1 + 2 * number), TITLE + half, ("from-right", "turned-over")[number]):
            _wheel(drawing, wheel, side)
        middle = HUB_RADIUS + HUB_STUB + 20
        with drawing.at(middle if number == 0 else 4 * half - middle, TITLE + 2 * half + below / 2, f"{side}-flange"):
            _flange(drawing, wheel, side)
    with drawing.at(2 * half, TITLE + 2 * half + 60, "legend"):
        _legend(drawing, wheel)
    return drawing


def lacing_face(wheel: Wheel, side: str, printed_width: float) -> Drawing:
    """Draw a wheel's lacing as seen from one side, its own flange in thick lines, as wide on paper as wanted [mm]."""
    half = wheel.rim.erd / 2 + AROUND - 10
    drawing = Drawing(2 * half, 2 * half, f"Lacing map seen from the {side}", printed_width)
    with drawing.at(half, half, f"seen-from-{side}"):
        _wheel(drawing, wheel, side, alone=True)
    return drawing


def flange_face(wheel: Wheel, side: str, printed_width: float) -> Drawing:
    """Draw one flange large, seen from its own side, with the beginning of each of its spokes."""
    half = HUB_RADIUS + HUB_STUB + 5
    drawing = Drawing(2 * half, 2 * half, f"The {side} flange seen from the {side}", printed_width)
    with drawing.at(half, half):
        _flange(drawing, wheel, side)
    return drawing


def _mirror(side: str) -> float:
    """Seen from the left, forward runs the other way round."""
    return 1.0 if side == "right" else -1.0


def _ring(radius: float, angles_deg: Floats, side: str) -> Floats:
    """Places on a circle, seen from a side, y down."""
    angle = np.radians(angles_deg)
    return np.asarray(radius * np.column_stack([_mirror(side) * np.sin(angle), -np.cos(angle)]))


def _seen_from(points: Floats, side: str) -> Floats:
    return np.asarray(points[:, 1:] * [_mirror(side), -1.0])


def _fitting(texts: list[str], radius: float, count: int, most: float = SIZE) -> float:
    """Text size at which labels on a ring do not touch: their diagonals are shorter than the way between neighbours."""
    room = 0.97 * 2 * radius * np.sin(np.pi / max(count, 2))
    diagonal = np.hypot(max(text_width(text, 1.0) for text in texts), LETTER_HEIGHT + BELOW_LINE)
    return float(min(most, room / diagonal))


def _wheel(drawing: Drawing, wheel: Wheel, side: str, *, alone: bool = False) -> None:
    """The wheel from one side; alone on its sheet the numbers are larger, and only its own flange's spokes bear theirs."""
    size = FACE_SIZE if alone else SIZE
    radius = wheel.rim.erd / 2
    other = "left" if side == "right" else "right"
    for number, name in enumerate([f"Seen from the {side}", *(["(turned over)"] if side == "left" else [])]):
        drawing.text(
            (-radius - AROUND + 15, -radius - AROUND + 30 + 1.2 * size * number), name, size, anchor="start", bold=True
        )
    for ring, width in ((radius, 0.8), (radius + 16, 2.5)):
        drawing.circle((0, 0), ring, width)
    for each, width in ((other, FAR), (side, NEAR)):
        drawing.circle((0, 0), wheel.hub.flange(each).pcd / 2, width)
        _spokes(drawing, wheel, side, wheel.lacing.on(each), width)
    _rim_numbers(drawing, wheel, side, size)
    own = wheel.lacing.on(side) if alone else np.ones(len(wheel.lacing), bool)
    _hub_numbers_at_rim(drawing, wheel, side, own, size)
    _valve(drawing, wheel, side, size)
    _forward(drawing, radius, side, size)


def _spokes(drawing: Drawing, wheel: Wheel, side: str, mask: Bools, width: float) -> None:
    hub, rim = _seen_from(wheel.hub_points, side), _seen_from(wheel.rim_points, side)
    lacing = wheel.lacing
    for place in np.flatnonzero(mask).tolist():
        data = {"rim-hole": lacing.rim_hole[place], "hub-hole": lacing.hub_labels[place], "head": lacing.heads[place]}
        drawing.line(hub[place], rim[place], width, HEAD_STYLE[bool(lacing.head_in[place])], data)


def _rim_numbers(drawing: Drawing, wheel: Wheel, side: str, most: float) -> None:
    holes = wheel.rim.holes
    radius = wheel.rim.erd / 2
    angles = (np.arange(1, holes + 1) - 0.5) * 360 / holes
    empty = set(wheel.lacing.empty_rim_holes)
    texts = [f"({hole})" if hole in empty else str(hole) for hole in range(1, holes + 1)]
    size = _fitting(texts, radius + 34, holes, most)
    for text, place, hole in zip(texts, _ring(radius + 34, angles, side), _ring(radius, angles, side), strict=True):
        drawing.circle(hole, 3.0, 1.0, fill="white" if text.startswith("(") else "black")
        drawing.text((place[0], place[1] + size * 0.35), text, size, bold=True)


def _hub_numbers_at_rim(drawing: Drawing, wheel: Wheel, side: str, own: Bools, most: float) -> None:
    """Each spoke's hub hole, written on the spoke where the spokes still stand apart."""
    hub, rim = _seen_from(wheel.hub_points, side), _seen_from(wheel.rim_points, side)
    length = np.linalg.norm(hub - rim, axis=1)
    depth = np.where(wheel.lacing.is_right, 22.0, 40.0)
    places = rim + (hub - rim) * (depth / length)[:, None]
    share = 0.8 if own.all() else 1.0
    size = share * _fitting(wheel.lacing.hub_labels, wheel.rim.erd / 2 - 40, int(own.sum()), most)
    for text, place in [(wheel.lacing.hub_labels[k], places[k]) for k in np.flatnonzero(own)]:
        drawing.text((place[0], place[1] + size * 0.35), text, size)


def _valve(drawing: Drawing, wheel: Wheel, side: str, size: float) -> None:
    radius = wheel.rim.erd / 2
    drawing.line((0, -radius - 16), (0, -radius + 14), 6)
    drawing.text((0, -radius - 60), "valve", size)
    ends = _seen_from(np.array([[0.0, y, z] for y, z in facts.beside_valve(wheel)]), side)
    drawing.line(ends[0], ends[1], 1.2, data={"opening": "valve"})
    for end in ends:
        drawing.line((end[0], end[1] - 6), (end[0], end[1] + 6), 1.2)
    drawing.text((0, ends[:, 1].max() + 22), f"{facts.valve_opening(wheel):.0f} mm", size)


def _forward(drawing: Drawing, radius: float, side: str, size: float) -> None:
    drawing.arrow(_ring(radius + 62, np.linspace(28, 52, 13), side).tolist(), 2.5, 16)
    place = _ring(radius + 84, np.array([47.0]), side)[0]
    drawing.text(place, "forward", size, anchor="start" if side == "right" else "end")


def _flange(drawing: Drawing, wheel: Wheel, side: str) -> None:
    """One flange large, seen from its own side, with the beginning of each of its spokes."""
    lacing, flange = wheel.lacing, wheel.hub.flange(side)
    scale = HUB_RADIUS / (flange.pcd / 2)
    mask = lacing.on(side)
    hub, rim = (_seen_from(points[mask], side) for points in (wheel.hub_points, wheel.rim_points))
    along = (rim - hub) / np.linalg.norm(rim - hub, axis=1)[:, None]
    drawing.circle((0, 0), HUB_RADIUS + 14, 1.5)
    hole = max(3.0, flange.hole_diameter / 2 * scale * 0.8)
    for place, way, head_in in zip(hub * scale, along, lacing.head_in[mask], strict=True):
        drawing.line(place, place + HUB_STUB * way, NEAR, HEAD_STYLE[bool(head_in)])
        drawing.circle(place, hole, 1.5, fill="white" if head_in else "black")
    _hub_numbers(drawing, wheel, side, hole)
    drawing.text((0, 0), f"{side} flange", 20, bold=True)
    drawing.text((0, 26), f"seen from the {side}", SIZE * 0.9)
    drawing.arrow([(0, -30), (0, -62)], 2.0, 12)
    drawing.text((0, -68), "valve", SIZE * 0.8)


def _hub_numbers(drawing: Drawing, wheel: Wheel, side: str, hole: float) -> None:
    lacing = wheel.lacing
    holes = lacing.holes_of(side)
    angles = hole_one_deg(lacing, side) + np.arange(holes) * 360 / holes
    angles[lacing.hub_hole[lacing.on(side)] - 1] = lacing.hub_angle_deg[lacing.on(side)]
    unused = set(lacing.unused_hub_holes(side))
    texts = [f"({LETTER[side]}{n})" if n in unused else f"{LETTER[side]}{n}" for n in range(1, holes + 1)]
    radius = HUB_RADIUS - 28
    size = _fitting(texts, radius, holes)
    for text, at, centre in zip(texts, _ring(radius, angles, side), _ring(HUB_RADIUS, angles, side), strict=True):
        if text.startswith("("):
            drawing.circle(centre, hole, 1.0, style="dotted", fill="white")
        drawing.text((at[0], at[1] + size * 0.35), text, size)


def _legend(drawing: Drawing, wheel: Wheel) -> None:
    straight = all(wheel.hub.flange(side).spoke_head == "straight" for side in SIDES)
    heads = [
        ("solid", "black", "head out: spoke runs inside the flange"),
        ("dashed", "white", "head in: spoke runs outside"),
    ]
    rows = heads if not straight else [("solid", "black", "spoke"), ("dashed", "white", "spoke, other seat")]
    for number, (style, fill, text) in enumerate(rows):
        y = 34.0 * number
        drawing.line((-230, y), (-130, y), NEAR, style)
        drawing.circle((-230, y), 8, 1.5, fill=fill)
        drawing.text((-110, y + 6), text, SIZE, anchor="start")
    drawing.line((-230, 68), (-130, 68), FAR)
    drawing.text((-110, 74), "thin: flange on the far side", SIZE, anchor="start")
    lines = [
        "Outside the rim: rim holes, counted forward.",
        "On the spokes: hub holes, R right, L left.",
    ]
    if wheel.lacing.empty_rim_holes or any(wheel.lacing.unused_hub_holes(side) for side in SIDES):
        lines.append("(5), (R9): stays without a spoke.")
    for number, text in enumerate(lines):
        drawing.text((-230, 116 + 30 * number), text, SIZE, anchor="start")
