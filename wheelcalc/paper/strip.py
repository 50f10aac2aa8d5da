"""What all strips share: the wheel unrolled from valve to valve, a scale on the left, the names of the lines on the right."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import Drawing, text_width

PAGE_WIDTH = 277.0  # mm: A4 on its side, less margins
WIDTH = 1000.0
TITLE = 18.0  # height of its letters
LINE = 0.8  # width of the frame's


@dataclass(frozen=True)
class Strip:
    """Margins and letters of a strip that is `WIDTH` wide.

    Parameters
    ----------
    left, right : margins; the numbers of the scale stand in the left one, the names of the lines in the right one
    size : of the letters
    """

    left: float
    right: float
    size: float

    @property
    def end(self) -> float:
        """Where the valve comes again."""
        return WIDTH - self.right

    @property
    def label_gap(self) -> float:
        """Least distance of two names, so that they do not touch."""
        return 1.2 * self.size + 0.4

    def x(self, angle_deg: float) -> float:
        """Place of an angle, counted forward from the valve."""
        return self.left + angle_deg / 360 * (self.end - self.left)

    def drawing(self, height: float, title: str) -> Drawing:
        """Begin a drawing with its title at the top."""
        drawing = Drawing(WIDTH, height, title, PAGE_WIDTH)
        drawing.text((WIDTH / 2, 28), title, min(TITLE, WIDTH / text_width(title, 1.0)), bold=True)
        return drawing

    def frame(self, drawing: Drawing, top: float, base: float, marks: Iterable[tuple[float, str]]) -> None:
        """Draw the base, both edges at the valve, and the scale: height and number of each mark."""
        drawing.path([(self.left, top), (self.left, base), (self.end, base), (self.end, top)], LINE)
        for y, number in marks:
            drawing.line((self.left - 5, y), (self.left, y), LINE)
            drawing.text((self.left - 9, y + self.size / 3), number, self.size, "end")

    def holes(self, drawing: Drawing, holes: int, base: float) -> None:
        """Draw ticks and numbers of the rim holes below the base."""
        size = min(self.size, 0.9 * (self.end - self.left) / holes / text_width(str(holes), 1.0))
        for hole in range(1, holes + 1):
            x = self.x((hole - 0.5) * 360 / holes)
            drawing.line((x, base), (x, base + 5), LINE)
            drawing.text((x, base + 18), str(hole), size)

    def valves(self, drawing: Drawing, y: float) -> None:
        """Write where the valve is: at both ends."""
        for x in (self.left, self.end):
            drawing.text((x, y), "valve", self.size)

    def names(self, drawing: Drawing, names: Sequence[tuple[str, float, float]]) -> None:
        """Write names beside the lines' right ends, moved apart where they would touch, with a hair line from each end.

        Parameters
        ----------
        drawing : gets them
        names : name, angle at which the line ends [degrees], height of that end
        """
        order = sorted(names, key=lambda each: each[2])
        places = apart(np.array([y for _, _, y in order]), self.label_gap).tolist()
        for (name, angle_deg, y), place in zip(order, places, strict=True):
            drawing.path([(self.x(angle_deg) + 6, y), (self.end + 6, y), (self.end + 14, place)], 0.4)
            size = min(self.size, (self.right - 20) / text_width(name, 1.0))
            drawing.text((self.end + 18, place + self.size / 3), name, size, "start")


def apart(ends: Floats, gap: float) -> Floats:
    """Heights at least a gap apart and as near to the given ones, which increase, as that allows, (n,)."""
    steps = gap * np.arange(len(ends))
    # Without the gaps the heights must not decrease: the mean of the running maximum and minimum does that evenly.
    bare = ends - steps
    high, low = np.maximum.accumulate(bare), np.minimum.accumulate(bare[::-1])[::-1]
    return np.asarray((high + low) / 2 + steps)


def step_of(span: float, most: int, least: float) -> float:
    """Step of a scale, 1, 2 or 5 times a power of ten: the smallest, from `least` on, that cuts a span into `most` at most."""
    if span <= most * least:
        return least
    power = 10.0 ** math.floor(math.log10(span / most))
    return next(each * power for each in (1, 2, 5, 10) if span <= most * each * power)
