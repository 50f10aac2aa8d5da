"""The findings that every command shares: readings, lacing, frame against hub, the rim's way round."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.joined.turning import radial_findings
from wheelcalc.measuring import assemble
from wheelcalc.measuring.findings import slips, slips_so_far
from wheelcalc.measuring.plausible import implausible, too_sure
from wheelcalc.salvage.old_rim import OldRim, gaps_of, sort
from wheelcalc.spokes.findings import parts
from wheelcalc.tension import targets
from wheelcalc.wheel.errors import under
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.lacing_findings import holes_left_over, spoke_angles
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel


def limits_of(build: Build) -> dict[str, float]:
    """Thresholds of the trade by name, as the build file has them."""
    return {name: float(value) for name, value in build.values_below("limits").items()}


def build_findings(build: Build, wheel: Wheel) -> list[Finding]:
    """Return what the readings and the lacing give reason to say."""
    return [
        *unsound_rim(build),
        *slips(build),
        *unlikely_readings(build),
        *too_sure(build),
        *_parts_that_do_not_join(build),
        *_lacing_not_used(build),
        *pattern_findings(build, wheel),
        *no_sideways_pull(wheel),
        *_rim_way_round(wheel),
        *holes_left_over(wheel),
        *_thickness_unknown(build, wheel),
        *_straight_heads(wheel),
    ]


def _parts_that_do_not_join(build: Build) -> list[Finding]:
    """Stops only: a wire that does not go through its hole cannot be laced or tightened either."""
    return [each for each in parts(build, assemble.nipple(build), assemble.wires(build)) if each.level == "stop"]


def unlikely_readings(build: Build) -> list[Finding]:
    """Return the readings that cannot be as they stand, or are unusual."""
    rows = tables.load("rim_sizes") if build.rim.bead_seat_diameter is not None else []
    return implausible(build, {float(row["bead_seat_diameter"]): str(row["called"]) for row in rows})


def doubtful(build: Build) -> list[Finding]:
    """Return what looks wrong among what is known so far, as long as not everything is."""
    from wheelcalc.measuring.doubts import odd_lengths  # noqa: PLC0415 - few builds have an old wheel

    return [*slips_so_far(build), *unlikely_readings(build), *odd_lengths(build)]


def old_rim_of(build: Build) -> OldRim:
    """What was seen and read of the bare rim.

    Raises
    ------
    InputError
        If a reading of [old_rim] cannot be.
    """
    holes = build.rim.holes if "rim.holes" in build else None
    flat, gap, wall = (build.value(f"old_rim.{name}") for name in ("flat", "flat_gap", "brake_wall"))
    with under("old_rim"):
        return OldRim(
            diameters=tuple(build.old_rim.diameters),
            gaps=None if flat is None else gaps_of(flat, holes),
            flat_gap=None if gap is None else float(gap),
            brake_wall=None if wall is None else float(wall),
            cracks=build.old_rim.cracks,
            bulges=build.old_rim.bulges,
            braked=build.braked_rim,
        )


def unsound_rim(build: Build) -> list[Finding]:
    """A rim that is not to be built on stops every command; what else is to be said of it, `salvage` says."""
    return [each for each in sort(old_rim_of(build), limits_of(build)) if each.level == "stop"]


def pattern_findings(build: Build, wheel: Wheel) -> list[Finding]:
    """Return what speaks against a pattern on this hub and in this frame."""
    return [*spoke_angles(wheel, limits_of(build)), *radial_findings(build, wheel)]


def no_sideways_pull(wheel: Wheel) -> Iterator[Finding]:
    """A flange that lies inward of the rim's holes: whatever its spokes pull, the rim leaves its plane."""
    if targets.ratio_left_to_right(wheel) is not None:
        return
    pull = targets.sideways_pull(wheel)
    side = min(SIDES, key=lambda each: pull[each])
    yield Finding(
        "stop",
        "no-sideways-pull",
        f"The {side} flange does not pull the rim to the {side}: no tensions keep the rim in its plane.",
        f"The {side} flange must sit outward of the rim's holes; check hub.{side}, rim.hole_offset and the spacers.",
    )


def _lacing_not_used(build: Build) -> Iterator[Finding]:
    """What [lacing] gives that the pattern does not look at: one of the two is not what was meant."""
    pattern = build.lacing.pattern
    crossed = any(build.lacing.crosses[side] for side in SIDES if f"lacing.crosses.{side}" in build)
    not_used = {
        "crosses": crossed and pattern in ("radial", "listed"),
        "sides": build.given("lacing.sides") and pattern not in ("two to one", "listed"),
        "spokes": build.given("lacing.spokes") and pattern != "listed",
    }
    for name in (name for name, left in not_used.items() if left):
        yield Finding(
            "caution",
            "lacing-not-used",
            f'lacing.{name} is given, but "{pattern}" does not use it.',
            "Check that lacing.pattern is the one meant; if it is, take the other key out.",
        )


def _rim_way_round(wheel: Wheel) -> Iterator[Finding]:
    """An asymmetric rim evens the tensions one way round and spoils them the other."""
    if not wheel.rim.hole_offset:
        return
    rim = replace(wheel.rim, hole_offset=-wheel.rim.hole_offset)
    now, other = (targets.ratio_left_to_right(each) for each in (wheel, replace(wheel, rim=rim)))
    if other is None or (now is not None and evenness(other) <= evenness(now)):
        return
    has = (
        "no sideways pull on one side"
        if now is None
        else f"{100 * evenness(now):.0f} % of the other side's tension on the slack side"
    )
    yield Finding(
        "caution",
        "rim-wrong-way-round",
        f"The rim's holes sit {abs(wheel.rim.hole_offset):g} mm to the {'right' if wheel.rim.hole_offset > 0 else 'left'} and leave {has}; "
        f"turned round it would be {100 * evenness(other):.0f} %.",
        "Mount the rim the other way round (hole_offset changes its sign), so that the holes lie away from the cogs or rotor.",
    )


def evenness(ratio: float) -> float:
    """Slack side over tight side, at most 1."""
    return min(ratio, 1 / ratio)


def _thickness_unknown(build: Build, wheel: Wheel) -> Iterator[Finding]:
    for side in SIDES:
        heads = wheel.lacing.head_in[wheel.lacing.on(side)]
        one_face = len(heads) and (heads.all() or not heads.any())
        if one_face and wheel.hub.flange(side).spoke_head == "elbow" and f"hub.{side}.thickness" not in build:
            yield Finding(
                "caution",
                "flange-thickness-unknown",
                f"All heads of the {side} flange sit on one face, but hub.{side}.thickness is unknown: the spokes were counted from the "
                "flange's middle, which is about 2.5 mm off sideways.",
                f"Measure hub.{side}.thickness at the spoke holes.",
            )


def _straight_heads(wheel: Wheel) -> Iterator[Finding]:
    sides = [side for side in SIDES if wheel.hub.flange(side).spoke_head == "straight"]
    if sides:
        yield Finding(
            "note",
            "straight-heads",
            f"Straight heads ({' and '.join(sides)}): the seats come in pairs and point one way, so the hub dictates the crosses.",
            "Lay a spoke in a seat and count what it crosses before you order.",
        )
