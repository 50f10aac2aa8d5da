"""Gaps that protect a rider: chain, cogs, rotor, tyre, pad. What was not measured is named, never taken as bad."""

from __future__ import annotations

from wheelcalc.bike.ends import Outcomes, Unchecked, unknown
from wheelcalc.bike.width import Spacing, recess
from wheelcalc.build.whole import Build
from wheelcalc.wheel.findings import Finding, Level, gravest


def level_of(gap: float, build: Build, name: str) -> Level | None:
    """Stop or caution where a gap is under the limit of that name, None where it is enough."""
    return gravest(gap, build.limits.levels(name), under=True)


def chain_gap(build: Build, chain_width: float | None) -> tuple[float, str] | None:
    """Chain on the smallest cog to the right end without spacers [mm] and how it was found; None where unknown.

    Parameters
    ----------
    build : a measured gap goes before the one computed from the smallest cog
    chain_width : over its rivets, from the table of chains [mm]; None where unknown
    """
    if "cogs.chain_to_dropout" in build:
        return build.cogs.chain_to_dropout, "measured without the spacers"
    depth = recess(build)
    if "cogs.locknut_to_smallest" not in build or chain_width is None or depth is None:
        return None
    cog = build.cogs.locknut_to_smallest
    how = f"the smallest cog's {cog:g} mm less half a chain of {chain_width:g} mm"
    return cog - chain_width / 2 - depth, how + (f" and the recess of {depth:g} mm" if depth else "")


def chain_to_dropout(build: Build, spacers: Spacing, chain_width: float | None) -> Outcomes:
    """Chain on the smallest cog against the right dropout or stay.

    Parameters
    ----------
    build, chain_width : as in `chain_gap`
    spacers : fitted or proposed; the right one moves the chain away from the end
    """
    if build.position == "front" or build.hub.drive == "none":
        return
    bare = chain_gap(build, chain_width)
    if bare is None:
        lacking = unknown(build, "cogs.locknut_to_smallest", "cogs.count") or _recess_or("cogs.chain_to_dropout", build)
        yield Unchecked(
            "the gap from the chain on the smallest cog to the right end (or cogs.chain_to_dropout itself)", lacking
        )
        return
    gap, how = bare[0] + spacers.right, bare[1]
    if level_of(gap, build, "chain_to_dropout"):
        least = build.limits.chain_to_dropout_stop
        yield Finding(
            "stop",
            "chain-near-dropout",
            "The chain on the smallest cog would "
            + (f"run {gap:.1f} mm from" if gap >= 0 else f"cut {-gap:.1f} mm into")
            + f" the right dropout or stay ({how}"
            + (f", {spacers.right:+g} mm spacer" if spacers.right else "")
            + f"); {least:g} mm is the least: it would jam.",
            f"Add {least - gap:.1f} mm or more of spacer on the right, or leave the smallest cog off.",
        )


def _recess_or(key: str, build: Build) -> tuple[str, ...]:
    return ("frame.recess_depth",) if recess(build) is None else (key,)


def cogs_to_spokes(build: Build) -> Outcomes:
    """Largest cog against the spokes, and the limit screws."""
    if not build.has_derailleur or build.position == "front":
        return
    if "cogs.largest_to_spokes" not in build:
        yield Unchecked("the gap between the largest cog and the spokes", ("cogs.largest_to_spokes",))
    else:
        gap = build.cogs.largest_to_spokes
        level = level_of(gap, build, "cog_to_spokes")
        if level:
            yield Finding(
                level,
                "cog-near-spokes",
                f"The largest cog is {gap:g} mm from the spokes"
                + (
                    ": the derailleur or chain would go into them."
                    if level == "stop"
                    else ": little room for the derailleur."
                ),
                "Put a spacer behind the cogs, take a smaller stack, or lace the right side with heads in for room.",
            )
    yield Finding(
        "note",
        "limit-screws",
        "The cogs sit elsewhere: the derailleur's old stops no longer hold.",
        "Reset both limit screws before the first turn of the cranks: past the low stop lies the wheel, past the high stop the frame.",
    )


def rotor_gap(build: Build, spacers: Spacing) -> Outcomes:
    """Rotor against fork, calliper body and spokes; a spacer taken off on the left brings the fork nearer."""
    if build.frame.brake != "disc":
        return
    if "clearance.rotor_gap" not in build:
        yield Unchecked("the gap round the rotor (fork or stay, calliper body, spokes)", ("clearance.rotor_gap",))
        return
    gap = build.clearance.rotor_gap + min(spacers.left, 0.0)
    level = level_of(gap, build, "rotor_gap")
    if level:
        yield Finding(
            level,
            "rotor-near",
            f"The rotor has {gap:.1f} mm left to fork, calliper body or spokes.",
            "Take a smaller rotor or shim it; a rotor that touches when hot or in a bend can stop the wheel.",
        )


def rotor_inward(build: Build) -> float | None:
    """How much further in than the calliper wants it the bare hub's rotor sits [mm]; None where unknown or no disc."""
    depth = recess(build)
    if build.frame.brake != "disc" or not build.has_rotor or depth is None:
        return None
    if unknown(build, "hub.rotor_face", "frame.rotor_to_dropout"):
        return None
    return build.hub.rotor_face - depth - build.frame.rotor_to_dropout


def rotor_place(build: Build, spacers: Spacing) -> Outcomes:
    """Where the rotor sits against where the calliper wants it, both from the left end's inner face."""
    if build.frame.brake != "disc" or not build.has_rotor:
        return
    bare = rotor_inward(build)
    if bare is None:
        lacking = unknown(build, "hub.rotor_face", "frame.rotor_to_dropout") or ("frame.recess_depth",)
        yield Unchecked("whether the rotor runs where the calliper wants it", lacking)
        return
    inward = bare + spacers.left
    if abs(inward) > build.limits.rotor_place_caution:
        yield Finding(
            "caution",
            "rotor-misplaced",
            f"The rotor sits {abs(inward):.1f} mm further {'in' if inward > 0 else 'out'} than the calliper wants it.",
            "Shim the rotor out or move the spacer from the left to the right."
            if inward > 0
            else "Shim the calliper, or add a spacer left.",
        )


def tyre_gap(build: Build) -> Outcomes:
    """Tyre against frame or fork."""
    if "clearance.tyre_gap" not in build:
        yield Unchecked("the smallest gap between tyre and frame or fork", ("clearance.tyre_gap",))
        return
    yield from tight_tyre(build, build.clearance.tyre_gap, "The")


def tight_tyre(build: Build, gap: float, when: str) -> Outcomes:
    """Judge a gap of the tyre [mm]; `when` says in which state, such as "With the new wheel the"."""
    level = level_of(gap, build, "tyre_gap")
    sprung = bool(build.clearance.suspension)
    if level:
        text = f"{when} tyre has {gap:.1f} mm to frame or fork{' with the fork fully compressed' if sprung else ''}: "
        least = build.limits.named(f"tyre_gap_{level}")
        source = "16 CFR 1512.11(b)" if level == "stop" else "EN 14781 for racing bicycles"
        yield Finding(
            level,
            "tyre-near",
            text + f"under {least:g} mm ({source}).",
            "Take a narrower tyre. A stone or an untrue wheel closes a small gap, and a wheel that jams throws the rider.",
        )
    elif sprung:
        yield Finding(
            "note",
            "gap-when-compressed",
            "With a sprung fork the gap over the tyre counts with the fork fully compressed.",
            "Let the air out or take the spring out, press the fork down, and measure there.",
        )


def pad_gap(build: Build) -> Outcomes:
    """Pad of a rim brake against the tyre."""
    if build.frame.brake != "rim":
        return
    if "clearance.pad_gap" not in build:
        yield Unchecked("whether the brake pads can reach the tyre", ("clearance.pad_gap",))
        return
    gap, least = build.clearance.pad_gap, build.limits.pad_to_tyre_stop
    if gap < least - 1e-9:
        yield Finding(
            "stop",
            "pad-near-tyre",
            f"The brake pad's edge is {gap:g} mm from the tyre (under {least:g} mm): a pad that reaches the tyre cuts it through.",
            "Set the pads lower, so that they meet only the brake track; if they cannot go lower, take arms of longer reach.",
        )
