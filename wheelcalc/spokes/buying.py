"""An order as a shop fills it: lines of one length and kind are one entry, whichever side they are for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from wheelcalc.spokes.ordering import Line
from wheelcalc.wheel.parts import Wire


@dataclass(frozen=True)
class Entry:
    """Spokes of one length and kind.

    Parameters
    ----------
    length : [mm]
    wire, head : what to ask for
    lines : of the order that it serves
    count, spares : spokes for the rim holes, and besides
    """

    length: float
    wire: Wire
    head: str
    lines: tuple[Line, ...]
    count: int
    spares: int

    @property
    def nipples(self) -> int:
        """One for each spoke, spares included."""
        return self.count + self.spares


def entries(lines: Sequence[Line], wires: Mapping[str, Wire], heads: Mapping[str, str]) -> list[Entry]:
    """Return the lines as a shop fills them, shortest first.

    Parameters
    ----------
    lines : of the order
    wires, heads : per side

    Notes
    -----
    Spares are counted once for a length, however many lines share it: a spare serves each of them.
    """
    alike: dict[tuple[float, Wire, str], list[Line]] = {}
    for line in lines:
        alike.setdefault((line.length, wires[line.side], heads[line.side]), []).append(line)
    return [
        Entry(length, wire, head, tuple(own), sum(line.count for line in own), max(line.spares for line in own))
        for (length, wire, head), own in sorted(alike.items(), key=lambda item: item[0][0])
    ]
