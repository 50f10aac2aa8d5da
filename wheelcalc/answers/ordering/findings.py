"""What `order` warns of: rim holes that no spoke serves, low chances, a hub of another width than the frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from wheelcalc.answers.spoke_lengths import LengthsAnswer
from wheelcalc.arrays import Floats
from wheelcalc.bike.width import (
    chosen_spacers,
    closeness,
    frame_width,
    missing_sigma,
    missing_width,
    most_moved,
    too_narrow,
)
from wheelcalc.build.whole import Build
from wheelcalc.spokes import low_chance
from wheelcalc.spokes.ordering import Line, Stock, Window
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel


def not_served(left_out: Sequence[int], answer: LengthsAnswer, window: Window, stock: Stock) -> list[Finding]:
    """Rim holes that no spoke serves, and what would do there."""
    if not left_out:
        return []
    lacing, cut = answer.wheel.lacing, answer.cut
    where = np.isin(lacing.rim_hole, left_out)
    would = [
        f"{_would_do(cut[where & lacing.on(side)], window)} on the {side}"
        for side in SIDES
        if (where & lacing.on(side)).any()
    ]
    ends = np.asarray(stock.lengths)[:, None] - cut[where]
    ran_out = ((ends >= -window.short) & (ends <= window.beyond)).any()
    why = "The spokes on hand do not suffice: none is left that fits" if ran_out else "No spoke that can be had fits"
    return [
        Finding(
            "stop",
            "cannot-be-filled",
            f"{why} {_rim_holes(left_out, answer)}.",
            f"What would fit there: {'; '.join(would)}. Order such, or change the pattern.",
        )
    ]


def _rim_holes(left_out: Sequence[int], answer: LengthsAnswer) -> str:
    """Name rim holes by their side, such as "any left rim hole, right rim holes 5, 9"."""
    lacing, said = answer.wheel.lacing, []
    for side in SIDES:
        of_side = lacing.rim_hole[lacing.on(side)].tolist()
        holes = [str(hole) for hole in of_side if hole in set(left_out)]
        if len(holes) == len(of_side):
            said.append(f"any {side} rim hole")
        elif holes:
            said.append(f"{side} rim hole{'s' if len(holes) > 1 else ''} {', '.join(holes)}")
    return ", ".join(said)


def _would_do(cut: Floats, window: Window) -> str:
    """Lengths of which any one would serve all these spokes, else between which theirs lie."""
    low, high = cut.max() - window.short, cut.min() + window.beyond
    if low <= high:
        return f"{low:.1f} to {high:.1f} mm"
    return f"several lengths, {cut.min():.1f} to {cut.max():.1f} mm before rounding"


def low_chances(lines: Sequence[Line], answer: LengthsAnswer, window: Window) -> Iterator[Finding]:
    """Lines whose spokes may well not fit."""
    lacing = answer.wheel.lacing
    cut = [answer.cut[np.isin(lacing.rim_hole, line.rim_holes) & lacing.on(line.side)] for line in lines]
    return low_chance.findings(lines, cut, answer.error_budget, window, answer.build)


def frame_against_hub(build: Build, wheel: Wheel) -> Iterator[Finding]:
    """Frame and hub of different width, and no spacers chosen: the flanges would not sit where they were computed."""
    if "frame.dropout_spacing" not in build or "hub.over_locknut" not in build:
        return
    chosen = chosen_spacers(build)
    short = missing_width(build) - sum(chosen or (0.0, 0.0))
    close = closeness(build, short)
    room = frame_width(build)
    if too_narrow(build):
        text = f"The frame is {room:.1f} mm wide between the ends, the hub {build.hub.over_locknut:.1f} mm: too narrow for any spacers."
        yield Finding("stop", "width-differs", text, "`wheelcalc fit` says what would have to be true.")
        return
    if close == "fits":
        return
    what = f"The frame is {room:.1f} mm wide between the ends, the hub {room - short:.1f} mm"
    misfit = f"{abs(short):.1f} mm {'too narrow' if short > 0 else 'too wide'}"
    moved = max(most_moved(wheel, short).values())
    within = NINETEEN_IN_TWENTY * missing_sigma(build)
    if chosen is not None or (close == "springs" and short < 0):
        stop = (close == "no" or (short > 0 and close != "springs")) and abs(short) > within
        yield Finding(
            "stop" if stop else "caution",
            "width-still-differs",
            f"{what}{' with the spacers chosen' if chosen else ''}: {misfit}.",
            "`wheelcalc fit` says what would close it.",
        )
    elif abs(short) <= within:
        yield Finding(
            "caution",
            "width-differs",
            f"{what}: {misfit}, no more than the readings err ({within:.1f} mm).",
            "Read frame.dropout_spacing and hub.over_locknut again; if they still differ, `wheelcalc fit` lists the ways.",
        )
    elif moved <= build.limits.width_moves_length and not (close == "no" and short < 0):
        yield Finding(
            "caution",
            "width-differs",
            f"{what}: {misfit}, and no spacers are chosen. Wherever they go, no spoke changes by more than {moved:.1f} mm.",
            "These lengths hold; `wheelcalc fit` says which spacers.",
        )
    else:
        yield Finding(
            "stop",
            "width-differs",
            f"{what}: {misfit}, and no spacers are chosen. A spacer moves the flanges: the spokes could come out {moved:.1f} mm wrong.",
            "`wheelcalc fit` lists the ways; put the chosen spacers.fitted into the file (zeros leave it as it is).",
        )
