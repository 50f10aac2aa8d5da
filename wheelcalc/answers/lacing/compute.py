"""`lace`: which spoke runs where, the order to lace in, what the lacing does, and what a half-laced wheel really is."""

from __future__ import annotations

from typing import Any

import numpy as np

from wheelcalc.answers.base import Source, opened
from wheelcalc.answers.lacing.answer import LaceAnswer, straight_sides
from wheelcalc.answers.lacing.findings import balance, weaving
from wheelcalc.answers.lacing.seen import seen_findings
from wheelcalc.answers.lacing.side import SideFacts
from wheelcalc.answers.lacing.steps import numbering, steps
from wheelcalc.answers.ordering.compute import order
from wheelcalc.arrays import Floats
from wheelcalc.build.limits import Limits
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.needs import demand
from wheelcalc.wheel import facts
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.lacing_findings import head_gap, tilt_after_bending
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.seen import diagnose, read_seen
from wheelcalc.wheel.wheel import Wheel


def lace(source: Source, overrides: Overrides = (), seen: str | None = None, **keys: Any) -> LaceAnswer:
    """How to lace the wheel.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them
    seen : spokes as they sit, "1-9, 2-L4" (rim hole-hub hole): what that is, and which to move

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    file = opened(source, overrides, keys)
    with file.named():
        demand("lace", file.build)
        answer = order(file)
        wheel, build = answer.lengths.wheel, answer.lengths.build
        tensions = answer.lengths.target.per_spoke
        sides = {side: _facts(wheel, side, tensions, build.limits) for side in SIDES}
        woven = build.lacing.interlaced
        interlaced = {side: woven and bool(each.weave and each.weave.possible) for side, each in sides.items()}
        opening = facts.valve_opening(wheel)
        wave = max(facts.sideways_waves(wheel, tensions).values())
    diagnosis = None if seen is None else diagnose(read_seen(seen, wheel.lacing), wheel.lacing)
    findings = [
        *answer.lengths.findings,
        *weaving(sides, woven),
        *balance(sides, wave, build.limits.turning_left_over, build.limits.long_wave),
        *([] if diagnosis is None else seen_findings(diagnosis)),
    ]
    return LaceAnswer(
        title=file.title,
        findings=by_weight(findings),
        assumptions=[*answer.lengths.assumptions, *_schools(build, wheel, woven=any(interlaced.values()))],
        order=answer,
        numbering=numbering(wheel.lacing, straight_sides(wheel)),
        steps=steps(wheel, interlaced),
        valve_opening=opening,
        sides=sides,
        long_wave=wave,
        woven=woven,
        seen=diagnosis,
    )


def _schools(build: Build, wheel: Wheel, *, woven: bool) -> list[str]:
    """Where the trade disagrees and the file leaves it open: what was taken, and why."""
    said = []
    elbows = set(SIDES) - set(straight_sides(wheel))
    crossed = any(wheel.lacing.lean[wheel.lacing.on(side)].any() for side in elbows)
    if crossed and not all(build.given(f"lacing.heads_in.{side}") for side in SIDES):
        said.append(
            "Heads in or out is contested (lacing.heads_in). Schools: trailing heads out, which on the right keep the crossing off the "
            "derailleur; the reverse, as many good builders have it; beside a disc the hub makers disagree, so follow yours. Here "
            "trailing heads are out; both hold."
        )
    if woven and not build.given("lacing.interlaced"):
        said.append("Spokes are woven where they cross last (lacing.interlaced): custom, no gain was ever measured.")
    return said


def _facts(wheel: Wheel, side: str, tensions: Floats, limits: Limits) -> SideFacts:
    mask = wheel.lacing.on(side)
    crossings = facts.crossings(wheel)
    mine = mask[crossings.one]
    crosses = wheel.lacing.crosses[mask]
    gap = head_gap(wheel, side)
    return SideFacts(
        spokes=int(mask.sum()),
        crosses=(int(crosses.min()), int(crosses.max())),
        nearest_gap=float(crossings.gap[mine].min()) if mine.any() else None,
        weave=facts.weave(wheel, side, crossings, limits.interlace_bend),
        head_gap=gap if np.isfinite(gap) else None,
        nipple_tilt_deg=float(wheel.nipple_tilts_deg[mask].max()),
        nipple_tilt_left_deg=float(tilt_after_bending(wheel, limits.nipple_bend)[mask].max()),
        turning=facts.turning(wheel, side, tensions),
    )
