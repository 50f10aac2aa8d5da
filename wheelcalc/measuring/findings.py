"""Readings that look like the common slips of the tape and the rule."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from wheelcalc.build.whole import Build
from wheelcalc.measuring.assemble import erd_to_spoke_end, flange_offset
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES


def slips(build: Build) -> list[Finding]:
    """Return what looks wrong among the readings, before anything is computed from them."""
    findings = [*_doubts(build), *_rim(build), *_swapped_sides(build), *_flange_distance(build)]
    for side in SIDES:
        findings += [*_hole_circle(build, side), *outside_locknuts(build, side), *_two_offsets(build, side)]
    return findings


def slips_so_far(build: Build) -> list[Finding]:
    """Return what looks wrong among what is known so far; a check that still lacks a dimension is left out."""
    checks = [_rim(build), _swapped_sides(build), _flange_distance(build)]
    for side in SIDES:
        checks += [_hole_circle(build, side), outside_locknuts(build, side), _two_offsets(build, side)]
    findings = [*_doubts(build), *_both_flanges(build)]
    for check in checks:
        with suppress(InputError, KeyError):
            findings += check
    return findings


def in_inches(build: Build) -> list[str]:
    """Return the keys whose readings cannot be in mm and were taken as inches."""
    return [key for key, entry in build.items() if entry.origin == "inches"]


def taken_as_inches(build: Build) -> Iterator[Finding]:
    """Say which readings cannot be in mm and were taken as inches."""
    keys = in_inches(build)
    if keys:
        shown = (f"{key} {_first(build[key].value):.1f} mm" for key in keys)
        yield Finding(
            "stop",
            "reading-in-inches",
            f"As mm these readings cannot be, as inches they can: {'; '.join(shown)}. They were taken so.",
            'Read them again in mm, or write the unit, such as pcd = "1.77 in".',
        )


def _first(value: Any) -> float:
    return float(value[0] if isinstance(value, tuple) else value)


def _doubts(build: Build) -> list[Finding]:
    """Readings that speak against each other; without raw readings and repeats there are none."""
    if not any(entry.repeats or key.startswith("readings.") for key, entry in build.items()):
        return []
    from wheelcalc.measuring.doubts import doubts  # noqa: PLC0415 - most files have no raw readings

    return doubts(build)


def _both_flanges(build: Build) -> Iterator[Finding]:
    """Say where one flange has the holes of the whole rim."""
    rim = build.rim.holes if "rim.holes" in build else None
    for side in SIDES:
        if rim is not None and f"hub.{side}.holes" in build and build.hub.flange(side).holes >= rim:
            yield Finding(
                "caution",
                "flange-has-all-holes",
                f"The {side} flange alone has as many holes as the rim ({rim}) or more.",
                "Count the holes of this one flange; it usually has half of the rim's.",
            )


def _rim(build: Build) -> Iterator[Finding]:
    erd, seat = erd_to_spoke_end(build), build.rim.bead_seat_diameter
    if seat is not None and erd >= seat:
        yield Finding(
            "stop",
            "erd-over-bead-seat",
            f"rim.erd puts the spoke ends at {erd:.1f} mm, outside the bead seat diameter of {seat:g} mm, where the tyre sits.",
            "Measure rim.erd again: across the ends of two old spokes in opposite holes, not over the rim's outside.",
        )
    repeats = build["rim.erd"].repeats
    limit = build.limits.erd_readings_differ
    if repeats and max(repeats) - min(repeats) > limit:
        spread = max(repeats) - min(repeats)
        yield Finding(
            "caution",
            "erd-readings-differ",
            f"The readings of rim.erd differ by {spread:.1f} mm (more than {limit:g} mm): the rim is out of round, or one slipped.",
            "Read it once more in each direction; a round rim repeats within half a millimetre.",
        )


def _swapped_sides(build: Build) -> Iterator[Finding]:
    cogs = build.hub.drive == "cassette" or build.several_cogs
    left, right = (flange_offset(build, side) for side in SIDES)
    if build.position == "rear" and cogs and left < right:
        surely = right - left > build.limits.sides_swapped_stop
        yield Finding(
            "stop" if surely else "caution",
            "sides-swapped",
            f"The left flange sits {left:.1f} mm from the hub's centre, the right one {right:.1f} mm: with several cogs on the "
            f"right the right flange is {'always' if surely else 'usually'} the nearer one.",
            "Check that left and right are the rider's, facing forward, and were not swapped.",
        )


def _flange_distance(build: Build) -> Iterator[Finding]:
    distance = build.hub.flange_distance
    if distance is None:
        return
    total = sum(flange_offset(build, side) for side in SIDES)
    limit = build.limits.flange_distance_differs
    if abs(total - distance) > limit:
        yield Finding(
            "caution",
            "flange-distance-differs",
            f"The two flange offsets make {total:.1f} mm, but hub.flange_distance says {distance:g} mm (more than {limit:g} mm off).",
            "Measure hub.over_locknut and both locknut_to_flange again: from the outer locknut face to the middle of the flange.",
        )


def _hole_circle(build: Build, side: str) -> Iterator[Finding]:
    edge = build.hub.flange(side).outside_diameter
    if edge is None:
        return
    pcd, hole = build.hub.flange(side).pcd, build.hub.flange(side).hole_diameter
    if pcd + hole >= edge:
        yield Finding(
            "stop",
            "pcd-is-flange-edge",
            f"hub.{side}.pcd is {pcd:g} mm, but the flange ends at {edge:g} mm (outside_diameter), so the holes would cut its edge.",
            "Measure pcd from hole centre to opposite hole centre, not over the flange.",
        )


def outside_locknuts(build: Build, side: str) -> Iterator[Finding]:
    """Say where a flange would lie outside the locknuts."""
    if "hub.over_locknut" not in build:
        return
    width, offset = build.hub.over_locknut, flange_offset(build, side)
    if abs(offset) > width / 2:
        what = f"hub.{side}.offset is {offset:.1f} mm, more than half of hub.over_locknut ({width / 2:.1f} mm)"
        remedy = "offset counts from the hub's centre; the distance from the locknut face is locknut_to_flange."
        if f"hub.{side}.locknut_to_flange" in build:
            read = build.hub.flange(side).locknut_to_flange
            what = f"hub.{side}.locknut_to_flange is {read:.1f} mm, more than all of hub.over_locknut ({width:.1f} mm)"
            remedy = f"Measure from the outer face of the {side} locknut to the middle of the {side} flange."
        yield Finding(
            "stop",
            "flange-outside-locknut",
            f"{what}: that flange would lie outside the locknuts.",
            remedy,
        )


def _two_offsets(build: Build, side: str) -> Iterator[Finding]:
    key = f"hub.{side}.offset"
    if not (key in build and f"hub.{side}.locknut_to_flange" in build):
        return
    offset, read = flange_offset(build, side), build.number(key)
    limit = build.limits.flange_distance_differs
    if abs(offset - read) > limit:
        yield Finding(
            "caution",
            "offsets-differ",
            f"hub.{side}.locknut_to_flange puts the flange {offset:.1f} mm from the centre, hub.{side}.offset says {read:g} mm; "
            "the first, the raw reading, was used.",
            "Take one of the two out of the file, or measure both again.",
        )
