"""What `lace` shows: how to number, which spoke goes where, the order to lace in, and what the lacing does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from wheelcalc.answers.lacing.side import SideFacts
from wheelcalc.answers.lacing.steps import LacingStep
from wheelcalc.page.blocks import Block, Column, Heading, Listed, Sentence, Step, Steps, Table
from wheelcalc.wheel.joining import Lacing
from wheelcalc.wheel.wheel import Wheel


def verdict(sides: Mapping[str, SideFacts], groups: int, valve_opening: float, *, stops: bool) -> str:
    """How the wheel is laced, in one sentence."""
    crosses = {side: _crosses(*each.crosses) for side, each in sides.items()}
    alike = len(set(crosses.values())) == 1
    said = (
        f"{next(iter(crosses.values()))} on both sides"
        if alike
        else ", ".join(f"{side} {c}" for side, c in crosses.items())
    )
    if stops:
        return f"Do not lace yet. The file asks for {said}."
    return f"Lace {said}, in {groups} groups; at the valve {valve_opening:.0f} mm stay free."


def _crosses(least: int, most: int) -> str:
    if most == 0:
        return "radial"
    return f"{most} cross{'es' if most > 1 else ''}" if least == most else f"{least} to {most} crosses"


def summary(lacing: Lacing, sides: Mapping[str, SideFacts]) -> Sentence:
    """The pattern and its counts."""
    counts = ", ".join(f"{each.spokes} spokes on the {side}" for side, each in sides.items())
    return Sentence(f"Pattern: {lacing.pattern}. Rim of {lacing.rim_holes} holes; {counts}.")


class Placed(NamedTuple):
    """One rim hole and its spoke."""

    rim: int
    hub: str
    runs: str
    head: str
    length: str


def spokes_table(wheel: Wheel, bundles: Mapping[int, float], *, mixed: bool) -> list[Block]:
    """Which spoke goes where, empty rim holes in their places."""
    lacing = wheel.lacing
    rows = {hole: Placed(hole, "-", "(empty)", "-", "-") for hole in lacing.empty_rim_holes}
    heads = [
        "-" if wheel.hub.flange(side).spoke_head == "straight" else head
        for side, head in zip(lacing.sides, lacing.heads, strict=True)
    ]
    for hole, hub, runs, head in zip(
        lacing.rim_hole.tolist(), lacing.hub_labels, lacing.directions, heads, strict=True
    ):
        rows[hole] = Placed(hole, hub, runs, head, f"{round(bundles[hole], 1):g}" if hole in bundles else "none")
    runs_mean = "trailing, from the hub backward, against the rolling; leading, forward" if lacing.lean.any() else ""
    columns = [
        Column("rim", lambda row: str(row.rim)),
        Column("hub", lambda row: row.hub, "left"),
        Column("runs", lambda row: row.runs, "left", runs_mean),
        Column("head", lambda row: row.head, "left", "its face of the flange, in: toward the other one"),
        Column("mm", lambda row: row.length, meaning="length of the spoke that `order` has for this hole"),
    ]
    lay_out = "Lay the spokes out in bundles by length before you begin, and take each from its bundle."
    return [
        Heading("Which spoke goes where, in rim-hole order:"),
        Table(columns, [rows[hole] for hole in sorted(rows)], abreast=True),
        *([Sentence(lay_out)] if mixed else []),
    ]


def numbering(said: Sequence[str]) -> list[Block]:
    """How to number rim and hub."""
    return [Heading("How to number:"), Listed(said)]


def steps(groups: Sequence[LacingStep], bedding: str) -> list[Block]:
    """The order to lace in, each group with its check."""
    after = (
        f"Then: all nipples screwed down to the same place, such as the end of the thread just gone. {bedding}. Go on with "
        "`wheelcalc tension` and `wheelcalc true`."
    )
    items = [Step(each.text, each.title, each.checkpoint) for each in groups]
    return [Heading("The order to lace in:"), Steps(items), Sentence(after)]


def facts(sides: Mapping[str, SideFacts]) -> list[Block]:
    """What the lacing does to gaps, nipples and moments."""
    columns = [
        Column("side", lambda row: row[0], "left"),
        Column(
            "gap mm",
            lambda row: _one(row[1].nearest_gap),
            meaning="between two spokes where they cross, if not interlaced",
        ),
        Column("interlace", lambda row: _weave(row[1]), "left"),
        Column("head mm", lambda row: _one(row[1].head_gap), meaning="a spoke to the middle of the next hole"),
        Column("tilt deg", lambda row: _one(row[1].nipple_tilt_deg), meaning="at the nipple, from straight inward"),
        Column(
            "trailing N m",
            lambda row: _one(row[1].turning.trailing / 1000),
            meaning="moment on the hub at the target tension",
        ),
        Column("leading N m", lambda row: _one(row[1].turning.leading / 1000)),
    ]
    return [Heading("What the lacing does:"), Table(columns, list(sides.items()))]


def _one(number: float | None) -> str:
    return "-" if number is None else f"{number:.1f}"


def _weave(side: SideFacts) -> str:
    return "-" if side.weave is None else "yes" if side.weave.possible else "no"
