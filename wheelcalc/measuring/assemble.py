"""A build becomes parts: rim, hub as it sits in the frame, wires, nipple, lacing, wheel."""

from __future__ import annotations

import math
from typing import Any

from wheelcalc.arrays import Bools
from wheelcalc.build.whole import Build
from wheelcalc.wheel import give
from wheelcalc.wheel import lacing as patterns
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.joining import Counts, in_pairs, side_mask, would_work
from wheelcalc.wheel.lacing import Lacing
from wheelcalc.wheel.parts import SIDES, Flange, Hub, Nipple, Rim, Wire
from wheelcalc.wheel.wheel import Wheel


def rim(build: Build) -> Rim:
    """Return the rim, its erd brought to the intended spoke end.

    Raises
    ------
    InputError
        If a needed key is missing or the rim cannot be.
    """
    erd, first = erd_to_spoke_end(build), first_hole(build)
    with under("rim"):
        return Rim(
            holes=build.rim.holes,
            erd=erd,
            hole_offset=build.rim.hole_offset,
            hole_stagger=build.rim.hole_stagger,
            first_hole=first,
        )


def erd_to_spoke_end(build: Build) -> float:
    """Return the effective rim diameter to the intended spoke end, the bottom of the nipple's slot [mm].

    Notes
    -----
    Twice the distance from where it was read to the bottom of the slot; a washer that was not there moves the nipple
    outward by its thickness (D, plain geometry).
    """
    return build.rim.erd + 2 * (end_beyond(str(build.needed("rim.erd_to")), build) + build.nipple.washer)


def end_beyond(erd_to: str, build: Build) -> float:
    """How far the intended spoke end lies outward of where an erd was read to [mm], a later washer not counted."""
    if erd_to == "nipple top":
        return -build.nipple.slot_depth
    return build.nipple.seat_to_end if erd_to == "nipple seat" else 0.0


def hub(build: Build, *, as_fitted: bool = True) -> Hub:
    """Return the hub as it sits in the frame, with the spacers that were chosen (or bare).

    Raises
    ------
    InputError
        If a needed key is missing or the hub cannot be.
    """
    bare = Hub(
        left=_flange(build, "left"),
        right=_flange(build, "right"),
        over_locknut=build.hub.over_locknut if "hub.over_locknut" in build else None,
        phase=build.hub.phase,
    )
    spacers = [build.spacers.fitted[side] for side in SIDES]
    return bare.with_spacers(*spacers) if as_fitted and any(spacers) else bare


def _flange(build: Build, side: str) -> Flange:
    offset, said = flange_offset(build, side), build.hub.flange(side)
    with under(f"hub.{side}"):
        return Flange(
            holes=said.holes,
            pcd=said.pcd,
            offset=offset,
            hole_diameter=said.hole_diameter,
            thickness=said.thickness,
            outside_diameter=said.outside_diameter,
            spoke_head=said.spoke_head,
        )


def flange_offset(build: Build, side: str) -> float:
    """Return hub centre to flange middle [mm]; locknut_to_flange, the raw reading, goes before offset.

    Raises
    ------
    InputError
        If neither can be had.
    """
    flange = build.hub.flange(side)
    if f"hub.{side}.locknut_to_flange" in build:
        return build.hub.over_locknut / 2 - flange.locknut_to_flange
    return flange.offset


def wires(build: Build) -> dict[str, Wire]:
    """Return the wire of each side."""
    out = {}
    for side in SIDES:
        head, middle, thread = build.spokes.wire[side]
        butts = build.spokes.butts[side]
        if len(butts) != 2:
            raise InputError(f"spokes.butts.{side}", f"found {len(butts)} lengths; write two, [head, thread]")
        with under("spokes"):
            out[side] = Wire(
                head_end=head,
                middle=middle,
                thread_end=thread,
                butts=(butts[0], butts[1]),
                thread_length=build.spokes.thread_length[side],
                youngs_modulus=build.spokes.youngs_modulus[side],
            )
    return out


def end_give(build: Build, side: str) -> float:
    """Return what the ends of a side's spokes give for 1000 N more [mm]; by the kind of head where nothing is said."""
    said = build.spokes.end_give[side]
    return give.BY_HEAD[build.hub.flange(side).spoke_head].value if said is None else said


def nipple(build: Build) -> Nipple:
    """Return the nipple."""
    given = {name: value for name, value in build.values_below("nipple").items() if name in Nipple.__dataclass_fields__}
    with under("nipple"):
        return Nipple(**given)


def lacing(build: Build) -> Lacing:
    """Return the lacing of the pattern that was asked for, on seats in pairs where the hub has them.

    Raises
    ------
    InputError
        If the counts do not allow it; the message names what would.
    """
    return in_pairs(_evenly_spread(build), {side: _closer_deg(build, side) for side in SIDES})


def _closer_deg(build: Build, side: str) -> float:
    """How much closer than evenly spread the two seats of a pair lie, negative where their spokes cross."""
    key = f"hub.{side}.pair_spacing"
    if key not in build:
        return 0.0
    if build.lacing.pattern not in ("crossed", "listed"):
        raise InputError(
            key, 'seats in pairs, one trailing and one leading, take lacing.pattern = "crossed" or "listed" only'
        )
    spokes = build.hub.flange(side).pair_spokes
    if spokes is None:
        raise InputError(
            f"hub.{side}.pair_spokes", 'is missing: say whether the spokes of a pair run "apart" or are "crossing"'
        )
    pitch, chord = 360 / build.hub.flange(side).holes, build.number(key)
    angle = 2 * math.degrees(math.asin(min(1.0, chord / build.hub.flange(side).pcd)))
    if angle >= 2 * pitch:
        text = f"found {chord:g} mm; two seats of a pair would lie as far apart as neighbouring pairs"
        raise InputError(key, f"{text}: measure centre to centre inside one pair")
    return pitch - angle if spokes == "apart" else angle - pitch


def _evenly_spread(build: Build) -> Lacing:
    """Return the lacing as if all holes of a flange were evenly spread."""
    pattern = build.lacing.pattern
    counts = Counts(
        rim=build.rim.holes,
        left=build.hub.left.holes,
        right=build.hub.right.holes,
        first_hole=first_hole(build),
        phase=build.hub.phase,
    )
    heads_in = {side: build.lacing.heads_in[side] for side in SIDES}
    if pattern == "listed":
        with under("lacing"):
            return patterns.listed(counts, build.lacing.spokes, _serves_right(build, counts))
    _check_counts(counts, pattern)
    with under("lacing"):
        if pattern == "radial":
            return patterns.radial(counts.rim, counts.first_hole, counts.phase, heads_in)
        crosses = {side: build.lacing.crosses[side] for side in SIDES}
        if pattern == "uneven counts":
            return patterns.uneven_counts(counts, crosses, heads_in)
        if pattern == "two to one":
            return patterns.two_to_one(counts.rim, crosses, _sides(build), counts.phase, heads_in)
        lace = patterns.crows_foot if pattern == "crow's foot" else patterns.crossed
        return lace(counts.rim, crosses, counts.first_hole, counts.phase, heads_in)


def first_hole(build: Build) -> str:
    """Side of the flange that rim hole 1 serves: as stated, or as the way the rim is drilled has it."""
    stated = build.rim.first_hole
    sides = _sides(build)
    if not sides:
        return stated
    drilled_so = "left" if sides.startswith("L") else "right"
    if build.given("rim.first_hole") and stated != drilled_so:
        text = f'found "{stated}", but lacing.sides is "{sides}", so rim hole 1 serves the {drilled_so}'
        raise InputError("rim.first_hole", f"{text}; leave out rim.first_hole or turn lacing.sides")
    return drilled_so


def _sides(build: Build) -> str:
    """How the rim is drilled where it does not serve the flanges by turns, such as "RLR"; empty where it does."""
    if build.lacing.pattern not in ("two to one", "listed"):
        return ""
    if "lacing.sides" in build:
        return str(build.lacing.sides)
    left, right = (build.hub.flange(side).holes for side in SIDES)
    if max(left, right) != 2 * min(left, right):
        return ""
    return "RLR" if right > left else "LRL"


def _serves_right(build: Build, counts: Counts) -> Bools | None:
    """Which flange each rim hole serves, where counts or lacing.sides tell."""
    sides = _sides(build)
    if sides and ("lacing.sides" in build or counts.rim == counts.left + counts.right):
        return patterns.drilled(sides, counts.rim)
    return side_mask(counts.rim, counts.first_hole) if counts.left == counts.right else None


def _check_counts(counts: Counts, pattern: str) -> None:
    """Refuse counts that do not go with the pattern, and name those that would."""
    if pattern == "uneven counts":
        return
    said = f"the rim has {counts.rim} holes, the flanges {counts.left} left and {counts.right} right"
    would = f"lacing.pattern = {would_work(counts.rim, counts.left, counts.right)} would work"
    if pattern == "two to one":
        most, least = max(counts.left, counts.right), min(counts.left, counts.right)
        if most != 2 * least or most + least != counts.rim:
            text = f'"two to one" wants twice as many holes on one flange and as many in the rim as on both, but {said}'
            raise InputError("lacing.pattern", f"{text}; {would}")
        return
    if counts.rim % 2:
        raise InputError(
            "rim.holes", f'found {counts.rim}; "{pattern}" wants an even count, half for each flange; {would}'
        )
    for side in SIDES:
        if 2 * counts.of(side) != counts.rim:
            text = f'found {counts.of(side)}; "{pattern}" wants half the rim\'s holes on each flange, {counts.rim // 2}, but {said}'
            raise InputError(f"hub.{side}.holes", f"{text}; {would}")


def wheel(build: Build, laced: Lacing | None = None) -> Wheel:
    """Return the wheel as it will stand in the frame.

    Parameters
    ----------
    build : what is known of it
    laced : the lacing, where it is known already

    Raises
    ------
    InputError
        If a needed key is missing or the parts do not belong together.
    """
    return Wheel(
        rim=rim(build),
        hub=hub(build),
        lacing=lacing(build) if laced is None else laced,
        wires=wires(build),
        rim_shift=build.frame.wheel_offset,
        end_give={side: end_give(build, side) for side in SIDES},
    )


def _maybe(value: Any) -> float | None:
    return None if value is None else float(value)
