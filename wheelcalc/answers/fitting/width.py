"""Of `fit`: the hub between the frame's ends, its width, its axle, its flanges, in findings."""

from __future__ import annotations

from dataclasses import dataclass

from wheelcalc.answers.fitting import chain as fit_chain
from wheelcalc.answers.fitting.plans import balance_of
from wheelcalc.bike import ends
from wheelcalc.bike import width as widths
from wheelcalc.bike.clearances import rotor_inward
from wheelcalc.bike.ends import Unchecked
from wheelcalc.bike.spacers import Plans
from wheelcalc.bike.width import Spacing
from wheelcalc.build.whole import Build
from wheelcalc.files.needs import missing
from wheelcalc.measuring import assemble
from wheelcalc.measuring.findings import outside_locknuts
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES

IN_THE_FRAME = "whether the hub goes into the frame"


@dataclass(frozen=True)
class Width:
    """Hub against frame [mm].

    Parameters
    ----------
    frame, hub : width between the ends, and over the bare hub's locknuts
    missing : frame less hub
    sigma : standard uncertainty of it
    """

    frame: float
    hub: float
    missing: float
    sigma: float


def bare_offsets(build: Build) -> tuple[float, float] | None:
    """Offsets of the flanges of the bare hub [mm]; None where they cannot be had."""
    if any(f"hub.{side}.locknut_to_flange" not in build and f"hub.{side}.offset" not in build for side in SIDES):
        return None
    left, right = (assemble.flange_offset(build, side) for side in SIDES)
    return left, right


def hub_in_frame(
    build: Build, width: Width | None, spacers: Spacing, chosen: Spacing | None
) -> list[Finding | Unchecked]:
    """Whether the hub goes into the frame: width, axle and its ends, with these spacers."""
    if width is None:
        keys = tuple(ways[0] for ways in missing("fit", build))
        return [Unchecked(IN_THE_FRAME, keys)]
    left_over = width.missing - sum(spacers)
    axle = [*ends.axle_kind(build), *ends.axle_diameter(build)]
    never = any(isinstance(each, Finding) and each.level == "stop" for each in axle)
    return [
        *ends.width(build, left_over),
        *([] if never else _unsure(build, width, left_over)),
        *_drawer(build, width, left_over, chosen),
        *_undecided(build, width, spacers, chosen),
        *ends.spacers_on_through(build, spacers),
        *ends.recesses(build),
        *axle,
        *ends.stubs(build, spacers, chosen=chosen is not None),
    ]


def flanges(build: Build, state: Plans | None) -> list[Finding]:
    """Say where a flange cannot be, else how the spacers leave the balance of the sides."""
    if state is None or bare_offsets(build) is None:
        return []
    return [each for side in SIDES for each in outside_locknuts(build, side)] or balance_of(state, build)


def _unsure(build: Build, width: Width, left_over: float) -> list[Finding]:
    """Say that a better reading could turn the verdict."""
    within = NINETEEN_IN_TWENTY * width.sigma
    now, *others = (_goes_in(build, width.missing + error, left_over + error) for error in (0.0, -within, within))
    if all(other == now for other in others):
        return []
    return [
        Finding(
            "note",
            "width-unsure",
            f"The width is not sure enough (+-{within:.1f} mm): better readings could turn the verdict.",
            "Read frame.dropout_spacing and hub.over_locknut again with a calliper before you buy or bend anything.",
        )
    ]


def _goes_in(build: Build, missing: float, left_over: float) -> widths.Closeness:
    """How a hub goes in with its spacers, were the readings off by so much."""
    return "no" if missing > widths.most_filled(build) else widths.closeness(build, left_over)


def _drawer(build: Build, width: Width, left_over: float, chosen: Spacing | None) -> list[Finding]:
    if chosen or "spacers.on_hand" not in build or left_over <= build.frame.width_slack:
        return []
    return [
        Finding(
            "note",
            "spacers-lacking",
            f"The spacers on hand leave {left_over:.1f} mm of the {width.missing:.1f} mm open.",
            f"Get {left_over:.1f} mm more, washers of the axle's diameter; without [spacers] on_hand `fit` shows what thicknesses serve.",
        )
    ]


def _undecided(build: Build, width: Width, spacers: Spacing, chosen: Spacing | None) -> list[Finding]:
    """Say that too little is known to tell the plans apart."""
    told = bare_offsets(build) is not None or fit_chain.bare_error(build) is not None
    if chosen is not None or told or not any(spacers):
        return []
    text = "Neither flanges nor chainline are known, so nothing tells the plans apart"
    begin = f"{width.missing / 2:.1f} mm on each side moves neither rim nor cogs"
    if build.has_rotor:
        text += " but the rotor, which a spacer on the left moves"
        at_the_calliper = rotor_inward(build)
        if at_the_calliper is not None and at_the_calliper <= 0:
            begin = f"The rotor runs where the calliper wants it with {-at_the_calliper:.1f} mm on the left"
    remedy = f"{begin}; hub.left and hub.right locknut_to_flange tell which plan makes the spokes most even."
    return [Finding("note", "plans-undecided", f"{text}.", remedy)]
