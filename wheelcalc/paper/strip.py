"""What all strips share: the wheel unrolled downwards, a row for each rim hole, from valve to valve, as wide as a phone."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import LINE_HEIGHT, Drawing, text_width
from wheelcalc.wheel.joining import LETTER, Lacing

WIDTH = 390.0  # C: of a phone's screen, in its pixels; letters of 12 are still 11 on one of 360
PAPER_WIDTH, PAPER_HEIGHT = 186.0, 250.0  # mm: A4 and Letter, less margins
SIZE, TITLE = 12.0, 15.0  # of letters
MARGIN = 6.0
ROW = 15.6  # height for each rim hole
NUMBERS = 46.0  # the numbers of the rim holes stand left of it
LINE, HAIR, BAR = 0.8, 0.3, 2.0  # widths of lines
SAMPLE = 30.0  # length of a line that is explained
DOT = 3.2  # radius
RADII = {"dot": DOT, "ring": 2.4, "spot": 1.5}
TIPS = {"up": -1.0, "down": 1.0}  # which way a triangle points, y down
Pen = tuple[str, float]  # style and width of a line


@dataclass(frozen=True)
class Mark:
    """A small sign: "dot", "ring" (smaller), "spot" (smallest), or a triangle that points "up" or "down".

    Parameters
    ----------
    shape : which
    fill : "black" or "white"
    """

    shape: str
    fill: str = "black"

    def draw(self, drawing: Drawing, x: float, y: float) -> None:
        """Draw it with its middle at a place."""
        if self.shape in TIPS:
            tip = TIPS[self.shape] * DOT
            drawing.path([(x - DOT, y - tip), (x + DOT, y - tip), (x, y + 1.2 * tip)], LINE, fill=self.fill)
        else:
            drawing.circle((x, y), RADII[self.shape], 1.0, fill=self.fill)


@dataclass(frozen=True)
class Sample:
    """A line, or a mark, or both, and what they stand for.

    Parameters
    ----------
    label : what they stand for
    pen : style and width of the line; None: there is none
    mark : on the line; None: there is none
    """

    label: str
    pen: Pen | None = None
    mark: Mark | None = None

    @property
    def length(self) -> float:
        """Width of what is shown."""
        return SAMPLE if self.pen else 2 * DOT

    @property
    def room(self) -> float:
        """Width that it takes with its label."""
        return self.length + 5 + text_width(self.label, SIZE) + 10

    def draw(self, drawing: Drawing, x: float, y: float) -> None:
        """Draw it from a place on, its label behind it."""
        self._draw(drawing, x, y)
        drawing.text((x + self.length + 5, y + SIZE / 3), self.label, SIZE, "start")

    def picture(self) -> Drawing:
        """Draw it alone, without its label."""
        drawing = Drawing(self.length + 2, 2 * DOT + 2, self.label, (self.length + 2) / 3)
        self._draw(drawing, 1, DOT + 1)
        return drawing

    def _draw(self, drawing: Drawing, x: float, y: float) -> None:
        if self.pen:
            style, width = self.pen
            drawing.path([(x, y), (x + self.length, y)], width, style)
        if self.mark:
            self.mark.draw(drawing, x + self.length / 2, y)


@dataclass(frozen=True)
class Panel:
    """A scale across a strip.

    Parameters
    ----------
    left, right : its edges
    low, high : values there
    """

    left: float
    right: float
    low: float
    high: float

    def x(self, value: float) -> float:
        """Place of a value."""
        return self.left + (value - self.low) / (self.high - self.low) * (self.right - self.left)

    def marks(self, least: float) -> list[tuple[float, str]]:
        """Return round values and their numbers, as many as can be written side by side.

        Parameters
        ----------
        least : smallest step
        """
        span, most = self.high - self.low, math.ceil((self.right - self.left) / SIZE)
        while True:
            step = step_of(span, most, least)
            first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
            marks = [(step * number, f"{step * number:.10g}") for number in range(first, last + 1)]
            widest = max((text_width(text, SIZE) for _, text in marks), default=0.0)
            if most == 1 or len(marks) < 2 or self.x(marks[1][0]) - self.x(marks[0][0]) > widest + 2:
                return marks
            most -= 1


class Strip:
    """A drawing of the wheel unrolled downwards.

    Parameters
    ----------
    title : heads it
    lacing : of the wheel
    said : sentences below the title
    samples : lines and dots that are explained there
    heads : lines of text over each panel
    """

    def __init__(
        self, title: str, lacing: Lacing, said: Sequence[str] = (), samples: Sequence[Sample] = (), heads: int = 1
    ) -> None:
        self.drawing = Drawing(WIDTH, 1.0, title)
        self.holes = lacing.rim_holes
        room = WIDTH - 2 * MARGIN
        y = self.drawing.paragraph((MARGIN, MARGIN + TITLE), title, TITLE, room, bold=True)
        for text in said:
            y = self.drawing.paragraph((MARGIN, y), text, SIZE, room)
        y = explained(self.drawing, samples, y)
        self.heads_at = y + 6
        self.top = self.heads_at + (heads + 1) * LINE_HEIGHT * SIZE
        self._low = self.base + 2 * SIZE
        self._rows(lacing)

    @property
    def base(self) -> float:
        """Where the valve comes again."""
        return self.top + self.holes * ROW

    @property
    def low(self) -> float:
        """Where the strip ends, with the names below it."""
        return self._low

    def y(self, angle_deg: float) -> float:
        """Place of an angle, counted forward from the valve."""
        return self.top + angle_deg / 360 * (self.base - self.top)

    def row(self, rim_hole: int) -> float:
        """Place of a rim hole."""
        return self.top + (rim_hole - 0.5) * ROW

    def _rows(self, lacing: Lacing) -> None:
        """Number the rim holes, each with the letter of its side; the valve stands above the first and below the last."""
        sides = dict(zip(lacing.rim_hole.tolist(), lacing.sides, strict=True))
        for hole in range(1, self.holes + 1):
            y = self.row(hole)
            self.drawing.line((NUMBERS, y), (WIDTH - MARGIN, y), HAIR, "dotted")
            self.drawing.text((NUMBERS - 20, y + SIZE / 3), str(hole), SIZE, "end")
            if hole in sides:
                self.drawing.text((NUMBERS - 16, y + SIZE / 3), LETTER[sides[hole]], SIZE, "start")
        for y in (self.top - 5, self.base + SIZE):
            self.drawing.text((MARGIN, y), "valve", SIZE, "start")

    def panel(self, panel: Panel, heads: Iterable[str], least: float) -> None:
        """Draw the scale of a panel under its name.

        Parameters
        ----------
        panel : where it lies and what it spans
        heads : its name and its unit, a line each
        least : smallest step of the scale
        """
        middle = (panel.left + panel.right) / 2
        for number, text in enumerate(heads):
            y = self.heads_at + (number + 0.7) * LINE_HEIGHT * SIZE
            self.drawing.text((middle, y), text, SIZE, bold=number == 0)
        corners = [(panel.left, self.top), (panel.right, self.top), (panel.right, self.base), (panel.left, self.base)]
        self.drawing.path([*corners, corners[0]], HAIR)
        for value, written in panel.marks(least):
            x = panel.x(value)
            self.drawing.line((x, self.top), (x, self.top - 3), LINE)
            self.drawing.text((x, self.top - 5), written, SIZE)

    def across(self, panel: Panel, value: float, pen: Pen = ("solid", LINE)) -> None:
        """Draw a value that holds for the whole wheel, from the valve to the valve."""
        style, width = pen
        self.drawing.line((panel.x(value), self.top), (panel.x(value), self.base), width, style)

    def curve(
        self, panel: Panel, angles_deg: Floats, values: Floats, pen: Pen | None, mark: Mark | None = None
    ) -> None:
        """Draw what changes from place to place, as a line, as marks, or both; what is not finite is left out."""
        places = zip(angles_deg.tolist(), values.tolist(), strict=True)
        points = [(panel.x(value), self.y(angle)) for angle, value in places if math.isfinite(value)]
        if pen:
            style, width = pen
            self.drawing.path(points, width, style)
        if mark:
            for x, y in points:
                mark.draw(self.drawing, x, y)

    def errors(self, panel: Panel, angles_deg: Floats, values: Floats, within: Floats) -> None:
        """Draw how far each value may be off, as bars."""
        for angle, value, error in zip(angles_deg.tolist(), values.tolist(), within.tolist(), strict=True):
            if math.isfinite(value):
                ends = [(panel.x(value + sign * error), self.y(angle)) for sign in (-1, 1)]
                self.drawing.path(ends, BAR)

    def feet(self, names: Iterable[tuple[str, float]]) -> None:
        """Write names below the lines that end there, on as many rows as keep them apart."""
        ends: list[float] = []
        for name, x in sorted(names, key=lambda each: each[1]):
            width = text_width(name, SIZE)
            left = min(max(x - width / 2, NUMBERS + 4), WIDTH - 2 - width)
            place = next((n for n, end in enumerate(ends) if left > end + 4), len(ends))
            ends[place : place + 1] = [left + width]
            y = self.base + 16 + place * LINE_HEIGHT * SIZE
            self.drawing.line((x, self.base), (x, y - SIZE), HAIR)
            self.drawing.text((left, y), name, SIZE, "start")
            self._low = max(self._low, y + SIZE)

    def finished(self) -> Drawing:
        """Return the drawing."""
        return on_paper(self.drawing, self._low)


def explained(drawing: Drawing, samples: Sequence[Sample], y: float) -> float:
    """Explain lines and marks side by side, as many in a row as there is room; return where the next row would stand."""
    x = MARGIN
    for sample in samples:
        if x > MARGIN and x + sample.room - 10 > WIDTH - MARGIN:
            x, y = MARGIN, y + LINE_HEIGHT * SIZE
        sample.draw(drawing, x, y - SIZE / 3)
        x += sample.room
    return y + LINE_HEIGHT * SIZE if samples else y


def on_paper(drawing: Drawing, height: float) -> Drawing:
    """Return a drawing, as high as what is on it, and on paper as large as a page holds."""
    drawing.height = height
    drawing.printed_width = min(PAPER_WIDTH, PAPER_HEIGHT * WIDTH / height)
    return drawing


def step_of(span: float, most: int, least: float) -> float:
    """Step of a scale, 1, 2 or 5 times a power of ten: the smallest, from `least` on, that cuts a span into `most` at most."""
    if span <= most * least:
        return least
    power = 10.0 ** math.floor(math.log10(span / most))
    return next(each * power for each in (1, 2, 5, 10) if span <= most * each * power)
