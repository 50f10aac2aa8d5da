"""The wording of every question of `wheelcalc start`."""

from __future__ import annotations

import math

from wheelcalc.build.whole import Build
from wheelcalc.files.outline.hub import HUB
from wheelcalc.files.outline.more import CHAIN, OLD_WHEEL, USED_RIM
from wheelcalc.files.outline.questions import Section, Way, choice, question
from wheelcalc.wheel.parts import SIDES

SEAT_TO_END = question("nipple.seat_to_end", needed=True, shared=True)


def _holes(build: Build) -> list[int]:
    """Holes of both flanges, 0 where they are not known yet."""
    return [build.hub.flange(side).holes if f"hub.{side}.holes" in build else 0 for side in SIDES]


def _crosses(build: Build) -> str:
    """C: 3 where the flange has room for it, fewer on flanges of few holes, so that no spoke lies over another's head."""
    holes = _holes(build)
    return str(min(3, math.ceil(min(holes) / 4) - 1)) if min(holes) >= 8 else ""


def _odd_counts(build: Build) -> bool:
    holes = _holes(build)
    return all(holes) and (holes[0] != holes[1] or ("rim.holes" in build and sum(holes) != build.rim.holes))


BUILD = Section(
    "This wheel",
    "",
    (
        question("title"),
        question("position", suggest=lambda _known: "rear"),
        question("measuring.tool", suggest=lambda _known: "rule"),
    ),
)

_SPOKES_TO_MEASURE = Way(
    (
        question("readings.rim.two_spokes.length", needed=True, topic="rim.erd"),
        question("readings.rim.two_spokes.gap", needed=True, topic="rim.erd"),
    ),
    "two old spokes and the gap between them",
)
_OVER_THE_OUTSIDE = Way(
    (
        question("readings.rim.outside_circumference", needed=True, topic="rim.erd"),
        question("nipple.slot_depth", shared=True),
        question("rim.measured", suggest=lambda _known: "bare", shared=True),
        question("readings.rim.head_depth", needed=True, topic="rim.erd"),
    ),
    "outside circumference, head depth and slot",
)
_FROM_INSIDE = Way(
    (
        question("readings.rim.inside_diameter", needed=True, topic="rim.erd"),
        SEAT_TO_END,
        question("readings.rim.wall", needed=True, topic="rim.erd"),
    ),
    "inside diameter, wall and nipple seat to spoke end",
)
_ERD_KNOWN = Way(
    (
        question("rim.erd_to", needed=True),
        question(SEAT_TO_END.key, needed=True, when=lambda build: build.rim.erd_to == "nipple seat", shared=True),
        question("rim.erd", needed=True, topic="rim.erd"),
    )
)

RIM = Section(
    "The rim",
    "Bare if you can: it is measured more surely without spokes.",
    (
        question("rim.holes", needed=True),
        question("rim.bead_seat_diameter"),
        choice("rim.erd", (_SPOKES_TO_MEASURE, _OVER_THE_OUTSIDE, _FROM_INSIDE, _ERD_KNOWN)),
        question("rim.hole_offset", topic="rim.hole_offset"),
        question("rim.section.material", suggest=lambda _known: "aluminium"),
        question("rim.walls"),
        question("rim.eyelets", when=lambda build: build.rim.material != "carbon"),
        question("rim.tension_limit"),
        question("rim.section.mass"),
    ),
)


SPOKES = Section(
    "Lacing, spokes and nipples",
    "",
    (
        question("lacing.pattern", needed=True, when=_odd_counts),
        question("lacing.crosses", needed=True, suggest=_crosses),
        question("spokes.wire"),
        question("nipple.length"),
        question("nipple.material", suggest=lambda _known: "brass"),
        question("nipple.for_wire"),
        question("stock.on_hand"),
    ),
)

FRAME = Section(
    "The frame or fork",
    "",
    (
        question("frame.dropout_spacing", topic="frame.dropout_spacing"),
        question("frame.dropout"),
        question("frame.material"),
        question("frame.brake"),
        question("frame.axle_diameter"),
        question("frame.dropout_thickness"),
        question("hub.axle"),
        question("hub.axle_diameter"),
        question("hub.axle_protrusion", when=lambda build: build.hub.axle != "through"),
        question("spacers.on_hand"),
    ),
    gate="Will this hub fit the frame? Ten answers more tell it.",
)

RIDER = Section(
    "The load",
    "",
    (question("load.rider"), question("load.bike")),
    gate="Shall it be worked out what riding asks of the spokes? It takes two weights.",
)

OUTLINE = (BUILD, RIM, USED_RIM, HUB, SPOKES, FRAME, CHAIN, RIDER, OLD_WHEEL)
