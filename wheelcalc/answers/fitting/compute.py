"""`fit`: does the hub go into this frame, with which spacers, and does the chain run straight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from wheelcalc.answers.base import Source, defaults_taken, opened
from wheelcalc.answers.fitting import chain as fit_chain
from wheelcalc.answers.fitting import geometry as fit_geometry
from wheelcalc.answers.fitting import sentences as fit_words
from wheelcalc.answers.fitting import shell as fit_shell
from wheelcalc.answers.fitting.answer import FitAnswer
from wheelcalc.answers.fitting.chain import Chain
from wheelcalc.answers.fitting.geometry import Geometry
from wheelcalc.answers.fitting.plans import forbidden
from wheelcalc.answers.fitting.shell import Shell
from wheelcalc.answers.fitting.width import Width, bare_offsets, flanges, hub_in_frame
from wheelcalc.bike import clearances, donor
from wheelcalc.bike import fit as ends
from wheelcalc.bike import width as widths
from wheelcalc.bike.fit import Unchecked
from wheelcalc.bike.spacers import CLOSE, Plans, Seat, from_drawer, judged, multiples
from wheelcalc.bike.stacks import Stacks, made_of
from wheelcalc.bike.width import Spacing, Verdict
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.files.needs import demand, missing
from wheelcalc.measuring import assemble
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

NONE = Spacing(0.0, 0.0)


def fit(source: Source, overrides: Sequence[str] = ()) -> FitAnswer:
    """Whether the hub fits the frame, with which spacers, and how the chain runs.

    Parameters
    ----------
    source : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    overrides : "KEY=VALUE" each

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    build = opened(source, overrides)
    with build.named():
        return _answer(build.title, build.dimensions)


def _answer(title: str, known: Build) -> FitAnswer:
    ends.refuse_contradictions(known)
    fit_chain.refuse_implausible(known)
    width = _width(known)
    geometry, shell = fit_geometry.geometry_of(known), fit_shell.shell_of(known)
    if width is None and geometry is None and shell is None and fit_chain.chain_of(known, NONE) is None:
        demand("fit", known)
    wheel, trouble = _bare_wheel(known)
    chosen = widths.chosen_spacers(known)
    plans, spacers, state = _planned(known, width, wheel, chosen)
    chain = fit_chain.chain_of(known, spacers)
    found = [
        *trouble,
        *hub_in_frame(known, width, spacers, chosen),
        *flanges(known, state),
        *_parts(known, spacers),
        *fit_chain.findings(known, chain),
        *fit_shell.findings(known, shell),
        *fit_geometry.findings(known, geometry),
    ]
    findings = by_weight([each for each in found if isinstance(each, Finding)])
    return FitAnswer(
        build=title,
        findings=findings,
        assumptions=_assumptions(known, chain, shell, geometry),
        known=known,
        verdict=None if width is None else _verdict(known, width, spacers, findings),
        width=width,
        plans=plans,
        chosen=chosen,
        spacers=spacers,
        state=state,
        stacks=_stacks(known, spacers),
        wheel=wheel,
        chain=chain,
        shell=shell,
        geometry=geometry,
        not_checked=list(dict.fromkeys(each for each in found if isinstance(each, Unchecked))),
    )


def _width(known: Build) -> Width | None:
    if missing("fit", known):
        return None
    return Width(
        frame=widths.frame_width(known),
        hub=known.hub.over_locknut,
        missing=widths.missing_width(known),
        sigma=widths.missing_sigma(known),
    )


def _bare_wheel(known: Build) -> tuple[Wheel | None, list[Finding | Unchecked]]:
    """Return the wheel with the bare hub, where it is known and can be built; else say what stands in the way."""
    lacking = missing("lengths", known)
    if lacking:
        keys = tuple(dict.fromkeys(ways[0] for ways in lacking))
        return None, [Unchecked("the spokes' side balance and their change of length", keys)]
    try:
        return assemble.wheel(known.having({f"spacers.fitted.{side}": None for side in SIDES})), []
    except InputError as error:
        text = f"The wheel itself cannot be computed, so the plans have no tension ratio: {error}."
        return None, [Finding("note", "wheel-not-computed", text, "`wheelcalc lengths` says more.")]


def _seat(known: Build, width: Width, wheel: Wheel | None) -> Seat:
    protrusion = None if known.hub.axle == "through" else known.hub.axle_protrusion
    stub = ends.stub_wanted(known)
    return Seat(
        missing=width.missing,
        offsets=bare_offsets(known),
        wheel=wheel,
        chainline_error=None if known.position == "front" else fit_chain.bare_error(known),
        protrusion=None if protrusion is None else float(protrusion),
        stub=None if protrusion is None else stub,
        axle_moved=known.hub.axle_moved,
        wheel_offset=known.frame.wheel_offset,
    )


def _planned(
    known: Build, width: Width | None, wheel: Wheel | None, chosen: Spacing | None
) -> tuple[Plans | None, Spacing, Plans | None]:
    """Return all plans, the spacers fitted (else those of the best plan), and what those do."""
    if width is None:
        return None, chosen or NONE, None
    seat = _seat(known, width, wheel)
    plans = _plans(known, width, seat)
    spacers = chosen or _proposed(plans, known)
    return plans, spacers, judged(np.array([spacers]), seat)


def _proposed(plans: Plans, known: Build) -> Spacing:
    """Return the best plan that nothing forbids: as it is where that is as wide as the best; else simply the best."""
    left_over = np.abs(plans.width_left_over)
    near = left_over <= max(float(left_over[0]), known.frame.width_slack) + CLOSE
    as_it_is = (plans.left == 0) & (plans.right == 0) & (left_over <= left_over[0] + CLOSE)
    tried = [*np.flatnonzero(as_it_is).tolist(), *np.flatnonzero(near).tolist()]
    best = next((index for index in tried if not forbidden(plans, index, known)), 0)
    return Spacing(float(plans.left[best]), float(plans.right[best]))


def _plans(known: Build, width: Width, seat: Seat) -> Plans:
    """All plans, best first.

    Without a list of spacers on hand a hub that goes in as it is gets none added, only those moved that are on it.
    """
    loose: Mapping[str, Sequence[float]] = known.hub.loose_spacers
    slack = known.frame.width_slack
    on_hand = known.spacers.on_hand
    if width.missing > known.limits.spacers_most + slack:
        ways = np.zeros((1, 2))
    elif on_hand is not None:
        ways = from_drawer(width.missing, slack, on_hand, loose)
    else:
        ways = multiples(0.0 if widths.closeness(known, width.missing) == "fits" else width.missing, loose)
    return judged(ways, seat).best_first(rotor=clearances.has_rotor(known))


def _stacks(known: Build, spacers: Spacing) -> Stacks | None:
    """Return which spacers make a plan up; end caps of a through axle are not stacked."""
    on_hand, loose = known.value("spacers.on_hand", {}), known.hub.loose_spacers
    if not any(spacers) or not (on_hand or loose) or known.hub.axle == "through":
        return None
    return made_of(*spacers, on_hand, loose)


def _verdict(known: Build, width: Width, spacers: Spacing, findings: Sequence[Finding]) -> Verdict:
    never = {"through-axle-in-slots", "slot-axle-in-through-ends", "axle-too-thick", "148-into-narrower"}
    if any(finding.name in never for finding in findings):
        return "does not fit"
    return widths.verdict(widths.closeness(known, width.missing - sum(spacers)), spacers)


def _parts(known: Build, spacers: Spacing) -> list[Finding | Unchecked]:
    """What protects the rider besides the width."""
    freewheels = [str(row["name"]).split()[0].lower() for row in tables.load("threads") if row["part"] == "freewheel"]
    return [
        *donor.brakes(known),
        *donor.brake_arm(known),
        *donor.fixed_cog(known),
        *donor.drive(known),
        *donor.threads(known, freewheels),
        *clearances.chain_to_dropout(known, spacers, fit_chain.chain_width(known)),
        *clearances.cogs_to_spokes(known),
        *clearances.rotor_gap(known, spacers),
        *clearances.rotor_place(known, spacers),
        *clearances.tyre_gap(known),
        *clearances.pad_gap(known),
    ]


def _assumptions(known: Build, chain: Chain | None, shell: Shell | None, geometry: Geometry | None) -> list[str]:
    said, defaults = fit_words.families(known), ["frame.wheel_offset"]
    if not missing("fit", known):
        defaults += ["frame.spacing_to", "frame.recess", "frame.width", "frame.spring"]
        said += [
            *fit_words.measured_between(known),
            "A wheel that exists is taken to have its rim midway between its locknuts.",
            "Steel is sprung in up to frame.spring_at_most and set to a width beyond; aluminium, titanium and carbon never (the schools: "
            "`wheelcalc tables spreading`).",
        ]
        if "spacers.on_hand" not in known:
            said.append("No spacers are on hand (spacers.on_hand), so any multiple of 0.5 mm is taken, on either side.")
    said += [*fit_chain.assumptions(known, chain), *([shell.how] if shell else [])]
    said += fit_geometry.assumptions(known, geometry)
    return [*said, *defaults_taken(known, defaults)]
