"""Every key that a build file may have: its kind, its sensible range, its default, and how to come by it."""

from __future__ import annotations

from functools import cache

from wheelcalc.files import tables
from wheelcalc.files.kinds import Key, choice, count, flag, length, number
from wheelcalc.wheel.parts import SIDES

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only
# catches slips of unit or decimal point; it is no verdict on a part.
_RIM = {
    "holes": count("count the spoke holes of the rim", 6, 144),
    "erd": length(
        "put two old spokes with nipples in opposite holes, measure across their ends", 100, 900, reading=True
    ),
    "erd_to": choice(
        'say what erd was measured to: "spoke end" (across the intended ends of two opposite spokes, at the bottom of '
        'the nipple\'s slot), "nipple top", or "nipple seat" (across the faces that the nipple heads bear on)',
        "spoke end",
        "nipple top",
        "nipple seat",
    ),
    "measured": choice("whether erd was read off a bare or a built rim", "bare", "tensioned", default="bare"),
    "hole_offset": length(
        "spoke hole line from the rim's centre plane, + right", -30, 30, 0.0, reading=True, sided=True
    ),
    "hole_stagger": length("each hole from that line toward its flange", -15, 15, 0.0),
    "first_hole": choice("side that the first hole forward of the valve leans to", "left", "right", default="right"),
    "bead_seat_diameter": length("the second number of the tyre's size mark, such as 622", 100, 800),
    "tension_limit": Key("force", "the rim maker's largest spoke tension", 100, 5000),
    "hole_diameter": length("of a spoke hole in the rim", 2, 15),
    "eyelets": flag("whether the spoke holes are lined"),
    "walls": choice("single wall or double wall (a hollow box)", "single", "double"),
    "brake_track": flag("whether rim brakes may rub on it"),
    "section.material": choice("what the rim is made of", "aluminium", "steel", "carbon"),
    "section.mass": Key("mass", "weigh the bare rim", 50, 5000),
    "section.width": length("over both flanges of the rim", 8, 150),
    "section.depth": length("rim edge to inner face", 4, 120),
    "section.area": Key("area", "of the rim's material cut across", 10, 2000),
    "section.inertia_in_plane": Key("inertia", "against bending in the wheel's plane", 10, 1e6),
    "section.inertia_out_of_plane": Key("inertia", "against bending out of it", 10, 1e7),
    "section.torsion_constant": Key("inertia", "against twist", 1, 1e7),
    "section.youngs_modulus": Key("stress", "of the rim's material", 1e3, 1e6),
    "section.shear_modulus": Key("stress", "of the rim's material", 5e2, 5e5),
    "section.centroid_diameter": length("of the ring through the middle of the section", 100, 900),
}

_FLANGE = {
    "holes": count("count the spoke holes of this flange", 3, 72),
    "pcd": length("hole centre to opposite hole centre, not the flange's edge", 15, 350, reading=True),
    "locknut_to_flange": length(
        "from the outer locknut (or end-cap) face to the middle of this flange", 0, 150, reading=True
    ),
    "offset": length("from the hub's centre to the middle of this flange", -60, 120, reading=True),
    "hole_diameter": length("of a spoke hole in the flange; the shank of a drill gauges it", 1.4, 8, 2.5),
    "thickness": length("of the flange at the spoke holes", 0.8, 20),
    "outside_diameter": length("of the flange, edge to edge", 15, 400),
    "spoke_head": choice("elbow, or straight through a seat", "elbow", "straight", default="elbow"),
    "pair_spacing": length("seats in pairs: centre to centre of the two seats of a pair", 2, 60),
    "pair_spokes": choice("seats in pairs: whether the two spokes of a pair run apart or cross", "apart", "crossing"),
}

_HUB = {
    "over_locknut": length(
        "outer locknut face to outer locknut face, a rule along the axle",
        50,
        250,
        reading=True,
    ),
    "axle": choice("look how the axle is held in the ends", "quick release", "nutted", "through"),
    "axle_diameter": length("of the axle where it sits in the frame", 4, 30),
    "axle_protrusion": length("locknut face to the axle's end; half of both sides together", 0, 80),
    "drive": choice("look what the cogs sit on", "cassette", "freewheel", "fixed", "internal gear", "none"),
    "lockring": flag("whether a reverse-thread lockring holds the fixed cog"),
    "brake": choice("brake in the hub", "none", "coaster", "drum", "roller", default="none"),
    "brake_arm_anchored": flag("whether the frame has an anchor for the brake's (or gear's) arm"),
    "axle_moved": length(
        "axle screwed sideways through the hub since axle_protrusion was read, + right", -30, 30, sided=True
    ),
    "thread": Key("text", "thread that takes the freewheel: ISO, British, Italian, French or small"),
    "rotor": flag("whether a rotor can be mounted"),
    "rotor_face": length("from the left locknut face to the rotor", 0, 60),
    "body_length": length("of the freehub body, from its shoulder to its end", 5, 80),
    "phase": choice("holes of the sides by turns, or facing", "staggered", "aligned", default="staggered"),
    "loose_spacers": Key("pairs", "spacers on the axle that could come off, { left = [2.5], right = [] }"),
    "nut_length": length("thread inside an axle nut, end to end", 2, 25),
    "flange_distance": length("middle of flange to middle of flange", 10, 200),
    **{f"{side}.{name}": key for side in SIDES for name, key in _FLANGE.items()},
}

_PATTERNS = ("crossed", "radial", "crow's foot", "two to one", "uneven counts", "listed")
_LACING = {
    "pattern": choice("how the spokes run", *_PATTERNS, default="crossed"),
    "crosses": count("spokes of its own flange that each spoke passes; 0 is radial", 0, 12, per_side=True),
    "sides": Key("text", 'of two to one: how the rim is drilled, such as "RLR"'),
    "spokes": Key("table", 'of a listed pattern: [[rim_hole, "right", hub_hole, "in"], ...]'),
    "heads_in": choice(
        "which heads sit on the face toward the other flange",
        "leading",
        "trailing",
        "all",
        "none",
        "alternate",
        default="leading",
        per_side=True,
    ),
    "interlaced": flag("whether crossing spokes are woven", default=True),
}

_SPOKES = {
    "wire": Key(
        "wire", '"2.0", or head end / middle / thread end, or head end / rest', default=(2.0, 2.0, 2.0), per_side=True
    ),
    "butts": Key("lengths", "lengths of the thick ends, [head, thread]", 0, 150, default=(20.0, 25.0), per_side=True),
    "thread_length": length("of the thread rolled on the spoke", 3, 40, 10.0, per_side=True),
    "youngs_modulus": Key("stress", "of the wire", 1e4, 4e5, 200_000.0, per_side=True),
}

_NIPPLE = {
    "length": length("of the nipple over all", 6, 40, 12.0),
    "material": choice("brass or aluminium: decides the window of [stock]", "brass", "aluminium", default="brass"),
    "for_wire": length("the wire that its thread is for", 1.2, 4),
    "seat_to_end": length("bearing face of the head to the bottom of the slot", 0, 25, 2.5),
    "slot_depth": length("bottom of the slot to the top of the head", 0, 5, 1.0),
    "thread_depth": length("bottom of the slot to the end of the thread inside the nipple", 2, 30, 7.0),
    "body_diameter": length("of the nipple's shank", 2, 10, 4.0),
    "washer": length("thickness of a washer under the head that was not there when erd was read", 0, 5, 0.0),
}

_STOCK = {
    "step": length("spoke lengths are sold every so many mm", 0.1, 20, 1.0),
    "lengths": Key("lengths", "spoke lengths that can be had", 30, 500),
    "on_hand": Key("stock", 'spokes on hand, { "288" = 20 }', 30, 500),
    "short_at_most": length("spoke end short of the intended end, at most", 0, 20),
    "beyond_at_most": length("spoke end beyond the intended end, at most", 0, 20, 1.0),
    "spares": count("spare spokes of each length", 0, 100, 2),
}

_FRAME = {
    "dropout_spacing": length(
        "a rule between the inner faces of frame's or fork's ends, wheel out", 50, 250, reading=True
    ),
    "spacing_to": choice("what was measured", "faces", "recess floors", default="faces"),
    "recess_depth": length("of the recess that takes a hub end", 0, 10, 0.0),
    "dropout": choice("look: open slots, or closed holes for a through axle", "slot", "through"),
    "axle_diameter": length("that the ends take", 4, 30),
    "dropout_thickness": length("of one end where the axle sits, paint and all", 1, 30),
    "material": choice("of the frame or fork; a magnet holds on steel", "steel", "aluminium", "titanium", "carbon"),
    "brake": choice("look which brake the frame carries at this wheel", "rim", "disc", "hub"),
    "other_brake": flag("whether the bike has another brake on this wheel"),
    "rotor_to_dropout": length("from the left end's inner face to the middle between the calliper's pads", 0, 60),
    "wheel_offset": length("rim from the middle of the ends, + right", -30, 30, 0.0, sided=True),
    "shell_width": length("of the bottom-bracket shell", 50, 150),
    "chainstay": length("middle of the bracket to the middle of the rear axle, straight", 250, 700),
    "width_slack": length("over or short that still fits", 0, 5),
    "spring_at_most": length("that a steel frame is sprung", 0, 10, 3.0),
}

_CRANK = {
    "standard": Key("text", "a row of the table of chainlines, such as road double"),
    "chainline": length("seat tube's side out to the middle of the rings, plus half the tube", 20, 100, reading=True),
    "rings": count("chainrings", 1, 4, 1),
    "ring_pitch": length("centre to centre of neighbouring rings", 3, 15),
    "shell_width": length("shell that the crank's bearings were made for", 50, 150),
    "bearings": choice("of the crank, against the shell", "external cups", "cartridge", "pressed"),
}

_COGS = {
    "count": count("count the cogs", 1, 14),
    "pitch": length("centre to centre of neighbouring cogs", 2, 10),
    "locknut_to_smallest": length(
        "rule across the right locknut face, depth to the smallest cog's middle", 0, 60, reading=True
    ),
    "largest_to_spokes": length("face of the largest cog to the nearest spoke", 0, 30),
    "chain_to_dropout": length("chain on the smallest cog to dropout or stay, without added spacers", -10, 30),
    "drive": choice("what the cogs to be used are made for", "cassette", "freewheel", "fixed", "internal gear"),
    "thread": Key("text", "thread of the freewheel to be used: ISO, British, Italian, French or small"),
}

_OTHERS = {
    "spacers.on_hand": Key("stock", 'spacers in the drawer, { "2.5" = 2 }', 0.05, 40),
    "spacers.fitted": length("spacers chosen, negative: taken off", -60, 60, per_side=True),
    "load.rider": Key("mass", 'weight of the rider, "85 kg"', 5000, 400_000, with_unit=True),
    "load.bike": Key("mass", 'weight of bike and luggage, "14 kg"', 1000, 400_000, with_unit=True),
    "load.share": number("share of rider and bike on this wheel", 0.05, 1.0),
    "load.impact": number("times the static load", 1.0, 10.0, 2.0),
    "tension.target": Key("force", "tension wanted on the tighter side", 10, 5000),
    "tension.evenness": number("per cent either way", 0.5, 50, 10.0),
    "tension.floor_stop": Key("force", "of the slack side", 0, 5000, 400.0),
    "tension.floor_caution": Key("force", "of the slack side", 0, 5000, 600.0),
    "clearance.tyre_width": length("of the tyre", 15, 150),
    "clearance.tyre_gap": length("smallest, tyre to frame or fork: push drill shanks through", 0, 100),
    "clearance.pad_gap": length("edge of the rim brake's pad to the tyre, brake pulled", -10, 30),
    "clearance.reach_now": length("rim brake: mounting bolt to the middle of the brake track", 20, 150),
    "clearance.brake_reach": Key("lengths", "reach of the rim brake, [least, most]", 20, 150),
    "clearance.rotor_gap": length("smallest gap from rotor to fork or stay, calliper body or spokes", 0, 30),
    "clearance.suspension": flag("whether the fork is sprung"),
    "measuring.tool": choice("what the readings were taken with", "tape", "rule", "calliper", default="rule"),
    "truing.equal_faults.lateral": length("amount that counts as equally bad", 0.001, 10, 0.05),
    "truing.equal_faults.radial": length("amount that counts as equally bad", 0.001, 10, 0.05),
    "truing.equal_faults.dish": length("amount that counts as equally bad", 0.001, 10, 0.05),
    "truing.equal_faults.tension": Key("force", "amount that counts as equally bad", 0.1, 1000, 60.0),
    "truing.prefer": choice("where the rim is bent", "both", "straight", "even", default="both"),
    "truing.step": number("smallest part of a turn", 0.01, 1.0, 0.125),
    "truing.most_per_pass": number("turns of one nipple", 0.1, 10.0, 1.0),
    "truing.done.lateral": length("run-out at which it is done", 0.01, 10, 0.3),
    "truing.done.radial": length("run-out at which it is done", 0.01, 10, 0.5),
    "truing.done.dish": length("at which it is done", 0.01, 10, 0.5),
    "truing.done.spread": number(
        "per cent of the mean of a side, standard deviation, at which it is done", 0.5, 50, 6.0
    ),
    "truing.reading_error.lateral": length("standard uncertainty of one reading of lateral_mm", 0.001, 5, 0.05),
    "truing.reading_error.radial": length("standard uncertainty of one reading of radial_mm", 0.001, 5, 0.05),
    "truing.reading_error.tension": number("standard uncertainty of one tension, per cent", 0.1, 50, 3.0),
    "pluck.free_length": length("elbow to nipple", 30, 500, per_side=True),
    "pluck.end_hold": number("0: ends turn freely, 1: clamped", 0.0, 1.0, 0.5),
    "pluck.touching": flag("whether crossed spokes touch"),
    "pluck.known": Key("known", 'spokes of known tension, [{ rim_hole = 1, tension = "980 N" }]'),
    "pluck.loosened": Key(
        "loosened", "[{ rim_hole = 5, turns = [0, 0.5, 1], pitch_hz = [388, 352, 311] }], one spoke each"
    ),
    "pluck.circumference.bare": length("round the rim without spokes, by a paper strip", 500, 3000),
    "pluck.circumference.built": length("round the rim at the same place, built and tight", 500, 3000),
}

_GEOMETRY = {
    "head_angle": Key("angle", "of the steering axis from the ground", 40, 89),
    "seat_angle": Key("angle", "of the seat tube from the ground", 40, 89),
    "wheelbase": length("axle to axle along the ground", 500, 3000),
    "bracket_height": length("middle of the bracket above the ground", 50, 600),
    "crank_length": length("axle to pedal", 80, 250),
    "fork_length": length("axle to crown, along the steering axis", 150, 900),
    "fork_offset": length("axle in front of the steering axis", -50, 150),
    "wheel_diameter.front": length("tyre on, loaded", 200, 1000),
    "wheel_diameter.rear": length("tyre on, loaded", 200, 1000),
    "bead_seat_diameter.front": length("where wheel_diameter is not known: second number of the tyre's mark", 100, 800),
    "bead_seat_diameter.rear": length("where wheel_diameter is not known: second number of the tyre's mark", 100, 800),
    "tyre_width.front": length("with bead_seat_diameter: first number of the tyre's mark", 15, 150),
    "tyre_width.rear": length("with bead_seat_diameter: first number of the tyre's mark", 15, 150),
    "pedal_reach": length("bike's middle plane to the pedal's outer edge", 80, 300),
    "pedal_middle": length("bike's middle plane to the pedal's middle", 60, 250),
    "pedal_thickness": length("of the pedal", 5, 60),
}


def _raw(how: str, low: float, high: float, tool: str = "") -> Key:
    return Key("length", how, low, high, raw=True, tool=tool)


_READINGS = {
    "over_locknut": _raw("over both locknut faces", 50, 250),
    "dropout_spacing": _raw("between the inner faces of the ends", 50, 250),
    "rim.two_spokes.length": _raw("of the two old spokes, inside of the elbow to the end", 50, 500),
    "rim.two_spokes.gap": _raw("between their elbows, negative where they overlap", -300, 600),
    "rim.outside_circumference": _raw("round the rim by tape", 500, 3000, "tape"),
    "rim.head_depth": _raw("straight edge on the outside to the nipple's head", 0, 150),
    "rim.inside_diameter": _raw("of the rim's inner face", 100, 900),
    "rim.wall": _raw("of the rim at the spoke holes", 0.3, 20),
    "hub.outer_faces": _raw("over the outer faces of both flanges", 10, 250),
    "hub.rotor_depth": _raw("left locknut face to the rotor", 0, 60),
    "hub.body_length": _raw("of the freehub body, from its shoulder to its end", 5, 80),
    "crank.seat_tube_to_ring": _raw(
        "face of the seat tube to the middle of the ring's teeth (of several rings: to the middle between them)", 5, 100
    ),
    "crank.seat_tube_diameter": _raw("of the seat tube where that was read", 20, 60),
    "cogs.locknut_to_face": _raw("right locknut face to the outer face of the smallest cog", 0, 60),
    "cogs.thickness": _raw("of the smallest cog", 1, 4),
    "cogs.stack": _raw("over all cogs, outer face to outer face", 5, 60),
}
_FLANGE_READINGS = {
    "near_edges": _raw("opposite holes, inner edges", 10, 350),
    "far_edges": _raw("opposite holes, outer edges", 10, 360),
    "chord.over": count("how many holes further on the second hole is", 1, 71),
    "chord.length": _raw("centres of two holes", 3, 350),
    "locknut_to_outer_face": _raw("locknut to the flange's outer face", -20, 150),
    "known_spoke.length": _raw("of the straight spoke pushed through", 30, 500),
    "known_spoke.sticks_out": _raw("how far its end stands beyond the intended end, negative: short of it", -50, 200),
}

_OLD_WHEEL = {
    "crosses": count("of the old wheel", 0, 12, per_side=True),
    "lengths": Key("lengths", "of the old spokes, as taken out", 30, 500, per_side=True),
    "end_position": Key("lengths", "where their ends sat, + beyond the intended end", -30, 30, per_side=True),
    "tension": Key("force", "of the tighter side, where known", 0, 5000),
    "wire": Key("wire", "of the old spokes; absent: plain 2.0", per_side=True),
}
_FITTED = {
    "lengths": Key("lengths", "the spokes ordered", 30, 500, per_side=True),
    "end_position": Key("lengths", "where their ends came out", -30, 30, per_side=True),
}
_JAR_SPOKES = {
    "wire": Key("wire", "as in [spokes]"),
    "on_hand": Key("stock", "spokes on hand", 30, 500),
    "taken_from": choice("the side they were on", "left", "right", "new"),
}
_OLD_RIM = {
    "diameters": Key("lengths", "outside, 2 to 4 ways, the first across the valve, then by equal turns", 100, 900),
    "flat_gap": length("largest gap on a flat table", 0, 100),
    "flat": Key("table", "gaps on a flat table at 5 or more rim holes, [[rim_hole, gap], ...]"),
    "table_side": choice("side of the rim that lay on the table", "left", "right", default="right"),
    "brake_wall": length("thinnest wall of the brake track", 0, 10),
    "cracks": flag("whether there are cracks"),
    "bulges": flag("whether it bulges"),
}

TOP = {
    "title": Key("text", "what this build is called"),
    "position": choice("front or rear", "front", "rear", default="rear"),
}


def _in(section: str, keys: dict[str, Key]) -> dict[str, Key]:
    return {f"{section}.{name}": key for name, key in keys.items()}


@cache
def keys() -> dict[str, Key]:
    """Every key of the build file by its dotted name; those of [limits] come from the table of limits."""
    limits = {
        f"limits.{row['name']}": number(str(row["text"]), 0, 1e6, float(row["value"])) for row in tables.load("limits")
    }
    flange_readings = {f"hub.{side}.{name}": key for side in SIDES for name, key in _FLANGE_READINGS.items()}
    return {
        **TOP,
        **_in("rim", _RIM),
        **_in("hub", _HUB),
        **_in("lacing", _LACING),
        **_in("spokes", _SPOKES),
        **_in("nipple", _NIPPLE),
        **_in("stock", _STOCK),
        **_in("frame", _FRAME),
        **_in("crank", _CRANK),
        **_in("cogs", _COGS),
        **_OTHERS,
        **_in("geometry", _GEOMETRY),
        **_in("geometry.new", _GEOMETRY),
        **_in("readings", {**_READINGS, **flange_readings}),
        **_in("old_wheel", _OLD_WHEEL),
        **_in("old_wheel.hub", _HUB),
        **_in("fitted", _FITTED),
        **_in("old_rim", _OLD_RIM),
        **limits,
    }


@cache
def lists() -> dict[str, dict[str, Key]]:
    """The lists of tables of the build file ([[jar.rims]] ...): name -> keys of one entry."""
    name = {"name": Key("text", "what it is called")}
    return {"jar.spokes": {**name, **_JAR_SPOKES}, "jar.rims": {**name, **_RIM}, "jar.hubs": {**name, **_HUB}}
