"""Of `order`: what the answer holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer
from wheelcalc.answers.ordering.page import lines_table, shopping, verdict
from wheelcalc.answers.spoke_lengths import LengthsAnswer
from wheelcalc.page.blocks import Page, Sentence
from wheelcalc.spokes.buying import Entry, entries
from wheelcalc.spokes.ordering import Line, Window
from wheelcalc.wheel.parts import Nipple, Wire


@dataclass(frozen=True, kw_only=True, eq=False)
class OrderAnswer(Answer):
    """Answer of `order`; `lengths` is the answer that it rests on."""

    schema: ClassVar[str] = "wheelcalc/order/1"
    records: ClassVar[str] = "lines"
    lengths: LengthsAnswer
    lines: Sequence[Line]
    left_out: Sequence[int]
    window: Window
    wires: dict[str, Wire]
    nipple: Nipple
    heads: dict[str, str]

    def page(self, *, working: bool = False) -> Page:
        """Return what to order first, then the lengths behind it."""
        stops, jar, entries = self.stops, self.from_jar, self.entries
        labels = {line: self._label(number, line) for number, line in enumerate(self.lines, start=1)}
        shop = shopping(entries, labels, self.nipple, self.nipples_by_thread, stops=stops, from_jar=jar)
        return Page(
            verdict=verdict(entries, self.nipples, stops=stops, from_jar=jar),
            title=f"{self.title}: spokes to order{', but not yet' if stops else ''}",
            answer=[*lines_table(self.lines, self.window), *shop],
            findings=[each for each in self.findings if each.name != "unequal-lengths"],  # the table shows them
            details=[Sentence(self.lengths.in_short()), *(self.lengths.formulas() if working else [])],
            assumptions=self.assumptions,
        )

    def _label(self, number: int, line: Line) -> str:
        return f"{line.side}, bundle {number}" if self.mixed(line.side) else line.side

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
        return "stock.on_hand" in self.lengths.build

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
            **line.as_json(),
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
