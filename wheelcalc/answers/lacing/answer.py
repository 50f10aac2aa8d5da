"""Of `lace`: what the answer holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer
from wheelcalc.answers.lacing import page as said
from wheelcalc.answers.lacing.seen import seen_words, what_it_is
from wheelcalc.answers.lacing.side import SideFacts
from wheelcalc.answers.lacing.steps import LacingStep
from wheelcalc.answers.ordering.answer import OrderAnswer
from wheelcalc.answers.spoke_lengths import LengthsAnswer, spoke_rows
from wheelcalc.page.blocks import Listed, Page
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.seen import Diagnosis
from wheelcalc.wheel.wheel import Wheel


@dataclass(frozen=True, kw_only=True)
class LaceAnswer(Answer):
    """Answer of `lace`; `order` is the answer that it rests on."""

    schema: ClassVar[str] = "wheelcalc/lace/1"
    records: ClassVar[str] = "spokes"
    order: OrderAnswer
    numbering: Sequence[str]
    steps: Sequence[LacingStep]
    valve_opening: float
    sides: Mapping[str, SideFacts]
    long_wave: float
    woven: bool
    seen: Diagnosis | None = None

    @property
    def lengths(self) -> LengthsAnswer:
        """The lengths behind it."""
        return self.order.lengths

    @property
    def wheel(self) -> Wheel:
        """The wheel."""
        return self.order.lengths.wheel

    @property
    def bedding(self) -> str:
        """What the heads of the spokes want before they are tightened."""
        return bedded(self.wheel)

    @property
    def bundles(self) -> dict[int, float]:
        """Length of the spoke that `order` has for each rim hole [mm]; holes that it cannot fill are missing."""
        return {hole: line.length for line in self.order.lines for hole in line.rim_holes}

    def page(self) -> Page:
        """Return the map first, then the order to lace in; with spokes seen only what they are."""
        if self.seen is not None:
            return self._page_of_seen()
        mixed = any(self.order.mixed(side) for side in self.sides)
        return Page(
            verdict=said.verdict(self.sides, len(self.steps), self.valve_opening, stops=self.stops),
            title=f"{self.title}: lacing map",
            answer=[said.summary(self.wheel.lacing, self.sides), *said.numbering(self.numbering)],
            findings=self.findings,
            details=[
                *said.spokes_table(self.wheel, self.bundles, mixed=mixed),
                *said.steps(self.steps, self.bedding),
                *said.facts(self.sides),
            ],
            assumptions=self.assumptions,
        )

    def _page_of_seen(self) -> Page:
        first, *more = self.seen_words()
        answer = [Listed(more)] if more else []
        return Page(first, f"{self.title}: the spokes seen", answer, self.findings)

    def content(self) -> dict[str, Any]:
        """Return spokes, steps, opening at the valve, facts, and what the spokes seen are."""
        out = {
            "spokes": spoke_rows(self.wheel, self.lengths.cut),
            "steps": [vars(step) for step in self.steps],
            "valve_opening_mm": self.valve_opening,
            "numbering": list(self.numbering),
            "pattern": self.wheel.lacing.pattern,
            "bundle_mm": {str(hole): length for hole, length in self.bundles.items()},
            "sides": {side: _facts_json(self.sides[side]) for side in SIDES},
            "long_wave_share": self.long_wave,
            "empty_rim_holes": self.wheel.lacing.empty_rim_holes,
            "unused_hub_holes": {side: self.wheel.lacing.unused_hub_holes(side) for side in SIDES},
        }
        return out if self.seen is None else {**out, "seen": _seen_json(self.seen)}

    def seen_words(self) -> list[str]:
        """Return what the spokes seen are and which to move, a sentence a line."""
        return [] if self.seen is None else seen_words(self.seen, self.wheel)


def bedded(wheel: Wheel) -> str:
    """What the heads of the spokes want before they are tightened."""
    straight = len(straight_sides(wheel))
    elbows = "Elbows pressed flat against the flange by hand"
    return {0: elbows, 1: f"{elbows}, straight heads pulled into their seats"}.get(
        straight, "Heads pulled fully into their seats"
    )


def straight_sides(wheel: Wheel) -> list[str]:
    """Return the sides whose spokes have straight heads."""
    return [side for side in ("right", "left") if wheel.hub.flange(side).spoke_head == "straight"]


def _facts_json(side: SideFacts) -> dict[str, Any]:
    return {
        "count": side.spokes,
        "crosses_least": side.crosses[0],
        "crosses_most": side.crosses[1],
        "crossing_gap_mm": side.nearest_gap,
        "can_be_interlaced": None if side.weave is None else side.weave.possible,
        "last_crossing_from_hub_mm": None if side.weave is None else side.weave.from_hub,
        "head_gap_mm": side.head_gap,
        "nipple_tilt_deg": side.nipple_tilt_deg,
        "nipple_tilt_left_deg": side.nipple_tilt_left_deg,
        "trailing_moment_Nmm": side.turning.trailing,
        "leading_moment_Nmm": side.turning.leading,
    }


def _seen_json(seen: Diagnosis) -> dict[str, Any]:
    return {
        "as_planned": not seen.to_move and seen.rim_turned == 0,
        "hub_numbers_begin_holes_on": seen.hub_turned,
        "rim_holes_too_far_forward": seen.rim_turned,
        "spokes": [
            {
                "rim_hole": each.seen.rim_hole,
                "side": each.seen.side,
                "hub_hole": each.seen.hub_hole,
                "planned": each.planned,
                "holes_out": each.holes_out,
                "what": what_it_is(each),
                "move": not each.right,
            }
            for each in seen.verdicts
        ],
    }
