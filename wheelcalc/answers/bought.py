"""Whether spokes that were bought already serve a build."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from wheelcalc.answers.ordering.answer import OrderAnswer
from wheelcalc.answers.ordering.compute import planned
from wheelcalc.files.order_json import BoughtLine
from wheelcalc.spokes.ordering import Line, Stock
from wheelcalc.wheel.findings import Finding, Level
from wheelcalc.wheel.parts import SIDES


@dataclass(frozen=True)
class Serves:
    """What spokes bought do for a build: which go where, the rim holes that none serves, and what would be ordered now."""

    build: str
    lines: tuple[Line, ...]
    left_out: tuple[int, ...]
    finding: Finding

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        rows = [
            {
                "side": line.side,
                "length_mm": line.length,
                "count": line.count,
                "rim_holes": list(line.rim_holes),
                "end_position_mm": line.end_position,
                "chance_that_it_fits": line.chance,
            }
            for line in self.lines
        ]
        return {"build": self.build, "serves": not self.left_out, "lines": rows, "not_served": list(self.left_out)}


def serves(bought: Sequence[BoughtLine], now: OrderAnswer, name: str, level: Level) -> Serves:
    """Give the spokes bought, spares too, to the rim holes of a build, as the search of orders does from a jar.

    Parameters
    ----------
    bought, now : the spokes, and what would be ordered for the build
    name, level : what the build is called, and how much it matters where they do not serve it
    """
    counts: Counter[float] = Counter()
    for line in bought:
        counts[line.length] += line.count + line.spares
    lines, left_out = planned(now.lengths, Stock.on_hand(dict(counts)), now.window)
    return Serves(name, tuple(lines), tuple(left_out), _finding(now, lines, left_out, name, level))


def _finding(now: OrderAnswer, lines: Sequence[Line], left_out: Sequence[int], name: str, level: Level) -> Finding:
    if not left_out:
        ends = "; ".join(
            f"{line.count} of {line.length:g} mm {line.side}, ends {line.end_position:+.1f} mm" for line in lines
        )
        text = f"{name}: the spokes already bought serve: {ends} from the slot's bottom."
        return Finding("note", "bought-spokes-serve", text)
    lacing, where = now.lengths.wheel.lacing, []
    for side in SIDES:
        count = sum(hole in set(left_out) for hole in lacing.rim_hole[lacing.on(side)].tolist())
        if count:
            lengths = " or ".join(dict.fromkeys(f"{line.length:g}" for line in now.lines if line.side == side))
            where.append(f"{count} on the {side} (they take {lengths or 'a length that cannot be had'} mm)")
    return Finding(
        level,
        "bought-spokes-wrong",
        f"{name}: the spokes already bought do not serve: none fits {' and '.join(where)}.",
        "Order these, or keep to the build that the spokes were bought for.",
    )
