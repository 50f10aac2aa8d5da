"""The wording of the questions of `wheelcalc start` about the hub."""

from __future__ import annotations

from wheelcalc.build.whole import Build
from wheelcalc.files.outline.questions import Choice, Question, Section, Way, choice, question


def _rear(build: Build) -> bool:
    return bool(build.position == "rear")


def _flange(side: str) -> tuple[Question | Choice, ...]:
    def elbow(build: Build) -> bool:
        return bool(build.hub.flange(side).spoke_head == "elbow")

    return (
        question(f"hub.{side}.holes", needed=True),
        question(
            f"hub.{side}.spoke_head", suggest=lambda build: build.hub.left.spoke_head if side == "right" else "elbow"
        ),
        _circle(side),
        question(f"hub.{side}.outside_diameter", when=elbow),
        _place(side),
    )


def _hole(side: str) -> Question:
    return question(f"hub.{side}.hole_diameter", shared=True)


def _circle(side: str) -> Choice:
    near = question(f"readings.hub.{side}.near_edges", needed=True, topic="hub.pcd")
    far = question(f"readings.hub.{side}.far_edges", topic="hub.pcd")
    return choice(
        f"hub.{side}.pcd",
        (
            Way((near, far), "mean of near and far hole edges"),
            _over_some_holes(side),
            Way((_hole(side), question(f"hub.{side}.pcd", needed=True, topic="hub.pcd"))),
        ),
    )


def _over_some_holes(side: str) -> Way:
    return Way(
        (
            question(f"readings.hub.{side}.chord.over", needed=True, topic="hub.pcd"),
            question(f"readings.hub.{side}.chord.length", needed=True, topic="hub.pcd"),
            _hole(side),
        ),
        "chord over several holes",
    )


def _place(side: str) -> Choice:
    return choice(
        f"hub.{side}.locknut_to_flange",
        (
            _from_outer_face(side),
            Way((question(f"hub.{side}.locknut_to_flange", needed=True, topic="hub.locknut_to_flange"),)),
            Way((question(f"hub.{side}.offset", needed=True),)),
        ),
        others=(f"hub.{side}.offset",),
    )


def _from_outer_face(side: str) -> Way:
    return Way(
        (
            question(f"hub.{side}.thickness", needed=True, topic="hub.locknut_to_flange", shared=True),
            question(f"readings.hub.{side}.locknut_to_outer_face", needed=True, topic="hub.locknut_to_flange"),
        ),
        "locknut to the outer face and half the thickness",
    )


HUB = Section(
    "The hub",
    "Left and right are yours when you sit on the bike; the chain is on the right.",
    (
        question("hub.over_locknut", needed=True, topic="hub.over_locknut"),
        question("hub.drive", when=_rear),
        question("hub.rotor"),
        *_flange("left"),
        *_flange("right"),
        question("hub.phase", suggest=lambda _known: "staggered"),
    ),
)
