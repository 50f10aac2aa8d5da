"""Of `true`: files of readings that are written, blank or with the advice beside them, and the mark of their wheel."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import Any

from wheelcalc.answers.base import Source, opened
from wheelcalc.answers.truing.readings import PassReadings
from wheelcalc.arrays import Floats
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.needs import demand
from wheelcalc.files.readings import HOLE, PASS, wheel_line
from wheelcalc.measuring import assemble
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

COLUMNS = ("lateral_mm", "radial_mm", "tension_N")
OTHERS = ("pitch_hz", "tension_sigma_N", "assigned")
DIGITS = {"tension_N": 0, "lateral_mm": 2, "radial_mm": 2, "pitch_hz": 1, "tension_sigma_N": 1, "assigned": 2}


def mark_of(wheel: Wheel) -> str:
    """Mark by which files know their wheel again: of rim, hub and lacing, to the millimetre."""
    hub, lacing = wheel.hub, wheel.lacing
    flanges = [(each.holes, round(each.pcd), round(each.offset)) for each in (getattr(hub, side) for side in SIDES)]
    ties = [lacing.rim_hole.tolist(), lacing.hub_hole.tolist(), lacing.sides, [str(each) for each in lacing.directions]]
    return f"{zlib.crc32(repr([wheel.rim.holes, round(wheel.rim.erd), flanges, ties]).encode()):08x}"


def blank(wheel: Wheel, title: str) -> str:
    """An empty file to fill in: a row for each rim hole."""
    holes = range(1, wheel.rim.holes + 1)
    rows = [",".join([HOLE, *COLUMNS]), *(f"{hole},,," for hole in holes)]
    return "\n".join([wheel_line(title, wheel.rim.holes, mark_of(wheel)), *rows]) + "\n"


def blank_of(source: Source, overrides: Overrides = (), **keys: Any) -> str:
    """An empty file to fill in for a build; parameters and errors as of `true`."""
    file = opened(source, overrides, keys)
    with file.named():
        demand("true", file.build)
        return blank(assemble.wheel(file.build), file.title)


def with_turns(wheel: Wheel, title: str, passes: Sequence[PassReadings], turns: Sequence[Floats]) -> str:
    """All readings, a row for each hole and pass, with the turns made or to be made after each pass.

    Parameters
    ----------
    wheel, title : of the build
    passes : oldest first
    turns : after each pass, (n,) each
    """
    names = [*COLUMNS, *(name for name in OTHERS if any(each.read.of(name) for each in passes))]
    names = [name for name in names if name in COLUMNS[:2] or any(each.read.of(name) for each in passes)]
    lines = [wheel_line(title, wheel.rim.holes, mark_of(wheel)), ",".join([PASS, HOLE, *names, "turned"])]
    for number, (each, turned) in enumerate(zip(passes, turns, strict=True), 1):
        of_hole = dict(zip(wheel.lacing.rim_hole.tolist(), turned.tolist(), strict=True))
        for hole in range(1, wheel.rim.holes + 1):
            cells = [_cell(each.read.of(name).get(hole), DIGITS[name]) for name in names]
            turn = f"{of_hole[hole]:g}" if hole in of_hole else ""
            lines.append(",".join([str(number), str(hole), *cells, turn]))
    return "\n".join(lines) + "\n"


def _cell(value: float | None, digits: int) -> str:
    if value is None:
        return ""
    short = f"{value:.{digits}f}"
    return short if float(short) == value else f"{value:g}"
