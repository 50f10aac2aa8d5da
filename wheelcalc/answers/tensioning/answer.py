"""Of `tension`: what the answer holds, and how it says it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer
from wheelcalc.answers.tensioning import page as said
from wheelcalc.answers.tensioning.riding import Riding
from wheelcalc.answers.tensioning.side import SideTension
from wheelcalc.arrays import Floats, in_rows
from wheelcalc.build.whole import Build
from wheelcalc.joined import solved
from wheelcalc.joined.solved import StructureFigures, Sureness
from wheelcalc.joined.surer import Surer, surer
from wheelcalc.joined.target import Target
from wheelcalc.page.blocks import Page, Sentence, listed
from wheelcalc.tension import targets
from wheelcalc.tension.balance import Rest
from wheelcalc.tension.remedies import Remedy
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.wheel.parts import SIDES, opposite
from wheelcalc.wheel.wheel import Wheel

# D (simulation): error of a tension told from an uncalibrated pitch, middling to extreme ends.
EAR = "6 to 22 %"


@dataclass(frozen=True, kw_only=True)
class TensionAnswer(Answer):
    """Answer of `tension`; the parts of the wheel are there for a notebook.

    Parameters
    ----------
    target : None where there is none
    rest : the balanced tensions of the spokes, None where there are none
    figures : of the structure, None without a section or without a target
    estimate : the rim's section, None where facts are missing
    sureness : how sure each figure is, and by what; None without figures
    """

    schema: ClassVar[str] = "wheelcalc/tension/1"
    records: ClassVar[str] = "spokes"
    build: Build
    wheel: Wheel
    target: Target
    sides: Mapping[str, SideTension]
    ratio: float | None
    rest: Rest | None
    figures: StructureFigures | None
    estimate: SectionEstimate | None
    sureness: Sureness | None
    riding: Riding | None
    remedies: Sequence[Remedy]

    def page(self, *, working: bool = False, structure: bool = False) -> Page:
        """Return the targets first, then how to get there and what riding does.

        Parameters
        ----------
        working : with the formulas
        structure : with the figures of the wheel as a structure
        """
        tighter = self.tighter
        limited = self.target.known and self.target.limits  # then the limit says what the target rests on
        figures = self.figures
        slack_spoke = figures.slack_spoke if figures else None
        aimed = self.sides[tighter].target_N is not None
        return Page(
            verdict=said.verdict(self.sides, tighter, stops=self.stops),
            title=f"{self.title}: how tight",
            answer=[
                *said.sides_table(self.sides, tighter),
                *said.balance(tighter, self.slacker, self.slack_share),
                *said.limits(self.target.limits),
            ],
            findings=self.findings,
            details=[
                *said.remedies(self.remedies, self.slacker),
                *(said.by_hand(tighter, self.ear) if aimed else []),
                *said.riding(self.riding, self.wheel),
                *(said.structure(self.figure_rows(), tighter, slack_spoke) if structure else []),
                *([Sentence(str(self.surer))] if structure and self.surer else []),
                *(listed(self.working(), "Working:") if working else []),
            ],
            assumptions=[each for each in self.assumptions if not limited or each != self.target.assumptions[0]],
        )

    def content(self) -> dict[str, Any]:
        """Return targets, limits, structure, load, remedies and the spokes."""
        return {
            "sides": {side: vars(self.sides[side]) for side in SIDES},
            "ratio_left_to_right": self.ratio,
            "limits": [each._asdict() for each in self.target.limits],
            "structure": self._structure_json(),
            "load": self.riding.as_json(self.wheel) if self.riding else None,
            "remedies": [vars(each) for each in self.remedies],
            "spokes": self.spoke_rows(),
        }

    def _structure_json(self) -> dict[str, Any] | None:
        if self.figures is None or self.sureness is None or self.estimate is None:
            return None
        surer = {"surer": self.surer.as_json() if self.surer else None}
        return solved.as_json(self.figures, self.sureness, self.estimate) | surer

    @cached_property
    def surer(self) -> Surer | None:
        """The least sure figure of the structure, and what would help; None without figures or where nothing would."""
        if self.figures is None or self.sureness is None or self.estimate is None:
            return None
        return surer(self.build, self.figures, self.sureness, self.estimate)

    def _sure_to(self, name: str) -> float | None:
        """What a figure of the structure is sure to, 19 times in 20; None where nothing makes it unsure."""
        sigma = self.sureness.sigma(name) if self.sureness else None
        return None if sigma is None else self.within(sigma)

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
        within = self._sure_to("windup_stiffness")
        return None if within is None else math.radians(within) / 1000

    def figure_rows(self) -> list[tuple[str, float | None, float | None, str]]:
        """Return the structure's figures: words, value, what it is sure to (None: exact), unit; none without one."""
        figures = self.figures
        if figures is None:
            return []
        named = (
            ("radial stiffness, rim hole 1", "radial_stiffness", "N/mm"),
            ("lateral stiffness, rim hole 1", "lateral_stiffness", "N/mm"),
            ("four loads sideways by turns", "four_point", "N/mm"),
            ("tension that buckles the rim", "buckling_tension", "N"),
            ("load that slackens a spoke", "slack_load", "N"),
            ("rim shrinks in radius", "rim_shrink", "mm"),
        )
        rows = [(words, getattr(figures, name), self._sure_to(name), unit) for words, name, unit in named]
        rows.insert(3, ("wind-up of hub in rim", self.windup_Nm_per_degree, self.windup_within, "N m/degree"))
        return rows

    @property
    def ear(self) -> str:
        """How to use the pitch, and how far the ear can be trusted."""
        tighter = self.sides[self.tighter]
        return (
            f"By ear{self.pair}: equal notes on a side are even; a semitone is {tighter.semitone_N:.0f} N {self.tighter}, "
            f"{self.sides[self.slacker].semitone_N:.0f} N {self.slacker}; how tight, the ear tells to {EAR} only."
        )

    @property
    def pair(self) -> str:
        """What crossed spokes ask of the ear, since two that touch sound together; empty where none cross."""
        if not (self.wheel.lacing.crosses > 0).any():
            return ""
        return ", each spoke held apart from the one it touches"

    def spoke_rows(self) -> list[dict[str, Any]]:
        """Return the spokes in rim-hole order with their tensions, unloaded and with the rider standing still."""
        lacing = self.wheel.lacing
        columns: dict[str, Any] = {
            "rim_hole": lacing.rim_hole,
            "side": lacing.sides,
            "direction": lacing.directions,
            "tension_N": _column(self.rest.tensions if self.rest else None, len(lacing)),
            "loaded_N": _column(self.riding.still.tensions if self.riding else None, len(lacing)),
        }
        return in_rows(columns)

    def working(self) -> list[str]:
        """Return the side balance and the bounds with the numbers put in."""
        return _working(self)


def _column(values: Floats | None, count: int) -> Floats | list[None]:
    return [None] * count if values is None else values


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
        f"{each.name}: {each.value_N:.0f} N on {each.side} is reached with the {answer.tighter} side at "
        f"{targets.on_tighter(each, share):.0f} N"
        for each in target.limits
    ]
    evenness = answer.build.tension.evenness
    for name, side in answer.sides.items():
        if side.target_N is not None and side.high_N is not None and side.low_N is not None:
            lines.append(
                f"{name}: {side.target_N:.0f} N less {evenness:g} % = {side.low_N:.0f} N, more {evenness:g} % "
                f"(at most its lowest limit, {targets.lowest_on(name, target.limits):.0f} N) = {side.high_N:.0f} N"
            )
    return lines
