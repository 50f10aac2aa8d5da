"""Wheels for hypothesis: physical ranges, one strategy a quantity; every draw is a wheel that can be built."""

from __future__ import annotations

from hypothesis import strategies as st

from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.wheel.joining import most_crosses

erds = st.floats(400, 620)
pcds = st.floats(38, 70)
offsets = st.floats(12, 42)
hole_offsets = st.floats(-4, 4)
staggers = st.floats(-2, 2)
hole_diameters = st.floats(2.3, 2.9)
sides = st.sampled_from(["left", "right"])
phases = st.sampled_from(["staggered", "aligned"])
heads = st.sampled_from(["leading", "trailing", "alternate"])
even_flanges = st.sampled_from([8, 10, 12, 14, 16, 18, 20, 24])


@st.composite
def flanges(draw: st.DrawFn, holes: int) -> Flange:
    return Flange(holes=holes, pcd=draw(pcds), offset=draw(offsets), hole_diameter=draw(hole_diameters))


@st.composite
def crossings(draw: st.DrawFn, flange: int) -> dict[str, int]:
    allowed = st.integers(0, most_crosses(flange))
    return {"left": draw(allowed), "right": draw(allowed)}


@st.composite
def wheels(draw: st.DrawFn) -> Wheel:
    """Crossed wheels with unequal flanges, crosses, offsets; either first hole, either phase."""
    flange = draw(even_flanges)
    first, phase = draw(sides), draw(phases)
    rim = Rim(2 * flange, draw(erds), draw(hole_offsets), draw(staggers), first)
    hub = Hub(draw(flanges(flange)), draw(flanges(flange)), 130.0, phase)
    pattern = lacing.crossed(2 * flange, draw(crossings(flange)), first, phase, draw(heads))
    return Wheel(rim, hub, pattern)
