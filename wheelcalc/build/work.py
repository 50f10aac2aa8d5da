"""Keys of tightening, trueing and plucking, and of the tool that readings are taken with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wheelcalc.build import declare
from wheelcalc.build.section import Section, Sides

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


class Tension(Section):
    """[tension]."""

    target: float = declare.key("force", "tension wanted on the tighter side", 200, 5000, needed=True)
    evenness: float = declare.number("per cent either way", 0.5, 50, 10.0)
    floor_stop: float = declare.key("force", "of the slack side", 0, 5000, 400.0)
    floor_caution: float = declare.key("force", "of the slack side", 0, 5000, 600.0)


class Measuring(Section):
    """[measuring]."""

    tool: str = declare.choice("what the readings were taken with", "tape", "rule", "calliper", default="rule")


class EqualFaults(Section):
    """[truing.equal_faults]."""

    lateral: float = declare.length("amount that counts as equally bad", 0.001, 10, 0.05)
    radial: float = declare.length("amount that counts as equally bad", 0.001, 10, 0.05)
    dish: float = declare.length("amount that counts as equally bad", 0.001, 10, 0.05)
    tension: float = declare.key("force", "amount that counts as equally bad", 0.1, 1000, 60.0)


class Done(Section):
    """[truing.done]."""

    lateral: float = declare.length("run-out at which it is done", 0.01, 10, 0.3)
    radial: float = declare.length("run-out at which it is done", 0.01, 10, 0.5)
    dish: float = declare.length("at which it is done", 0.01, 10, 0.5)
    spread: float = declare.number(
        "per cent of the mean of a side, standard deviation, at which it is done", 0.5, 50, 6.0
    )


class ReadingError(Section):
    """[truing.reading_error]."""

    lateral: float = declare.length("usual error of one reading of lateral_mm, to start from", 0.001, 5, 0.08)
    radial: float = declare.length("usual error of one reading of radial_mm, to start from", 0.001, 5, 0.08)
    tension: float = declare.number("usual error of one tension, per cent, to start from", 0.1, 50, 4.0)


class Truing(Section):
    """[truing]."""

    equal_faults: EqualFaults = declare.section(EqualFaults)
    prefer: str = declare.choice("where the rim is bent", "both", "straight", "even", default="both")
    step: float = declare.number("smallest part of a turn", 0.01, 1.0, 0.125)
    most_per_pass: float = declare.number("turns of one nipple", 0.1, 10.0, 1.0)
    done: Done = declare.section(Done)
    reading_error: ReadingError = declare.section(ReadingError)
    stuck: tuple[int, ...] = declare.key("holes", "rim holes whose nipples do not turn, [10]", absent=())
    keep: tuple[Mapping[str, Any], ...] = declare.key(
        "kept", 'readings that were doubted, read again and right, [{ rim_hole = 11, column = "lateral" }]', absent=()
    )


class Circumference(Section):
    """[pluck.circumference]."""

    bare: float | None = declare.length("round the rim without spokes, by a paper strip", 500, 3000)
    built: float | None = declare.length("round the rim at the same place, built and tight", 500, 3000)


class Pluck(Section):
    """[pluck]."""

    free_length: Sides[float | None] = declare.length("elbow to nipple", 30, 500, per_side=True)
    end_hold: float = declare.number("0: ends turn freely, 1: clamped", 0.0, 1.0, 0.5)
    touching: bool | None = declare.flag("whether crossed spokes touch")
    known: tuple[Mapping[str, Any], ...] = declare.key(
        "known", 'spokes of known tension, [{ rim_hole = 1, tension = "980 N" }]', absent=()
    )
    loosened: tuple[Mapping[str, Any], ...] = declare.key(
        "loosened", "[{ rim_hole = 5, turns = [0, 0.5, 1], pitch_hz = [388, 352, 311] }], one spoke each", absent=()
    )
    circumference: Circumference = declare.section(Circumference)
