"""Of the bench sheet: helpers to lay parts on, drawn in millimetres, with a bar to check the printer by."""

from __future__ import annotations

import math

from wheelcalc.answers.spoke_lengths import LengthsAnswer
from wheelcalc.build.whole import Build
from wheelcalc.page.tags import BOX, Html, listed, tag
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.sheet.material import Material
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.facts import crossings
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

THIN, THICK, LETTER, SMALL = 0.15, 0.4, 3.4, 3.0  # mm; letters of 3 mm are 11 pixels of a screen
CHECK_BAR = 100.0
# The page inside its narrow margins on A4 and on Letter alike [mm].
PAGE_WIDTH, PAGE_HEIGHT = 193.2, 254.5
RULER, RULER_HEIGHT = 300.0, 17.0
RULER_TURN_DEG = 53.8  # so that the ruler lies from corner to corner
WIDEST_CIRCLE = 150.0  # mm: a drum's flange is wider than the paper
BESIDE_THE_RULER = 76.0  # mm: a circle as wide as this finds room in a corner of the ruler's page
ON_CIRCLES = (
    "Cut the middle out so that hub and axle pass, and lay the flange on the paper: the thick circle and a ray must show in the "
    "middle of every hole. The thin circles are 2 mm of diameter apart; the one that shows in the holes is the pcd."
)
TALLEST = 60.0  # mm: half of the widest hub, less the rim, and some


def gauges_page(material: Material) -> list[Html]:
    """Return ruler, dish gauge, hole circles and protractor; small circles lie in the corners beside the ruler."""
    lengths, circles = _lengths(material), _circle_figures(material.build)
    beside = len(circles) <= len(SIDES) and all(wide <= BESIDE_THE_RULER for wide, _ in circles)
    dish = [tag("h3", "Dish gauge: two feet and a tongue, to cut from card"), *_dish(material.build)]
    if beside:
        return [*_protractor(lengths), *dish, _ruler_page(lengths, [figure for _, figure in circles])]
    next_page = tag("h3", "Dish gauge: two feet and a tongue, to cut from card", class_="next-page")
    return [*_circles(circles), *_protractor(lengths), next_page, *dish[1:], _ruler_page(lengths, [])]


def _lengths(material: Material) -> LengthsAnswer | None:
    try:
        return material.lengths
    except InputError:
        return None


def check_bar(width: float = CHECK_BAR) -> Drawing:
    """Return a bar that must measure its own length."""
    drawing = Drawing(width + 14, 12, f"Check bar of {width:g} mm")
    with drawing.at(2, 3):
        for part in range(10):
            start = part * width / 10
            fill = "black" if part % 2 == 0 else "white"
            drawing.path([(start, 0), (start + width / 10, 0), (start + width / 10, 3), (start, 3)], 0.1, fill=fill)
        drawing.line((0, -2), (0, 4.5), THIN, data={"check": 0})
        drawing.line((width, -2), (width, 4.5), THIN, data={"check": width})
        drawing.text((0, 7.4), "0", LETTER)
        drawing.text((width + 11, 7.4), f"{width:g} mm", LETTER, "end")
    return drawing


def _checked() -> Html:
    words = (
        f"Lay a steel rule on the bar: {CHECK_BAR:g} mm to 0.2 mm, else print again at 100 %, not fitted to the page. "
    )
    return tag(
        "div", Html(check_bar().svg(true_size=True)), tag("p", words, BOX, " it is", class_="small"), class_="checked"
    )


# The ruler


def _ruler_page(lengths: LengthsAnswer | None, circles: list[Html]) -> Html:
    marks = {} if lengths is None else {side: lengths.sides[side].cut for side in SIDES}
    picture = Drawing(PAGE_WIDTH, PAGE_HEIGHT, "Spoke ruler, 0 to 300 mm, from corner to corner")
    with picture.at(0.5, PAGE_HEIGHT - 10.3, turn_deg=-RULER_TURN_DEG):
        ruler(picture, marks)
    words = [
        "Cut along the frame and glue it on a straight lath. Hook the elbow's inside over the end at 0 (a straight spoke: its head's "
        "underside), and read at the end of the thread.",
        *(f"This wheel, {side}: {cut:.1f} mm to buy." for side, cut in marks.items()),
        *(
            ["A spoke longer than 300 mm: measure it with a steel rule."]
            if any(cut > RULER - 2 for cut in marks.values())
            else []
        ),
    ]
    upper = tag("div", tag("h3", "Spoke ruler"), listed(words), circles[:1], class_="corner upper")
    beside = (
        [tag("div", tag("h3", "Hole-circle gauge"), tag("p", ON_CIRCLES), circles[1:], class_="circle")]
        if circles
        else []
    )
    lower = tag("div", beside, _checked(), class_="corner lower")
    return tag(
        "div", tag("figure", Html(picture.svg(true_size=True))), upper, lower, class_="ruler next-page true-size"
    )


def ruler(drawing: Drawing, marks: dict[str, float]) -> None:
    """Draw a ruler of 300 mm, whole millimetres, with arrows at the lengths named."""
    end, low = RULER + 1.5, RULER_HEIGHT - 0.2
    drawing.path([(0, 0.2), (end, 0.2), (end, low), (0, low), (0, 0.2)], THICK)
    for mm in range(1, int(RULER) + 1):
        tall = 6.0 if mm % 10 == 0 else 4.5 if mm % 5 == 0 else 3.0
        drawing.line((mm, 0.2), (mm, tall), THIN, data={"mm": mm})
        if mm % 10 == 0:
            drawing.text((mm - 0.4, 9.2), str(mm), SMALL, "end")
    for number, (side, cut) in enumerate(sorted(marks.items(), key=lambda mark: mark[1])):
        if cut <= RULER:
            drawing.path(
                [(cut, 10.0), (cut - 1.0, 12.4), (cut + 1.0, 12.4)], THIN, fill="black" if side == "left" else "white"
            )
            drawing.text((cut, 15.6), side[0].upper(), SMALL, "start" if number else "end", bold=True)


# The dish gauge


def _dish(build: Build) -> list[Html]:
    words = [
        "Glue the sheet on stiff card and cut the three parts out. Tape the two feet upright under the ends of a straight lath that is "
        "longer than the rim is wide; tape a loop of card to the lath's middle in which the tongue slides.",
        "Stand the feet on the rim's edge, the lath over the hub. Push the tongue down on the locknut's face, beside the axle, and read "
        "it at the lath's lower edge.",
        "Turn the wheel over and do it again. The rim must move by half of the difference, toward the side on which the tongue reads less.",
    ]
    return [
        tag("figure", Html(dish_gauge(foot_height(build)).svg(true_size=True))),
        listed(words, ordered=True),
        _checked(),
    ]


def foot_height(build: Build) -> float:
    """Return a height at which the lath clears the axle's end: half of the hub and the axle's stub, in steps of 5 [mm]."""
    half = build.hub.over_locknut / 2 if "hub.over_locknut" in build else TALLEST
    stub = build.hub.axle_protrusion or 6.0
    return min(5 * math.ceil((half + stub + 5) / 5), 110.0)


def dish_gauge(height: float) -> Drawing:
    """Return two feet of one height and a tongue with a scale that begins at its tip, to cut out."""
    drawing = Drawing(184, height + 17, f"Dish gauge: two feet {height:g} mm high, and a tongue with a scale")
    for number in (0, 1):
        with drawing.at(2 + number * 62, 4, f"foot-{number + 1}"):
            _foot(drawing, number + 1, height)
    long = height + 12
    with drawing.at(140, 4, "tongue"):
        outline = [(0, 0), (30, 0), (30, long - 12), (20, long), (0, long), (0, 0)]
        drawing.path(outline, THICK, "dashed")
        for mm in range(1, int(long)):
            wide = 9.0 if mm % 10 == 0 else 6.5 if mm % 5 == 0 else 4.5
            drawing.line((0, long - mm), (wide, long - mm), THIN, data={"mm": mm})
            if mm % 10 == 0 and mm < long - 4:
                drawing.text((11, long - mm + 1.2), str(mm), LETTER, "start")
        drawing.text((10, long - 2), "locknut", SMALL)
    return drawing


def _foot(drawing: Drawing, number: int, height: float) -> None:
    drawing.path([(0, 0), (55, 0), (55, height), (0, height), (0, 0)], THICK, "dashed")
    drawing.text((25, 6.5), "this edge up to the lath", LETTER)
    drawing.text((25, height / 2), f"foot {number}", 4.2, bold=True)
    drawing.text((25, height - 4), "stands on the rim", LETTER)
    drawing.line((50, 0), (50, height), THIN, data={"foot": height})
    for tip, way in ((0.0, 1.0), (height, -1.0)):
        drawing.path([(50, tip), (49.2, tip + way * 2.4), (50.8, tip + way * 2.4)], THIN, fill="black")
    drawing.text((48.5, height / 2 + 8), f"{height:g} mm", LETTER, "end")


# The circles of holes


def _circle_figures(build: Build) -> list[tuple[float, Html]]:
    """Widths and figures of the circles that are known [mm]."""
    figures = []
    for side in SIDES:
        read, flange = {f"hub.{side}.pcd", f"hub.{side}.holes"} <= set(build), build.hub.flange(side)
        if read and flange.pcd <= WIDEST_CIRCLE:
            drawing = hole_circle(flange.pcd, flange.holes, side)
            words = f"{side} flange: {flange.pcd:.1f} mm, {flange.holes} holes"
            figure = tag("figure", Html(drawing.svg(true_size=True)), tag("figcaption", tag("b", words)))
            figures.append((drawing.width, figure))
    return figures


def _circles(circles: list[tuple[float, Html]]) -> list[Html]:
    if not circles:
        return []
    figures = [figure for _, figure in circles]
    return [
        tag("h3", "Hole-circle gauge"),
        tag("p", ON_CIRCLES),
        tag("div", figures, class_="wrap true-size"),
        _checked(),
    ]


def hole_circle(pcd: float, holes: int, side: str) -> Drawing:
    """Return circles round the pcd, 2 mm of diameter apart, with a ray for each hole."""
    half = pcd / 2 + 14
    drawing = Drawing(2 * half, 2 * half, f"Hole circles of the {side} flange: {pcd:.1f} mm, {holes} holes")
    with drawing.at(half, half, f"circles-{side}"):
        for step in range(-6, 7, 2):
            drawing.circle((0, 0), (pcd + step) / 2, THICK if step == 0 else 0.1)
        for hole in range(holes):
            angle = 2 * math.pi * hole / holes
            way = (math.sin(angle), -math.cos(angle))
            inner, outer = pcd / 2 - 5, pcd / 2 + 5
            drawing.line([inner * each for each in way], [outer * each for each in way], THIN)
            if holes <= 24 or hole % 2 == 0:
                drawing.text(((outer + 3.5) * way[0], (outer + 3.5) * way[1] + 1), str(hole + 1), SMALL)
        drawing.line((-pcd / 2, 0), (pcd / 2, 0), THIN, data={"pcd": f"{pcd:.3f}"})
        drawing.line((0, -4), (0, 4), THIN)
    return drawing


# The protractor


def _protractor(lengths: LengthsAnswer | None) -> list[Html]:
    marks = (
        {}
        if lengths is None
        else {side: angle for side in SIDES if (angle := crossing_angle(lengths.wheel, side)) is not None}
    )
    words = (
        "Lay the middle of its base on the outermost crossing of two spokes, the base along one of them, and read the other. "
        + "; ".join(f"{side}: {angle:.0f} degrees" for side, angle in marks.items())
        + ("." if marks else "")
    )
    return [
        tag(
            "div",
            tag("h3", "Protractor for the crossing"),
            tag("p", words),
            tag("figure", Html(protractor(marks).svg(true_size=True))),
            class_="keep",
        )
    ]


def crossing_angle(wheel: Wheel, side: str) -> float | None:
    """Angle between two spokes of a flange at their outermost crossing, in the wheel's plane [degrees]; None where none cross."""
    pairs = crossings(wheel)
    mine = wheel.lacing.on(side)[pairs.one] & wheel.lacing.on(side)[pairs.other]
    if not mine.any():
        return None
    last = int((pairs.radius * mine).argmax())
    ways = []
    for spoke in (int(pairs.one[last]), int(pairs.other[last])):
        along = wheel.rim_points[spoke, 1:] - wheel.hub_points[spoke, 1:]
        ways.append(math.degrees(math.atan2(float(along[1]), float(along[0]))))
    apart = abs(ways[0] - ways[1]) % 360
    return min(apart, 360 - apart)


def protractor(marks: dict[str, float]) -> Drawing:
    """Return half a circle in degrees, with arrows at the angles named."""
    radius = 60.0
    drawing = Drawing(2 * radius + 16, radius + 13, "Protractor, 0 to 180 degrees")
    with drawing.at(radius + 8, radius + 10, "protractor"):
        drawing.line((-radius, 0), (radius, 0), THICK)
        for degree in range(181):
            angle = math.radians(degree)
            way = (math.cos(angle), -math.sin(angle))
            inner = radius - (8 if degree % 10 == 0 else 5.5 if degree % 5 == 0 else 3.5)
            drawing.line([inner * each for each in way], [radius * each for each in way], THIN, data={"degree": degree})
            if degree % 10 == 0:
                drawing.text(
                    ((radius - 11.5) * way[0], (radius - 11.5) * way[1] + (-1.0 if degree in (0, 180) else 1.2)),
                    str(degree),
                    LETTER,
                )
        arc = [(radius * math.cos(math.radians(d)), -radius * math.sin(math.radians(d))) for d in range(181)]
        drawing.path(arc, THICK)
        drawing.line((0, 0), (0, -8), THIN)
        for number, (side, degrees) in enumerate(marks.items()):
            angle = math.radians(degrees)
            way = (math.cos(angle), -math.sin(angle))
            drawing.line((0, 0), [(radius - 17) * each for each in way], THICK, "solid" if number == 0 else "dashed")
            at = 30 + 14 * number
            drawing.text((at * way[0] - 3, at * way[1]), side, LETTER, "end", bold=True)
    return drawing
