"""`fit`: does the hub go into this frame, with which spacers, and does the chain run straight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

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
from wheelcalc.bike import clearances, donor, ends
from wheelcalc.bike import width as widths
from wheelcalc.bike.ends import Unchecked
from wheelcalc.bike.spacers import CLOSE, HubInFrame, Plans, from_drawer, judged, multiples
from wheelcalc.bike.stacks import Stacks, made_of
from wheelcalc.bike.width import Spacing, Verdict
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.needs import demand, missing
from wheelcalc.joined.findings import unlikely_readings
from wheelcalc.measuring import assemble
from wheelcalc.page.blocks import Brief
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

NONE = Spacing(0.0, 0.0)


def fit(source: Source, overrides: Overrides = (), **keys: Any) -> FitAnswer:
    """Whether the hub fits the frame, with which spacers, and how the chain runs.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    file = opened(source, overrides, keys)
    with file.named():
        return _answer(file.title, file.build)


def _answer(title: str, build: Build) -> FitAnswer:
    ends.refuse_contradictions(build)
    fit_chain.refuse_implausible(build)
    width = _width(build)
    geometry, shell = fit_geometry.geometry_of(build), fit_shell.shell_of(build)
    if width is None and geometry is None and shell is None and fit_chain.chain_of(build, NONE) is None:
        demand("fit", build)
    wheel, trouble = _bare_wheel(build)
    chosen = widths.chosen_spacers(build)
    plans, spacers, state = _planned(build, width, wheel, chosen)
    chain = fit_chain.chain_of(build, spacers)
    outcomes = [
        *trouble,
        *unlikely_readings(build),
        *hub_in_frame(build, width, spacers, chosen),
        *flanges(build, state),
        *_parts(build, spacers),
        *fit_chain.findings(build, chain),
        *fit_shell.findings(build, shell),
        *fit_geometry.findings(build, geometry),
    ]
    findings = by_weight([each for each in outcomes if isinstance(each, Finding)])
    return FitAnswer(
        title=title,
        findings=findings,
        assumptions=_assumptions(build, chain, shell, geometry),
        build=build,
        verdict=None if width is None else _verdict(build, width, spacers, findings),
        width=width,
        plans=plans,
        chosen=chosen,
        spacers=spacers,
        state=state,
        stacks=_stacks(build, spacers),
        wheel=wheel,
        chain=chain,
        shell=shell,
        geometry=geometry,
        not_checked=list(dict.fromkeys(each for each in outcomes if isinstance(each, Unchecked))),
    )


def _width(build: Build) -> Width | None:
    if missing("fit", build):
        return None
    return Width(
        frame=widths.frame_width(build),
        hub=build.hub.over_locknut,
        missing=widths.missing_width(build),
        sigma=widths.missing_sigma(build),
    )


def _bare_wheel(build: Build) -> tuple[Wheel | None, list[Finding | Unchecked]]:
    """Return the wheel with the bare hub, where it is build and can be built; else say what stands in the way."""
    lacking = missing("lengths", build)
    if lacking:
        keys = tuple(dict.fromkeys(ways[0] for ways in lacking))
        return None, [Unchecked("the spokes' side balance and their change of length", keys)]
    try:
        return assemble.wheel(build.having({f"spacers.fitted.{side}": None for side in SIDES})), []
    except InputError as error:
        text = f"The wheel itself cannot be computed, so the plans have no tension ratio: {error}."
        return None, [Finding("note", "wheel-not-computed", text, "`wheelcalc lengths` says more.")]


def _seat(build: Build, width: Width, wheel: Wheel | None) -> HubInFrame:
    protrusion = None if build.hub.axle == "through" else build.hub.axle_protrusion
    stub = ends.stub_wanted(build)
    return HubInFrame(
        missing=width.missing,
        offsets=bare_offsets(build),
        wheel=wheel,
        chainline_error=None if build.position == "front" else fit_chain.bare_error(build),
        protrusion=None if protrusion is None else float(protrusion),
        stub=None if protrusion is None else stub,
        axle_moved=build.hub.axle_moved,
        wheel_offset=build.frame.wheel_offset,
    )


def _planned(
    build: Build, width: Width | None, wheel: Wheel | None, chosen: Spacing | None
) -> tuple[Plans | None, Spacing, Plans | None]:
    """Return all plans, the spacers fitted (else those of the best plan), and what those do."""
    if width is None:
        return None, chosen or NONE, None
    seat = _seat(build, width, wheel)
    plans = _plans(build, width, seat)
    spacers = chosen or _proposed(plans, build)
    return plans, spacers, judged(np.array([spacers]), seat)


def _proposed(plans: Plans, build: Build) -> Spacing:
    """Return the best plan that nothing forbids: as it is where that is as wide as the best; else simply the best."""
    left_over = np.abs(plans.width_left_over)
    near = left_over <= max(float(left_over[0]), build.frame.width_slack) + CLOSE
    as_it_is = (plans.left == 0) & (plans.right == 0) & (left_over <= left_over[0] + CLOSE)
    tried = [*np.flatnonzero(as_it_is).tolist(), *np.flatnonzero(near).tolist()]
    best = next((index for index in tried if not forbidden(plans, index, build)), 0)
    return Spacing(float(plans.left[best]), float(plans.right[best]))


def _plans(build: Build, width: Width, seat: HubInFrame) -> Plans:
    """All plans, best first.

    Without a list of spacers on hand a hub that goes in as it is gets none added, only those moved that are on it.
    """
    loose: Mapping[str, Sequence[float]] = build.hub.loose_spacers
    slack = build.frame.width_slack
    on_hand = build.spacers.on_hand
    if widths.too_narrow(build):
        ways = np.zeros((1, 2))
    elif on_hand is not None:
        ways = from_drawer(width.missing, slack, on_hand, loose)
    else:
        ways = multiples(0.0 if widths.closeness(build, width.missing) == "fits" else width.missing, loose)
    return judged(ways, seat).best_first(rotor=build.has_rotor)


def _stacks(build: Build, spacers: Spacing) -> Stacks | None:
    """Return which spacers make a plan up; end caps of a through axle are not stacked."""
    on_hand, loose = build.spacers.on_hand or {}, build.hub.loose_spacers
    if not any(spacers) or not (on_hand or loose) or build.hub.axle == "through":
        return None
    return made_of(*spacers, on_hand, loose)


def _verdict(build: Build, width: Width, spacers: Spacing, findings: Sequence[Finding]) -> Verdict:
    never = {"through-axle-in-slots", "slot-axle-in-through-ends", "axle-too-thick", "148-into-narrower"}
    if widths.too_narrow(build) or any(finding.name in never for finding in findings):
        return "does not fit"
    return widths.verdict(widths.closeness(build, width.missing - sum(spacers)), spacers)


def _parts(build: Build, spacers: Spacing) -> list[Finding | Unchecked]:
    """What protects the rider besides the width."""
    freewheels = [str(row["name"]).split()[0].lower() for row in tables.load("threads") if row["part"] == "freewheel"]
    return [
        *donor.brakes(build),
        *donor.brake_arm(build),
        *donor.fixed_cog(build),
        *donor.drive(build),
        *donor.threads(build, freewheels),
        *clearances.chain_to_dropout(build, spacers, fit_chain.chain_width(build)),
        *clearances.cogs_to_spokes(build),
        *clearances.rotor_gap(build, spacers),
        *clearances.rotor_place(build, spacers),
        *clearances.tyre_gap(build),
        *clearances.pad_gap(build),
    ]


def _assumptions(build: Build, chain: Chain | None, shell: Shell | None, geometry: Geometry | None) -> list[str]:
    said: list[str] = [Brief(each) for each in fit_words.families(build)]
    defaults = ["frame.wheel_offset"]
    if not missing("fit", build):
        defaults += ["frame.spacing_to", "frame.recess", "frame.width", "frame.spring"]
        said += [
            *[Brief(each) for each in fit_words.measured_between(build)],
            Brief("A wheel that exists is taken to have its rim midway between its locknuts."),
            Brief(
                "Steel is sprung in up to frame.spring_at_most and set to a width beyond; aluminium, titanium and carbon never (the "
                "schools: `wheelcalc tables spreading`).",
            ),
        ]
        if "spacers.on_hand" not in build:
            said.append(
                Brief("No spacers are on hand (spacers.on_hand), so any multiple of 0.5 mm is taken, on either side.")
            )
    said += [
        *fit_chain.assumptions(build, chain),
        *([Brief(shell.how, shell.how if any(shell.spacers) else "")] if shell else []),
    ]
    said += fit_geometry.assumptions(build, geometry)
    return [*said, *defaults_taken(build, defaults)]
