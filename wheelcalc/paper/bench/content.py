"""What the bench page shows, as plain values: where the work stands, and the next turns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wheelcalc.answers.tensioning.compute import tension
from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.page import CAUTION, turn, turned_past, verdict
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.files.readings import RimReadings
from wheelcalc.paper import ride_in
from wheelcalc.paper.truing_strip import truing_strip
from wheelcalc.wheel.wheel import Wheel

COLUMNS = ("lateral_mm", "radial_mm", "tension_N", "pitch_hz", "turned")


def wheel_at_the_bench(file: BuildFile, wheel: Wheel, passes: Sequence[RimReadings]) -> dict[str, Any]:
    """Return the wheel's name and sides, and all that was read and turned.

    Parameters
    ----------
    file, wheel : the build
    passes : oldest first
    """
    lacing, holes = wheel.lacing, wheel.rim.holes
    sides = dict(zip(lacing.rim_hole.tolist(), lacing.sides, strict=True))
    return {
        "title": file.title,
        "holes": holes,
        "sides": [sides.get(hole, "") for hole in range(1, holes + 1)],
        "passes": [
            {name: {str(hole): value for hole, value in each.of(name).items()} for name in COLUMNS} for each in passes
        ],
        "brought": list(map(_brought, passes)),
    }


def _brought(read: RimReadings) -> dict[str, Any]:
    """Run-outs of a pass as far as read [mm], and how many nipples were turned after it; None where that is not known."""
    turned = read.of("turned").values()
    out: dict[str, Any] = {"nipples": sum(turns != 0 for turns in turned) if turned else None}
    for name in ("lateral_mm", "radial_mm"):
        values = read.of(name).values()
        out[name] = round(max(values) - min(values), 3) if len(values) > 1 else None
    return out


def targets(file: BuildFile) -> dict[str, Any]:
    """Return what each side is to have."""
    names = ("target_N", "low_N", "high_N", "pitch_hz", "note")
    return {side: {name: each[name] for name in names} for side, each in tension(file).as_json()["sides"].items()}


def next_turns(answer: TrueAnswer) -> dict[str, Any]:
    """Return the next turns, biggest first, and what they bring."""
    answered = answer.as_json()
    turns = sorted(answered["turns"], key=lambda each: -abs(each["turns"]))
    return {
        "verdict": verdict(answer),
        "how": _how(answer),
        "safety": CAUTION,
        "turns": [{**each, "words": turn(each["turns"])} for each in turns],
        **{name: answered[name] for name in ("done", "why", "findings", "left_out")},
        **{name: answered[name] for name in ("before", "now", "after", "after_reads")},
        "strip": truing_strip(answer).svg(),
        "ride_in": ride_in_card(answer.build) if answered["done"] else None,
    }


def _how(answer: TrueAnswer) -> str:
    past = turned_past(answer)
    way = f"Go {past} turn too far and back, then tick" if past else "Tick"
    return f"Tighter is clockwise, seen from the tyre. {way} the nipple{'' if past else ' once it is turned'}."


def ride_in_card(build: Build) -> dict[str, Any]:
    """Return what to look at before and after the first rides."""
    after = f"Look again {', '.join(ride_in.AFTER)}: {', '.join(ride_in.LOOKS)}."
    return {"warning": ride_in.WARNING, "before": ride_in.before(build), "after": after, "never": ride_in.NEVER}
