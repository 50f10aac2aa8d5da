"""`lengths`: how long the spokes are, how sure that is, and which reading to repeat."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.arrays import Floats, in_rows
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.needs import demand
from wheelcalc.joined.findings import build_findings
from wheelcalc.joined.target import Target, target_of
from wheelcalc.measuring import assemble
from wheelcalc.page.blocks import Block, Column, Heading, Page, Sentence, Table, Verbatim
from wheelcalc.page.numbers import error
from wheelcalc.spokes.lengths import DIRECTIONS, Share, combined, cut_lengths, error_budget, unread_shares, worst_share
from wheelcalc.wheel import give
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.joining import Lacing
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

PREFIXES = ("rim.", "hub.", "lacing.", "spokes.")
SKIPPED = ("hub.brake", "lacing.interlaced", "spokes.thread_length")
SPREAD_WORTH_SAYING = 0.05  # mm: below it trailing and leading are one length


@dataclass(frozen=True, eq=False)
class SideLengths:
    """One side's spokes.

    Parameters
    ----------
    count : spokes
    geometric, cut : mean lengths [mm]
    sigma : standard uncertainty of the cut length [mm]
    bracing_angle_deg : mean
    spread : longest less shortest [mm]
    by_direction : cut length of trailing and leading spokes where they differ [mm]
    """

    count: int
    geometric: float
    cut: float
    sigma: float
    bracing_angle_deg: float
    spread: float
    by_direction: Mapping[str, float]

    @property
    def within(self) -> float:
        """What the cut length is sure to, 19 times in 20 [mm]."""
        return NINETEEN_IN_TWENTY * self.sigma


@dataclass(frozen=True, kw_only=True, eq=False)
class LengthsAnswer(Answer):
    """Answer of `lengths`; the parts of the wheel are there for a notebook."""

    schema: ClassVar[str] = "wheelcalc/lengths/1"
    records: ClassVar[str] = "spokes"
    build: Build
    wheel: Wheel
    target: Target
    sides: Mapping[str, SideLengths]
    cut: Floats
    error_budget: Sequence[Share]

    def content(self) -> dict[str, Any]:
        """Return sides, spokes and error budget."""
        return {
            "sides": {side: _side_json(self.sides[side]) for side in SIDES},
            "spokes": spoke_rows(self.wheel, self.cut),
            "error_budget": [share._asdict() for share in self.error_budget],
        }

    def page(self, *, working: bool = False) -> Page:
        """Return both sides' lengths, then where their error comes from."""
        return Page(
            verdict=f"Not yet to order by: {self._said()}."
            if self.stops
            else f"Spokes to order: {self._said()}, before rounding.",
            title=f"{self.title}: spoke lengths",
            answer=[self._sides(), Sentence(self.advice())],
            findings=self.findings,
            details=[*self._budget(), *self._directions(), *(self.formulas() if working else [])],
            assumptions=self.assumptions,
        )

    def _said(self) -> str:
        return ", ".join(f"{side} {each.cut:.1f} +-{error(each.within)} mm" for side, each in self.sides.items())

    def _sides(self) -> Table:
        heads = {self.wheel.hub.flange(side).spoke_head for side in self.sides}
        start = " or ".join(
            words for head, words in (("elbow", "the elbow"), ("straight", "under the head")) if head in heads
        )
        columns = [
            Column("side", lambda each: each[0], "left"),
            Column("spokes", lambda each: str(each[1].count)),
            Column(
                "geometric mm",
                lambda each: f"{each[1].geometric:.1f}",
                meaning=f"slack, from {start} to the spoke's end",
            ),
            Column(
                "order mm",
                lambda each: f"{each[1].cut:.1f}",
                meaning="shorter than that, as the spoke stretches and the rim shrinks under tension",
            ),
            Column(
                "+- mm", lambda each: error(each[1].within), meaning="how accurate; 19 of 20 such errors are smaller"
            ),
            Column(
                "bracing deg",
                lambda each: f"{each[1].bracing_angle_deg:.1f}",
                meaning="between spoke and the rim's plane",
            ),
        ]
        return Table(columns, list(self.sides.items()))

    def _budget(self) -> list[Block]:
        columns = [
            Column("reading", lambda share: share.reading, "left"),
            Column("mm", lambda share: f"{share.sigma_mm:.2f}"),
            Column("side", lambda share: share.side, "left"),
            Column("length mm", lambda share: f"{share.effect_mm:.2f}"),
        ]
        heading = Heading("Where the error comes from, one standard uncertainty each:")
        return [heading, Table(columns, self.error_budget)] if self.error_budget else []

    def _directions(self) -> list[Block]:
        rows = [(name, way, length) for name, side in self.sides.items() for way, length in side.by_direction.items()]
        columns = [
            Column("side", lambda row: row[0], "left"),
            Column("direction", lambda row: row[1], "left"),
            Column("order mm", lambda row: f"{row[2]:.1f}"),
        ]
        return [Table(columns, rows)] if rows else []

    def in_short(self) -> str:
        """Return both lengths and which reading to repeat, as `order` says them."""
        return f"{self.said()} {self.advice()}" if worth_repeating(self.error_budget) else self.said()

    def said(self) -> str:
        """Return both lengths in a sentence."""
        return f"Lengths before rounding: {self._said()}."

    def advice(self) -> str:
        """Return the sentence that matters: which reading to repeat and what it would gain."""
        return repeat_advice(self.error_budget)

    def formulas(self) -> list[Block]:
        """Return the formula with the numbers put in, for the first spoke of each side."""
        return [Heading("Working (mm):"), Verbatim([line for side in SIDES for line in _working(self, side)])]


WORTH_SAYING = 0.9  # ours: of the error now; above, another reading gains nothing that a length would show


def worth_repeating(budget: Sequence[Share]) -> bool:
    """Whether reading the worst again could make a length noticeably surer, or no reading has an error yet."""
    worst = worst_share(budget)
    now = max(combined(budget, side) for side in SIDES)
    return worst is None or now - worst[1] < WORTH_SAYING * now


def repeat_advice(budget: Sequence[Share]) -> str:
    """Which reading to repeat and what it would gain, in one sentence."""
    worst = worst_share(budget)
    if worst is None:
        return (
            "Every reading counts as exact here: give the error of your tool, the lengths are not as sure as they look."
        )
    reading, gain = worst
    side = max(SIDES, key=lambda side: combined(budget, side))
    now = NINETEEN_IN_TWENTY * combined(budget, side)
    then = now - NINETEEN_IN_TWENTY * gain
    return (
        f"Read {reading} again first: if it were exact, the {side} length would be sure to "
        f"+-{then:.2f} mm instead of +-{now:.2f} mm."
    )


def lengths(source: Source, overrides: Overrides = (), **keys: Any) -> LengthsAnswer:
    """Spoke lengths of both sides with their errors.

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
        build = file.build
        demand("lengths", build)
        wheel = assemble.wheel(build)
        target = target_of(build, wheel)
        cut = cut_lengths(wheel, target.per_spoke, target.shrink)
        read = error_budget(build, partial(assemble.wheel, laced=_same_for_all(build, wheel)))
        unread = unread_shares(build, wheel, target.per_spoke, target.shrink, target.shrink_sigma)
        budget = sorted([*read, *unread], key=lambda share: -share.effect_mm)
        return LengthsAnswer(
            title=file.title,
            findings=by_weight([*build_findings(build, wheel), *_unequal(wheel, cut)]),
            assumptions=[*target.assumptions, *defaults_taken(build, PREFIXES, SKIPPED)],
            build=build,
            wheel=wheel,
            target=target,
            sides={side: _side(wheel, cut, budget, side) for side in SIDES},
            cut=cut,
            error_budget=budget,
        )


def _same_for_all(build: Build, wheel: Wheel) -> Lacing | None:
    """Return the lacing where no reading moves it; only seats in pairs lie closer on a larger circle."""
    return None if any(f"hub.{side}.pair_spacing" in build for side in SIDES) else wheel.lacing


def _side(wheel: Wheel, cut: Floats, budget: Sequence[Share], side: str) -> SideLengths:
    mask = wheel.lacing.on(side)
    ways = {name: cut[mask & (wheel.lacing.lean == lean)] for name, lean in DIRECTIONS}
    differ = (
        all(len(way) for way in ways.values()) and np.ptp([way.mean() for way in ways.values()]) > SPREAD_WORTH_SAYING
    )
    return SideLengths(
        count=int(mask.sum()),
        geometric=float(wheel.lengths[mask].mean()),
        cut=float(cut[mask].mean()),
        sigma=combined(budget, side),
        bracing_angle_deg=float(wheel.bracing_angles_deg[mask].mean()),
        spread=float(np.ptp(cut[mask])),
        by_direction={name: float(way.mean()) for name, way in ways.items()} if differ else {},
    )


def _side_json(side: SideLengths) -> dict[str, Any]:
    out: dict[str, Any] = {
        "count": side.count,
        "geometric_length_mm": side.geometric,
        "cut_length_mm": side.cut,
        "cut_length_sigma_mm": side.sigma,
        "bracing_angle_deg": side.bracing_angle_deg,
        "spread_mm": side.spread,
    }
    if side.by_direction:
        out["cut_length_by_direction_mm"] = dict(side.by_direction)
    return out


def spoke_rows(wheel: Wheel, cut: Floats) -> list[dict[str, Any]]:
    """Return the spokes in rim-hole order, as the JSON lists them."""
    lacing = wheel.lacing
    columns = {
        **lacing.columns,
        "rim_angle_deg": lacing.rim_angle_deg,
        "hub_angle_deg": lacing.hub_angle_deg,
        "geometric_length_mm": wheel.lengths,
        "cut_length_mm": cut,
        "bracing_angle_deg": wheel.bracing_angles_deg,
    }
    return in_rows(columns)


def _unequal(wheel: Wheel, cut: Floats) -> list[Finding]:
    findings = []
    for side in SIDES:
        spread = float(np.ptp(cut[wheel.lacing.on(side)]))
        if spread > SPREAD_WORTH_SAYING:
            text = f"The {side} spokes are not all of one length: {spread:.2f} mm from the shortest to the longest."
            findings.append(
                Finding(
                    "note", "unequal-lengths", text, "See the list of spokes; `order` says which length goes where."
                )
            )
    return findings


def _working(answer: LengthsAnswer, side: str) -> list[str]:
    wheel = answer.wheel
    index = int(np.flatnonzero(wheel.lacing.on(side))[0])
    flange = wheel.hub.flange(side)
    rim, hub, w = wheel.rim.erd / 2, flange.pcd / 2, wheel.offsets[index]
    angle = abs(float(wheel.lacing.angle_deg[index]))
    hole = flange.hole_diameter / 2 if flange.spoke_head == "elbow" else 0.0
    tension = answer.target.tension[side]
    stretched, ends = tension * wheel.flexibilities[index], float(give.given(wheel.give_of(side), tension))
    return [
        f"{side}, rim hole {wheel.lacing.rim_hole[index]}:",
        f"  R = erd/2 = {rim:.2f}, r = pcd/2 = {hub:.2f}, sideways w = {w:.2f} mm, a = {angle:.2f} deg",
        "  geometric = sqrt(R^2 + r^2 - 2 R r cos a + w^2) - hole/2",
        f"            = {wheel.spans[index]:.2f} - {hole:.2f} = {wheel.lengths[index]:.2f} mm",
        f"  stretch   = T sum(l / (E A)) = {tension:.0f} N x {wheel.flexibilities[index] * 1000:.4f} mm/kN = {stretched:.2f} mm",
        f"  ends give {ends:.2f} mm under it (spokes.end_give = {wheel.give_of(side):g} mm per 1000 N at 1000 N)",
        "  to buy    = geometric - stretch - ends - rim's shrinking",
        f"            = {wheel.lengths[index]:.2f} - {stretched:.2f} - {ends:.2f} - {answer.target.shrink:.2f} "
        f"= {answer.cut[index]:.2f} mm",
    ]
