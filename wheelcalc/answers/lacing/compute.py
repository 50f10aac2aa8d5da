"""`lace`: which spoke runs where, the order to lace in, what the lacing does, and what a half-laced wheel really is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers.base import Answer, Source, opened
from wheelcalc.answers.lacing.seen import seen_findings, seen_words, what_it_is
from wheelcalc.answers.lacing.steps import Step, numbering, steps
from wheelcalc.answers.ordering.compute import OrderAnswer, order
from wheelcalc.answers.spoke_lengths import LengthsAnswer, spoke_rows
from wheelcalc.arrays import Floats
from wheelcalc.files.needs import demand
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.wheel import facts
from wheelcalc.wheel.checks import head_gap
from wheelcalc.wheel.facts import Turning, Weave
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.seen import Diagnosis, diagnose, read_seen
from wheelcalc.wheel.wheel import Wheel


@dataclass(frozen=True)
class SideFacts:
    """What the lacing of one flange does.

    Parameters
    ----------
    spokes : count
    crosses : least and most that a spoke passes
    nearest_gap : narrowest free width between two crossing wires if they run straight [mm], None where none cross
    weave : whether they can be interlaced, None where none cross
    head_gap : least distance from a spoke's line to the middle of the next hole [mm], None where it passes none
    nipple_tilt_deg : largest angle from straight inward at a nipple
    turning : moments of trailing and leading spokes at the target tension
    """

    spokes: int
    crosses: tuple[int, int]
    nearest_gap: float | None
    weave: Weave | None
    head_gap: float | None
    nipple_tilt_deg: float
    turning: Turning


@dataclass(frozen=True, kw_only=True)
class LaceAnswer(Answer):
    """Answer of `lace`; `order` is the answer that it rests on."""

    schema: ClassVar[str] = "wheelcalc/lace/1"
    order: OrderAnswer
    numbering: Sequence[str]
    steps: Sequence[Step]
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


def lace(source: Source, overrides: Sequence[str] = (), seen: str | None = None) -> LaceAnswer:
    """How to lace the wheel.

    Parameters
    ----------
    source : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    overrides : "KEY=VALUE" each
    seen : spokes as they sit, "1-9, 2-L4" (rim hole-hub hole): what that is, and which to move

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    build = opened(source, overrides)
    with build.named():
        demand("lace", build.dimensions)
        answer = order(build)
        wheel, known = answer.lengths.wheel, answer.lengths.known
        tensions = answer.lengths.target.per_spoke
        sides = {side: _facts(wheel, side, tensions, known.number("limits.interlace_bend")) for side in SIDES}
        woven = bool(known.value("lacing.interlaced", True))
        interlaced = {side: woven and bool(each.weave and each.weave.possible) for side, each in sides.items()}
        opening = facts.valve_opening(wheel)
        wave = max(facts.sideways_waves(wheel, tensions).values())
    diagnosis = None if seen is None else diagnose(read_seen(seen, wheel.lacing), wheel.lacing)
    found = [
        *answer.lengths.findings,
        *_weaving(sides, woven),
        *_balance(sides, wave, known.number("limits.turning_left_over"), known.number("limits.long_wave")),
        *([] if diagnosis is None else seen_findings(diagnosis)),
    ]
    return LaceAnswer(
        build=build.title,
        findings=by_weight(found),
        assumptions=[*answer.lengths.assumptions, *_schools(known, wheel, woven=any(interlaced.values()))],
        order=answer,
        numbering=numbering(wheel.lacing, _straight_sides(wheel)),
        steps=steps(wheel, interlaced),
        valve_opening=opening,
        sides=sides,
        long_wave=wave,
        woven=woven,
        seen=diagnosis,
    )


def _straight_sides(wheel: Wheel) -> list[str]:
    return [side for side in ("right", "left") if wheel.hub.flange(side).spoke_head == "straight"]


def bedded(wheel: Wheel) -> str:
    """What the heads of the spokes want before they are tightened."""
    straight = len(_straight_sides(wheel))
    elbows = "Elbows pressed flat against the flange by hand"
    return {0: elbows, 1: f"{elbows}, straight heads pulled into their seats"}.get(
        straight, "Heads pulled fully into their seats"
    )


def _schools(known: Dimensions, wheel: Wheel, *, woven: bool) -> list[str]:
    """Where the trade disagrees and the file leaves it open: what was taken, and why."""
    said = []
    elbows = set(SIDES) - set(_straight_sides(wheel))
    crossed = any(wheel.lacing.lean[wheel.lacing.on(side)].any() for side in elbows)
    if crossed and not all(known.given(f"lacing.heads_in.{side}") for side in SIDES):
        said.append(
            "Heads in or out is contested (lacing.heads_in). Schools: trailing heads out, which on the right keep the crossing off the "
            "derailleur; the reverse, as many good builders have it; beside a disc the hub makers disagree, so follow yours. Here "
            "trailing heads are out; both hold."
        )
    if woven and not known.given("lacing.interlaced"):
        said.append("Spokes are woven where they cross last (lacing.interlaced): custom, no gain was ever measured.")
    return said


def _facts(wheel: Wheel, side: str, tensions: Floats, most_bend_deg: float) -> SideFacts:
    mask = wheel.lacing.on(side)
    found = facts.crossings(wheel)
    mine = mask[found.one]
    crosses = wheel.lacing.crosses[mask]
    gap = head_gap(wheel, side)
    return SideFacts(
        spokes=int(mask.sum()),
        crosses=(int(crosses.min()), int(crosses.max())),
        nearest_gap=float(found.gap[mine].min()) if mine.any() else None,
        weave=facts.weave(wheel, side, found, most_bend_deg),
        head_gap=gap if np.isfinite(gap) else None,
        nipple_tilt_deg=float(wheel.nipple_tilts_deg[mask].max()),
        turning=facts.turning(wheel, side, tensions),
    )


def _weaving(sides: Mapping[str, SideFacts], woven: bool) -> list[Finding]:
    found = []
    for side, each in sides.items():
        if woven and each.weave is not None and not each.weave.possible:
            text = (
                f"The {side} spokes cannot be interlaced: their last crossing is {each.weave.from_hub:.0f} mm from the hub hole "
                f"(bend {each.weave.bend_deg:.0f} degrees), or both heads sit on one face."
            )
            found.append(
                Finding("note", "cannot-interlace", text, "Lace that side without weaving; no gain was ever measured.")
            )
    return found


def _balance(sides: Mapping[str, SideFacts], wave: float, turning_limit: float, wave_limit: float) -> list[Finding]:
    found = []
    for side, each in sides.items():
        if each.turning.left_over > turning_limit:
            text = (
                f"Leading and trailing {side} spokes differ by {100 * each.turning.left_over:.0f} % in how they turn the hub at even "
                "tension; the other flange makes up for it through the hub shell."
            )
            found.append(
                Finding("note", "turning-left-over", text, "Nothing to do; the tensions settle a little uneven.")
            )
    if wave > wave_limit:
        text = (
            f"The sideways pulls round the rim have a long wave of {100 * wave:.0f} % of one side's pull: at even tension the rim would "
            "not run straight."
        )
        found.append(
            Finding("caution", "long-wave", text, "True it sideways first; its tensions will come out uneven.")
        )
    return found


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
