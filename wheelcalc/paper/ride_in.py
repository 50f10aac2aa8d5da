"""What to look at before and after the first rides on a wheel. C: common practice of the trade."""

from __future__ import annotations

from wheelcalc.build.whole import Build

WARNING = "A wheel that fails throws the rider. Ride it first slowly, near home, with a helmet; go on only if every box is ticked."
AFTER = ("after 10 minutes", "after 20 km", "after 300 km", "each season")
LOOKS = ("true", "no loose spoke", "rim and flanges whole")
NEVER = (
    "A crack round a spoke hole, a bulge of the rim, a spoke that loosens again and again: do not ride on; see "
    "`wheelcalc salvage` for the rim and `wheelcalc true` for the spoke."
)


def before(build: Build) -> list[str]:
    """What must be so before the first ride, a sentence each."""
    return [
        "Spokes squeezed in pairs all round: no more pinging, still true.",
        "No spoke's end stands out of its nipple toward the tube; rim tape covers every hole.",
        "Bearings: no play, no drag. Locknuts tight.",
        "Wheel fully home in both ends; quick release, nuts or axle closed as their maker says.",
        "Rim in the middle of the frame; it clears pads and stays all round.",
        "The brake stops the bike, pushed hard while walking; its pads meet the rim (or rotor) and nothing else.",
        *(
            []
            if build.position == "front"
            else ["Gears: the chain cannot fall behind the largest cog. Limit screws set again."]
        ),
        "Tyre seated all round, pressure below the rim's limit.",
    ]
