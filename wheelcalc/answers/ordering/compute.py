"""`order`: which spokes to buy for each side, how many, where their ends will sit and how sure that is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.answers.spoke_lengths import LengthsAnswer, lengths
from wheelcalc.arrays import Floats
from wheelcalc.bike.width import chosen_spacers, closeness, frame_width, missing_sigma, missing_width, most_moved
from wheelcalc.files.needs import demand
from wheelcalc.joined.findings import no_sideways_pull
from wheelcalc.measuring import assemble
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.spokes import checks, low_chance
from wheelcalc.spokes.buying import Entry, entries
from wheelcalc.spokes.ordering import Line, Stock, Window, plan
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.parts import SIDES, Nipple, Wire
from wheelcalc.wheel.wheel import Wheel

PREFIXES = ("stock.", "nipple.", "spokes.thread_length")


@dataclass(frozen=True, kw_only=True, eq=False)
class OrderAnswer(Answer):
    """Answer of `order`; `lengths` is the answer that it rests on."""

    schema: ClassVar[str] = "wheelcalc/order/1"
    lengths: LengthsAnswer
    lines: Sequence[Line]
    left_out: Sequence[int]
    window: Window
    wires: dict[str, Wire]
    nipple: Nipple
    heads: dict[str, str]

    def content(self) -> dict[str, Any]:
        """Return the lines, the window and the lengths."""
        nipple = self.nipple
        return {
            "verdict": self.verdict,
            "buy": [] if self.from_jar else [_entry(each) for each in self.entries],
            "take": [_entry(each) for each in self.entries] if self.from_jar else [],
            "lines": [self._line(line) for line in self.lines],
            "not_served": list(self.left_out),
            "window_mm": {"short": self.window.short, "beyond": self.window.beyond},
            "nipples": {
                "count": self.nipples,
                "length_mm": nipple.length,
                "material": nipple.material,
                "for_wire_mm": {f"{wire:g}": count for wire, count in self.nipples_by_thread.items()},
            },
            "sides": self.lengths.content()["sides"],
        }

    @property
    def from_jar(self) -> bool:
        """Whether the spokes are those on hand, so that only nipples are to be bought."""
        return "stock.on_hand" in self.lengths.known

    @property
    def nipples(self) -> int:
        """Nipples to buy: one for each spoke, spares included."""
        return sum(each.nipples for each in self.entries)

    @property
    def nipples_by_thread(self) -> dict[float, int]:
        """Nipples to buy by the wire that their thread is for [mm]."""
        out: dict[float, int] = {}
        for each in self.entries:
            out[each.wire.thread_end] = out.get(each.wire.thread_end, 0) + each.nipples
        return out

    @property
    def verdict(self) -> str:
        """Whether to order."""
        return "do not order" if self.stops else "order"

    @property
    def entries(self) -> list[Entry]:
        """The lines as a shop fills them, or as they are taken from those on hand."""
        return entries(self.lines, self.wires, self.heads)

    def _line(self, line: Line) -> dict[str, Any]:
        return {
            "side": line.side,
            "length_mm": line.length,
            "rim_holes": list(line.rim_holes),
            "count": line.count,
            "spares": line.spares,
            "end_position_mm": line.end_position,
            "chance_that_it_fits": line.chance,
            "also_fits_mm": list(line.also),
            "wire": str(self.wires[line.side]),
            "head": self.heads[line.side],
            "thread_length_mm": self.wires[line.side].thread_length,
            "thread_for_wire_mm": self.wires[line.side].thread_end,
        }

    def mixed(self, side: str) -> bool:
        """Whether a side needs more than one length."""
        return sum(line.side == side for line in self.lines) > 1


def _entry(entry: Entry) -> dict[str, Any]:
    return {
        "length_mm": entry.length,
        "count": entry.count,
        "spares": entry.spares,
        "wire": str(entry.wire),
        "head": entry.head,
        "thread_length_mm": entry.wire.thread_length,
        "thread_for_wire_mm": entry.wire.thread_end,
        "nipples": entry.nipples,
    }


def order(source: Source, overrides: Sequence[str] = ()) -> OrderAnswer:
    """Which spokes to buy.

    Parameters
    ----------
    source : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    overrides : "KEY=VALUE" each

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.

    Examples
    --------
    >>> from wheelcalc import answers
    >>> answer = answers.order("examples/errand-rear.toml")
    >>> [(line.side, line.length, line.count) for line in answer.lines]
    [('left', 290.0, 18), ('right', 289.0, 18)]
    >>> answer.stops
    False
    """
    build = opened(source, overrides)
    with build.named():
        demand("order", build.dimensions)
        answer = lengths(build)
        known = answer.known
        window = Window(known.number("stock.short_at_most"), known.number("stock.beyond_at_most"))
        stock = stock_of(known, answer.cut, window)
        lines, left_out = _planned(answer, stock, window)
        wires, nipple = assemble.wires(known), assemble.nipple(known)
        found = [
            *answer.findings,
            *no_sideways_pull(answer.wheel),
            *frame_against_hub(known, answer.wheel),
            *checks.ends(lines, nipple, wires, known),
            *checks.parts(known, nipple, wires),
            *_not_served(left_out, answer, window, stock),
            *_low_chances(lines, answer, window),
        ]
        return OrderAnswer(
            build=build.title,
            findings=by_weight(found),
            assumptions=[*answer.assumptions, *_assumptions(known, window)],
            lengths=answer,
            lines=lines,
            left_out=left_out,
            window=window,
            wires=wires,
            nipple=nipple,
            heads={side: answer.wheel.hub.flange(side).spoke_head for side in SIDES},
        )


def _planned(answer: LengthsAnswer, stock: Stock, window: Window) -> tuple[list[Line], list[int]]:
    lacing = answer.wheel.lacing
    return plan(
        cut={side: answer.cut[lacing.on(side)] for side in SIDES},
        rim_holes={side: lacing.rim_hole[lacing.on(side)] for side in SIDES},
        sigma={side: answer.sides[side].sigma for side in SIDES},
        stock=stock,
        window=window,
        spares=int(answer.known.number("stock.spares")),
        low=answer.known.number("limits.low_chance"),
    )


def stock_of(known: Dimensions, cut: Floats, window: Window) -> Stock:
    """Return what can be had: the jar, else the list of lengths, else every multiple of the step."""
    if "stock.on_hand" in known:
        return Stock.on_hand(known.needed("stock.on_hand"))
    if "stock.lengths" in known:
        return Stock(tuple(sorted(set(known.needed("stock.lengths")))))
    return Stock.by_step(known.number("stock.step"), cut, window)


def _assumptions(known: Dimensions, window: Window) -> list[str]:
    skip = ("nipple.seat_to_end", "nipple.washer", "nipple.body_diameter", "nipple.thread_depth", "stock.s", "stock.b")
    schools = (
        f"Ends may sit from {window.short:g} mm short of the slot's bottom to {window.beyond:g} mm beyond it (stock.short_at_most, "
        "beyond_at_most; common practice, contested). Schools: round up, so that the thread fills the head; round down, so that "
        "it cannot run out. Here the length with the best chance is taken."
    )
    step = (
        []
        if {"stock.on_hand", "stock.lengths"} & set(known)
        else [f"Lengths are sold every {known.number('stock.step'):g} mm."]
    )
    threads = [] if "nipple.for_wire" in known else ["The nipples' thread is taken to be the one for this wire."]
    return [schools, *step, *threads, *defaults_taken(known, PREFIXES, skip)]


def _not_served(left_out: Sequence[int], answer: LengthsAnswer, window: Window, stock: Stock) -> list[Finding]:
    if not left_out:
        return []
    lacing, cut = answer.wheel.lacing, answer.cut
    where = np.isin(lacing.rim_hole, left_out)
    would = [
        f"{side}: {_would_do(cut[where & lacing.on(side)], window)}"
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
            f"What would do there: {'; '.join(would)}. Order those, or change the pattern.",
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


def _low_chances(lines: Sequence[Line], answer: LengthsAnswer, window: Window) -> Iterator[Finding]:
    lacing = answer.wheel.lacing
    cut = [answer.cut[np.isin(lacing.rim_hole, line.rim_holes) & lacing.on(line.side)] for line in lines]
    return low_chance.findings(lines, cut, answer.error_budget, window, answer.known)


def frame_against_hub(known: Dimensions, wheel: Wheel) -> Iterator[Finding]:
    """Frame and hub of different width, and no spacers chosen: the flanges would not sit where they were computed."""
    if "frame.dropout_spacing" not in known or "hub.over_locknut" not in known:
        return
    chosen = chosen_spacers(known)
    short = missing_width(known) - sum(chosen or (0.0, 0.0))
    close = closeness(known, short)
    if close == "fits":
        return
    room = frame_width(known)
    what = f"The frame is {room:.1f} mm wide between the ends, the hub {room - short:.1f} mm"
    misfit = f"{abs(short):.1f} mm {'too narrow' if short > 0 else 'too wide'}"
    moved = max(most_moved(wheel, short).values())
    within = NINETEEN_IN_TWENTY * missing_sigma(known)
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
    elif moved <= known.number("limits.width_moves_length") and not (close == "no" and short < 0):
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
            "`wheelcalc fit` lists the ways; put the chosen spacers.fitted into the file (zeros: as it is).",
        )
