"""What `true --broken` says: whether the wheel may roll on, where the rim stands, and what to do in order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wheelcalc.answers.truing.page import turn, turn_table
from wheelcalc.page.blocks import Block, Column, Heading, Step, Steps, Table
from wheelcalc.page.numbers import counted, several

RUNOUTS = (("lateral run-out, mm", "lateral_mm"), ("radial run-out, mm", "radial_mm"))
Rows = Sequence[Mapping[str, Any]]


def title(name: str, holes: Sequence[int]) -> str:
    """What the page is about."""
    which = several([str(hole) for hole in holes])
    gone = f"the spoke in rim hole {which} is gone" if len(holes) == 1 else f"the spokes in rim holes {which} are gone"
    return f"{name}: {gone}"


def verdict(rows: Rows, furthest: float, *, stops: bool) -> str:
    """Whether to roll on, in one sentence.

    Parameters
    ----------
    rows : nipples to turn
    furthest : how far the rim then lies from where it ran, sideways [mm]
    stops : whether anything forbids it
    """
    if stops:
        return "Do not ride on it: walk, or put in a spoke."
    if not rows:
        return f"Home slowly, nothing to turn: the rim stays within {furthest:.1f} mm of where it ran."
    return f"Home slowly, after turning {counted(len(rows), 'nipple')}."


def turns(rows: Rows) -> list[Block]:
    """The nipples to turn, if any."""
    if not rows:
        return []
    return [Heading("Turn these nipples (tighter is clockwise, seen from the tyre):"), turn_table(rows)]


def todo(rows: Rows, furthest: float, *, stops: bool) -> Steps:
    """What to do in order; parameters as of `verdict`."""
    slow = (
        "Ride slowly, off the saddle over bumps, and look at the wheel every few minutes; stop if another spoke loosens. Replace the "
        "spoke before the next ride."
    )
    if stops:
        only = "; the turns above only keep the wheel from rubbing" if rows else ""
        slow = f"Walk the bike, or put in a spoke here{only}."
    items = [
        "Take the broken spoke out, or tape it to a neighbour so that it cannot catch anything.",
        "Do the turns above." if rows else f"Turn nothing: the rim stays within {furthest:.1f} mm of where it ran.",
        slow,
    ]
    if rows:
        undo = ", ".join(f"{row['rim_hole']}: {turn(-row['turns'])}" for row in rows)
        items.append(f"With the new spoke in, undo it, by rim hole {undo}. Then true as usual.")
    return Steps([Step(each) for each in items])


def figures(broken: Mapping[str, Any]) -> Table:
    """Run-outs and neighbours, now and after the turns; from the JSON's `broken`."""
    gone, after = broken, broken["after"]
    rows = [(words, f"{gone[name]:.1f}", f"{after[name]:.1f}") for words, name in RUNOUTS]
    rows += [
        (
            f"rim hole {one['rim_hole']}, {one['side']}: tension, N",
            f"{one['tension_N']:.0f}",
            f"{other['tension_N']:.0f}",
        )
        for one, other in zip(gone["neighbours"], after["neighbours"], strict=True)
    ]
    columns = [
        Column("", lambda row: row[0], "left"),
        Column("now", lambda row: row[1]),
        Column("after the turns", lambda row: row[2]),
    ]
    return Table(columns if gone["turns"] else columns[:-1], rows)
