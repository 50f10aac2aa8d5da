"""Keys of the bike that the wheel goes into."""

from __future__ import annotations

from collections.abc import Mapping

from wheelcalc.build import declare
from wheelcalc.build.section import Section, Sides

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class Frame(Section):
    """[frame]: frame or fork."""

    dropout_spacing: float = declare.length(
        "a rule between the inner faces of frame's or fork's ends, wheel out", 50, 250, reading=True, needed=True
    )
    spacing_to: str = declare.choice("what was measured", "faces", "recess floors", default="faces")
    recess_depth: float = declare.length("of the recess that takes a hub end", 0, 10, 0.0)
    dropout: str | None = declare.choice("look: open slots, or closed holes for a through axle", "slot", "through")
    axle_diameter: float = declare.length("that the ends take", 4, 30, needed=True)
    dropout_thickness: float = declare.length("of one end where the axle sits, paint and all", 1, 30, needed=True)
    material: str | None = declare.choice(
        "of the frame or fork; a magnet holds on steel", "steel", "aluminium", "titanium", "carbon"
    )
    brake: str | None = declare.choice("look which brake the frame carries at this wheel", "rim", "disc", "hub")
    other_brake: bool = declare.flag("whether the bike has another brake on this wheel", absent=False)
    rotor_to_dropout: float = declare.length(
        "from the left end's inner face to the middle between the calliper's pads", 0, 60, needed=True
    )
    wheel_offset: float = declare.length("rim from the middle of the ends, + right", -30, 30, 0.0, sided=True)
    shell_width: float = declare.length("of the bottom-bracket shell", 50, 150, needed=True)
    chainstay: float | None = declare.length("middle of the bracket to the middle of the rear axle, straight", 250, 700)
    width_slack: float = declare.length("over or short that still fits", 0, 5, needed=True)
    spring_at_most: float = declare.length("that a steel frame is sprung", 0, 10, 3.0)


class Crank(Section):
    """[crank]."""

    part: str | None = declare.key("text", "name of one in a drawer (--parts); own keys beside it go before")
    standard: str | None = declare.key("text", "a row of the table of chainlines, such as road double")
    chainline: float = declare.length(
        "seat tube's side out to the middle of the rings, plus half the tube", 20, 100, reading=True, needed=True
    )
    rings: int = declare.count("chainrings", 1, 4, 1)
    ring_pitch: float | None = declare.length("centre to centre of neighbouring rings", 3, 15)
    shell_width: float = declare.length("shell that the crank's bearings were made for", 50, 150, needed=True)
    bearings: str | None = declare.choice("of the crank, against the shell", "external cups", "cartridge", "pressed")


class Cogs(Section):
    """[cogs]."""

    count: int = declare.count("count the cogs", 1, 14, needed=True)
    pitch: float = declare.length("centre to centre of neighbouring cogs", 2, 10, needed=True)
    locknut_to_smallest: float = declare.length(
        "rule across the right locknut face, depth to the smallest cog's middle", 0, 60, reading=True, needed=True
    )
    largest_to_spokes: float = declare.length("face of the largest cog to the nearest spoke", 0, 30, needed=True)
    chain_to_dropout: float = declare.length(
        "chain on the smallest cog to dropout or stay, without added spacers", -10, 30, needed=True
    )
    drive: str | None = declare.choice(
        "what the cogs to be used are made for", "cassette", "freewheel", "fixed", "internal gear", "coaster", "motor"
    )
    thread: str | None = declare.key(
        "text", "thread of the freewheel to be used: ISO, British, Italian, French or small"
    )


class Spacers(Section):
    """[spacers]."""

    on_hand: Mapping[float, int] | None = declare.key("stock", 'spacers in the drawer, { "2.5" = 2 }', 0.05, 40)
    fitted: Sides[float] = declare.length("spacers chosen, negative: taken off", -60, 60, per_side=True, absent=0.0)


class Load(Section):
    """[load]."""

    rider: float = declare.key("mass", 'weight of the rider, "85 kg"', 5000, 400_000, with_unit=True, needed=True)
    bike: float = declare.key("mass", 'weight of bike and luggage, "14 kg"', 1000, 400_000, with_unit=True, needed=True)
    share: float | None = declare.number("share of rider and bike on this wheel", 0.05, 1.0)
    impact: float = declare.number("times the static load", 1.0, 10.0, 2.0)


class Clearance(Section):
    """[clearance]."""

    tyre_width: float | None = declare.length("of the tyre", 15, 150)
    tyre_gap: float = declare.length("smallest, tyre to frame or fork: push drill shanks through", 0, 100, needed=True)
    pad_gap: float = declare.length("edge of the rim brake's pad to the tyre, brake pulled", -10, 30, needed=True)
    reach_now: float | None = declare.length("rim brake: mounting bolt to the middle of the brake track", 20, 150)
    brake_reach: tuple[float, ...] = declare.key(
        "lengths", "reach of the rim brake, [least, most]", 20, 150, needed=True
    )
    rotor_gap: float = declare.length(
        "smallest gap from rotor to fork or stay, calliper body or spokes", 0, 30, needed=True
    )
    suspension: bool | None = declare.flag("whether the fork is sprung")
