"""Keys of the hub."""

from __future__ import annotations

from collections.abc import Mapping

from wheelcalc.build import declare
from wheelcalc.build.section import Section

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class Flange(Section):
    """[hub.left] and [hub.right]."""

    holes: int = declare.count("count the spoke holes of this flange", 3, 72, needed=True)
    pcd: float = declare.length(
        "hole centre to opposite hole centre, not the flange's edge", 15, 350, reading=True, needed=True
    )
    locknut_to_flange: float = declare.length(
        "from the outer locknut (or end-cap) face to the middle of this flange", 0, 150, reading=True, needed=True
    )
    offset: float = declare.length(
        "from the hub's centre to the middle of this flange", -60, 120, reading=True, needed=True
    )
    hole_diameter: float = declare.length("of a spoke hole in the flange; the shank of a drill gauges it", 1.4, 8, 2.5)
    thickness: float | None = declare.length("of the flange at the spoke holes", 0.8, 20)
    outside_diameter: float | None = declare.length("of the flange, edge to edge", 15, 400)
    spoke_head: str = declare.choice("elbow, or straight through a seat", "elbow", "straight", default="elbow")
    pair_spacing: float | None = declare.length("seats in pairs: centre to centre of the two seats of a pair", 2, 60)
    pair_spokes: str | None = declare.choice(
        "seats in pairs: whether the two spokes of a pair run apart or cross", "apart", "crossing"
    )


class Hub(Section):
    """[hub]."""

    part: str | None = declare.key("text", "name of one in a drawer (--parts); own keys beside it go before")
    over_locknut: float = declare.length(
        "outer locknut face to outer locknut face, a rule along the axle", 50, 250, reading=True, needed=True
    )
    axle: str | None = declare.choice("look how the axle is held in the ends", "quick release", "nutted", "through")
    axle_diameter: float = declare.length("of the axle where it sits in the frame", 4, 30, needed=True)
    axle_protrusion: float | None = declare.length("locknut face to the axle's end; half of both sides together", 0, 80)
    drive: str | None = declare.choice(
        "look what the cogs sit on, or what turns the hub",
        "cassette",
        "freewheel",
        "fixed",
        "internal gear",
        "coaster",
        "motor",
        "none",
    )
    lockring: bool | None = declare.flag("whether a reverse-thread lockring holds the fixed cog")
    brake: str = declare.choice("brake in the hub", "none", "coaster", "drum", "roller", default="none")
    brake_arm_anchored: bool | None = declare.flag(
        "whether the frame has an anchor for the arm of brake, gear or motor"
    )
    axle_moved: float = declare.length(
        "axle screwed sideways through the hub since axle_protrusion was read, + right", -30, 30, sided=True, absent=0.0
    )
    thread: str | None = declare.key("text", "thread that takes the freewheel: ISO, British, Italian, French or small")
    rotor: bool | None = declare.flag("whether a rotor can be mounted")
    rotor_face: float = declare.length("from the left locknut face to the rotor", 0, 60, needed=True)
    body_length: float | None = declare.length("of the freehub body, from its shoulder to its end", 5, 80)
    phase: str = declare.choice("holes of the sides by turns, or facing", "staggered", "aligned", default="staggered")
    loose_spacers: Mapping[str, tuple[float, ...]] = declare.key(
        "pairs", "spacers on the axle that could come off, { left = [2.5], right = [] }", absent={}
    )
    nut_length: float = declare.length("thread inside an axle nut, end to end", 2, 25, needed=True)
    flange_distance: float | None = declare.length("middle of flange to middle of flange", 10, 200)
    left: Flange = declare.section(Flange)
    right: Flange = declare.section(Flange)

    @property
    def driven(self) -> bool:
        """Whether cogs sit on it; a hub of which the file says nothing has none."""
        return self.drive not in (None, "none")

    def flange(self, side: str) -> Flange:
        """Return the flange of a side, "left" or "right"."""
        return self.left if side == "left" else self.right
