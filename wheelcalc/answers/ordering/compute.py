"""`order`: which spokes to buy for each side, how many, where their ends will sit and how sure that is."""

from __future__ import annotations

from typing import Any

from wheelcalc.answers.base import Source, defaults_taken, opened
from wheelcalc.answers.ordering.answer import OrderAnswer
from wheelcalc.answers.ordering.findings import frame_against_hub, low_chances, not_served
from wheelcalc.answers.spoke_lengths import LengthsAnswer, lengths
from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.needs import demand
from wheelcalc.measuring import assemble
from wheelcalc.page.blocks import Brief
from wheelcalc.spokes import findings
from wheelcalc.spokes.ordering import Line, Stock, Window, plan
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.parts import SIDES

PREFIXES = ("stock.", "nipple.", "spokes.thread_length")


def order(source: Source, overrides: Overrides = (), **keys: Any) -> OrderAnswer:
    """Which spokes to buy.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.

    Examples
    --------
    >>> from wheelcalc import answers
    >>> answer = answers.order("examples/errand-rear.toml")
    >>> [(line.side, line.length, line.count) for line in answer.lines]
    [('left', 290.0, 18), ('right', 288.0, 18)]
    >>> answer.stops
    False
    """
    file = opened(source, overrides, keys)
    with file.named():
        demand("order", file.build)
        answer = lengths(file)
        build = answer.build
        window = Window.of(build)
        stock = stock_of(build, answer.cut, window)
        lines, left_out = planned(answer, stock, window)
        wires, nipple = assemble.wires(build), assemble.nipple(build)
        every = [
            *answer.findings,
            *frame_against_hub(build, answer.wheel),
            *findings.ends(lines, nipple, wires, build),
            *(each for each in findings.parts(build, nipple, wires) if each not in answer.findings),
            *not_served(left_out, answer, window, stock),
            *low_chances(lines, answer, window),
        ]
        return OrderAnswer(
            title=file.title,
            findings=by_weight(every),
            assumptions=[*answer.assumptions, *_assumptions(build, window)],
            lengths=answer,
            lines=lines,
            left_out=left_out,
            window=window,
            wires=wires,
            nipple=nipple,
            heads={side: answer.wheel.hub.flange(side).spoke_head for side in SIDES},
        )


def planned(answer: LengthsAnswer, stock: Stock, window: Window) -> tuple[list[Line], list[int]]:
    """Choose from a stock for these lengths: the lines, and the rim holes that nothing serves."""
    lacing = answer.wheel.lacing
    return plan(
        cut={side: answer.cut[lacing.on(side)] for side in SIDES},
        rim_holes={side: lacing.rim_hole[lacing.on(side)] for side in SIDES},
        sigma={side: answer.sides[side].sigma for side in SIDES},
        stock=stock,
        window=window,
        spares=answer.build.stock.spares,
        low=answer.build.limits.low_chance,
    )


def stock_of(build: Build, cut: Floats, window: Window) -> Stock:
    """Return what can be had: the jar, else the list of lengths, else every multiple of the step."""
    if "stock.on_hand" in build:
        return Stock.on_hand(build.stock.on_hand)
    if "stock.lengths" in build:
        return Stock(tuple(sorted(set(build.stock.lengths))))
    return Stock.by_step(build.stock.step, cut, window)


def _assumptions(build: Build, window: Window) -> list[str]:
    skip = ("nipple.seat_to_end", "nipple.washer", "nipple.body_diameter", "nipple.thread_depth", "stock.s", "stock.b")
    schools = Brief(
        f"Ends may sit from {window.short:g} mm short of the slot's bottom to {window.beyond:g} mm beyond it (stock.short_at_most, "
        "beyond_at_most; common practice, contested). Schools: round up, so that the thread fills the head; round down, so that "
        "it cannot run out. Here the length with the best chance is taken.",
        defaults=2,
    )
    bought = {"stock.on_hand", "stock.lengths"} & set(build)
    step = [] if bought else [Brief(f"Lengths are sold every {build.stock.step:g} mm.")]
    threads = [] if "nipple.for_wire" in build else [Brief("The nipples' thread is taken to be the one for this wire.")]
    return [schools, *step, *threads, *defaults_taken(build, PREFIXES, skip)]
