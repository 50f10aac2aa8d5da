"""What `order` says: its verdict, the table of lines, and what to ask a shop for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby

from wheelcalc.page.blocks import Block, Column, Sentence, Table
from wheelcalc.page.numbers import percent, several, signed
from wheelcalc.spokes.buying import Entry
from wheelcalc.spokes.ordering import Line, Window
from wheelcalc.wheel.parts import Nipple

MANY = 4  # entries, from which the verdict counts them and the list names them


def verdict(entries: Sequence[Entry], nipples: int, *, stops: bool, from_jar: bool) -> str:
    """Whether to order, and what, in one sentence."""
    if stops or not entries:
        return "Do not order yet."
    spokes = ", ".join(map(_of_entry, entries))
    if len(entries) >= MANY:
        spokes = f"{sum(each.count + each.spares for each in entries)} spokes of {len(entries)} kinds, listed below"
    if from_jar:
        return f"Take these from those on hand: {spokes}; {nipples} nipples to buy where none are at hand."
    return f"Order these: {spokes}, {nipples} nipples."


def _of_entry(entry: Entry) -> str:
    sides = several(list(dict.fromkeys(line.side for line in entry.lines)))
    return f"{entry.count + entry.spares} x {entry.length:g} mm ({sides})"


def lines_table(lines: Sequence[Line], window: Window) -> list[Block]:
    """Where each line's ends will sit, and the chance that they fit."""
    return [table_of(lines, window)] if lines else [Sentence("Nothing to order: see above.")]


def table_of(lines: Sequence[Line], window: Window) -> Table:
    """The table of lines, with what its columns mean."""
    mixed = len({line.side for line in lines}) < len(lines)
    end = (
        f"+ beyond, - short of the nipple's slot; allowed -{window.short:g} to +{window.beyond:g} "
        "(contested: some round up, some down)"
    )
    columns = [
        Column("side", lambda line: line.side, "left"),
        Column("length mm", lambda line: f"{line.length:g}"),
        Column("spokes", lambda line: str(line.count)),
        Column("end mm", lambda line: signed(line.end_position), meaning=end),
        Column("chance", lambda line: percent(line.chance), meaning="that all ends of the line lie there"),
        Column("also fits", _also, "left"),
        Column("rim holes", lambda line: ", ".join(map(str, line.rim_holes)), "left"),
    ]
    return Table(columns if mixed else columns[:-1], lines)


def _also(line: Line) -> str:
    """Return lengths in a row as a range, such as "289, 291" or "280 to 284"."""
    runs = [
        [length for _, length in run]
        for _, run in groupby(enumerate(sorted(line.also)), lambda each: each[1] - each[0])
    ]
    return ", ".join(f"{run[0]:g} to {run[-1]:g}" if len(run) > 2 else ", ".join(f"{n:g}" for n in run) for run in runs)


def shopping(
    entries: Sequence[Entry],
    labels: Mapping[Line, str],
    nipple: Nipple,
    threads: Mapping[float, int],
    *,
    stops: bool,
    from_jar: bool,
) -> list[Block]:
    """Return what a shop is asked for, or what to take from those on hand; under a stop, that it is not yet.

    Parameters
    ----------
    entries : as a shop fills them
    labels : of each line's bundle
    nipple : its kind
    threads : wire that the nipples' thread is for [mm] -> how many
    stops, from_jar : whether there is a stop; whether the spokes are on hand already
    """
    if not entries:
        return []
    what = "To take from those on hand" if from_jar else "To buy"
    kinds: dict[str, list[str]] = {}
    for entry in entries:
        wire = entry.wire
        kind = f"{wire} mm wire, {entry.head} head, {wire.thread_length:g} mm of thread for {wire.thread_end:.1f} wire"
        label = " and ".join(labels[line] for line in entry.lines)
        kinds.setdefault(kind, []).append(f"{entry.count} + {entry.spares} spare of {entry.length:g} mm ({label})")
    spokes = "; ".join(f"{', '.join(parts)}: {kind}" for kind, parts in kinds.items())
    washer = f", each with a washer of {nipple.washer:g} mm under its head" if nipple.washer else ""
    nipples = "; ".join(
        f"{count} nipples for {wire:.1f} mm wire, {nipple.material}, {nipple.length:g} mm long{washer}"
        for wire, count in threads.items()
    )
    head = f"{what}{', but not yet' if stops else ''}: {spokes}"
    if from_jar:
        return [Sentence(f"{head}."), Sentence(f"To buy, where none are at hand: {nipples}.")]
    return [Sentence(f"{head}; {nipples}.")]
