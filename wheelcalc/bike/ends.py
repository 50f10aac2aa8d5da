"""Hub in frame or fork: the width between the ends, the axle, and what is left of the axle beyond the locknuts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from wheelcalc.bike.width import Spacing, closeness, frame_width, missing_width, most_filled, too_narrow
from wheelcalc.build.whole import Build
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, Level
from wheelcalc.wheel.parts import SIDES, opposite

# C: through axles come in these; 12 also as a bolt in slots, 14 as a nutted axle of small wheels.
THROUGH_DIAMETERS = (12.0, 15.0, 20.0)
# P (NB), C(3): depth of the recess of a through end; the frame's inner faces stand so much closer, twice.
USUAL_RECESS = 3.5
WIDE_REAR = 148.0  # P, makers: its flanges, cogs and rotor sit 3 further out than those of 142 and 135
SIDE_OUTWARD = 3.0
NARROWER_REAR = (135.0, 142.0)
SAME_FAMILY = 1.2  # mm, C: half the least step between two families, less a reading's error


class Unchecked(NamedTuple):
    """Something that could not be checked, and the keys that would settle it."""

    what: str
    keys: tuple[str, ...]


Outcomes = Iterator[Finding | Unchecked]


def unknown(build: Build, *keys: str) -> tuple[str, ...]:
    """Return which of the keys are missing."""
    return tuple(key for key in keys if key not in build)


def refuse_contradictions(build: Build) -> None:
    """Refuse dimensions that cannot both be true.

    Raises
    ------
    InputError
        Naming both keys.
    """
    diameter = build.frame.axle_diameter if "frame.axle_diameter" in build else None
    bolted = build.hub.axle == "nutted"
    if build.frame.dropout == "slot" and diameter in THROUGH_DIAMETERS and not bolted:
        text = f'found {diameter:g} mm, which is a through axle\'s, but frame.dropout = "slot"'
        raise InputError("frame.axle_diameter", f"{text}; measure the slot's width (8 to 10 mm), or write through")
    if build.frame.dropout == "slot" and build.frame.recess_depth > 0:
        text = f'found {build.frame.recess_depth:g} mm, but frame.dropout = "slot"'
        raise InputError("frame.recess_depth", f"{text}: slots have no recess that holds the hub's end; take one out")
    for side in SIDES:
        _refuse_removed(build, side)


def _refuse_removed(build: Build, side: str) -> None:
    fitted = build.spacers.fitted[side]
    loose = build.hub.loose_spacers.get(side, ())
    if fitted < -sum(loose) - 1e-6:
        text = f"found {fitted:g} mm (taken off), but hub.loose_spacers names {sum(loose):g} mm on the {side}"
        raise InputError(f"spacers.fitted.{side}", f"{text}; only what is loose can come off")


def width(build: Build, left_over: float) -> Outcomes:
    """What to say of the width that is left over with the spacers that are fitted or proposed, + frame wider."""
    if too_narrow(build):
        yield _too_narrow(build)
        return
    close = closeness(build, left_over)
    if close == "fits":
        return
    off, wider = abs(left_over), left_over > 0
    what = f"The hub is {off:.1f} mm {'narrower' if wider else 'wider'} than the width between the ends"
    if close == "springs":
        yield Finding(
            "caution",
            "frame-sprung",
            f"{what}: a steel frame {'closes' if wider else 'opens'} so far by hand, {off / 2:.1f} mm a side, but each wheel "
            "change is a fight and the axle carries a steady bend.",
            "Open or close both ends alike by hand, never with the axle nuts or the lever."
            + (" Better: spacers that fill the width." if wider else ""),
        )
    elif close == "respace":
        yield from _respace(build, what, off, wider=wider)
    else:
        yield _not_by_force(build, what, wider, off)
    yield from _wide_rear(build)


def _too_narrow(build: Build) -> Finding:
    """Say what would have to be true for a hub that no plan of spacers makes wide enough."""
    missing, frame = missing_width(build), frame_width(build)
    what = f"The hub is {missing:.1f} mm narrower than the width between the ends"
    if "through" in (build.hub.axle, build.frame.dropout):
        why = "no end cap of a through axle fills so much"
        return Finding(
            "stop", "width-differs", f"{what}: {why}.", f"Read both again; take a hub made for {frame:.0f} mm."
        )
    least, most = frame - most_filled(build), frame + build.frame.width_slack
    return Finding(
        "stop",
        "width-differs",
        f"{what}. Spacers may fill {build.limits.spacers_most:g} mm in all (limits.spacers_most): with more, the axle is too short and "
        "the flanges stand far inside.",
        f"Read both widths again. Take a hub of {least:.0f} to {most:.0f} mm over its locknuts. Or keep this one: fit an axle "
        f"{missing:.0f} mm longer, write limits.spacers_most = {math.ceil(missing)}, and run `fit` again for the rest.",
    )


def _respace(build: Build, what: str, off: float, *, wider: bool) -> Outcomes:
    if off - 1e-6 > build.limits.set_far_stop:
        yield Finding(
            "stop",
            "frame-set-far",
            f"{what}, further than any step between widths that the trade sets ({build.limits.set_far_stop:g} mm, limits.set_far_stop): "
            "ends and stays are no longer straight, brake and gear hanger no longer in line.",
            ("Fill the width with spacers" if wider else "Take a narrower hub")
            + "; or a frame builder sets and aligns it (steel only), you measure again and write the new frame.dropout_spacing.",
        )
        return
    if "frame.material" not in build:
        yield Unchecked("whether the frame may be set to another width at all: only steel may", ("frame.material",))
        yield Finding(
            "caution",
            "frame-respace",
            f"{what}, and frame.material is not given: only a steel frame is sprung or set, aluminium, titanium and carbon never.",
            "Hold a magnet to the frame near the dropouts: steel holds it. Write frame.material; until then leave the ends alone.",
        )
        return
    most = build.frame.spring_at_most
    yield Finding(
        "caution",
        "frame-respace",
        f"{what}, more than the {most:g} mm that a steel frame is sprung (frame.spring_at_most). Schools: a 130 hub in an unset "
        "126 frame is no trouble; against it, a clamped wrong width bends the axle and has broken axles and ends.",
        ("Fill the width with spacers" if wider else "Take a narrower hub")
        + ", or have a frame builder set the frame: steel only (a magnet sticks), never aluminium, carbon or heat-treated thin "
        "tube, both sides alike, then the ends made parallel and every joint looked over for cracks.",
    )


def _not_by_force(build: Build, what: str, wider: bool, off: float) -> Finding:
    material = build.frame.material
    if build.frame.dropout == "through":
        why = "a through axle clamps the hub on its shoulders, so the width must agree"
    elif material in ("steel", None):
        why = f"more than the {build.limits.spread_stop:g} mm at which setting any frame stops (limits.spread_stop)"
    else:
        why = f"{material} is never spread or squeezed"
    if recess_forgotten(build):
        return Finding("stop", "width-differs", f"{what}: {why}.", "Count the recesses of the ends first (see below).")
    return Finding(
        "stop",
        "width-differs",
        f"{what}: {why}.",
        f"Fill the other {off:.1f} mm with spacers, or take a wider hub."
        if wider
        else "Take a narrower hub; force breaks the frame.",
    )


def _wide_rear(build: Build) -> Iterator[Finding]:
    """148 is no wider cap on an old hub: flanges, cogs and rotor are built further out."""
    hub, frame = build.hub.over_locknut, frame_width(build)
    if build.position == "front" or abs(hub - WIDE_REAR) > SAME_FAMILY:
        return
    if any(abs(frame - narrower) <= SAME_FAMILY for narrower in NARROWER_REAR):
        yield Finding(
            "stop",
            "148-into-narrower",
            f"A 148 hub never goes into a {frame:g} mm frame: its flanges, cogs and rotor are built {SIDE_OUTWARD:g} mm further out on "
            "each side, so even with shorter caps cogs and rotor would stand in the way of chainstay and calliper.",
            "Take a hub of the frame's own width (135 with slots and 142 with through ends are one family).",
        )


def spacers_on_through(build: Build, spacers: Spacing) -> Iterator[Finding]:
    """A through axle goes through end caps; nothing clamps a washer there once the axle is out."""
    if build.hub.axle != "through" or not any(spacers):
        return
    yield Finding(
        "caution",
        "spacers-on-through-axle",
        "This hub has end caps and no locknuts that hold a spacer, and the axle must reach so much further. Schools: caps or sets for "
        "the next width are sold (142 to 148 by 3 a side); others call that wrong: flanges, cogs and rotor stay where they were.",
        "Take end caps of this thickness from the hub's maker, never loose washers; else a hub of the frame's own width.",
    )


def recess_unknown(build: Build) -> bool:
    """Whether through ends were read between their faces and nothing is said of recesses."""
    faces = build.frame.spacing_to == "faces" and build.frame.dropout == "through"
    return faces and not build.given("frame.recess_depth")


def recess_forgotten(build: Build) -> bool:
    """Whether the hub is wider by just the two recesses that usual through ends have: 142 reads 135."""
    return recess_unknown(build) and abs(missing_width(build) + 2 * USUAL_RECESS) <= SAME_FAMILY


def recesses(build: Build) -> Outcomes:
    """Through ends read between their inner faces, while the hub ends sit in recesses."""
    if not recess_unknown(build):
        return
    missing = missing_width(build)
    if recess_forgotten(build):
        spacing = build.frame.dropout_spacing
        yield Finding(
            "caution",
            "recess-forgotten",
            f"The hub is {-missing:.1f} mm wider than the {spacing:g} mm read between the faces: that is twice the {USUAL_RECESS:g} mm "
            "recess of usual through ends, where the hub's ends sit.",
            f"Measure the recess and write frame.recess_depth = {USUAL_RECESS:g}: 142 is counted from the floor of one recess to the "
            "floor of the other, and the same frame reads 135 between its inner faces.",
        )
    else:
        yield Unchecked("whether the hub's ends sit in recesses of the frame's ends", ("frame.recess_depth",))


def axle_kind(build: Build) -> Outcomes:
    """A through axle in slots and the reverse."""
    lacking = unknown(build, "hub.axle", "frame.dropout")
    if lacking:
        yield Unchecked("whether axle and ends are of one kind", lacking)
        return
    axle, ends = build.hub.axle, build.frame.dropout
    if axle == "through" and ends == "slot":
        yield Finding(
            "stop",
            "through-axle-in-slots",
            "The hub is made for a through axle, the frame has slots: nothing holds that axle in a slot.",
            "Take a hub with a quick-release or nutted axle, or end caps that the hub's maker sells for slots.",
        )
    elif axle != "through" and ends == "through":
        yield Finding(
            "stop",
            "slot-axle-in-through-ends",
            f"The hub has a {axle} axle, the frame's ends are closed and take a through axle only.",
            "Take a through-axle hub, or end caps that the hub's maker sells; the hub's bore must let the frame's axle pass.",
        )


def axle_diameter(build: Build) -> Outcomes:
    """An axle too thick for the ends, or loose in them."""
    lacking = unknown(build, "hub.axle_diameter", "frame.axle_diameter")
    if lacking:
        yield Unchecked("whether the axle goes into the ends", lacking)
        return
    axle, ends = build.hub.axle_diameter, build.frame.axle_diameter
    through = build.frame.dropout == "through"
    if axle - ends > build.limits.axle_over_end_stop:
        yield Finding(
            "stop",
            "axle-too-thick",
            f"The hub's axle is {axle:g} mm thick, the frame's ends take {ends:g} mm: {axle - ends:.1f} mm too thick.",
            "Take another axle or hub. Do not file the ends: that weakens the frame and moves the wheel.",
        )
    elif ends - axle > build.limits.axle_under_end_caution:
        yield Finding(
            "stop" if through else "caution",
            "axle-too-thin",
            f"The hub's axle is {axle:g} mm thick, the frame's ends are made for {ends:g} mm: {ends - axle:.1f} mm of play.",
            "Take end caps or an adapter made for it."
            if through
            else "Seat the wheel by hand, in the middle, before you clamp it.",
        )


def stub_wanted(build: Build) -> tuple[float, float] | None:
    """Return the (least, most) axle that may stand out beyond a locknut [mm]; None where it cannot be told.

    A quick release: at least half of the end's thickness to carry the wheel, at most all of it, or the lever clamps the
    axle and not the frame. A nutted axle: the end's thickness and the whole nut.
    """
    if "frame.dropout_thickness" not in build:
        return None
    thick = build.frame.dropout_thickness
    if build.hub.axle == "quick release":
        return thick * build.limits.stub_of_dropout_stop, thick
    if build.hub.axle == "nutted" and "hub.nut_length" in build:
        return thick + build.hub.nut_length - build.limits.nut_beyond_end_stop, math.inf
    return None


def stub_keys(build: Build) -> tuple[str, ...]:
    """Return the keys that are missing to check the axle's ends; none for a through axle."""
    axle = build.hub.axle
    if axle not in ("quick release", "nutted"):
        return () if axle else ("hub.axle",)
    more = ("hub.nut_length",) if axle == "nutted" else ()
    return unknown(build, "hub.axle_protrusion", "frame.dropout_thickness", *more)


def stubs(build: Build, spacers: Spacing, *, chosen: bool) -> Outcomes:
    """Check what is left of the axle beyond the locknuts.

    Parameters
    ----------
    build : axle, ends, nut
    spacers : that are fitted or proposed
    chosen : whether they are fitted: then the axle counts where it stands; else it may still be moved sideways
    """
    lacking = stub_keys(build)
    if lacking:
        yield Unchecked("how much axle stands in the ends", lacking)
    wanted = stub_wanted(build)
    if lacking or wanted is None:
        return
    left, right = stub_lengths(build, spacers)
    each = (left + right) / 2
    if min(left, right) < wanted[0] - 1e-6:
        yield _short(build, (left, right), wanted[0], "stop" if chosen else "caution")
    if max(left, right) > wanted[1] + 1e-6 and (chosen or each > wanted[1] + 1e-6):
        yield _long((left, right), wanted[1])


def stub_lengths(build: Build, spacers: Spacing) -> tuple[float, float]:
    """Axle beyond the left and right locknut [mm], where it stands in the hub."""
    moved = build.hub.axle_moved
    reach = build.number("hub.axle_protrusion")
    return reach - spacers.left - moved, reach - spacers.right + moved


def _short(build: Build, stubs: tuple[float, float], least: float, level: Level) -> Finding:
    each = sum(stubs) / 2
    enough = each >= least - 1e-6
    nutted = build.hub.axle == "nutted"
    side = SIDES[0] if stubs[0] < stubs[1] else SIDES[1]
    needs = (
        f"the end and the whole nut need {least:.1f} mm; a nut that is not fully on its thread lets go"
        if nutted
        else f"less than half of the end's {build.frame.dropout_thickness:g} mm, so the end does not rest on it"
    )
    move = abs(stubs[0] - stubs[1]) / 2
    moved = build.hub.axle_moved + (stubs[0] - stubs[1]) / 2
    return Finding(
        "stop" if level == "stop" or not enough else "caution",
        "stub-short",
        f"The axle would stand {min(stubs):.1f} mm beyond {_locknut(stubs, side)}: {needs}.",
        f"Screw the axle {move:.1f} mm to the {side} through the hub, which leaves {each:.1f} mm on both sides, and write "
        f"hub.axle_moved = {moved:g}."
        if enough
        else f"Even in the middle it would be {each:.1f} mm a side: fit an axle {2 * (least - each):.1f} mm longer, or fewer spacers.",
    )


def _locknut(stubs: tuple[float, float], side: str) -> str:
    return f"the {side} locknut" if f"{stubs[0]:.1f}" != f"{stubs[1]:.1f}" else "either locknut"


def _long(stubs: tuple[float, float], most: float) -> Finding:
    each = sum(stubs) / 2
    side = SIDES[0] if stubs[0] > stubs[1] else SIDES[1]
    return Finding(
        "stop",
        "stub-long",
        f"The axle stands {max(stubs):.1f} mm beyond {_locknut(stubs, side)}, {max(stubs) - most:.1f} mm more than the end is thick: "
        "the quick release would clamp the axle, not the frame, and the wheel can fall out.",
        f"Screw the axle {abs(stubs[0] - stubs[1]) / 2:.1f} mm to the {opposite(side)} (hub.axle_moved)."
        if each <= most + 1e-6
        else f"Shorten the axle by {2 * (each - most):.1f} mm in all, or put washers between end and lever.",
    )
