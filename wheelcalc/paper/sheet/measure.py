"""Of the bench sheet: the page to measure with, blank boxes beside small drawings of what each reading lies between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from wheelcalc.build.dimension import TOOL_SIGMA
from wheelcalc.build.whole import Build
from wheelcalc.files import how
from wheelcalc.page.tags import BOX, Html, blank, tag
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.sheet.material import Material
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

WIDE = 62.0  # mm, of the small drawings
LETTER = 3.6  # mm
THIN, THICK = 0.2, 0.5


@dataclass(frozen=True)
class ToRead:
    """One line to fill in: the letter in the drawing and the file's keys (one, or one a side)."""

    letter: str
    keys: tuple[str, ...]


@dataclass(frozen=True)
class Block:
    """A drawing with its readings."""

    title: str
    draw: Callable[[], Drawing]
    readings: tuple[ToRead, ...]


def measure_page(material: Material) -> list[Html]:
    """Return boxes for every reading; what the file says already stands beside."""
    tools = [tag("span", BOX, f" {name} ({size:g} mm)  ") for name, size in TOOL_SIGMA.items()]
    intro = tag(
        "p",
        "Read everything three times, putting the tool on anew. Write mm. Left and right are the rider's. Read with ",
        tools,
        "; in brackets what such a reading errs by, two times in three.",
    )
    blocks = [each for each in BLOCKS if each.draw is not drive_side or material.build.position != "front"]
    return [intro, tag("div", [_block(block, material.build) for block in blocks], class_="measure")]


def _block(block: Block, build: Build) -> Html:
    rows = []
    for reading in block.readings:
        for key in reading.keys:
            rows.append(_row(reading, key, build))
    head = tag("tr", tag("td"), [tag("th", each, scope="col") for each in ("between", "1", "2", "3", "in the file")])
    grid = tag("table", tag("thead", head), tag("tbody", rows), class_="log readings")
    drawn = tag("figure", Html(block.draw().svg()))
    return tag("div", tag("h3", block.title), tag("div", drawn, grid, class_="reading"), class_="keep")


def _row(reading: ToRead, key: str, build: Build) -> Html:
    side = next((name for name in ("left", "right") if f".{name}." in key), "")
    between = how.reading(key).between
    what = f"{between}, {side}" if side else between
    if key == "rim.erd":
        end = build.rim.erd_to or "spoke end"
        what = f"{end} to {end} = erd"
    cells = [tag("td", what), *[tag("td", blank(8))] * 3, tag("td", in_the_file(key, build))]
    return tag("tr", tag("th", reading.letter, scope="row"), cells)


def in_the_file(key: str, build: Build) -> str:
    """What the file says of a key, with its error; empty where it says nothing."""
    if key not in build or build[key].origin == "default" or not isinstance(build[key].value, float | int):
        return ""
    within = NINETEEN_IN_TWENTY * build.sigma(key)
    return f"{build.number(key):.1f}" + (f" +-{within:.1f}" if within else "")


def _measure(drawing: Drawing, y: float, start: float, end: float, letter: str) -> None:
    """A dimension line with arrows at both ends and its letter above."""
    middle = (start + end) / 2
    for tip in (start, end):
        drawing.arrow([(middle, y), (tip, y)], THIN, 2.2)
    drawing.text((middle, y - 1.2), letter, LETTER, bold=True)


def _down(drawing: Drawing, x: float, start: float, end: float) -> None:
    """A thin line down from an edge to a dimension line."""
    drawing.line((x, start), (x, end), THIN, "dotted")


def two_spokes() -> Drawing:
    """Rim cut through the middle, two spokes in opposite holes, their elbows in the middle."""
    drawing = Drawing(
        WIDE,
        38,
        "Rim cut across: two old spokes in opposite holes; A their length, B the gap between their elbows, C across both, the erd",
    )
    for x, way in ((4.0, 1.0), (WIDE - 4.0, -1.0)):
        drawing.path([(x - way * 3, 6), (x, 7), (x, 17), (x - way * 3, 18)], THICK)
        drawing.path(
            [(x - way * 1.5, 10.5), (x + way * 4, 11.2), (x + way * 4, 12.8), (x - way * 1.5, 13.5)], THIN, fill="white"
        )
        drawing.line((x, 12), (x + way * 20, 12), THICK)
        drawing.line((x + way * 20, 12), (x + way * 20, 15), THICK)
    for x in (4.0, 24.0, WIDE - 24.0, WIDE - 4.0):
        _down(drawing, x, 14, 24 if x in (24.0, WIDE - 24.0) else 33)
    _measure(drawing, 23, 4, 24, "A")
    _measure(drawing, 23, 24, WIDE - 24, "B")
    _measure(drawing, 23, WIDE - 24, WIDE - 4, "A")
    _measure(drawing, 33, 4, WIDE - 4, "C")
    return drawing


def rim_outside() -> Drawing:
    """Rim cut across: a straight edge over it, the depth down to a nipple's head, the wall."""
    drawing = Drawing(
        WIDE,
        34,
        "Rim cut across with a straight edge on its outside; D round the outside by tape, E depth to the nipple's head, F the wall",
    )
    drawing.path([(10, 6), (52, 6)], 1.2)
    drawing.path([(14, 7), (14, 16), (24, 26), (38, 26), (48, 16), (48, 7)], THICK)
    drawing.path([(24, 22), (38, 22)], THICK)
    drawing.path([(28, 19.5), (34, 19.5), (34, 22), (28, 22)], THICK, fill="white")
    drawing.path([(29.5, 26), (29.5, 32), (32.5, 32), (32.5, 26)], THICK)
    drawing.arrow([(31, 13), (31, 6.8)], THIN, 2.2)
    drawing.arrow([(31, 13), (31, 19.2)], THIN, 2.2)
    drawing.text((33, 14), "E", LETTER, "start", bold=True)
    drawing.text((14, 4.4), "D round here", LETTER, "start", bold=True)
    _down(drawing, 38, 22, 22)
    drawing.arrow([(42, 20), (42, 22)], THIN, 1.6)
    drawing.arrow([(42, 29), (42, 26)], THIN, 1.6)
    drawing.line((38, 22), (43.5, 22), THIN)
    drawing.line((38, 26), (43.5, 26), THIN)
    drawing.text((45, 25.5), "F", LETTER, "start", bold=True)
    return drawing


def hub_along() -> Drawing:
    """Hub from the side: locknuts, flanges, and where each is read."""
    drawing = Drawing(
        WIDE,
        44,
        "Hub from behind: G over the locknuts, H locknut to the flange's outer face, J the flange's thickness, K over both flanges",
    )
    drawing.line((2, 18), (60, 18), 1.2)
    for x in (7.0, 55.0):
        drawing.path([(x - 2, 13.5), (x + 2, 13.5), (x + 2, 22.5), (x - 2, 22.5)], THICK, fill="white")
    for x in (19.0, 41.0):
        drawing.path([(x - 1, 6), (x + 1, 6), (x + 1, 30), (x - 1, 30)], THICK, fill="white")
    drawing.path([(20, 14), (40, 14), (40, 22), (20, 22)], THICK, fill="white")
    drawing.text((19, 4.5), "left", LETTER)
    drawing.text((41, 4.5), "right", LETTER)
    for x in (5.0, 57.0):
        _down(drawing, x, 22, 42)
    for x in (18.0, 42.0):
        _down(drawing, x, 30, 36)
    _measure(drawing, 27.5, 5, 18, "H")
    _measure(drawing, 27.5, 57, 42, "H")
    _measure(drawing, 35.5, 18, 42, "K")
    _measure(drawing, 42, 5, 57, "G")
    drawing.arrow([(12, 9), (17.8, 9)], THIN, 1.8)
    drawing.arrow([(26, 9), (20.2, 9)], THIN, 1.8)
    drawing.text((28, 10.2), "J", LETTER, "start", bold=True)
    return drawing


def flange_face() -> Drawing:
    """Flange from its side: near edges, far edges, a chord over some holes."""
    drawing = Drawing(
        WIDE,
        48,
        "Flange from its side: L near edges, M far edges of opposite holes, N between two holes some holes apart",
    )
    x, y, radius = 24.0, 24.0, 16.0
    drawing.circle((x, y), 21, THICK)
    drawing.circle((x, y), 5, THICK)
    holes = [(0.0, -1.0), (0.87, -0.5), (0.87, 0.5), (0.0, 1.0), (-0.87, 0.5), (-0.87, -0.5)]
    for across, down in holes:
        drawing.circle((x + radius * across, y + radius * down), 2.4, THICK, fill="white")
    top, bottom = y - radius, y + radius
    for line, inner, letter in ((x + 26, 2.4, "L"), (x + 32, -2.4, "M")):
        drawing.line((x, top + inner), (line + 1, top + inner), THIN, "dotted")
        drawing.line((x, bottom - inner), (line + 1, bottom - inner), THIN, "dotted")
        drawing.arrow([(line, y), (line, top + inner)], THIN, 2.2)
        drawing.arrow([(line, y), (line, bottom - inner)], THIN, 2.2)
        drawing.text((line + 1, y + 1.2), letter, LETTER, "start", bold=True)
    start, end = (x - radius * 0.87, y + radius * 0.5), (x - radius * 0.87, y - radius * 0.5)
    drawing.arrow([(start[0], y), end], THIN, 2.2)
    drawing.arrow([(start[0], y), start], THIN, 2.2)
    drawing.text((start[0] + 1.5, y + 1.2), "N", LETTER, "start", bold=True)
    return drawing


def frame_ends() -> Drawing:
    """Frame or fork ends from behind."""
    drawing = Drawing(WIDE, 28, "Frame ends from behind; P between their inner faces, Q the thickness of one end")
    for x in (8.0, 54.0):
        drawing.path([(x - 2, 2), (x + 2, 2), (x + 2, 18), (x - 2, 18)], THICK, fill="white")
    _measure(drawing, 13, 10, 52, "P")
    _down(drawing, 6, 18, 25)
    _down(drawing, 10, 18, 25)
    drawing.arrow([(2, 24), (6, 24)], THIN, 1.8)
    drawing.arrow([(15, 24), (10, 24)], THIN, 1.8)
    drawing.text((16.5, 25.2), "Q", LETTER, "start", bold=True)
    return drawing


def nipple() -> Drawing:
    """Nipple from its side, its head up: the slot, the bearing face, the spoke's end."""
    drawing = Drawing(
        WIDE, 32, "Nipple, head up; R bearing face of the head to the bottom of the slot, S depth of the slot"
    )
    drawing.path([(14, 4), (20, 4), (20, 8), (26, 8), (26, 4), (32, 4), (32, 12), (14, 12), (14, 4)], THICK)
    drawing.path([(18, 12), (18, 28), (28, 28), (28, 12)], THICK)
    drawing.path([(21, 31), (21, 8), (25, 8), (25, 31)], THICK)
    for x, start, end, letter in ((40.0, 8.0, 12.0, "R"), (50.0, 4.0, 8.0, "S")):
        for y, outside in ((start, -3.0), (end, 3.0)):
            drawing.line((32 if y != 8 else 26, y), (x + 1, y), THIN, "dotted")
            drawing.arrow([(x, y + outside), (x, y)], THIN, 1.6)
        drawing.text((x + 1.5, end + 3.5), letter, LETTER, "start", bold=True)
    return drawing


def drive_side() -> Drawing:
    """Cogs on the right of the hub, and the crank's rings beside the seat tube, from behind."""
    drawing = Drawing(
        WIDE,
        34,
        "Right side from behind; T locknut to the smallest cog, U over all cogs, V seat tube to the middle of the rings, W the tube",
    )
    for x, half in ((10.0, 12.0), (14.0, 10.5), (18.0, 9.0), (22.0, 7.5)):
        drawing.path([(x, 14 - half), (x + 1, 14 - half), (x + 1, 14 + half), (x, 14 + half)], THIN, fill="black")
    drawing.line((3, 14), (36, 14), 1.0)
    drawing.path([(27, 10), (30, 10), (30, 18), (27, 18)], THICK, fill="white")
    _down(drawing, 10, 26, 31)
    _down(drawing, 23, 21, 31)
    _down(drawing, 30, 18, 23)
    _measure(drawing, 30.5, 10, 23, "U")
    drawing.arrow([(26.5, 22.5), (23, 22.5)], THIN, 1.6)
    drawing.arrow([(26.5, 22.5), (30, 22.5)], THIN, 1.6)
    drawing.text((31, 24), "T", LETTER, "start", bold=True)
    drawing.path([(40, 3), (40, 22), (46, 22), (46, 3)], THICK)
    drawing.line((57, 2), (57, 24), 1.0)
    _measure(drawing, 10, 46, 57, "V")
    _down(drawing, 40, 22, 29)
    _down(drawing, 46, 22, 29)
    _measure(drawing, 28.5, 40, 46, "W")
    return drawing


def _both(key: str) -> tuple[str, str]:
    return key.replace("SIDE", "left"), key.replace("SIDE", "right")


BLOCKS = (
    Block(
        "Rim: two old spokes (surest)",
        two_spokes,
        (
            ToRead("A", ("readings.rim.two_spokes.length",)),
            ToRead("B", ("readings.rim.two_spokes.gap",)),
            ToRead("C", ("rim.erd",)),
        ),
    ),
    Block(
        "Rim: by tape, on a built wheel",
        rim_outside,
        (
            ToRead("D", ("readings.rim.outside_circumference",)),
            ToRead("E", ("readings.rim.head_depth",)),
            ToRead("F", ("readings.rim.wall",)),
        ),
    ),
    Block(
        "Hub: along the axle",
        hub_along,
        (
            ToRead("G", ("hub.over_locknut",)),
            ToRead("H", _both("readings.hub.SIDE.locknut_to_outer_face")),
            ToRead("J", _both("hub.SIDE.thickness")),
            ToRead("K", ("readings.hub.outer_faces",)),
        ),
    ),
    Block(
        "Hub: the circle of holes",
        flange_face,
        (
            ToRead("L", _both("readings.hub.SIDE.near_edges")),
            ToRead("M", _both("readings.hub.SIDE.far_edges")),
            ToRead("N", _both("readings.hub.SIDE.chord.length")),
        ),
    ),
    Block(
        "Frame or fork",
        frame_ends,
        (
            ToRead("P", ("frame.dropout_spacing",)),
            ToRead("Q", ("frame.dropout_thickness",)),
        ),
    ),
    Block(
        "Nipple",
        nipple,
        (
            ToRead("R", ("nipple.seat_to_end",)),
            ToRead("S", ("nipple.slot_depth",)),
        ),
    ),
    Block(
        "Chain",
        drive_side,
        (
            ToRead("T", ("readings.cogs.locknut_to_face",)),
            ToRead("U", ("readings.cogs.stack",)),
            ToRead("V", ("readings.crank.seat_tube_to_ring",)),
            ToRead("W", ("readings.crank.seat_tube_diameter",)),
        ),
    ),
)
