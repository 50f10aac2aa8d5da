"""Readings that cannot be as they stand, held against each other and against what the trade makes, with the likely slip."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from wheelcalc.build.whole import Build
from wheelcalc.measuring.assemble import erd_to_spoke_end
from wheelcalc.wheel.constants import INCH
from wheelcalc.wheel.findings import Finding, Level
from wheelcalc.wheel.parts import SIDES

SLIPS = (("the decimal point", 10.0), ("inches", INCH), ("a radius", 2.0))
WHOLE_INCHES = 0.02  # ours: of an inch, half a millimetre, as sizes are rounded
NEAR_SIZE = 1.0  # mm, C: a bead seat that was measured, not read off the tyre
# C: what the flange's reading comes to on hubs of 70 to 200 mm; only to name the likely slip, no verdict.
USUAL_FROM_LOCKNUT = (15.0, 75.0)
USUAL_PCD = (36.0, 110.0)  # mm, C: the same of hole circles
CALLIPER_SPANS = 300.0  # mm, C: the longest that a household owns
CALLIPER_FINE = 0.2  # mm: finer than a rule reads, coarser than a calliper


def sizes_called(name: str, bead_seats: Mapping[float, str]) -> list[float]:
    """Return the bead seat diameters [mm] that go by a name of tyres, such as "26" or "700C".

    Parameters
    ----------
    name : of the tyre
    bead_seats : that are made [mm] -> what they are called
    """
    whole = re.compile(rf"(?<![0-9./]){re.escape(name)}(?![0-9./])")
    return [size for size, called in bead_seats.items() if whole.search(called.replace(" 1/2", ".5"))]


def rim(build: Build, bead_seats: Mapping[float, str]) -> Iterator[Finding]:
    """Hold the rim's diameters against each other and against the sizes that are made.

    Parameters
    ----------
    build : rim.erd, rim.bead_seat_diameter, rim.section.depth
    bead_seats : that are made [mm] -> what they are called
    """
    seat = build.rim.bead_seat_diameter
    wrong = [] if seat is None else list(_bead_seat(seat, bead_seats))
    yield from wrong
    if "rim.erd" not in build or not build.given("rim.erd_to"):
        return
    if seat is None:
        yield from _small(build)
    elif not wrong:
        yield from _under_the_seat(build, seat)


def _bead_seat(seat: float, made: Mapping[float, str]) -> Iterator[Finding]:
    if any(abs(seat - size) <= NEAR_SIZE for size in made):
        return
    inches = round(2 * seat / INCH) / 2
    in_inches = abs(seat / INCH - inches) < WHOLE_INCHES
    called = sizes_called(f"{seat:g}", made) or (sizes_called(f"{inches:g}", made) if in_inches else [])
    near = sorted(called or sorted(made, key=lambda size: abs(size - seat))[:3])
    reason = ", a size that nobody is known to make"
    if called or in_inches:
        reason = f"{f', which is {inches:g} inches' if in_inches else ''}: that is the tyre's name, no bead seat"
    sizes = f"{'rims called so have' if called else 'nearest are'} {', '.join(f'{size:g}' for size in near)}"
    yield Finding(
        "stop" if called or in_inches else "caution",
        "bead-seat-unknown",
        f"rim.bead_seat_diameter is {seat:g} mm{reason}.",
        f"Take the second number of the mark on the tyre, such as 37-622; {sizes} (`wheelcalc tables rim_sizes`).",
    )


def too_sure(build: Build) -> Iterator[Finding]:
    """A rim's diameter with an error that only a calliper has, and none spans it."""
    erd = build["rim.erd"]
    if (
        build.rim.erd <= CALLIPER_SPANS
        or not 0 < erd.sigma < CALLIPER_FINE
        or len(erd.repeats) > 2
        or erd.origin != "given"
    ):
        return
    yield Finding(
        "caution",
        "erd-too-sure",
        f"rim.erd, {build.rim.erd:g} mm, counts as good to {erd.sigma:g} mm: no common calliper spans that, a rule is good to 0.5 mm.",
        f'Read it three times and write all three, or write "{build.rim.erd:g} +- 0.5 mm".',
    )


def _small(build: Build) -> Iterator[Finding]:
    """A rim of which nothing else tells that it is a child's or a folder's."""
    erd = build.rim.erd
    if erd >= build.limits.erd_small_caution:
        return
    yield Finding(
        "caution",
        "erd-small",
        f"rim.erd is {erd:g} mm, as on a small wheel of 16 inches or less; of a larger wheel that is the radius ({2 * erd:g} mm across).",
        "Read it again: from spoke end to the opposite spoke end. rim.bead_seat_diameter, from the tyre's mark, settles it.",
    )


def _under_the_seat(build: Build, seat: float) -> Iterator[Finding]:
    erd = erd_to_spoke_end(build)
    under = seat - erd
    deep = 2 * (build.rim.section.depth or 0.0)
    level = _level(under - deep, build.limits.erd_under_seat_stop, build.limits.erd_under_seat_caution)
    if level is None:
        return
    radius = 0 < seat - 2 * erd < build.limits.erd_under_seat_caution
    yield Finding(
        level,
        "erd-far-under-bead-seat",
        f"rim.erd puts the spoke ends at {erd:.1f} mm, {under:.0f} mm less than the bead seat diameter of {seat:g} mm"
        + ("; that looks like a radius, half of the diameter." if radius else ": too small for a rim of this size."),
        f"Read it again; the whole diameter would be {2 * erd:.1f} mm."
        if radius
        else "Read rim.erd and the tyre's mark again. Of a deep rim write rim.section.depth as well: it explains the difference.",
    )


def _level(over: float, stop: float, caution: float) -> Level | None:
    return "stop" if over > stop else "caution" if over > caution else None


def flange(build: Build, side: str) -> Iterator[Finding]:
    """Hold the readings of one flange against what hubs have."""
    if f"hub.{side}.locknut_to_flange" in build:
        yield from _place(build, side)
    elif f"hub.{side}.offset" in build and "hub.over_locknut" in build:
        yield from _offset_to_the_locknut(build, side)
    if f"hub.{side}.pcd" in build:
        yield from _small_circle(build, side)


def _place(build: Build, side: str) -> Iterator[Finding]:
    value = build.hub.flange(side).locknut_to_flange
    if value < build.limits.locknut_to_flange_least:
        yield Finding(
            "stop",
            "flange-at-locknut",
            f"hub.{side}.locknut_to_flange is {value:g} mm: no flange sits so near the locknut's face{_slip(value, USUAL_FROM_LOCKNUT)}.",
            f"Read it again, in mm: from the outer face of the {side} locknut to the middle of the flange.",
        )


def _offset_to_the_locknut(build: Build, side: str) -> Iterator[Finding]:
    """An offset that ends at the locknut: half of the hub was read, not the way to the flange."""
    offset, half = build.hub.flange(side).offset, build.hub.over_locknut / 2
    if 0 <= half - offset < build.limits.locknut_to_flange_least:
        yield Finding(
            "stop",
            "flange-at-locknut",
            f"hub.{side}.offset is {offset:g} mm, {half - offset:.1f} mm less than half of hub.over_locknut: no flange sits so near the "
            "locknut's face.",
            f"Read it again: from the middle between the locknut faces to the middle of the {side} flange.",
        )


def _small_circle(build: Build, side: str) -> Iterator[Finding]:
    pcd, limits = build.hub.flange(side).pcd, build.limits
    driven = build.hub.drive in ("cassette", "freewheel")
    if pcd >= (limits.pcd_driven_least if driven else limits.pcd_least):
        return
    yield Finding(
        "stop",
        "pcd-small",
        f"hub.{side}.pcd is {pcd:g} mm: {'a hub for a ' + str(build.hub.drive) if driven else 'a hub'} has a larger hole circle"
        f"{_slip(pcd, USUAL_PCD)}.",
        "Read it again: from hole centre to the centre of the opposite hole.",
    )


def _slip(value: float, usual: tuple[float, float]) -> str:
    """Name the slips that would bring a value among the usual ones."""
    likely = [f"{what} ({value * factor:.4g} mm)" for what, factor in SLIPS if usual[0] <= value * factor <= usual[1]]
    return f"; likely {' or '.join(likely)}" if likely else ""


def rotor(build: Build) -> Iterator[Finding]:
    """A rotor sits outside the left flange."""
    if "hub.rotor_face" not in build or "hub.left.locknut_to_flange" not in build:
        return
    face, flange_at = build.hub.rotor_face, build.hub.left.locknut_to_flange
    if face >= flange_at:
        yield Finding(
            "stop",
            "rotor-beyond-flange",
            f"hub.rotor_face is {face:g} mm, but the left flange already stands {flange_at:g} mm from the locknut's face: "
            "the rotor sits outside it.",
            "Read both again from the outer face of the left locknut.",
        )


def implausible(build: Build, bead_seats: Mapping[float, str]) -> list[Finding]:
    """Return every reading that cannot be as it stands, or is unusual."""
    findings = [*rim(build, bead_seats), *rotor(build)]
    for side in SIDES:
        findings += flange(build, side)
    return findings
