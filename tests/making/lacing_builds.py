"""Lacings for hypothesis, of every pattern and many counts, and their spokes as straight lines for a polygon library."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st
from shapely.geometry import LineString

from wheelcalc.wheel import lacing
from wheelcalc.wheel.joining import Counts, Lacing, most_crosses

sides = st.sampled_from(["left", "right"])
phases = st.sampled_from(["staggered", "aligned"])
heads = st.sampled_from(["leading", "trailing", "alternate", "all", "none"])


def lines(pattern: Lacing, rim: float = 290.0, hub: float = 23.0) -> list[LineString]:
    def place(radius: float, angles: np.ndarray) -> np.ndarray:
        return radius * np.column_stack([np.sin(np.radians(angles)), np.cos(np.radians(angles))])

    ends = zip(place(hub, pattern.hub_angle_deg), place(rim, pattern.rim_angle_deg), strict=True)
    return [LineString(pair) for pair in ends]


def crossed_by_lines(pattern: Lacing, **radii: float) -> np.ndarray:
    """How many spokes of its own flange each one crosses, by a polygon library."""
    each = lines(pattern, **radii)
    return np.array(
        [
            sum(
                each[i].crosses(each[j])
                for j in range(len(each))
                if j != i and pattern.is_right[i] == pattern.is_right[j]
            )
            for i in range(len(each))
        ]
    )


@st.composite
def crossed(draw: st.DrawFn) -> Lacing:
    flange = draw(st.sampled_from([4, 6, 8, 10, 12, 14, 16, 18, 20, 24]))
    k = {side: draw(st.integers(0, most_crosses(flange))) for side in ("left", "right")}
    return lacing.crossed(2 * flange, k, draw(sides), draw(phases), draw(heads))


@st.composite
def radial(draw: st.DrawFn) -> Lacing:
    return lacing.radial(2 * draw(st.integers(3, 24)), draw(sides), draw(phases), draw(heads))


@st.composite
def crows_feet(draw: st.DrawFn) -> Lacing:
    flange = draw(st.sampled_from([6, 9, 12, 15, 18, 21, 24]))
    k = {side: draw(st.integers(0, most_crosses(flange, 80.0))) for side in ("left", "right")}
    return lacing.crows_foot(2 * flange, k, draw(sides), draw(phases), draw(heads))


@st.composite
def two_to_ones(draw: st.DrawFn) -> Lacing:
    fewer = draw(st.sampled_from([4, 6, 8, 10, 12]))
    drilled = draw(st.sampled_from(["RLR", "RRL", "LRR", "LRL", "LLR", "RLL"]))
    of = {letter: fewer * drilled.count(letter) for letter in "LR"}
    k = {side: draw(st.integers(0, most_crosses(of[side[0].upper()]))) for side in ("left", "right")}
    return lacing.two_to_one(3 * fewer, k, drilled, draw(phases), draw(heads))


@st.composite
def unevens(draw: st.DrawFn) -> Lacing:
    rim = 2 * draw(st.integers(4, 24))
    left = draw(st.integers(4, 24))
    right = left if draw(st.booleans()) else draw(st.integers(4, 24))
    k = {}
    for side, holes in (("left", left), ("right", right)):
        spokes = min(rim // 2, holes)
        # Up to 80 degrees: beyond, lines dip into the hub's circle and a polygon library counts otherwise.
        k[side] = draw(st.integers(0, most_crosses(spokes, 80.0))) if spokes % 2 == 0 else 0
    return lacing.uneven_counts(Counts(rim, left, right, draw(sides), draw(phases)), k, draw(heads))


patterns = st.one_of(crossed(), radial(), crows_feet(), two_to_ones(), unevens())
