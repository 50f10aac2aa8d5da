"""Of the bench sheet: what to buy, the labels of the two jars, and the gate before lacing."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.ordering.answer import OrderAnswer
from wheelcalc.answers.ordering.page import table_of
from wheelcalc.page.numbers import percent, signed
from wheelcalc.page.tags import BOX, Html, blank, joined, table, tag, to_tick
from wheelcalc.paper.sheet.material import Material, findings
from wheelcalc.paper.sheet.page import shortened
from wheelcalc.spokes.ordering import EDGE, Line
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

MEASURED_AT_THE_GATE = 5


def order_page(material: Material) -> list[Html]:
    """The slip for the seller, and boxes for what came."""
    answer = material.order
    if not answer.lines:
        return [findings(answer.findings), tag("p", "There is nothing to order yet.")]
    return [
        findings(finding for finding in answer.findings if finding.level != "note"),
        _slip(answer),
        tag("p", "Would do as well: ", " ".join(_neighbours(answer, line) for line in answer.lines)),
        tag("p", answer.lengths.said()),
        _ordered(answer),
    ]


def _stops(answer: OrderAnswer) -> Html:
    return findings(finding for finding in answer.findings if finding.level == "stop")


def _slip(answer: OrderAnswer) -> Html:
    rows: list[list[object]] = []
    for line in answer.lines:
        wire = answer.wires[line.side]
        what = f"{answer.heads[line.side]} head, wire {wire} mm, thread {wire.thread_length:g} mm for {wire.thread_end:.1f} wire"
        rows.append(
            [
                line.side,
                tag("b", f"{line.length:g} mm", class_="large"),
                tag("b", f"{line.count} + {line.spares}", class_="large"),
                what,
                signed(line.end_position),
                percent(line.chance),
            ]
        )
    nipple = answer.nipple
    washer = f", and a washer of {nipple.washer:g} mm under each" if nipple.washer else ""
    nipples = f"{answer.nipples} nipples: {nipple.material}, {nipple.length:g} mm long{washer}."
    return joined(
        [
            table(["side", "length", "spokes + spares", "what to ask for", "end mm", "chance"], rows, "slip"),
            tag("p", tag("b", nipples), class_="large"),
            tag("p", table_of(answer.lines, answer.window).legend, class_="small"),
        ]
    )


def _neighbours(answer: OrderAnswer, line: Line) -> str:
    """Which lengths would do in place of the best, and the nearest that would not: "289 or 290; not 288, not 292".

    Those that cannot be had just now count too: another shop or jar may have them.
    """
    step = answer.lengths.build.stock.step
    low, high = may_measure(answer, line)
    first, last = math.ceil((low - EDGE) / step), math.floor((high + EDGE) / step)
    good = sorted({line.length, *(round(step * n, 6) for n in range(first, last + 1))})
    fits = " or ".join(f"{length:g}" for length in good)
    return f"{line.side}: {fits} mm; not {step * (first - 1):g}, not {step * (last + 1):g}."


def _ordered(answer: OrderAnswer) -> Html:
    rows = [
        [f"{line.side} {line.length:g} mm", blank(24), blank(30), blank(14), blank(22), BOX] for line in answer.lines
    ]
    rows.append([f"{answer.nipples} nipples", blank(24), blank(30), blank(14), blank(22), BOX])
    return table(["what", "ordered on", "from", "came", "length came", "counted"], rows)


def labels_page(material: Material) -> list[Html]:
    """One label a bundle, to cut out."""
    answer = _with_lines(material)
    bundles = {(line.length, str(answer.wires[line.side]), answer.heads[line.side]) for line in answer.lines}
    if len(bundles) == 1:
        what = "All spokes of this wheel are alike: one jar holds them all, and either label will do."
    else:
        what = "Cut out and put one into each jar. Spokes that have lain in one heap cannot be told apart by eye."
    labels = (_label(answer, line, number) for number, line in enumerate(answer.lines, start=1))
    return [_stops(answer), tag("p", what), tag("div", list(labels), class_="labels")]


def _with_lines(material: Material) -> OrderAnswer:
    if not material.order.lines:
        raise InputError("stock", "no spoke that can be had serves any hole; the order slip says which lengths would")
    return material.order


def _label(answer: OrderAnswer, line: Line, number: int) -> Html:
    wire = answer.wires[line.side]
    holes = ", ".join(str(hole) for hole in line.rim_holes)
    mixed = tag("p", f"bundle {number}, for rim holes {holes}") if answer.mixed(line.side) else ""
    return tag(
        "div",
        tag("div", line.side.upper(), class_="side"),
        tag("div", f"{line.length:g} mm", class_="length"),
        tag("p", f"{line.count} spokes + {line.spares} spare, wire {wire} mm, {answer.heads[line.side]} head"),
        mixed,
        tag("p", shortened(answer.title, 40), "; counted ", BOX, " left over ", blank(12)),
        class_="label",
    )


def gate_page(material: Material) -> list[Html]:
    """What must be right before the first spoke goes in."""
    answer = _with_lines(material)
    first = [
        "Rim: the number of holes counted, and no crack round a hole or at the joint.",
        *(_holes(material, side) for side in SIDES),
        "A nipple turns on over the whole thread by hand, on five spokes, and does not rattle.",
        f"{_in_the_flange(answer)}; the nipple's head sits in the rim's hole and cannot slip through.",
        "Glasses on: a spoke's end can spring into an eye.",
    ]
    return [
        _stops(answer),
        tag("p", tag("b", "Do not lace before every box is ticked.")),
        to_tick(first, "two"),
        tag(
            "p",
            tag("b", f"Measure {MEASURED_AT_THE_GATE} of each bundle"),
            f", from {_start_of(answer)} to the end of the thread.",
        ),
        _five(answer),
        *(tag("p", text) for text in dry_fit(material)),
        to_tick([tag("span", f"{side}: d1 ", blank(16), " d2 ", blank(16), " they agree") for side in SIDES], "two"),
    ]


def _in_the_flange(answer: OrderAnswer) -> str:
    if "elbow" not in answer.heads.values():
        return "Spokes slide through their seats until the heads sit"
    return "Spokes pass the flange's holes, elbows lie flat"


def _holes(material: Material, side: str) -> str:
    flange = material.lengths.wheel.hub.flange(side)
    return f"Hub, {side} flange: {flange.holes} holes, {flange.pcd:.1f} mm from hole middle to opposite hole middle."


def _start_of(answer: OrderAnswer) -> str:
    """Where a spoke's length begins."""
    heads = set(answer.heads.values())
    if heads == {"straight"}:
        return "under the head"
    return "the inside of the elbow" + (" (a straight spoke: from under its head)" if "straight" in heads else "")


def _five(answer: OrderAnswer) -> Html:
    rows: list[list[object]] = []
    for line in answer.lines:
        low, high = may_measure(answer, line)
        rows.append(
            [f"{line.side} {line.length:g}", *[blank(15)] * MEASURED_AT_THE_GATE, f"{low:.1f} to {high:.1f}", BOX]
        )
    return table(["bundle, mm", "1", "2", "3", "4", "5", "all must be, mm", "ok"], rows)


def may_measure(answer: OrderAnswer, line: Line) -> tuple[float, float]:
    """Shortest and longest spoke that would still end inside the window in every hole of the line [mm]."""
    cut = answer.lengths.cut[np.isin(answer.lengths.wheel.lacing.rim_hole, line.rim_holes)]
    return float(cut.max()) - answer.window.short, float(cut.min()) + answer.window.beyond


def dry_fit(material: Material) -> Iterator[str]:
    """Two spokes that cross tell whether the length is right before all are laced.

    Notes
    -----
    Pulled straight, a trailing and a leading spoke of one flange that stand on both sides of one place of the rim
    hold the hub at the middle; spokes too long by 1 mm let it sit about 1 mm further away from them (D).
    """
    crossed = []
    for side in SIDES:
        pair = crossing_pair(material, side)
        if pair is None:
            yield (
                f"{side.capitalize()}, radial: put two spokes into opposite rim holes, each nipple screwed on until the spoke's end is "
                "level with the bottom of its slot. Pull both straight: d1 and d2 are from the axle's middle to the rim at the two holes."
            )
        else:
            (rim_a, hub_a), (rim_b, hub_b) = pair
            crossed.append(f"{side} {hub_a} to rim hole {rim_a} and {hub_b} to rim hole {rim_b}")
    if crossed:
        yield (
            f"Dry-fit two spokes that cross, one side after the other: {'; '.join(crossed)}. Screw each nipple on until the spoke's end is "
            "level "
            "with the bottom of its slot, and pull the hub away from them until both are straight. d1 is from the axle's middle to the rim "
            "between those two holes, d2 from the axle's middle to the rim straight opposite."
        )
        yield (
            "d1 greater than d2: the spokes are too long, by half of the difference. More than 3 mm apart: stop, and measure hub and "
            "rim again."
        )


def crossing_pair(material: Material, side: str) -> tuple[tuple[int, str], tuple[int, str]] | None:
    """Rim hole and hub hole of a trailing and a leading spoke of a side that stand nearest to each other on the rim, and cross."""
    lacing = material.lengths.wheel.lacing
    trailing, leading = (np.flatnonzero(lacing.on(side) & (lacing.lean == lean)) for lean in (1, -1))
    if not len(trailing) or not len(leading):
        return None
    rim, hub = lacing.rim_angle_deg, lacing.hub_angle_deg
    behind = np.mod(rim[leading][None, :] - rim[trailing][:, None] + 180, 360) - 180
    ahead_at_hub = np.mod(hub[trailing][:, None] - hub[leading][None, :] + 180, 360) - 180
    cross = (behind > 0) & (ahead_at_hub > 0)
    if not cross.any():
        return None
    i, j = np.unravel_index(int(np.where(cross, behind, np.inf).argmin()), cross.shape)
    places = int(trailing[i]), int(leading[j])
    one, other = ((int(lacing.rim_hole[place]), str(lacing.hub_labels[place])) for place in places)
    return one, other
