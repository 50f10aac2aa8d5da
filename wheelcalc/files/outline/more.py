"""The wording of the questions of `wheelcalc start` that go beyond the new wheel: used rim, chain, old wheel."""

from __future__ import annotations

from collections.abc import Callable

from wheelcalc.build.whole import Build
from wheelcalc.files.outline.questions import Question, Section, question
from wheelcalc.wheel.parts import SIDES

USED_RIM = Section(
    "The rim, as it is",
    "",
    (
        question("old_rim.cracks", topic="old_rim"),
        question("old_rim.bulges", topic="old_rim"),
        question("old_rim.brake_wall", topic="old_rim", when=lambda build: build.rim.material != "steel"),
        question("old_rim.diameters", topic="old_rim"),
        question("old_rim.flat_gap", topic="old_rim"),
    ),
    gate="Is it a used rim? Five looks tell whether it is worth new spokes, and whether it is safe.",
)


def _driven(build: Build) -> bool:
    return bool(build.position == "rear" and build.hub.drive != "none")


def _several(key: str) -> Callable[[Build], bool]:
    return lambda build: _driven(build) and key in build and build.number(key) > 1


CHAIN = Section(
    "The chain",
    "Needed only to see whether the chain will run straight.",
    (
        question("cogs.count", when=_driven),
        question("cogs.locknut_to_smallest", topic="cogs.locknut_to_smallest", when=_driven),
        question("cogs.pitch", when=_several("cogs.count")),
        question("crank.rings", when=_driven),
        question("crank.chainline", topic="crank.chainline", when=_driven),
        question("crank.ring_pitch", when=_several("crank.rings")),
    ),
    gate="Will the chain run straight? Cogs and crank tell it.",
)


def _old_flange(side: str) -> tuple[Question, ...]:
    return (
        question(f"old_wheel.hub.{side}.holes"),
        question(f"old_wheel.hub.{side}.pcd", topic="hub.pcd"),
        question(f"old_wheel.hub.{side}.locknut_to_flange", topic="hub.locknut_to_flange"),
    )


OLD_WHEEL = Section(
    "The old wheel as gauge",
    "Its spokes fitted this rim once: with the old hub they tell the rim's diameter a second time.",
    (
        question("old_wheel.crosses"),
        question("old_wheel.lengths", topic="old_wheel"),
        question("old_wheel.end_position", topic="old_wheel"),
        question("old_wheel.tension"),
        question("old_wheel.hub.over_locknut"),
        *(question for side in SIDES for question in _old_flange(side)),
    ),
    usual=False,
    gate="Did the rim come out of an old wheel, and do you have its hub and spokes? They check the rim's diameter.",
)
