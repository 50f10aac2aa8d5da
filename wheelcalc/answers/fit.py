"""`fit`: does the hub go into this frame, with which spacers, and does the chain run straight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers import fit_chain, fit_geometry, fit_words
from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.answers.fit_chain import Chain, Shell
from wheelcalc.answers.fit_geometry import Geometry
from wheelcalc.answers.fit_plans import Caution, cautions_of, plan_rows
from wheelcalc.answers.fit_width import IN_THE_FRAME, Width, bare_offsets, flanges, hub_in_frame
from wheelcalc.bike import clearances, donor
from wheelcalc.bike import fit as ends
from wheelcalc.bike import width as widths
from wheelcalc.bike.fit import Unchecked
from wheelcalc.bike.spacers import SAME, Plans, Seat, from_drawer, judged, multiples
from wheelcalc.bike.width import Spacing, Verdict
from wheelcalc.files import tables
from wheelcalc.files.needs import demand, how, missing
from wheelcalc.measuring import assemble
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

NONE = Spacing(0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class FitAnswer(Answer):
    """Answer of `fit`; what the build file does not allow is None.

    Parameters
    ----------
    verdict : one of the contract's four, with the spacers fitted, else with the best plan
    width : hub against frame
    plans : all of them, best first
    chosen : spacers that the build file says are fitted
    spacers : those that the verdict, the findings and the chain are for
    state : what those do, a single plan
    wheel : with the bare hub
    chain, shell, geometry : see their classes
    not_checked : what could not be checked, and the keys that would settle it
    """

    schema: ClassVar[str] = "wheelcalc/fit/1"
    known: Dimensions
    verdict: Verdict | None
    width: Width | None
    plans: Plans | None
    chosen: Spacing | None
    spacers: Spacing
    state: Plans | None
    wheel: Wheel | None
    chain: Chain | None
    shell: Shell | None
    geometry: Geometry | None
    not_checked: Sequence[Unchecked]

    def content(self) -> dict[str, Any]:
        """Return verdict, plans, chainline, shell and geometry."""
        return {
            "verdict": self.verdict,
            "width": None if self.width is None else {f"{name}_mm": value for name, value in vars(self.width).items()},
            "fitted": None if self.chosen is None else {"left_mm": self.chosen.left, "right_mm": self.chosen.right},
            "state": plan_rows(self.state, self.known)[0] if self.state else None,
            "plans": plan_rows(self.plans, self.known) if self.plans else [],
            "chainline": None if self.chain is None else self.chain.as_json(),
            "shell": None if self.shell is None else self.shell.spacers._asdict(),
            "geometry": None if self.geometry is None else self.geometry.as_json(),
            "not_checked": [{"what": each.what, "keys": list(each.keys)} for each in self.not_checked],
            "next_reading": self.next_reading(),
        }

    def next_reading(self) -> dict[str, Any] | None:
        """Return the one reading that settles most of what is open, and how it is taken."""
        key = most_wanted([check for check in self.not_checked if self.verdict or check.what == IN_THE_FRAME])
        if key is None:
            return None
        return {"key": key, "how": how(key), "settles": [each.what for each in self.not_checked if key in each.keys]}

    def sentence(self) -> str:
        """Return the verdict in one sentence."""
        return fit_words.sentence(self.verdict, self.width, self.spacers, self.chosen, self.stops)

    def steps(self) -> list[str]:
        """Return what to do, in order."""
        return fit_words.steps(self)

    def lines_to_paste(self) -> list[str]:
        """Return the lines of the build file that store the plan; none where nothing is to be stored."""
        return fit_words.lines_to_paste(self)

    def trade_off(self) -> str:
        """Say what the best plan for even spokes costs elsewhere; empty where there is no choice."""
        return fit_words.trade_off(self)

    def cautions(self, plan: int) -> list[Caution]:
        """Say why a plan should not be used."""
        return [] if self.plans is None else cautions_of(self.plans, plan, self.known)

    def state_cautions(self) -> list[Caution]:
        """Say why the spacers fitted or proposed should not be used."""
        return [] if self.state is None else cautions_of(self.state, 0, self.known)

    def is_fitted(self, plan: int) -> bool:
        """Whether a plan is the one that the build file says is fitted."""
        if self.plans is None or self.chosen is None:
            return False
        return bool(np.allclose(self.chosen, (self.plans.left[plan], self.plans.right[plan]), rtol=0, atol=SAME))

    def gear_marks(self) -> list[list[str]]:
        """Mark the gears: x cross-chained, s steep, both, or nothing; a list of cogs for each ring."""
        return [] if self.chain is None else self.chain.marks(self.known.number("limits.chain_angle_caution"))

    def straighter(self) -> str:
        """Say what each move buys; empty where a finding has said it, or nothing is to be had."""
        return fit_words.straighter(self)

    def working(self) -> list[str]:
        """Return the formulas with the numbers put in."""
        return fit_words.working(self)


def most_wanted(open_checks: Sequence[Unchecked]) -> str | None:
    """Key that settles most of what is open: a check counts one, shared among the keys that it lacks."""
    worth: dict[str, float] = {}
    for check in open_checks:
        for key in check.keys:
            worth[key] = worth.get(key, 0.0) + 1 / len(check.keys)
    return max(worth, key=lambda key: worth[key], default=None)


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


def _answer(title: str, known: Dimensions) -> FitAnswer:
    ends.refuse_contradictions(known)
    fit_chain.refuse_implausible(known)
    width = _width(known)
    geometry, shell = fit_geometry.geometry_of(known), fit_chain.shell_of(known)
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
        *fit_chain.shell_findings(known, shell),
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
        wheel=wheel,
        chain=chain,
        shell=shell,
        geometry=geometry,
        not_checked=list(dict.fromkeys(each for each in found if isinstance(each, Unchecked))),
    )


def _width(known: Dimensions) -> Width | None:
    if missing("fit", known):
        return None
    return Width(
        frame=widths.frame_width(known),
        hub=known.number("hub.over_locknut"),
        missing=widths.missing_width(known),
        sigma=widths.missing_sigma(known),
    )


def _bare_wheel(known: Dimensions) -> tuple[Wheel | None, list[Finding | Unchecked]]:
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


def _seat(known: Dimensions, width: Width, wheel: Wheel | None) -> Seat:
    protrusion = None if known.value("hub.axle") == "through" else known.value("hub.axle_protrusion")
    stub = ends.stub_wanted(known)
    return Seat(
        missing=width.missing,
        offsets=bare_offsets(known),
        wheel=wheel,
        chainline_error=None if known.value("position") == "front" else fit_chain.bare_error(known),
        protrusion=None if protrusion is None else float(protrusion),
        stub=None if protrusion is None else stub,
        axle_moved=float(known.value("hub.axle_moved", 0.0)),
        wheel_offset=float(known.value("frame.wheel_offset", 0.0)),
    )


def _planned(
    known: Dimensions, width: Width | None, wheel: Wheel | None, chosen: Spacing | None
) -> tuple[Plans | None, Spacing, Plans | None]:
    """Return all plans, the spacers fitted (else those of the best plan), and what those do."""
    if width is None:
        return None, chosen or NONE, None
    seat = _seat(known, width, wheel)
    plans = _plans(known, width, seat)
    spacers = chosen or Spacing(float(plans.left[0]), float(plans.right[0]))
    return plans, spacers, judged(np.array([spacers]), seat)


def _plans(known: Dimensions, width: Width, seat: Seat) -> Plans:
    """All plans, best first.

    Without a list of spacers on hand a hub that goes in as it is gets none added, only those moved that are on it.
    """
    loose: Mapping[str, Sequence[float]] = known.value("hub.loose_spacers", {})
    slack = known.number("frame.width_slack")
    on_hand = known.value("spacers.on_hand")
    if width.missing > known.number("limits.spacers_most") + slack:
        ways = np.zeros((1, 2))
    elif on_hand is not None:
        ways = from_drawer(width.missing, slack, on_hand, loose)
    else:
        ways = multiples(0.0 if widths.closeness(known, width.missing) == "fits" else width.missing, loose)
    return judged(ways, seat).best_first()


def _verdict(known: Dimensions, width: Width, spacers: Spacing, findings: Sequence[Finding]) -> Verdict:
    never = {"through-axle-in-slots", "slot-axle-in-through-ends", "axle-too-thick", "148-into-narrower"}
    if any(finding.name in never for finding in findings):
        return "does not fit"
    return widths.verdict(widths.closeness(known, width.missing - sum(spacers)), spacers)


def _parts(known: Dimensions, spacers: Spacing) -> list[Finding | Unchecked]:
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


def _assumptions(known: Dimensions, chain: Chain | None, shell: Shell | None, geometry: Geometry | None) -> list[str]:
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
