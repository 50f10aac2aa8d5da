"""`tension`: how tight each side is to be, what limits it, what riding takes away, and the wheel as a structure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers import solved, tension_findings
from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.answers.checks import build_findings
from wheelcalc.answers.riding import TYRE_TAKES, Riding, carries_torque, riding
from wheelcalc.answers.rim_section import said, section_of
from wheelcalc.answers.solved import Figures
from wheelcalc.answers.spoke_tone import per_semitone, pitches
from wheelcalc.answers.target import Target, target_of
from wheelcalc.files.needs import demand
from wheelcalc.measuring import assemble
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.tension import balance, remedies, targets, tone
from wheelcalc.tension.balance import Rest
from wheelcalc.tension.remedies import Leeway, Remedy
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.wheel.constants import NEWTON_PER_KGF, NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.parts import SIDES, opposite
from wheelcalc.wheel.wheel import Floats, Wheel

PREFIXES = ("tension.", "pluck.end_hold")
# D (simulation): error of a tension told from an uncalibrated pitch, middling to extreme ends.
EAR = "6 to 22 %"


@dataclass(frozen=True)
class SideTension:
    """How tight one side is to be; None where no target can be set.

    Parameters
    ----------
    count : spokes
    target, low, high : [N]
    pitch, low_pitch, high_pitch : of a whole spoke held apart from one that touches it [Hz]
    note : nearest to the pitch, "F4"
    semitone : tension to add for a pitch one semitone higher [N]
    """

    count: int
    target: float | None = None
    low: float | None = None
    high: float | None = None
    pitch: float | None = None
    low_pitch: float | None = None
    high_pitch: float | None = None
    note: str | None = None
    semitone: float | None = None


@dataclass(frozen=True, kw_only=True)
class TensionAnswer(Answer):
    """Answer of `tension`; the parts of the wheel are there for a notebook.

    Parameters
    ----------
    target : None where there is none
    rest : the balanced tensions of the spokes, None where there are none
    figures : of the structure, None without a section or without a target
    sigmas : standard uncertainty that the guessed section leaves in each figure; empty unless asked for
    """

    schema: ClassVar[str] = "wheelcalc/tension/1"
    known: Dimensions
    wheel: Wheel
    target: Target
    sides: Mapping[str, SideTension]
    ratio: float | None
    rest: Rest | None
    figures: Figures | None
    sigmas: Mapping[str, float]
    riding: Riding | None
    remedies: Sequence[Remedy]

    def content(self) -> dict[str, Any]:
        """Return targets, limits, structure, load, remedies and the spokes."""
        return {
            "sides": {side: _side_json(self.sides[side]) for side in SIDES},
            "ratio_left_to_right": self.ratio,
            "limits": [
                {"name": each.name, "value_N": each.value, "side": each.side, "reason": each.reason}
                for each in self.target.limits
            ],
            "structure": self.figures.as_json() if self.figures else None,
            **({"structure_sigma": self._sigmas_json()} if self.sigmas else {}),
            "load": self.riding.as_json(self.wheel) if self.riding else None,
            "remedies": [
                {"name": each.name, "text": each.text, "slack_side_N": each.slack, "gain_N": each.gain}
                for each in self.remedies
            ],
            "spokes": self.spoke_rows(),
        }

    def _sigmas_json(self) -> dict[str, float]:
        return {solved.JSON_NAMES[name]: sigma for name, sigma in self.sigmas.items()}

    def within(self, name: str) -> float | None:
        """What a figure of the structure is sure to, 19 times in 20; None where that was not asked for."""
        return NINETEEN_IN_TWENTY * self.sigmas[name] if name in self.sigmas else None

    @property
    def tighter(self) -> str:
        """The side whose spokes must be tighter."""
        return targets.tighter_side(self.wheel)

    @property
    def slacker(self) -> str:
        """The other side."""
        return opposite(self.tighter)

    @property
    def slack_share(self) -> float | None:
        """Slacker side's tension over the tighter one's; None where no tensions keep the rim in its plane."""
        return None if self.ratio is None else min(self.ratio, 1 / self.ratio)

    @property
    def windup_Nm_per_degree(self) -> float | None:  # noqa: N802 - the unit's own capitals
        """Torque on the hub over its turn in the rim [N m/degree]."""
        stiffness = self.figures.windup_stiffness if self.figures else None
        return None if stiffness is None else math.radians(stiffness) / 1000

    @property
    def windup_within(self) -> float | None:
        """What it is sure to, 19 times in 20 [N m/degree]."""
        within = self.within("windup_stiffness")
        return None if within is None else math.radians(within) / 1000

    @property
    def ear(self) -> str:
        """How to use the pitch, and how far the ear can be trusted."""
        tighter = self.sides[self.tighter]
        return (
            f"By ear: pluck near the middle and read a tuner on the phone. Spokes of one side with one note are evenly tight: a "
            f"semitone is {tighter.semitone:.0f} N on the {self.tighter} ({self.sides[self.slacker].semitone:.0f} N on the "
            f"{self.slacker}). How tight they are, the ear alone tells to {EAR} only: how the ends are held moves the note. Check a "
            "few spokes with a gauge."
        )

    @property
    def pair(self) -> str:
        """How two crossed spokes sound that touch; empty where none cross."""
        if not (self.wheel.lacing.crosses > 0).any():
            return ""
        return (
            "The note is that of one spoke held apart from the one it touches. Plucked as laced, two touching spokes sound "
            "together, and the note tells the mean of their tensions."
        )

    def spoke_rows(self) -> list[dict[str, Any]]:
        """Return the spokes in rim-hole order with their tensions, unloaded and with the rider standing still."""
        lacing = self.wheel.lacing
        columns: dict[str, list[Any]] = {
            "rim_hole": lacing.rim_hole.tolist(),
            "side": lacing.sides,
            "direction": lacing.directions,
            "tension_N": _column(self.rest.tensions if self.rest else None, len(lacing)),
            "loaded_N": _column(self.riding.still.tensions if self.riding else None, len(lacing)),
        }
        return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]

    def working(self) -> list[str]:
        """Return the side balance and the bounds with the numbers put in."""
        return _working(self)


def tension(source: Source, overrides: Sequence[str] = (), *, with_sigmas: bool = False) -> TensionAnswer:
    """How tight each side is to be.

    Parameters
    ----------
    source : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    overrides : "KEY=VALUE" each
    with_sigmas : also say how far the structure's figures depend on a guessed section

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    build = opened(source, overrides)
    with build.named():
        known = build.dimensions
        demand("tension", known)
        return _answer(build.title, known, assemble.wheel(known), with_sigmas=with_sigmas)


def _answer(title: str, known: Dimensions, wheel: Wheel, *, with_sigmas: bool) -> TensionAnswer:
    estimate = section_of(known)
    target = target_of(known, wheel, solved.buckling_limits(known, wheel, estimate))
    ratio = targets.ratio_left_to_right(wheel)
    aimed = target.known and ratio is not None
    rest = balance.at_rest(wheel, target.per_spoke) if aimed else None
    held = rest if rest is not None and rest.tensions.min() >= 0 else None
    structure = balance.structure_at(wheel, held, estimate.section) if held and estimate else None
    figures = solved.figures(wheel, structure) if structure else None
    loads = riding(known, structure) if structure and figures and figures.slack_load else None
    sides = {side: _side(known, wheel, target, side) if aimed else _no_target(wheel, side) for side in SIDES}
    blank = TensionAnswer(
        build=title,
        findings=[],
        assumptions=_assumptions(known, target, estimate, loads),
        known=known,
        wheel=wheel,
        target=target,
        sides=sides,
        ratio=ratio,
        rest=held,
        figures=figures,
        sigmas=solved.sigmas(wheel, held, estimate) if with_sigmas and figures and held and estimate else {},
        riding=loads,
        remedies=_remedies(known, wheel, target) if aimed else [],
    )
    return replace(blank, findings=by_weight([*build_findings(known, wheel), *tension_findings.found(blank)]))


def _side(known: Dimensions, wheel: Wheel, target: Target, side: str) -> SideTension:
    aim = target.tension[side]
    low, high = targets.bounds(aim, known.number("tension.evenness"), targets.lowest_on(side, target.limits))
    pitch, low_pitch, high_pitch = pitches(known, wheel, side, np.array([aim, low, high])).tolist()
    return SideTension(
        count=int(wheel.lacing.on(side).sum()),
        target=aim,
        low=low,
        high=high,
        pitch=pitch,
        low_pitch=low_pitch,
        high_pitch=high_pitch,
        note=tone.note_name(pitch),
        semitone=per_semitone(known, wheel, side, aim),
    )


def _no_target(wheel: Wheel, side: str) -> SideTension:
    return SideTension(count=int(wheel.lacing.on(side).sum()))


def _remedies(known: Dimensions, wheel: Wheel, target: Target) -> list[Remedy]:
    """What would raise the slack side, where it needs that even with the tighter side at its limit."""
    if remedies.slack_at_limit(wheel, target.limits) >= known.number("tension.floor_caution"):
        return []
    loose = known.value("hub.loose_spacers", {})
    leeway = Leeway(loose, carries_torque(known), known.number("limits.spoke_angle_stop"))
    return remedies.ranked(wheel, target.limits, leeway)


def _assumptions(
    known: Dimensions, target: Target, estimate: SectionEstimate | None, loads: Riding | None
) -> list[str]:
    return [
        target.assumptions[0],
        *(said(known, estimate) if estimate else []),
        *(loads.assumptions if loads else []),
        f"Tensions are those of the wheel without a tyre. A hard one (115 psi) takes about {TYRE_TAKES:.0%} off "
        "(J. Brandt, second hand); do not make up for it.",
        *defaults_taken(known, PREFIXES),
    ]


def _side_json(side: SideTension) -> dict[str, Any]:
    return {
        "count": side.count,
        "target_N": side.target,
        "low_N": side.low,
        "high_N": side.high,
        "pitch_hz": side.pitch,
        "low_pitch_hz": side.low_pitch,
        "high_pitch_hz": side.high_pitch,
        "note": side.note,
        "semitone_N": side.semitone,
    }


def _column(values: Floats | None, count: int) -> list[Any]:
    return [None] * count if values is None else values.tolist()


def _working(answer: TensionAnswer) -> list[str]:
    """Side balance, limits and bounds with the numbers put in."""
    wheel, target = answer.wheel, answer.target
    pull = targets.sideways_pull(wheel)
    lines = [
        f"{side}: sum of sideways / span over {answer.sides[side].count} spokes = {pull[side]:.4f} "
        f"(mean {wheel.offsets[wheel.lacing.on(side)].mean():.2f} / {wheel.spans[wheel.lacing.on(side)].mean():.2f} mm)"
        for side in SIDES
    ]
    if answer.ratio is None:
        return lines
    lines.append(f"T_left / T_right = {pull['right']:.4f} / {pull['left']:.4f} = {answer.ratio:.4f}")
    share = targets.by_side(wheel, 1.0)
    lines += [
        f"{each.name}: {each.value:.0f} N on {each.side} is reached with the {answer.tighter} side at "
        f"{targets.on_tighter(each, share):.0f} N"
        for each in target.limits
    ]
    evenness = answer.known.number("tension.evenness")
    for name, side in answer.sides.items():
        if side.target is not None and side.high is not None and side.low is not None:
            lines.append(
                f"{name}: {side.target:.0f} N less {evenness:g} % = {side.low:.0f} N, more {evenness:g} % "
                f"(at most its lowest limit, {targets.lowest_on(name, target.limits):.0f} N) = {side.high:.0f} N"
            )
    return lines


def in_kgf(force: float) -> float:
    """A force in kilograms-force, as tension gauges and rim makers state it, from newtons."""
    return force / NEWTON_PER_KGF
