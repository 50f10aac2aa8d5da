"""The wording of the questions of `wheelcalc start` about the hub."""

from __future__ import annotations

from wheelcalc.build.whole import Build
from wheelcalc.files.outline.questions import Choice, Question, Section, Way


def _rear(build: Build) -> bool:
    return bool(build.position == "rear")


def _flange(side: str) -> tuple[Question | Choice, ...]:
    def elbow(build: Build) -> bool:
        return bool(build.hub.flange(side).spoke_head == "elbow")

    return (
        Question(
            f"hub.{side}.holes", f"{side.capitalize()} flange: how many spoke holes?", "Count them all.", needed=True
        ),
        Question(
            f"hub.{side}.spoke_head",
            f"{side.capitalize()} flange: are its spokes bent at the head (elbow), or straight?",
            "Nearly all hubs take bent spokes, through a thin flange. Straight ones are pushed through a seat like a socket.",
            suggest=lambda build: build.hub.left.spoke_head if side == "right" else "elbow",
        ),
        _circle(side),
        Question(
            f"hub.{side}.outside_diameter",
            f"{side.capitalize()} flange: its outside diameter, edge to edge?",
            "Only to catch the commonest slip: taking the edge for the circle of holes.",
            when=elbow,
        ),
        _place(side),
    )


def _hole(side: str) -> Question:
    return Question(
        f"hub.{side}.hole_diameter",
        f"{side.capitalize()} flange: how wide is a spoke hole?",
        "The shank of a drill gauges it. Enter takes 2.5 mm, the usual hole.",
        shared=True,
    )


def _circle(side: str) -> Choice:
    near = Question(
        f"readings.hub.{side}.near_edges",
        f"{side.capitalize()} flange: from the near edge of one hole to the near edge of the opposite hole?",
        "The shortest distance between two opposite holes, inner edge to inner edge.",
        needed=True,
        topic="hub.pcd",
    )
    far = Question(
        f"readings.hub.{side}.far_edges",
        f"{side.capitalize()} flange: from the far edge to the opposite far edge?",
        "The same two holes, outer edge to outer edge. Half of the difference of the two is the hole's diameter.",
        topic="hub.pcd",
    )
    return Choice(
        f"hub.{side}.pcd",
        f"How will you find the {side} flange's circle of holes (pcd)?",
        "The pitch circle diameter: from the middle of one hole to the middle of the opposite one. It is not the flange's "
        "outside diameter.",
        (
            Way("over the hole edges, near and far", (near, far), "mean of near and far hole edges"),
            _over_some_holes(side),
            Way(
                "I know the number",
                (
                    _hole(side),
                    Question(
                        f"hub.{side}.pcd",
                        f"{side.capitalize()} flange: what is the diameter of its circle of holes?",
                        "Hole middle to opposite hole middle, in mm.",
                        needed=True,
                        topic="hub.pcd",
                    ),
                ),
            ),
        ),
    )


def _over_some_holes(side: str) -> Way:
    return Way(
        "from hole to hole, some holes on (the axle is in the way, or an odd number of holes)",
        (
            Question(
                f"readings.hub.{side}.chord.over",
                f"{side.capitalize()} flange: how many holes on is the second hole?",
                "The next hole is 1 on. Far ones are surer: about half of the holes.",
                needed=True,
                topic="hub.pcd",
            ),
            Question(
                f"readings.hub.{side}.chord.length",
                f"{side.capitalize()} flange: how far apart are the two holes, middle to middle?",
                "Left edge to left edge is the same as middle to middle, and can be seen.",
                needed=True,
                topic="hub.pcd",
            ),
            _hole(side),
        ),
        "chord over several holes",
    )


def _place(side: str) -> Choice:
    return Choice(
        f"hub.{side}.locknut_to_flange",
        f"How will you find where the {side} flange sits?",
        "From the outer face of the locknut (or end cap), where the frame clamps, to the middle of the flange.",
        (
            _from_outer_face(side),
            Way(
                "locknut's face to the middle of the flange, read directly",
                (
                    Question(
                        f"hub.{side}.locknut_to_flange",
                        f"{side.capitalize()} side: from the locknut's outer face to the middle of the flange?",
                        "Not from the axle's end.",
                        needed=True,
                        topic="hub.locknut_to_flange",
                    ),
                ),
            ),
            Way(
                "I know the distance from the hub's centre (from a maker's sheet)",
                (
                    Question(
                        f"hub.{side}.offset",
                        f"{side.capitalize()} flange: how far is its middle from the hub's centre?",
                        "The hub's centre is half-way between the two locknut faces.",
                        needed=True,
                    ),
                ),
            ),
        ),
        others=(f"hub.{side}.offset",),
    )


def _from_outer_face(side: str) -> Way:
    return Way(
        "locknut's face down to the flange's outer face, and the flange's thickness",
        (
            Question(
                f"hub.{side}.thickness",
                f"{side.capitalize()} flange: how thick is it at the spoke holes?",
                "A calliper over the flange beside a hole. Half of it is added to the next reading.",
                needed=True,
                topic="hub.locknut_to_flange",
                shared=True,
            ),
            Question(
                f"readings.hub.{side}.locknut_to_outer_face",
                f"{side.capitalize()} side: from the locknut's outer face down to the flange's outer face?",
                "Stand the hub on the other end, lay a straight edge over the locknut and read down beside a hole.",
                needed=True,
                topic="hub.locknut_to_flange",
            ),
        ),
        "locknut to the outer face and half the thickness",
    )


HUB = Section(
    "The hub",
    "Left and right are yours when you sit on the bike; the chain is on the right.",
    (
        Question(
            "hub.over_locknut",
            "How wide is the hub over both locknuts? Several readings: 130.2, 130.0",
            "From the outer face of one locknut (or end cap) to the other, the width that fills the frame. Not over the axle.",
            needed=True,
            topic="hub.over_locknut",
        ),
        Question(
            "hub.drive",
            "What drives it?",
            "cassette: cogs slide on splines. freewheel: cogs and ratchet screw on in one. fixed: one cog screwed on, no "
            "coasting. internal gear: the gears are in the hub. coaster: back-pedalling brakes. motor: an electric one in the hub. "
            "none: a front hub.",
            when=_rear,
        ),
        Question(
            "hub.rotor",
            "Can a brake rotor be mounted on it?",
            "Bolt holes or splines on the left side, for a brake disc.",
        ),
        *_flange("left"),
        *_flange("right"),
        Question(
            "hub.phase",
            "Seen along the axle: do the holes of the two flanges stand by turns (staggered), or face each other (aligned)?",
            "Push a spoke straight through a hole, level with the axle: does it meet a hole of the other flange, or the middle "
            "between two? Nearly all hubs have them by turns. It moves every spoke's length a little.",
            suggest=lambda _known: "staggered",
        ),
    ),
)
