"""The lacing as a picture: a face of the wheel after the other, every hole numbered at the rim and at the hub."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from wheelcalc.arrays import Bools, Floats
from wheelcalc.paper.drawing import BELOW_LINE, LETTER_HEIGHT, Drawing, Point, text_width
from wheelcalc.paper.strip import MARGIN, SIZE, TITLE, WIDTH, Mark, Sample, on_paper
from wheelcalc.wheel import facts
from wheelcalc.wheel.joining import LETTER, hole_one_deg
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

ABOVE, BELOW = 196.0, 184.0  # of a face, from its middle
RIM, OUTSIDE, RIM_NUMBERS = 150.0, 157.0, 171.0  # radii of the rim's holes, its outer edge, the numbers
LEAST_HUB, MOST_HUB = 68.0, 96.0  # radius at which the holes of the flange are drawn, whatever its pcd
INSIDE_HUB = 14.0  # from there inward to their numbers
ON_SPOKE = (15.0, 21.0, 27.0, 33.0, 39.0)  # from the rim's holes inward to the name on a spoke, best first
NEAR, FAR = 1.6, 0.5  # line widths of the flange that faces the reader, and of the other
POINTS = 24  # of each spoke's line
BEND = 2.0  # ours: 1 bends it all along, more bends it near the hub; about straight for three crosses
HEAD = {
    True: Sample("head in: the spoke runs outside the flange", ("dashed", NEAR), Mark("dot", "white")),
    False: Sample("head out: the spoke runs inside the flange", ("solid", NEAR), Mark("dot", "black")),
}
SEAT = {
    True: Sample("spoke, one seat", ("dashed", NEAR), Mark("dot", "white")),
    False: Sample("spoke, the other seat", ("solid", NEAR), Mark("dot", "black")),
}
FAR_SIDE = Sample("spoke of the flange behind", ("solid", FAR))
EMPTY = Sample("hole that stays without a spoke", mark=Mark("ring", "white"))
SAID = (
    "Outside the rim: rim holes, counted forward from the valve. In the hub: hub holes. R5 on a spoke: it comes from hole 5 of the right "
    "flange. The hub is drawn too large, so that its numbers can be read; real spokes are straight."
)
VIEW = {"right": "Seen from the right", "left": "Turned over: seen from the left"}


def lacing_map(wheel: Wheel, title: str) -> Drawing:
    """Draw a wheel's lacing, one face below the other.

    Parameters
    ----------
    wheel : the wheel
    title : stands over it

    Returns
    -------
    The drawing. In the groups "from-right" and "turned-over" (mirrored) every spoke is a line from its hub hole to its
    rim hole, with both as data. Angles are true; the hub is drawn too large, so that it has room for its numbers, and the
    spokes turn round it so that those cross each other that do.
    """
    drawing = Drawing(WIDTH, 1.0, f"{title}: lacing map")
    room = WIDTH - 2 * MARGIN
    y = drawing.paragraph((MARGIN, MARGIN + TITLE), f"{title}: lacing map", TITLE, room, bold=True)
    for sample in samples(wheel):
        sample.draw(drawing, MARGIN, y - SIZE / 3)
        y += 1.35 * SIZE
    for text in (SAID, f"Free at the valve, 50 mm below the rim: {facts.valve_opening(wheel):.0f} mm."):
        y = drawing.paragraph((MARGIN, y), text, SIZE, room)
    for side, name in (("right", "from-right"), ("left", "turned-over")):
        drawing.text((MARGIN, y + TITLE), VIEW[side], TITLE, "start", bold=True)
        y += TITLE + 6
        with drawing.at(WIDTH / 2, y + ABOVE, name):
            _Face(drawing, wheel, side).draw()
        y += ABOVE + BELOW
    return on_paper(drawing, y + MARGIN)


def lacing_face(wheel: Wheel, side: str, printed_width: float) -> Drawing:
    """Draw one face of the map, as wide on paper as wanted [mm]."""
    drawing = Drawing(WIDTH, ABOVE + BELOW, f"Lacing map seen from the {side}", printed_width)
    with drawing.at(WIDTH / 2, ABOVE, f"seen-from-{side}"):
        _Face(drawing, wheel, side).draw()
    return drawing


def samples(wheel: Wheel) -> list[Sample]:
    """Return what the lines and marks of a wheel's map stand for."""
    straight = all(wheel.hub.flange(side).spoke_head == "straight" for side in SIDES)
    empty = wheel.lacing.empty_rim_holes or any(wheel.lacing.unused_hub_holes(side) for side in SIDES)
    return [*(SEAT if straight else HEAD).values(), FAR_SIDE, *([EMPTY] if empty else [])]


class _Face:
    """A wheel seen from one side, round the origin."""

    def __init__(self, drawing: Drawing, wheel: Wheel, side: str) -> None:
        self.drawing, self.wheel, self.side = drawing, wheel, side
        self.mirror = 1.0 if side == "right" else -1.0  # seen from the left, forward runs the other way round
        holes = wheel.lacing.holes_of(side)
        one_after_the_other = self._ring(1.0, np.arange(holes) * 360 / holes)
        numbers = SIZE / _fitting([str(holes)] * holes, one_after_the_other)
        self.hub = min(max(LEAST_HUB, INSIDE_HUB + numbers), MOST_HUB)

    def draw(self) -> None:
        """Draw rim, flange, spokes and numbers."""
        for radius, width in ((RIM, 0.6), (OUTSIDE, 1.8), (self.hub, 1.0)):
            self.drawing.circle((0, 0), radius, width)
        self._spokes(~self.wheel.lacing.on(self.side), far=True)
        self._spokes(self.wheel.lacing.on(self.side), far=False)
        self._valve()
        self._rim_numbers()
        self._hub_numbers()
        self._names_on_spokes()

    def _ring(self, radius: Floats | float, angles_deg: Floats) -> Floats:
        """Places on a circle, y down."""
        angle = np.radians(angles_deg)
        return np.column_stack([self.mirror * radius * np.sin(angle), -radius * np.cos(angle)])

    def _line(self, spoke: int) -> Floats:
        """A spoke from hub to rim as it is drawn, turning less and less as it goes outward, (POINTS, 2)."""
        lacing, share = self.wheel.lacing, np.linspace(0, 1, POINTS)
        start, end = float(lacing.hub_angle_deg[spoke]), float(lacing.rim_angle_deg[spoke])
        turn = (end - start + 180) % 360 - 180
        return self._ring(self.hub + share * (RIM - self.hub), start + (1 - (1 - share) ** BEND) * turn)

    def _at(self, spoke: int, radius: float) -> Point:
        """Where a spoke passes at a distance from the middle."""
        line = self._line(spoke)
        return [float(np.interp(radius, np.hypot(*line.T), each)) for each in line.T]

    def _spokes(self, mask: Bools, *, far: bool) -> None:
        lacing = self.wheel.lacing
        for spoke in np.flatnonzero(mask).tolist():
            line, head_in = self._line(spoke), bool(lacing.head_in[spoke])
            data = {
                "rim-hole": lacing.rim_hole[spoke],
                "hub-hole": lacing.hub_labels[spoke],
                "head": lacing.heads[spoke],
            }
            if far:
                self.drawing.path(line.tolist(), FAR, data=data)
            else:
                style, width = HEAD[head_in].pen or ("solid", NEAR)
                self.drawing.path(line.tolist(), width, style, data=data)
                Mark("dot", "white" if head_in else "black").draw(self.drawing, *line[0].tolist())

    def _rim_numbers(self) -> None:
        holes, empty = self.wheel.rim.holes, set(self.wheel.lacing.empty_rim_holes)
        angles = (np.arange(1, holes + 1) - 0.5) * 360 / holes
        places = self._ring(RIM_NUMBERS, angles)
        size = min(SIZE, _fitting([str(hole) for hole in range(1, holes + 1)], places, bold=True))
        pairs = zip(places.tolist(), self._ring(RIM, angles).tolist(), strict=True)
        for hole, ((x, y), (at_x, at_y)) in enumerate(pairs, start=1):
            Mark("ring", "white" if hole in empty else "black").draw(self.drawing, at_x, at_y)
            self.drawing.text((x, y + size * 0.35), str(hole), size, bold=hole not in empty)

    def _hub_numbers(self) -> None:
        lacing, side = self.wheel.lacing, self.side
        holes, unused = lacing.holes_of(side), set(lacing.unused_hub_holes(side))
        angles = hole_one_deg(lacing, side) + np.arange(holes) * 360 / holes
        angles[lacing.hub_hole[lacing.on(side)] - 1] = lacing.hub_angle_deg[lacing.on(side)]
        places = self._ring(self.hub - INSIDE_HUB, angles)
        size = min(SIZE, _fitting([str(hole) for hole in range(1, holes + 1)], places))
        pairs = zip(places.tolist(), self._ring(self.hub, angles).tolist(), strict=True)
        for hole, ((x, y), (at_x, at_y)) in enumerate(pairs, start=1):
            if hole in unused:
                Mark("ring", "white").draw(self.drawing, at_x, at_y)
            self.drawing.text((x, y + size * 0.35), str(hole), size)
        self.drawing.text((0, 0), LETTER[side], 2 * TITLE, bold=True)
        self.drawing.text((0, 1.4 * SIZE), f"{side} flange", SIZE)

    def _names_on_spokes(self) -> None:
        """Each spoke's hub hole, near the rim, where the spokes stand apart; further in where it would touch another."""
        lacing = self.wheel.lacing
        own = np.flatnonzero(lacing.on(self.side)).tolist()
        names = [lacing.hub_labels[spoke] for spoke in own]
        places: list[Point] = []
        for number, spoke in enumerate(own):
            free = [self._at(spoke, RIM - depth) for depth in ON_SPOKE]
            sizes = [_fitting(names[: number + 1], np.array([*places, place])) for place in free]
            places.append(free[next((k for k, size in enumerate(sizes) if size >= SIZE), int(np.argmax(sizes)))])
        size = min(SIZE, _fitting(names, np.array(places)))
        for (x, y), name in zip(places, names, strict=True):
            self.drawing.text((x, y + size * 0.35), name, size)

    def _valve(self) -> None:
        self.drawing.line((0, -OUTSIDE - 6), (0, -RIM + 8), 4)
        self.drawing.text((0, -RIM_NUMBERS - 14), "valve", SIZE)
        arrow = self._ring(RIM_NUMBERS + 20, np.linspace(26, 43, 9))
        self.drawing.arrow(arrow.tolist(), 1.6, 9)
        x, y = self.mirror * (WIDTH / 2 - MARGIN), arrow[-1, 1]
        self.drawing.text((x, y - 6), "forward", SIZE, anchor="end" if self.side == "right" else "start")


def _fitting(texts: Sequence[str], places: Floats, *, bold: bool = False) -> float:
    """Largest size, up to any, at which labels centred on places do not touch: side by side or one above the other."""
    widths = np.array([text_width(text, 1.0, bold=bold) for text in texts])
    apart = np.abs(places[:, None] - places[None])
    beside = apart[..., 0] / ((widths[:, None] + widths[None]) / 2)
    above = apart[..., 1] / (LETTER_HEIGHT + BELOW_LINE)
    room = np.maximum(beside, above)[~np.eye(len(places), dtype=bool)]
    return 0.97 * float(room.min(initial=np.inf))
