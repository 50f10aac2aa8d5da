"""How to take each reading with a rule, a tape and two old spokes: the words and the drawings."""

from __future__ import annotations

from dataclasses import dataclass

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES


@dataclass(frozen=True)
class How:
    """How to come by one dimension.

    Parameters
    ----------
    what : the dimension in one sentence
    steps : what to do, in order
    drawing : plain characters, at most 78 a line
    write : lines for the build file
    matters : what an error of it does
    """

    what: str
    steps: tuple[str, ...]
    drawing: str
    write: str
    matters: str


# What a dimension's error does to a spoke. D: 32 holes 3 crosses, erd about 600, pcd 45, offsets 17.5 and 34.
ERD_MATTERS = "1 mm of rim.erd is 0.5 mm of every spoke: the reading that matters most."
PCD_MATTERS = "1 mm of pcd is about 0.16 mm of the spokes of that side, with 3 crosses."
OFFSET_MATTERS = (
    "1 mm here is 0.06 mm of spoke on the near side, 0.12 mm on the far side; it moves the tension ratio more."
)

HOW: dict[str, How] = {
    "rim.erd": How(
        "The effective rim diameter: across the places where the ends of two opposite spokes should come to sit.",
        (
            "Two spokes (surest): take two old spokes of known length and two of the nipples you will use.",
            "Screw each nipple on until the spoke's end is level with the bottom of the slot. Push them through opposite "
            "holes (rim of 36: hole 1 and hole 19), pull both toward the middle, and read the gap between the insides of the "
            "two elbows. If the elbows pass each other, the overlap is a negative gap.",
            "Do it on three pairs of holes and write all three: a rim is never quite round.",
            "Tape (on a built wheel): tape round the rim's outside, then a straight edge across the outside of the rim and "
            "down from it to the top of the nipple's head. Also read nipple.slot_depth. If this is all you read of it, write "
            'rim.measured = "tensioned": a built rim is a little smaller.',
            "Inside: across the rim's inner face, the thickness of its wall at a spoke hole, and nipple.seat_to_end.",
        ),
        """\
 rim                                                              rim
  |                                                                |
 [=o>-----------------------J          L-------------------------<o=]
   |<------- length ------->|<-- gap ->|<------- length -------->|
   |<------------------------- rim.erd ------------------------->|
 o> nipple, spoke's end level with the bottom of its slot     J L elbows

     straight edge        head depth: from the straight edge
   __________________     down to the top of the nipple's head
   |      |  ^      |
   |      v  |      |     rim, cut across
    \\___[======]___/
          ||  nipple
""",
        "[readings.rim]\n"
        "two_spokes = { length = 260, gap = [82.4, 82.8, 82.6] }\n"
        "outside_circumference = 1985\nhead_depth = [12.6, 12.9]\n"
        "inside_diameter = 594.5\nwall = 1.8",
        ERD_MATTERS,
    ),
    "hub.pcd": How(
        "Pitch circle diameter: hole centre to opposite hole centre of one flange. Not the flange's edge.",
        (
            "The middle of a hole cannot be seen, its edges can. Read the two near edges of opposite holes, and the two far "
            "edges; their mean is the pcd, and half their difference is the hole.",
            "Only one of the two is enough where hole_diameter is known (the shank of a drill gauges it).",
            "If the axle is in the way: count some holes on and read straight from hole to hole (left edge to left edge is "
            "centre to centre). An odd count works too, which is the way for flanges with an odd number of holes.",
        ),
        """\
     hole                     opposite hole
      ( )-------------+-------------( )
        |<------ near_edges ------->|
      |<--------- far_edges --------->|
       |<----------- pcd ----------->|

      o   o   o     chord: straight from the first hole to the last
    o           o   of "over" steps, here over = 4; left edge to left
      \\_______/     edge is as good as centre to centre
""",
        "[readings.hub.left]\nnear_edges = 42.4\nfar_edges = 47.3\nchord = { over = 8, length = 44.1 }",
        PCD_MATTERS,
    ),
    "hub.locknut_to_flange": How(
        "From the outer face of the locknut (or end cap) to the middle of the flange, along the axle.",
        (
            "Stand the hub on a flat table on the other locknut, or lay a straight edge over the locknut's face.",
            "Read from the locknut's face down to the flange's outer face, beside a spoke hole; then the flange's thickness "
            "there. Half the thickness is added.",
            "Not from the end of the axle, and not from the middle of the hub.",
        ),
        """\
   |<- locknut_to_outer_face ->|
   |                         ->| |<- thickness
  [#]                          |o|             |o|                   [#]
  [#]==========================| |=============| |===================[#]
  [#]                          |o|             |o|                   [#]
   |<- locknut_to_flange ------->|
 locknut                    left flange    right flange          locknut
""",
        "[readings.hub.left]\nlocknut_to_outer_face = 27.8\n[hub.left]\nthickness = 3.2",
        OFFSET_MATTERS,
    ),
    "hub.flange_distance": How(
        "Middle of flange to middle of flange.",
        (
            "Close the jaws of a calliper (or two blocks and a rule) over the outer faces of both flanges.",
            "With one flange's distance from its locknut and the width over the locknuts it gives the other flange, which is "
            "the way round cogs that hide the right one; with both it is a check.",
        ),
        """\
         |<----- outer_faces ----->|
  [#]====|o|=====================|o|======[#]
""",
        "[readings.hub]\nouter_faces = 66.4",
        OFFSET_MATTERS,
    ),
    "hub.over_locknut": How(
        "From the outer face of one locknut (or end cap) to the other: what must fill the frame.",
        (
            "Stand the wheel or hub upright, lay a straight edge on the upper locknut, read down to the table; or use a "
            "calliper over both faces. Do not count the axle's ends that stand out.",
        ),
        """\
      ->|                                |<-
   -----[#]====|o|==============|o|=====[#]-----   axle ends do not count
""",
        "[readings]\nover_locknut = [130.2, 130.0]",
        "1 mm moves both flanges half a millimetre from the centre, and the wheel must fit the frame.",
    ),
    "frame.dropout_spacing": How(
        "Between the inner faces of the frame's or fork's ends, with nothing clamped in them.",
        (
            "Take the wheel out. Read between the inner faces, beside the slot, not over paint runs or washers.",
            "Read it at the front and at the back of the slot: if they differ by over 1 mm the ends are not parallel.",
        ),
        """\
        ||                              ||
   end  ||<------ dropout_spacing ----->||  end
        ||                              ||
""",
        "[readings]\ndropout_spacing = 126.5",
        "Under the slack of about 1 mm it does not matter; beyond it, spacers move the flanges.",
    ),
    "crank.chainline": How(
        "From the frame's centre plane to the middle of the chainring (of several: the middle between them).",
        (
            "Read from the side of the seat tube straight out to the middle of the ring's teeth, near the bracket.",
            "Measure the seat tube's diameter at that height with a calliper; half of it is added.",
            "Two rings: read to the gap half-way between them. The tube must be round there and not bent aside.",
        ),
        """\
      ( tube )<--- seat_tube_to_ring --->|| ring
      |<-  ->| seat_tube_diameter
          |<---------- chainline ------->|
""",
        "[readings.crank]\nseat_tube_to_ring = 29.2\nseat_tube_diameter = 28.6",
        "An error of 1 mm is an error of 1 mm of chainline; a fixed cog bears about 1, a derailleur about 3.",
    ),
    "cogs.locknut_to_smallest": How(
        "From the right locknut's face to the middle of the smallest cog.",
        (
            "Straight edge over the right locknut's face, read down to the outer face of the smallest cog's teeth.",
            "Half a cog's thickness is added (about 0.9 mm; measure it if you can).",
            "Over all cogs, outer face to outer face, gives the pitch: a stack is easier to read than a pitch.",
        ),
        """\
   spokes  | | | | | |<- locknut_to_face ->[#] right locknut
           |<-stack->|
""",
        "[readings.cogs]\nlocknut_to_face = 3.1\nstack = 35.4\nthickness = 1.8",
        "Goes into the rear chainline one to one.",
    ),
    "hub.rotor_face": How(
        "From the left locknut's (or end cap's) face to the rotor.",
        ("Straight edge over the left locknut's face, read down to the rotor's outer face, not to a bolt.",),
        """\
  left locknut [#]<- rotor_depth ->|  rotor
""",
        "[readings.hub]\nrotor_depth = 15.3",
        "A rotor needs 1 mm to each side; shims come in 0.2 mm steps.",
    ),
    "hub.body_length": How(
        "Length of the freehub body, from the shoulder behind the largest cog to its outer end.",
        ("Take the cogs off; depth rod or rule along a spline.",),
        """\
   shoulder |<-- body_length -->|
            |===================|  locknut [#]
""",
        "[readings.hub]\nbody_length = 35",
        "It says which cassettes go on: see `wheelcalc tables bodies`.",
    ),
    "straight heads": How(
        "Seats of straight spoke heads cannot be measured with a calliper: one spoke of known length does it.",
        (
            "Lay the hub in the rim's middle, push one straight spoke of known length through its seat until its head sits, and "
            "lead it to its own rim hole, with the crosses that the wheel will have.",
            "Read how far its end stands beyond the intended end (the bottom of the slot of a nipple in that hole); write "
            "it negative if it falls short.",
            "From this, rim.erd, the flange's distance and the crosses follows the seats' pitch circle. It is only as good "
            "as rim.erd, but the spoke lengths that come of it are as good as this one reading.",
        ),
        """\
   hub seat                               rim
     (=|o-------------------------------[=]>---   sticks_out
        |<------------ length ---------------->|
""",
        '[readings.hub.left]\nknown_spoke = { length = 280, sticks_out = 2.5 }\n[hub.left]\nspoke_head = "straight"',
        "Do it on both sides: the seats of the two sides are rarely alike.",
    ),
    "rim.hole_offset": How(
        "Sideways from the rim's middle to the line of its spoke holes (an asymmetric rim), + toward the right.",
        (
            "Read from the left edge of the rim to the middle of a hole, then from the right edge; half the difference "
            "(left less right) is hole_offset. Holes that step by turns toward their flanges have a hole_stagger besides.",
        ),
        """\
   left edge |<--- a --->o<- b ->| right edge     hole_offset = (a - b)/2
""",
        '[rim]\nhole_offset = "2.5 mm right"',
        OFFSET_MATTERS,
    ),
    "tap": How(
        "The bare rim's stiffness: hung on a string and tapped, it rings, and `wheelcalc tap` hears how stiff it is.",
        (
            "Take off tyre, tape and spokes. Weigh the rim, and measure its outside and inside diameter: half-way between them "
            "is centroid_diameter.",
            "Hang it by the valve hole on a thin string, so that it touches nothing. A quiet room; fans and fridges off.",
            "Lay the phone a hand's breadth from the rim and record as plain WAV, without noise suppression if that can be "
            "switched off.",
            "First recording: two seconds of silence, then tap the rim inward, toward its middle, with the rubber-covered handle "
            "of a screwdriver. Let it ring for two seconds; five taps or more, some between valve and joint.",
            "Second recording: the same, but tap sideways, against the side of the rim.",
            "wheelcalc tap FILE --radial INWARD.wav --lateral SIDEWAYS.wav prints the lines for [rim.section].",
        ),
        """\
            |  string, through the valve hole
            |
         .--+--.
       /         \\                 side view:   |
      |    <------|-- inward                      |
      |           |                    sideways ->| rim
       \\         /      [phone]                   |
         '-----'
""",
        '[rim.section]\nmaterial = "aluminium"\nmass = "520 g"\ncentroid_diameter = "606 +- 1 mm"',
        "1 % of the mass is 1 % of EI and GJ, 1 % of the diameter 3 %. A section guessed from width and depth errs far more.",
    ),
    "nipple": How(
        "The nipple: how far its slot's bottom, where the spoke's end should come to sit, lies from its two faces.",
        (
            "Take one of the nipples that you will use. slot_depth: from the top of the head down to the slot's bottom, with "
            "the end of a calliper or a slip of card.",
            "seat_to_end: from the bearing face, where the head narrows and lies on the rim, up to the slot's bottom: the "
            "head's height less slot_depth.",
        ),
        """\
     ____   ____
    |    | |    |   |<- slot_depth: top of the head to the slot's bottom
    |    |_|    |   |
    |           |   |<- seat_to_end: slot's bottom to the bearing face
     \\_       _/    |
       |     |          body, toward the hub
""",
        "[nipple]\nslot_depth = 1.0\nseat_to_end = 2.5",
        "1 mm of either is 2 mm of a rim.erd that was measured to that face.",
    ),
    "old_wheel": How(
        "The built old wheel as a gauge: its spokes reached from the old hub to this rim, so they measure the rim.",
        (
            "Before slackening: pluck or squeeze and note whether it is tight; note the crosses; look into the nipples from "
            "the outside and write where the spoke's end sits: + beyond the bottom of the slot, - short of it.",
            "Deflate the tyre first and wear eye protection; slacken all round by quarter turns, evenly, before any spoke is "
            "taken out or cut.",
            "Measure three spokes of each side, from the inside of the elbow to the end, and the old hub as any hub.",
        ),
        """\
   |<------------------- length ------------------>|
   J------------------------------------------=====|   inside of the elbow
  elbow                                      thread    to the end
""",
        "[old_wheel]\ncrosses = 3\nlengths = { left = [291, 290.5], right = [289, 289] }\n"
        "end_position = { left = -1, right = 0.5 }\n[old_wheel.hub]\n...  as in [hub]",
        "1 mm of spoke or end position is 2 mm of rim.erd: read several.",
    ),
    "old_rim": How(
        "Is the old rim worth new spokes?",
        (
            "Diameters: across the outside, two to four ways: the first through the valve hole, the others turned forward by "
            "equal steps. The widest less the narrowest is how far it is out of round.",
            "Flat: lay the bare rim on a flat table (a window pane, a kitchen top), right side down, and read the gap below it "
            "with feeler gauges or slips of paper: the largest one, or at five or more rim holes, as [rim hole, gap].",
            "Brake wall: the thinnest place of the wall the brake rubs, by calliper over a bent wire or a wear mark.",
            "Cracks: look along the spoke holes and the joint. Bulges: run a finger along the rim's sides.",
        ),
        """\
   rim    ____                       ____
      ___/    \\_____________________/    \\___
   ====================================table====   flat_gap: largest gap below
""",
        "[old_rim]\ndiameters = [632.1, 632.6, 631.8]\nflat = [[1, 0], [7, 0.6], [13, 0.8], [19, 0.2], [25, 0.5], [31, 0]]\n"
        "brake_wall = 1.1\ncracks = false\nbulges = false",
        "A crack or a bulge ends a rim; a wall under 0.8 mm can burst under the tyre's pressure.",
    ),
}

_ALSO = {
    "rim": "rim.erd",
    "erd": "rim.erd",
    "pcd": "hub.pcd",
    "hole_diameter": "hub.pcd",
    "offset": "hub.locknut_to_flange",
    "thickness": "hub.locknut_to_flange",
    "known_spoke": "straight heads",
    "spoke_head": "straight heads",
    "pitch": "cogs.locknut_to_smallest",
    "hole_stagger": "rim.hole_offset",
    "seat_to_end": "nipple",
    "slot_depth": "nipple",
    "bending_in_plane": "tap",
    "bending_out_of_plane": "tap",
    "torsion": "tap",
    "centroid_diameter": "tap",
}
_BY_READING = {
    "two_spokes": "rim.erd",
    "outside_circumference": "rim.erd",
    "head_depth": "rim.erd",
    "inside_diameter": "rim.erd",
    "wall": "rim.erd",
    "near_edges": "hub.pcd",
    "far_edges": "hub.pcd",
    "chord": "hub.pcd",
    "locknut_to_outer_face": "hub.locknut_to_flange",
    "outer_faces": "hub.flange_distance",
    "rotor_depth": "hub.rotor_face",
    "seat_tube_to_ring": "crank.chainline",
    "seat_tube_diameter": "crank.chainline",
    "locknut_to_face": "cogs.locknut_to_smallest",
    "stack": "cogs.locknut_to_smallest",
    "cogs.thickness": "cogs.locknut_to_smallest",
}


def topic(key: str) -> str | None:
    """Return the topic that explains a key of the build file or of [readings], None where there is none."""
    parts = [part for part in key.strip().split(".") if part not in (*SIDES, "readings", "new")]
    plain = ".".join(parts)
    if plain in HOW:
        return plain
    if parts and parts[0] in ("old_wheel", "old_rim"):
        return parts[0]
    names = {**{each.rsplit(".", 1)[-1]: each for each in HOW}, **_ALSO, **_BY_READING}
    if plain in names:
        return names[plain]
    return next((names[part] for part in reversed(parts[1:]) if _is_for(parts[0], names.get(part, ""))), None)


def _is_for(section: str, found: str) -> bool:
    return found.partition(".")[0] == section or (found == "straight heads" and section == "hub")


def topics() -> list[str]:
    """Return the topics in the order of the job."""
    return list(HOW)


def explained(key: str) -> How:
    """Return how to come by a dimension or reading.

    Raises
    ------
    InputError
        If there is no method for it; the text lists what there is.
    """
    if not key.strip():
        raise InputError("--how", f"needs a key; it can explain: {', '.join(topics())}")
    found = topic(key)
    if found is None:
        raise InputError("--how", f'there is no method for "{key[:60]}"; there is one for: {", ".join(topics())}')
    return HOW[found]
