"""What can go wrong between the order and the built wheel: ends, threads, holes that are too wide."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from wheelcalc.build.whole import Build
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES, Nipple, Wire

if TYPE_CHECKING:
    from wheelcalc.spokes.ordering import Line


def ends(lines: Sequence[Line], nipple: Nipple, wires: Mapping[str, Wire], build: Build) -> list[Finding]:
    """Return the stops for spoke ends that sit where they must not."""
    findings: list[Finding] = []
    for line in lines:
        findings += [
            *_short(line, nipple, build),
            *_thread(line, nipple, wires[line.side]),
            *_proud(line, nipple, build),
        ]
    return findings


def _short(line: Line, nipple: Nipple, build: Build) -> Iterator[Finding]:
    aluminium = nipple.material == "aluminium"
    limit = build.limits.end_short_stop_aluminium if aluminium else nipple.seat_to_end
    if line.least_end < -limit - 1e-9:
        why = "an unfilled aluminium head snaps" if aluminium else "the head is no longer on the spoke"
        yield Finding(
            "stop",
            "end-short",
            f"{_which(line)} would end {-line.least_end:.1f} mm short of the slot; past {limit:g} mm {why}.",
            "Order the next longer length.",
        )


def _thread(line: Line, nipple: Nipple, wire: Wire) -> Iterator[Finding]:
    room = wire.thread_length - nipple.thread_depth
    if line.most_end > room + 1e-9:
        yield Finding(
            "stop",
            "thread-runs-out",
            f"{_which(line)} would have to be screwed {line.most_end:+.1f} mm past the slot, but its thread ({wire.thread_length:g} mm) "
            f"runs out at {room:+.1f} mm: the nipple jams before the spoke is tight.",
            "Order the next shorter length, or spokes with a longer thread.",
        )


def _proud(line: Line, nipple: Nipple, build: Build) -> Iterator[Finding]:
    if build.rim.walls == "single" and line.most_end > nipple.slot_depth + 1e-9:
        yield Finding(
            "stop",
            "end-proud",
            f"{_which(line)} would stand {line.most_end - nipple.slot_depth:.1f} mm proud of the nipple's head, toward the tube of this "
            "single-wall rim.",
            "Order the next shorter length.",
        )


def _which(line: Line) -> str:
    return f"The {line.length:g} mm spokes on the {line.side}"


def parts(build: Build, nipple: Nipple, wires: Mapping[str, Wire]) -> list[Finding]:
    """Return what speaks against wire, nipple, flange and rim holes together."""
    findings = [*_washers_and_long_nipples(build, nipple), *_rim_hole(build, nipple)]
    for side in SIDES:
        findings += [*_nipple_thread(nipple, wires[side], side), *_flange_hole(build, wires[side], side)]
    return list(dict.fromkeys(findings))


def _nipple_thread(nipple: Nipple, wire: Wire, side: str) -> Iterator[Finding]:
    if nipple.for_wire is None or abs(nipple.for_wire - wire.thread_end) < THREAD_STEP:
        return
    thinner = wire.thread_end < nipple.for_wire
    why = "it strips under tension" if thinner else "it does not go on"
    yield Finding(
        "stop",
        "nipple-thread",
        f"The {side} spokes have {wire.thread_end:g} mm wire at the thread, the nipples are for {nipple.for_wire:g} mm: {why}.",
        f"Use nipples for {wire.thread_end:g} mm wire; they look alike, so try one by hand.",
    )


# D: the threads of neighbouring wire sizes (1.6, 1.8, 2.0, 2.3 mm; DIN 79012, second hand) differ by 0.2 mm or more.
THREAD_STEP = 0.1


def _flange_hole(build: Build, wire: Wire, side: str) -> Iterator[Finding]:
    if build.hub.flange(side).spoke_head == "straight" or not build.given(f"hub.{side}.hole_diameter"):
        return
    hole, limit = build.hub.flange(side).hole_diameter, build.limits.flange_hole_over_wire
    if hole - wire.head_end > limit + 1e-9:
        yield Finding(
            "caution",
            "flange-hole-wide",
            f"The {side} flange's holes ({hole:g} mm) are {hole - wire.head_end:.1f} mm wider than the wire ({wire.head_end:g} mm; limit "
            f"{limit:g}): the elbow works loose.",
            "Put thin washers under the spoke heads, or use spokes with a thicker head end.",
        )
    elif hole < wire.head_end:
        yield Finding(
            "stop",
            "flange-hole-narrow",
            f"The {side} flange's holes ({hole:g} mm) are narrower than the wire ({wire.head_end:g} mm): the spoke does not go through.",
            f"Use spokes of at most {hole:g} mm at the head.",
        )


def _rim_hole(build: Build, nipple: Nipple) -> Iterator[Finding]:
    hole = build.rim.hole_diameter
    if hole is None:
        return
    limit = build.limits.rim_hole_over_nipple
    if hole - nipple.body_diameter > limit + 1e-9:
        yield Finding(
            "caution",
            "rim-hole-wide",
            f"The rim's holes ({hole:g} mm) are {hole - nipple.body_diameter:.1f} mm wider than the nipple's body "
            f"({nipple.body_diameter:g} mm; limit {limit:g}).",
            "Put washers under the nipple heads and give their thickness as nipple.washer.",
        )
    elif hole < nipple.body_diameter:
        yield Finding(
            "stop",
            "rim-hole-narrow",
            f"The rim's holes ({hole:g} mm) are narrower than the nipple's body ({nipple.body_diameter:g} mm).",
            "Use nipples that go through; do not drill a rim without its maker's word.",
        )


def _washers_and_long_nipples(build: Build, nipple: Nipple) -> Iterator[Finding]:
    if nipple.washer > 0:
        yield Finding(
            "caution",
            "washers",
            f"Washers of {nipple.washer:g} mm that were not there when rim.erd was read: they are counted, the spokes come out longer.",
            "Dry-fit two spokes with washers before you order.",
        )
    if nipple.length > build.limits.long_nipple and not build.given("nipple.seat_to_end"):
        yield Finding(
            "caution",
            "long-nipples",
            f"Nipples of {nipple.length:g} mm: if the rim was measured with shorter ones, their heads may differ (the longer shank alone "
            "changes nothing).",
            "Read rim.erd with these nipples, or give nipple.seat_to_end.",
        )
