"""A picture in SVG: black on white, meaning carried by line style and label, never by colour alone.

Coordinates are mm, x to the right and y down, inside whatever group is open; every text keeps the box that it covers,
so that a test can see that none lie on each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

Point = Sequence[float]

# Dashes by the name of the line style, in line widths.
STYLES = {"solid": (), "dashed": (5.0, 3.0), "dotted": (1.0, 2.5), "dash-dot": (8.0, 3.0, 1.0, 3.0)}
# C: widths of letters of common sans-serif typefaces, in text sizes, on the wide side; bold ones are wider.
LETTER_WIDTH, WIDE_LETTER_WIDTH, NARROW_LETTER_WIDTH = 0.62, 0.95, 0.36
WIDE_LETTERS, NARROW_LETTERS, BOLD = "mwMW%@+", " .,:;'!|()/-ijl", 1.1
LETTER_HEIGHT, BELOW_LINE = 0.75, 0.22
LINE_HEIGHT = 1.25  # in text sizes
DIGITS = 4  # of coordinates behind the point: a ten-thousandth of a mm


@dataclass(frozen=True)
class Label:
    """A text and the box that it covers on the sheet [mm]."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Label) -> bool:
        """Whether two boxes share any of the sheet."""
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width that a text needs at most, about [mm]."""
    width = size * sum(_letter_width(letter) for letter in text)
    return width * BOLD if bold else width


def _letter_width(letter: str) -> float:
    if letter in NARROW_LETTERS:
        return NARROW_LETTER_WIDTH
    return WIDE_LETTER_WIDTH if letter in WIDE_LETTERS else LETTER_WIDTH


def folded(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Cut a text into lines that are at most so wide; a word that is wider than a line is cut too."""
    lines = [""]
    for word in text.split():
        rest = word
        while rest:
            line = f"{lines[-1]} {rest}".strip()
            if text_width(line, size, bold=bold) <= width:
                lines[-1], rest = line, ""
            elif lines[-1]:
                lines.append("")
            else:
                fits = next(
                    n for n in range(len(rest), 0, -1) if n == 1 or text_width(rest[:n], size, bold=bold) <= width
                )
                lines[-1], rest = rest[:fits], rest[fits:]
                lines += [""] if rest else []
    return [line for line in lines if line]


class Drawing:
    """A picture that is drawn stroke by stroke and shows itself in a notebook.

    Parameters
    ----------
    width, height : of the drawing [mm of what is drawn]
    title : told to screen readers and shown as the picture's tip
    printed_width : on paper [mm]; None: as wide as it is drawn
    """

    def __init__(self, width: float, height: float, title: str, printed_width: float | None = None) -> None:
        self.width, self.height, self.title = width, height, title
        self.printed_width = printed_width or width
        self.labels: list[Label] = []
        self._parts: list[str] = []
        self._origin = (0.0, 0.0)

    @contextmanager
    def at(self, x: float, y: float, name: str = "", turn_deg: float = 0.0) -> Iterator[None]:
        """Draw with the origin moved to a place [mm], turned clockwise; groups may lie inside each other.

        The boxes of labels inside a turned group are not kept.
        """
        before, labels = self._origin, self.labels
        self._origin = (before[0] + x, before[1] + y)
        self.labels = [] if turn_deg else labels
        named = f" id={quoteattr(name)}" if name else ""
        turned = f" rotate({_number(turn_deg)})" if turn_deg else ""
        self._parts.append(f'<g transform="translate({_number(x)} {_number(y)}){turned}"{named}>')
        try:
            yield
        finally:
            self._parts.append("</g>")
            self._origin, self.labels = before, labels

    def line(
        self,
        start: Point,
        end: Point,
        width: float = 1.0,
        style: str = "solid",
        data: Mapping[str, object] | None = None,
    ) -> None:
        """Draw a straight line; `data` is kept with it for whoever reads the picture by program."""
        ends = zip(("x1", "y1", "x2", "y2"), (*start, *end), strict=True)
        places = " ".join(f'{name}="{_number(value)}"' for name, value in ends)
        self._parts.append(f"<line {places} {_stroke(width, style)}{_data(data)}/>")

    def circle(
        self, middle: Point, radius: float, width: float = 1.0, style: str = "solid", fill: str = "none"
    ) -> None:
        """Draw a circle, empty, "white" or "black" inside."""
        place = f'cx="{_number(middle[0])}" cy="{_number(middle[1])}" r="{_number(radius)}"'
        self._parts.append(f'<circle {place} {_stroke(width, style)} fill="{fill}"/>')

    def path(
        self,
        points: Sequence[Point],
        width: float = 1.0,
        style: str = "solid",
        fill: str = "none",
        data: Mapping[str, object] | None = None,
    ) -> None:
        """Draw a line through points; filled, it is closed; `data` as of a line."""
        kind = "polyline" if fill == "none" else "polygon"
        places = " ".join(f"{_number(x)},{_number(y)}" for x, y in points)
        self._parts.append(f'<{kind} points="{places}" {_stroke(width, style)} fill="{fill}"{_data(data)}/>')

    def arrow(self, points: Sequence[Point], width: float = 1.0, head: float = 8.0) -> None:
        """Draw a line through points with a head at its end."""
        self.path(points, width)
        (x0, y0), (x1, y1) = points[-2], points[-1]
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        back = (x1 - head * ux, y1 - head * uy)
        wings = [(back[0] - side * head / 3 * uy, back[1] + side * head / 3 * ux) for side in (1, -1)]
        self.path([(x1, y1), *wings], width, fill="black")

    def text(self, place: Point, text: str, size: float = 10.0, anchor: str = "middle", bold: bool = False) -> None:
        """Write a text, its line at a place; white round the letters keeps them legible over lines."""
        weight = ' font-weight="bold"' if bold else ""
        self._parts.append(
            f'<text x="{_number(place[0])}" y="{_number(place[1])}" font-size="{_number(size)}" text-anchor="{anchor}"{weight} '
            f'stroke="white" stroke-width="{_number(size / 4)}" paint-order="stroke" stroke-linejoin="round">{escape(text)}</text>'
        )
        width = text_width(text, size, bold=bold)
        left = self._origin[0] + place[0] - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
        base = self._origin[1] + place[1]
        self.labels.append(Label(text, left, base - LETTER_HEIGHT * size, left + width, base + BELOW_LINE * size))

    def paragraph(self, place: Point, text: str, size: float, width: float, *, bold: bool = False) -> float:
        """Write a text on as many lines as it needs, the first on a place; return where the next one would stand."""
        y = float(place[1])
        for line in folded(text, size, width, bold=bold):
            self.text((place[0], y), line, size, "start", bold)
            y += LINE_HEIGHT * size
        return y

    def overlapping(self) -> list[tuple[Label, Label]]:
        """Return pairs of labels that lie on each other."""
        pairs = ((one, other) for i, one in enumerate(self.labels) for other in self.labels[i + 1 :])
        return [(one, other) for one, other in pairs if one.overlaps(other)]

    def svg(self, *, true_size: bool = False) -> str:
        """Return the picture as SVG text, as wide as what holds it; at true size, fixed in mm for paper."""
        scale = self.printed_width / self.width
        size = (
            f'width="{_number(self.printed_width)}mm" height="{_number(self.height * scale)}mm" ' if true_size else ""
        )
        box = f'viewBox="0 0 {_number(self.width)} {_number(self.height)}"'
        head = f'<svg xmlns="http://www.w3.org/2000/svg" {size}{box} role="img" font-family="Helvetica, Arial, sans-serif">'
        ground = '<rect width="100%" height="100%" fill="white"/>'
        return "\n".join([head, f"<title>{escape(self.title)}</title>", ground, *self._parts, "</svg>"])

    def _repr_svg_(self) -> str:
        return self.svg()


def _number(value: float) -> str:
    text = f"{value:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _stroke(width: float, style: str) -> str:
    dashes = " ".join(_number(part * width) for part in STYLES[style])
    return f'stroke="black" stroke-width="{_number(width)}"' + (f' stroke-dasharray="{dashes}"' if dashes else "")


def _data(data: Mapping[str, object] | None) -> str:
    return "".join(f" data-{name}={quoteattr(str(value))}" for name, value in (data or {}).items())
