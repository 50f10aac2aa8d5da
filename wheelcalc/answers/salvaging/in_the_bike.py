"""Whether another rim finds its brake and its room in this frame or fork."""

from __future__ import annotations

from collections.abc import Iterator

from wheelcalc.answers.fitting.geometry import within_reach
from wheelcalc.bike import geometry
from wheelcalc.bike.clearances import tight_tyre
from wheelcalc.bike.donor import brakes
from wheelcalc.bike.ends import Outcomes
from wheelcalc.build.whole import Build
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.findings import Finding


def present_bead_seat(build: Build) -> float | None:
    """Bead seat of the rim on which brake reach and tyre gap were read [mm]: that of the bike, else of the build's own rim."""
    seat = build.value(f"geometry.bead_seat_diameter.{build.position}", build.rim.bead_seat_diameter)
    return None if seat is None else float(seat)


def against_the_bike(build: Build, present: float | None) -> Iterator[Finding]:
    """What speaks against a rim in this bike: no brake left, a brake that does not reach it, no room for its tyre.

    Parameters
    ----------
    build : a wheel with this rim
    present : bead seat of the rim on which clearance.* were read [mm]; None where nobody said
    """
    if build.frame.brake is not None:
        yield from _findings(brakes(build))
    seat = build.rim.bead_seat_diameter
    if seat is None or present is None or seat == present:
        return
    if build.frame.brake == "rim":
        yield from _findings(_reach(build, present, float(seat)))
    less = geometry.gap_change(present, float(seat))
    if less < 0 and build.given("clearance.tyre_gap"):
        yield from _findings(tight_tyre(build, build.clearance.tyre_gap + less, "With the same width the"))
    elif less < 0:
        text = f"A tyre on its bead seat of {seat:g} mm stands {-less:g} mm nearer to frame or fork than now."
        yield Finding("caution", "tyre-unchecked", text, "Measure clearance.tyre_gap.")


def _reach(build: Build, present: float, seat: float) -> Outcomes:
    change = geometry.brake_reach_change(present, seat)
    what = f"The brake track lies {abs(change):g} mm {'further from' if change > 0 else 'nearer to'} the brake's bolt than now"
    if not build.given("clearance.brake_reach"):
        read = "Measure clearance.reach_now, and clearance.brake_reach from the bolt to both ends of the slot."
        yield Finding("caution", "brake-reach-unchecked", f"{what}: whether the pads follow is not known.", read)
        return
    reach = build.clearance.brake_reach
    if len(reach) != 2:
        raise InputError("clearance.brake_reach", f"found {len(reach)} lengths; write [least, most]")
    with under("clearance"):
        outcomes = list(within_reach(build, (reach[0], reach[1]), change, what))
    yield from outcomes
    if any(not isinstance(each, Finding) for each in outcomes):
        yield Finding("caution", "brake-reach-unchecked", f"{what}.", "Measure clearance.reach_now.")


def _findings(outcomes: Outcomes) -> Iterator[Finding]:
    return (each for each in outcomes if isinstance(each, Finding) and each.level != "note")
