"""The wording of the questions of `wheelcalc start` that go beyond the new wheel: used rim, chain, old wheel."""

from __future__ import annotations

from collections.abc import Callable

from wheelcalc.build.whole import Build
from wheelcalc.files.outline.questions import Question, Section
from wheelcalc.wheel.parts import SIDES

USED_RIM = Section(
    "The rim, as it is",
    "",
    (
        Question(
            "old_rim.cracks",
            "Are there cracks round the spoke holes, at the joint or in the brake track?",
            "Clean it and look along every hole in good light. A cracked rim is thrown away.",
            topic="old_rim",
        ),
        Question(
            "old_rim.bulges",
            "Does its side bulge anywhere?",
            "Run a finger along both sides. A bulge where the pads rub means a wall worn thin, about to burst.",
            topic="old_rim",
        ),
        Question(
            "old_rim.brake_wall",
            "How thick is the wall of the brake track where it is thinnest?",
            "A calliper over a bent wire on the inside. Enter leaves it out, for a rim that no pads rub on.",
            topic="old_rim",
            when=lambda build: build.rim.material != "steel",
        ),
        Question(
            "old_rim.diameters",
            "How wide is it over its outside, two to four ways (632.1, 632.6, 631.8)?",
            "The first through the valve's hole, the others turned on by equal steps: how far it is out of round.",
            topic="old_rim",
        ),
        Question(
            "old_rim.flat_gap",
            "Laid on a flat table, its right side down: how wide is the widest gap under it?",
            "A window pane or a kitchen top will do; feeler gauges or slips of paper tell the gap.",
            topic="old_rim",
        ),
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
        Question("cogs.count", "How many cogs?", "Those that will be on this wheel.", when=_driven),
        Question(
            "cogs.locknut_to_smallest",
            "From the right locknut's outer face in to the middle of the smallest cog?",
            "Lay a rule across the locknut's face and read down to the cog.",
            topic="cogs.locknut_to_smallest",
            when=_driven,
        ),
        Question(
            "cogs.pitch",
            "From the middle of one cog to the middle of the next (4.8)?",
            "Measure over all cogs, take one cog's thickness off, divide by the number of steps; `wheelcalc tables cogs` has "
            "the usual ones.",
            when=_several("cogs.count"),
        ),
        Question("crank.rings", "How many chainrings has the crank?", "Enter takes one.", when=_driven),
        Question(
            "crank.chainline",
            "From the bike's middle out to the chainring, or to midway between the outermost rings?",
            "From the side of the seat tube to the ring, and half of the tube on top.",
            topic="crank.chainline",
            when=_driven,
        ),
        Question(
            "crank.ring_pitch",
            "From the middle of one ring to the middle of the next?",
            "It gives the chain's angle in every gear.",
            when=_several("crank.rings"),
        ),
    ),
    gate="Will the chain run straight? Cogs and crank tell it.",
)


def _old_flange(side: str) -> tuple[Question, ...]:
    name = f"Old hub, {side} flange"
    return (
        Question(f"old_wheel.hub.{side}.holes", f"{name}: how many spoke holes?", "Count them all."),
        Question(
            f"old_wheel.hub.{side}.pcd",
            f"{name}: from hole middle to opposite hole middle?",
            "Hole middle to opposite hole middle, not the flange's edge.",
            topic="hub.pcd",
        ),
        Question(
            f"old_wheel.hub.{side}.locknut_to_flange",
            f"{name}: from the locknut's outer face to its middle?",
            "Not from the axle's end.",
            topic="hub.locknut_to_flange",
        ),
    )


OLD_WHEEL = Section(
    "The old wheel as gauge",
    "Its spokes fitted this rim once: with the old hub they tell the rim's diameter a second time.",
    (
        Question(
            "old_wheel.crosses",
            "How many spokes of its own side did each spoke cross? Sides that differ: left 2, right 3",
            "Counted from the hub outward, the crossing right at the flange included.",
        ),
        Question(
            "old_wheel.lengths",
            "How long are the old spokes? Several of each side: left 291, 291.5, right 289, 289.5",
            "From the inside of the elbow to the end of the thread.",
            topic="old_wheel",
        ),
        Question(
            "old_wheel.end_position",
            "Where did their ends sit, + beyond or - short of the slot's bottom? left -1, right 0.5",
            "Seen from the tyre's side while the wheel was still built.",
            topic="old_wheel",
        ),
        Question(
            "old_wheel.tension",
            "How tight were the spokes of the tighter side, if known (900 N)?",
            "A meter or `wheelcalc pluck` tells it. Enter leaves it out.",
        ),
        Question(
            "old_wheel.hub.over_locknut",
            "Old hub: how wide over both locknuts?",
            "Outer face to outer face, not the axle.",
        ),
        *(question for side in SIDES for question in _old_flange(side)),
    ),
    usual=False,
    gate="Did the rim come out of an old wheel, and do you have its hub and spokes? They check the rim's diameter.",
)
