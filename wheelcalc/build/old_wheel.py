"""Keys of the wheel that is taken apart, of the spokes ordered, and of what lies in the jar."""

from __future__ import annotations

from collections.abc import Mapping

from wheelcalc.build import declare
from wheelcalc.build.hub import Hub
from wheelcalc.build.section import Section, Sides

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class OldWheel(Section):
    """[old_wheel]."""

    crosses: Sides[int | None] = declare.count("of the old wheel", 0, 12, per_side=True)
    pair_spokes: str | None = declare.choice(
        "two to one: whether two neighbouring spokes of the fuller flange run apart from the rim on or cross; absent: apart",
        "apart",
        "crossing",
    )
    lengths: Sides[tuple[float, ...]] = declare.key(
        "lengths", "of the old spokes, as taken out", 30, 500, per_side=True, needed=True
    )
    end_position: Sides[tuple[float, ...] | None] = declare.key(
        "lengths", "where their ends sat, + beyond the intended end", -30, 30, per_side=True
    )
    tension: float = declare.key("force", "of the tighter side, where known", 0, 5000, needed=True)
    wire: Sides[tuple[float, float, float] | None] = declare.key(
        "wire", "of the old spokes; absent: plain 2.0", per_side=True
    )
    hub: Hub = declare.section(Hub)


class Fitted(Section):
    """[fitted]."""

    lengths: Sides[tuple[float, ...]] = declare.key(
        "lengths", "the spokes ordered", 30, 500, per_side=True, needed=True
    )
    end_position: Sides[tuple[float, ...] | None] = declare.key(
        "lengths", "where their ends came out", -30, 30, per_side=True
    )


class JarSpokes(Section):
    """[[jar.spokes]]."""

    wire: tuple[float, float, float] | None = declare.key("wire", "as in [spokes]")
    on_hand: Mapping[float, int] = declare.key("stock", "spokes on hand", 30, 500, needed=True)
    taken_from: str | None = declare.choice("the side they were on", "left", "right", "new")
    spoke_head: str | None = declare.choice("elbow, or straight", "elbow", "straight")
    thread: str | None = declare.choice("look at a thread beside a new one: crests sharp, or worn", "good", "worn")
    condition: str | None = declare.choice(
        "roll them on a table, look at their elbows", "straight and clean", "bent or rusty"
    )
    broken: int | None = declare.count("how many of their set broke in use", 0, 144)
    ridden_km: float | None = declare.number("how far they were ridden, km", 0, 1e6)
