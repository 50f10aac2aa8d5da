"""Of the bench sheet: how a bare rim is hung up and tapped, so that it tells how stiff it is."""

from __future__ import annotations

from wheelcalc.build.whole import Build
from wheelcalc.files import how
from wheelcalc.page.tags import Html, blank, tag
from wheelcalc.paper.drawing import Drawing


def to_tap(build: Build) -> list[Html]:
    """Return the drawing and the steps, where the rim has not been tapped yet."""
    if "rim.section.bending_in_plane" in build:
        return []
    said = how.how("tap")
    steps = tag("ol", [tag("li", each) for each in said.steps], class_="small")
    weight = tag(
        "p",
        "Weight of the bare rim: ",
        blank(20),
        " g. Half-way between outside and inside diameter: ",
        blank(20),
        " mm.",
    )
    drawn = tag("div", tag("figure", Html(hung_rim().svg())), tag("div", steps, weight), class_="reading")
    return [
        tag(
            "div",
            tag("h3", "The rim's own stiffness, by ear"),
            drawn,
            tag("p", said.matters, class_="small"),
            class_="keep",
        )
    ]


def hung_rim() -> Drawing:
    """Bare rim on a string, tapped inward and, seen from its edge, sideways."""
    drawing = Drawing(
        62.0,
        34.0,
        "Bare rim hung on a string by its valve hole; tapped inward, and sideways",
    )
    drawing.line((18, 0), (18, 6), 0.2)
    for radius in (13.0, 11.0):
        drawing.circle((18, 19), radius, 0.5)
    drawing.arrow([(38, 12), (30.5, 14.5)], 0.2, 2.2)
    drawing.text((38, 10.5), "inward", 3.6)
    drawing.line((52, 0), (52, 6), 0.2)
    drawing.path([(51, 6), (53, 6), (53, 32), (51, 32)], 0.5, fill="white")
    drawing.arrow([(43, 26), (50.5, 26)], 0.2, 2.2)
    drawing.text((42, 24.5), "sideways", 3.6)
    return drawing
