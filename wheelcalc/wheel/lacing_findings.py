"""What a practitioner sees in a lacing: spokes bent at the nipple, too many crosses, radial where it must not be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.wheel.findings import ORDER, Finding, gravest
from wheelcalc.wheel.joining import LETTER
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel


def spoke_angles(wheel: Wheel, limits: Mapping[str, float]) -> list[Finding]:
    """Return what the spokes' directions at nipple and hub give reason to say; limits by their names."""
    findings = [*_nipple_tilt(wheel, limits)]
    for side in SIDES:
        findings += [*_crosses(wheel, side, limits), *_over_heads(wheel, side, limits)]
    return findings


def _nipple_tilt(wheel: Wheel, limits: Mapping[str, float]) -> Iterator[Finding]:
    tilt = float(wheel.nipple_tilts_deg.max())
    hole = int(wheel.lacing.rim_hole[int(wheel.nipple_tilts_deg.argmax())])
    of_tilt = {level: limits[f"nipple_tilt_{level}"] for level in ORDER}
    level = gravest(tilt, of_tilt)
    if level is not None:
        bend = limits["nipple_bend"]
        left = float(tilt_after_bending(wheel, bend).max())
        by_hand = f"a hand bends {bend:g} into the wire there (limits.nipple_bend), {left:.1f} stay and break it"
        yield Finding(
            level,
            "nipple-tilt",
            f"Spokes leave the nipple up to {tilt:.1f} degrees from straight inward (rim hole {hole}; limit {of_tilt[level]:g}): "
            + (f"{by_hand}." if left else "unless a hand bends them straight there, they break there."),
            "Fewer crosses make it straighter."
            + ("" if left else " Press each spoke straight at its nipple before it is tight."),
        )


def tilt_after_bending(wheel: Wheel, bend: float) -> Floats:
    """Angle at the nipple between each spoke and the nipple's axis that a hand's bend beside it does not take up, (n,) [deg].

    Parameters
    ----------
    wheel : its spokes in space
    bend : what is bent into the wire at the nipple at most [deg]
    """
    return np.maximum(wheel.nipple_tilts_deg - bend, 0.0)


def _crosses(wheel: Wheel, side: str, limits: Mapping[str, float]) -> Iterator[Finding]:
    lacing = wheel.lacing
    crosses = int(lacing.crosses[lacing.on(side)].max(initial=0))
    holes = int(lacing.on(side).sum())  # that are used: rim and hub may differ
    angle = 360 * crosses / max(holes, 1)
    if angle > limits["spoke_angle_stop"]:
        yield Finding(
            "stop",
            "spoke-over-flange",
            f"{crosses} crosses on the {side} flange with {holes} spokes turn the spoke {angle:.0f} degrees round the hub: it would lie "
            "across its own flange.",
            f"{_most(holes, limits['spoke_angle_stop'])} crosses stay below {limits['spoke_angle_stop']:g} degrees.",
        )
    elif angle > limits["spoke_angle_caution"]:
        yield Finding(
            "caution",
            "spoke-angle",
            f"{crosses} crosses on the {side} flange with {holes} spokes turn the spoke {angle:.0f} degrees round the hub, past the usual "
            f"{limits['spoke_angle_caution']:g}.",
            f"{_most(holes, limits['spoke_angle_caution'])} crosses are the usual choice.",
        )
    if crosses * limits["crosses_per_hole"] > 2 * holes:
        most = int(2 * holes / limits["crosses_per_hole"])
        yield Finding(
            "caution",
            "many-crosses",
            f"{crosses} crosses on the {side} are more than the rule of thumb allows for {2 * holes} holes (holes over "
            f"{limits['crosses_per_hole']:g}; contested).",
            f"{most} crosses follow the rule.",
        )


def _most(holes: int, angle: float) -> int:
    return int(angle * holes / 360 + 1e-9)


def _over_heads(wheel: Wheel, side: str, limits: Mapping[str, float]) -> Iterator[Finding]:
    """A spoke passing over the head in the next hole; where all heads sit on the other face there is none."""
    flange, mask = wheel.hub.flange(side), wheel.lacing.on(side)
    if not mask.any() or flange.spoke_head == "straight" or wheel.leaves_beside[mask].any():
        return
    wire = wheel.wire(side).head_end
    gap = head_gap(wheel, side) - wire / 2 - (wire + limits["head_over_wire"]) / 2
    if gap < 0:
        yield Finding(
            "caution",
            "spoke-over-head",
            f"On the {side} flange a spoke lies across the head in the next hole (by {-gap:.1f} mm): the elbow rubs and cannot lie flat.",
            "One cross fewer clears it.",
        )


def head_gap(wheel: Wheel, side: str) -> float:
    """Smallest distance, in the wheel's plane, from a spoke's line to the centre of the next hole of its flange [mm].

    Only outward of the flange: where the next hole lies behind the spoke's own hole the spoke does not pass it (D).
    """
    mask = wheel.lacing.on(side)
    hub, rim = wheel.hub_points[mask][:, 1:], wheel.rim_points[mask][:, 1:]
    along = (rim - hub) / np.linalg.norm(rim - hub, axis=1, keepdims=True)
    least = np.inf
    for step in (1, -1):
        turn = step * 2 * np.pi / wheel.lacing.holes_of(side)
        # The next hole: the hub hole turned about the axle; in (y, z) angles grow clockwise.
        y, z = hub.T
        beside = np.column_stack([y * np.cos(turn) + z * np.sin(turn), z * np.cos(turn) - y * np.sin(turn)]) - hub
        ahead = (beside * along).sum(axis=1) > 0
        across = np.abs(beside[:, 0] * along[:, 1] - beside[:, 1] * along[:, 0])
        least = min(least, float(across[ahead].min(initial=np.inf)))
    return least


def holes_left_over(wheel: Wheel) -> Iterator[Finding]:
    """Rim and hub holes without a spoke."""
    lacing = wheel.lacing
    empty = lacing.empty_rim_holes
    if empty:
        yield Finding(
            "caution",
            "empty-rim-holes",
            f"The rim has {lacing.rim_holes} holes, the hub {lacing.left_holes + lacing.right_holes}: rim holes "
            f"{', '.join(map(str, empty))} stay empty. The wheel is weaker there, and its tensions will not come out as even.",
            "Close the empty holes against water; for hard use take a rim with as many holes as the hub.",
        )
    unused = [f"{LETTER[side]}{hole}" for side in reversed(SIDES) for hole in lacing.unused_hub_holes(side)]
    if unused:
        yield Finding(
            "note", "unused-hub-holes", f"Hub holes {', '.join(unused)} stay unused.", "Mark them before you lace."
        )
