"""The wording of every question of `wheelcalc start`."""

from __future__ import annotations

import math

from wheelcalc.build.whole import Build
from wheelcalc.files.outline.hub import HUB
from wheelcalc.files.outline.more import CHAIN, OLD_WHEEL, USED_RIM
from wheelcalc.files.outline.questions import Choice, Question, Section, Way
from wheelcalc.wheel.parts import SIDES

SEAT_TO_END = Question(
    "nipple.seat_to_end",
    "Nipple: how far from the bearing face of its head to the bottom of the slot?",
    "The bearing face is the underside of the nipple's head, which sits on the rim. The slot is for the screwdriver; its "
    "bottom is where the spoke's end should come to sit.",
    needed=True,
    shared=True,
)


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
        Question(
            "title", "What do you call this wheel?", "Any short name, such as: Errand bike, rear. It heads every page."
        ),
        Question(
            "position",
            "Is it the front or the rear wheel?",
            "The rear wheel is the driven one, with the chain.",
            suggest=lambda _known: "rear",
        ),
        Question(
            "measuring.tool",
            "What do you measure with?",
            "It decides how sure every bare number counts: a tape to 1 mm, a rule to 0.5 mm, a calliper to 0.1 mm. A number "
            "may always carry its own error: 602.4 +- 0.3 mm.",
            suggest=lambda _known: "rule",
        ),
    ),
)

_SPOKES_TO_MEASURE = Way(
    "two old spokes of known length, and the gap between them",
    (
        Question(
            "readings.rim.two_spokes.length",
            "How long are the two old spokes (inside of the elbow to the end of the thread)?",
            "Hook the elbow over the end of a rule and read at the other end. Take two spokes of one length.",
            needed=True,
            topic="rim.erd",
        ),
        Question(
            "readings.rim.two_spokes.gap",
            "And the gap between the insides of their elbows? Several pairs of holes: 82.4, 82.8, 82.3",
            "Both spokes pulled toward the middle, each end level with the bottom of its nipple's slot. If the elbows pass each "
            "other, the overlap is a negative gap.",
            needed=True,
            topic="rim.erd",
        ),
    ),
    "two old spokes and the gap between them",
)
_OVER_THE_OUTSIDE = Way(
    "a tape round the rim, and the depth down to a nipple's head (works on a built wheel)",
    (
        Question(
            "readings.rim.outside_circumference",
            "How long is the tape, once round the rim's outside?",
            "Lay it round both edges of the rim without a tyre, snug and not twisted.",
            needed=True,
            topic="rim.erd",
        ),
        Question(
            "nipple.slot_depth",
            "How deep is the slot in the nipple's head?",
            "From the top of the head down to the bottom of the slot, usually about 1 mm.",
            shared=True,
        ),
        Question(
            "rim.measured",
            "Is the rim bare, or part of a built wheel under tension?",
            "Spokes under tension make a rim smaller by some tenths of a millimetre.",
            suggest=lambda _known: "bare",
            shared=True,
        ),
        Question(
            "readings.rim.head_depth",
            "A straight edge across the rim's outside: how far down to the nipple's head? Several: 13.2, 13.6",
            "The straight edge lies on both edges of the rim; read down to the top of the head.",
            needed=True,
            topic="rim.erd",
        ),
    ),
    "outside circumference, head depth and slot",
)
_FROM_INSIDE = Way(
    "the rim's inside diameter, and the thickness of its wall",
    (
        Question(
            "readings.rim.inside_diameter",
            "How wide is the rim inside, from inner face to opposite inner face?",
            "Between two opposite spoke holes, on the face that looks at the hub.",
            needed=True,
            topic="rim.erd",
        ),
        SEAT_TO_END,
        Question(
            "readings.rim.wall",
            "How thick is the rim's wall at a spoke hole, up to where the nipple's head sits?",
            "Put something hooked through the hole and read how far it goes; an eyelet counts.",
            needed=True,
            topic="rim.erd",
        ),
    ),
    "inside diameter, wall and nipple seat to spoke end",
)
_ERD_KNOWN = Way(
    "I know the number",
    (
        Question(
            "rim.erd_to",
            "What was it measured to?",
            "The trade uses the word for two things. spoke end: across the places where the ends of two opposite spokes should "
            "sit, the bottom of the nipple's slot. nipple top: across the tops of two nipple heads. nipple seat: across the "
            "faces that the heads bear on. They differ by several millimetres; if you cannot tell, measure.",
            needed=True,
        ),
        Question(
            SEAT_TO_END.key,
            SEAT_TO_END.text,
            SEAT_TO_END.explanation,
            needed=True,
            when=lambda build: build.rim.erd_to == "nipple seat",
            shared=True,
        ),
        Question(
            "rim.erd",
            "What is the effective rim diameter? Several readings: 602.1, 602.5, 602.6",
            "In mm, or with a unit: 23 11/16 in. A number from a list is often wrong by 2 mm: add your doubt, 602 +- 1 mm.",
            needed=True,
            topic="rim.erd",
        ),
    ),
)

RIM = Section(
    "The rim",
    "Bare if you can: it is measured more surely without spokes.",
    (
        Question(
            "rim.holes",
            "How many spoke holes has the rim?",
            "Count them, beginning at the valve. The valve's own hole does not count.",
            needed=True,
        ),
        Question(
            "rim.bead_seat_diameter",
            "What is the second number of the tyre's size mark (622 in 32-622)?",
            "It stands on the tyre's side and often on the rim. It only catches a slip: the spoke ends must lie inside of it.",
        ),
        Choice(
            "rim.erd",
            "How will you find the rim's effective diameter (erd)?",
            "The effective rim diameter is the distance across the rim between the places where the ends of two opposite spokes "
            "should sit. 1 mm of it is half a millimetre of every spoke: the reading that matters most.",
            (_SPOKES_TO_MEASURE, _OVER_THE_OUTSIDE, _FROM_INSIDE, _ERD_KNOWN),
        ),
        Question(
            "rim.hole_offset",
            "Do the spoke holes lie off the middle of the rim? How far, and to which side (2.5 mm right)?",
            "Some rims are drilled off the middle, to even the tensions. Read from one edge of the rim to a hole's middle, then "
            "from the other; half of the difference counts. Enter: they lie in the middle, or step evenly to both sides.",
            topic="rim.hole_offset",
        ),
        Question(
            "rim.section.material",
            "What is the rim made of?",
            "A magnet holds on steel. It decides how tight the spokes may be and how much the rim shrinks.",
            suggest=lambda _known: "aluminium",
        ),
        Question(
            "rim.walls",
            "Has the rim a single wall, or a double one (a hollow box)?",
            "Look into the valve's hole: two walls with air between them are a double wall.",
        ),
        Question(
            "rim.eyelets",
            "Are the spoke holes lined with eyelets?",
            "A ring of another metal pressed into the hole, under the nipple's head.",
            when=lambda build: build.rim.material != "carbon",
        ),
        Question(
            "rim.tension_limit",
            "Does the rim's maker give a largest spoke tension (1200 N, 120 kgf)?",
            "It stands in the rim's papers, seldom on the rim. Without it the usual limit for such a rim is taken, and said so.",
        ),
        Question(
            "rim.section.mass",
            "What does the bare rim weigh (520 g)?",
            "A kitchen scale will do. From it comes how stiff the rim is and how much it shrinks.",
        ),
    ),
)


SPOKES = Section(
    "Lacing, spokes and nipples",
    "",
    (
        Question(
            "lacing.pattern",
            "Rim and hub do not share the holes evenly. Which pattern?",
            "two to one: two spokes on one side for each on the other. uneven counts: rim and hub have different numbers of "
            "holes. crow's foot and crossed need half of the rim's holes on each flange.",
            needed=True,
            when=_odd_counts,
        ),
        Question(
            "lacing.crosses",
            "How many spokes of its own side does each spoke cross? Sides that differ: left 2, right 3",
            "Count from the hub outward, the crossing right at the flange included. 0 is radial: straight out. 3 is usual for "
            "32 and 36 holes. A driven or disc-braked side must not be radial.",
            needed=True,
            suggest=_crosses,
        ),
        Question(
            "spokes.wire",
            "How thick is the spokes' wire (2.0, or 2.0/1.8/2.0)?",
            "One number: the same all along. Three: at the head, in the middle, at the thread. Enter takes plain 2.0.",
        ),
        Question(
            "nipple.length",
            "How long are the nipples?",
            "Over all. Enter takes 12 mm, the usual length.",
        ),
        Question(
            "nipple.material",
            "What are the nipples made of?",
            "Brass is heavy and yellow below its plating. Aluminium is light; its heads break where no thread reaches them, so "
            "the spoke's end must come further up.",
            suggest=lambda _known: "brass",
        ),
        Question(
            "nipple.for_wire",
            "Which wire are the nipples made for (2.0)?",
            "The thread's size. Try: it must turn on by hand over all of the thread and must not rattle.",
        ),
        Question(
            "stock.on_hand",
            "Only spokes that you have already? Which (288 = 20, 290 = 18)?",
            "Length = how many. Enter: spokes will be bought, of any full millimetre.",
        ),
    ),
)

FRAME = Section(
    "The frame or fork",
    "",
    (
        Question(
            "frame.dropout_spacing",
            "How wide is the frame or fork between its ends? Several readings: 130.5, 130.3",
            "Between the inner faces, with no wheel in it.",
            topic="frame.dropout_spacing",
        ),
        Question("frame.dropout", "Do its ends have slots, or holes for a through axle?", "slot: the wheel drops out."),
        Question(
            "frame.material", "What is it made of?", "Only steel may be sprung a little, or set to another width."
        ),
        Question("frame.brake", "Which brake does it carry for this wheel?", "rim: pads on the rim. hub: in the hub."),
        Question(
            "frame.axle_diameter", "Which axle do its ends take (10, 12, 15 ...)?", "The slot's width or the hole."
        ),
        Question("frame.dropout_thickness", "How thick is one end where the axle sits?", "Outer face to inner face."),
        Question(
            "hub.axle",
            "How is the hub's axle held?",
            "quick release: a skewer through a hollow axle. nutted: two nuts. through: a thick axle pushed through the ends.",
        ),
        Question("hub.axle_diameter", "How thick is the hub's axle where it sits in the ends?", "Over its thread."),
        Question(
            "hub.axle_protrusion",
            "How far does the axle stand out beyond each locknut?",
            "From the locknut's face to the axle's end. It must not be longer than the frame's end is thick.",
            when=lambda build: build.hub.axle != "through",
        ),
        Question(
            "spacers.on_hand",
            "Only the spacers that you have? Thickness = how many (1 = 4, 2.5 = 2)",
            "Washers that go on the axle under the locknuts. Enter: any thickness in steps of half a millimetre can be had.",
        ),
    ),
    gate="Will this hub fit the frame? Ten answers more tell it.",
)

RIDER = Section(
    "The load",
    "",
    (
        Question("load.rider", "What does the rider weigh (85 kg)?", "With clothes and bag; it stays in your file."),
        Question(
            "load.bike", "What do the bike and its luggage weigh (14 kg)?", "A bathroom scale, with and without it."
        ),
    ),
    gate="Shall it be worked out what riding asks of the spokes? It takes two weights.",
)

OUTLINE = (BUILD, RIM, USED_RIM, HUB, SPOKES, FRAME, CHAIN, RIDER, OLD_WHEEL)
