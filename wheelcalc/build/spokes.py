"""Keys of lacing, spokes and nipples, and of what spokes can be had."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wheelcalc.build import declare
from wheelcalc.build.section import Section, Sides

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class Lacing(Section):
    """[lacing]."""

    pattern: str = declare.choice(
        "how the spokes run",
        "crossed",
        "radial",
        "crow's foot",
        "two to one",
        "uneven counts",
        "listed",
        default="crossed",
    )
    crosses: Sides[int] = declare.count(
        "spokes of its own flange that each spoke passes; 0 is radial", 0, 12, per_side=True, needed=True
    )
    sides: str | None = declare.key("text", 'of two to one: how the rim is drilled, such as "RLR"')
    spokes: list[Any] = declare.key(
        "table", 'of a listed pattern: [[rim_hole, "right", hub_hole, "in"], ...]', needed=True
    )
    heads_in: Sides[str] = declare.choice(
        "which heads sit on the face toward the other flange",
        "leading",
        "trailing",
        "all",
        "none",
        "alternate",
        default="leading",
        per_side=True,
    )
    interlaced: bool = declare.flag("whether crossing spokes are woven", default=True)


class Spokes(Section):
    """[spokes]."""

    part: str | None = declare.key("text", "name of one in a drawer (--parts); own keys beside it go before")
    wire: Sides[tuple[float, float, float]] = declare.key(
        "wire", '"2.0", or head end / middle / thread end, or head end / rest', default=(2.0, 2.0, 2.0), per_side=True
    )
    butts: Sides[tuple[float, ...]] = declare.key(
        "lengths", "lengths of the thick ends, [head, thread]", 0, 150, default=(20.0, 25.0), per_side=True
    )
    thread_length: Sides[float] = declare.length("of the thread rolled on the spoke", 3, 40, 10.0, per_side=True)
    youngs_modulus: Sides[float] = declare.key("stress", "of the wire", 1e4, 4e5, 200_000.0, per_side=True)
    end_give: Sides[float | None] = declare.key(
        "give",
        "what both ends of a spoke, elbow and nipple, give for 1000 N more at about 1000 N; elbow 0.20, straight 0.10, "
        "0: an ideal spoke",
        0,
        2,
        per_side=True,
    )


class Nipple(Section):
    """[nipple]."""

    length: float = declare.length("of the nipple over all", 6, 40, 12.0)
    material: str = declare.choice(
        "brass or aluminium: decides the window of [stock]", "brass", "aluminium", default="brass"
    )
    for_wire: float | None = declare.length("the wire that its thread is for", 1.2, 4)
    seat_to_end: float = declare.length("bearing face of the head to the bottom of the slot", 0, 25, 2.5)
    slot_depth: float = declare.length("bottom of the slot to the top of the head", 0, 5, 1.0)
    thread_depth: float = declare.length("bottom of the slot to the end of the thread inside the nipple", 2, 30, 7.0)
    body_diameter: float = declare.length("of the nipple's shank", 2, 10, 4.0)
    washer: float = declare.length(
        "thickness of a washer under the head that was not there when erd was read", 0, 5, 0.0
    )


class Stock(Section):
    """[stock]."""

    step: float = declare.length("spoke lengths are sold every so many mm", 0.1, 20, 1.0)
    lengths: tuple[float, ...] = declare.key("lengths", "spoke lengths that can be had", 30, 500, needed=True)
    on_hand: Mapping[float, int] = declare.key("stock", 'spokes on hand, { "288" = 20 }', 30, 500, needed=True)
    short_at_most: float = declare.length("spoke end short of the intended end, at most", 0, 20, needed=True)
    beyond_at_most: float = declare.length("spoke end beyond the intended end, at most", 0, 20, 1.0)
    spares: int = declare.count("spare spokes of each length", 0, 100, 2)
