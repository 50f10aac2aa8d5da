"""Keys of the rim."""

from __future__ import annotations

from typing import Any

from wheelcalc.build import declare
from wheelcalc.build.section import Section

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class RimSection(Section):
    """What the rim's cross section is: plain facts, or the exact constants."""

    material: str | None = declare.choice("what the rim is made of", "aluminium", "steel", "carbon")
    mass: float = declare.key("mass", "weigh the bare rim", 50, 5000, needed=True)
    width: float | None = declare.length("over both flanges of the rim", 8, 150)
    depth: float | None = declare.length("rim edge to inner face", 4, 120)
    area: float = declare.key("area", "of the rim's material cut across", 10, 2000, needed=True)
    inertia_in_plane: float | None = declare.key("inertia", "against bending in the wheel's plane", 10, 1e6)
    inertia_out_of_plane: float | None = declare.key("inertia", "against bending out of it", 10, 1e7)
    torsion_constant: float | None = declare.key("inertia", "against twist", 1, 1e7)
    youngs_modulus: float | None = declare.key("stress", "of the rim's material", 1e3, 1e6)
    shear_modulus: float | None = declare.key("stress", "of the rim's material", 5e2, 5e5)
    bending_in_plane: float | None = declare.key("stiffness", "EI of the bare rim tapped inward", 1, 1e5)
    bending_out_of_plane: float | None = declare.key("stiffness", "EI of the bare rim tapped sideways", 1, 1e5)
    torsion: float | None = declare.key("stiffness", "GJ of the bare rim tapped sideways", 0.1, 1e5)
    centroid_diameter: float | None = declare.length("of the ring through the middle of the section", 100, 900)


class Rim(Section):
    """[rim]."""

    part: str | None = declare.key("text", "name of one in a drawer (--parts); own keys beside it go before")
    holes: int = declare.count("count the spoke holes of the rim", 6, 144, needed=True)
    erd: float = declare.length(
        "put two old spokes with nipples in opposite holes, measure across their ends",
        100,
        900,
        reading=True,
        needed=True,
    )
    erd_to: str | None = declare.choice(
        'say what erd was measured to: "spoke end" (across the intended ends of two opposite spokes, at the bottom of '
        'the nipple\'s slot), "nipple top", or "nipple seat" (across the faces that the nipple heads bear on)',
        "spoke end",
        "nipple top",
        "nipple seat",
    )
    measured: str = declare.choice(
        "whether erd was read off a bare or a built rim", "bare", "tensioned", default="bare"
    )
    hole_offset: float = declare.length(
        "spoke hole line from the rim's centre plane, + right", -30, 30, 0.0, reading=True, sided=True
    )
    hole_stagger: float = declare.length("each hole from that line toward its flange", -15, 15, 0.0)
    first_hole: str = declare.choice(
        "side that the first hole forward of the valve leans to", "left", "right", default="right"
    )
    bead_seat_diameter: float | None = declare.length(
        "the second number of the tyre's size mark, such as 622", 100, 800
    )
    tension_limit: float | None = declare.key("force", "the rim maker's largest spoke tension", 250, 5000)
    hole_diameter: float | None = declare.length("of a spoke hole in the rim", 2, 15)
    eyelets: bool = declare.flag("whether the spoke holes are lined", absent=False)
    walls: str | None = declare.choice("single wall or double wall (a hollow box)", "single", "double")
    brake_track: bool | None = declare.flag("whether rim brakes may rub on it")
    section: RimSection = declare.section(RimSection)

    @property
    def material(self) -> str:
        """What the rim is made of; aluminium where the file is silent."""
        return self.section.material or "aluminium"

    @property
    def double_wall(self) -> bool:
        """Whether the rim has a double wall; where the file is silent steel has a single one, the rest a double one."""
        return (self.walls or ("single" if self.material == "steel" else "double")) == "double"


class OldRim(Section):
    """[old_rim]: a used rim, looked over and measured."""

    diameters: tuple[float, ...] = declare.key(
        "lengths", "outside, 2 to 4 ways, the first across the valve, then by equal turns", 100, 900, absent=()
    )
    flat_gap: float | None = declare.length("largest gap on a flat table", 0, 100)
    flat: list[Any] | None = declare.key("table", "gaps on a flat table at 5 or more rim holes, [[rim_hole, gap], ...]")
    table_side: str = declare.choice("side of the rim that lay on the table", "left", "right", default="right")
    brake_wall: float | None = declare.length("thinnest wall of the brake track", 0, 10)
    cracks: bool | None = declare.flag("whether there are cracks")
    bulges: bool | None = declare.flag("whether it bulges")
