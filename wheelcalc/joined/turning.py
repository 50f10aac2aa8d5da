"""The greatest torques between hub and rim, and how far they wind up a wheel whose spokes are all radial."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from wheelcalc.build.whole import Build
from wheelcalc.joined.target import Target, target_of
from wheelcalc.tension import load
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

# C: common crank; a setting, geometry.crank_length.
CRANK = 170.0  # mm
# C: height of the tyre over the bead seat where the tyre's width is unknown; as high as wide otherwise.
TYRE = 30.0  # mm
FEW = 1  # crosses, C: up to here a wheel is judged by what turning does to it
# C: a heavy rider and a light bike with luggage, where the file gives neither; only to judge radial spokes by.
RIDER, BIKE = 100_000.0, 20_000.0  # g


class Torque(NamedTuple):
    """The greatest of its kind: "driving" or "braking", [N mm], and how it was found."""

    what: str
    torque: float
    how: str


def torques(build: Build) -> list[Torque]:
    """Return the greatest torques on this hub; none where it neither drives nor brakes."""
    greatest = []
    if build.hub.drive == "motor":
        greatest.append(
            Torque("driving", build.limits.motor_torque * 1000, "The motor's greatest torque: limits.motor_torque.")
        )
    elif build.hub.driven:
        crank, gear = build.geometry.crank_length or CRANK, build.limits.lowest_gear
        how = f"Hard pedalling: the rider's whole weight on one {crank:g} mm crank, cog over ring {gear:g} (limits.lowest_gear)."
        greatest.append(Torque("driving", load.pedal_torque(_mass(build, "rider"), crank, gear), how))
    if brakes(build):
        share, radius = build.limits.braking_share, wheel_radius(build)
        masses = _mass(build, "rider"), _mass(build, "bike")
        how = f"Hard braking: {share:g} of the weight of rider and bike at the road, {radius:.0f} mm from the axle (limits.braking_share)."
        greatest.append(Torque("braking", load.braking_torque(*masses, share, radius), how))
    return greatest


def _mass(build: Build, what: str) -> float:
    """Mass of the rider or the bike [g]."""
    if what == "rider":
        return build.load.rider if "load.rider" in build else RIDER
    return build.load.bike if "load.bike" in build else BIKE


def brakes(build: Build) -> bool:
    """Whether the hub brakes: a brake inside, or a rotor."""
    return build.hub.brake != "none" or build.hub.drive == "coaster" or build.has_rotor


def carries_torque(build: Build) -> list[str]:
    """Sides that drive or brake."""
    sides = {"right": build.hub.driven, "left": brakes(build)}
    return [side for side in SIDES if sides[side]]


def wheel_radius(build: Build) -> float:
    """Axle to road [mm]: as given for the bike, else from the bead seat and the tyre's width."""
    diameters = build.geometry.wheel_diameter
    given = diameters.front if build.position == "front" else diameters.rear
    if given is not None:
        return given / 2
    return (build.rim.bead_seat_diameter or build.rim.erd) / 2 + (build.clearance.tyre_width or TYRE)


def radial_findings(build: Build, wheel: Wheel) -> Iterator[Finding]:
    """Judge radial and one-cross spokes by what they do: wind-up under the greatest torque, load on the flange between its holes."""
    radial = [side for side in SIDES if not wheel.lacing.lean[wheel.lacing.on(side)].any()]
    few = int(wheel.lacing.crosses.max(initial=0)) <= FEW
    if not radial and not few:
        return
    target = target_of(build, wheel)
    if len(radial) == 2:
        yield from _wound_up(build, wheel, target)
    elif few:
        yield from _few_crosses(build, wheel, target)
    if len(radial) == 1 and radial[0] in carries_torque(build):
        yield _one_flange(radial[0])
    yield from _torn(build, wheel, target, radial)


def _wind_up(build: Build, wheel: Wheel, target: Target) -> tuple[Torque, float] | None:
    """Return the greatest torque and how far it turns the hub in the rim [degrees]; None where nothing turns it."""
    greatest = max(torques(build), key=lambda each: each.torque, default=None)
    if greatest is None:
        return None
    return greatest, float(np.degrees(greatest.torque / load.rigid_windup_stiffness(wheel, target.per_spoke)))


def _wound_up(build: Build, wheel: Wheel, target: Target) -> Iterator[Finding]:
    wound = _wind_up(build, wheel, target)
    if wound is None:
        return
    greatest, turn = wound
    most = build.limits.wind_up
    does = "drives" if greatest.what == "driving" else "brakes"
    text = f"All spokes are radial, and this hub {does}: {greatest.torque / 1000:.0f} N m wind it up {turn:.1f} degrees in the rim"
    if turn > most:
        remedy = f"Cross the spokes of at least one flange: more than {most:g} degrees (limits.wind_up) work the spokes loose."
        yield Finding("stop", "radial-turns-hub", f"{text}, held by their tension only.", remedy)
        return
    yield Finding(
        "caution",
        "radial-turns-hub",
        f"{text}, little enough on so large a flange. But most hub makers forbid radial spokes, some allow them by model.",
        "Ask the hub's maker, or lace one cross. Heads in or out is a matter of school (`wheelcalc tables schools`).",
    )


def _few_crosses(build: Build, wheel: Wheel, target: Target) -> Iterator[Finding]:
    """One cross holds the hub by wire and tension together; the trade builds such wheels, so that this is no stop."""
    wound = _wind_up(build, wheel, target)
    if wound is None:
        return
    greatest, turn = wound
    most = build.limits.wind_up
    if turn > most:
        text = f"With so few crosses {greatest.what} winds the hub up {turn:.1f} degrees in the rim ({greatest.torque / 1000:.0f} N m)."
        remedy = f"More crosses hold it better: over {most:g} degrees (limits.wind_up) spokes may work loose."
        yield Finding("caution", "few-crosses-turn-hub", text, remedy)


def _one_flange(side: str) -> Finding:
    return Finding(
        "caution",
        "radial-flange",
        f"The {side} flange is radial, on the side that {'drives' if side == 'right' else 'brakes'}: most hub makers "
        "forbid radial lacing there, flanges tear from hole to hole.",
        "Ask the hub maker, or cross that side.",
    )


def _torn(build: Build, wheel: Wheel, target: Target, radial: list[str]) -> Iterator[Finding]:
    most = build.limits.flange_stress
    for side in radial:
        flange = build.hub.flange(side)
        if flange.outside_diameter is None or flange.thickness is None:
            continue
        part = wheel.hub.flange(side)
        stress = load.flange_stress(
            target.tension[side], part.pcd, part.hole_diameter, flange.outside_diameter, flange.thickness
        )
        if stress > most:
            yield Finding(
                "caution",
                "flange-loaded",
                f"Radial spokes at {target.tension[side]:.0f} N load the {side} flange outside its holes with {stress:.0f} N/mm2 "
                f"(limit {most:g}, limits.flange_stress): it may tear there.",
                "Less tension, or crossed spokes, which pull along the flange.",
            )
