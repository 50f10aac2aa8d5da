"""Wheels whose spoke ends were seen: spokes of known length laced to known parts, so the ends gauge the readings."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from statistics import fmean
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.dimension import TOOL_SIGMA, Dimension
from wheelcalc.build.whole import Build
from wheelcalc.measuring import assemble
from wheelcalc.measuring.statistics import mean_sigma
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.lacing import Lacing
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

# C: how well the place of an end in a nipple's slot is judged by eye; how true ordered spokes are to their length; how
# well a tension that was only felt is known. D: the stretch that comes of it is about 0.1 mm.
EYE, AS_ORDERED, FELT = 0.3, 0.3, 0.15
# Nothing known: taken, with its standard uncertainty. C: old wheels of 50 to 110 kgf; ends from flush to 2 mm short.
UNKNOWN_TENSION, UNKNOWN_END = (800.0, 250.0), (0.0, 1.0)
# Seen ends of one side in this many or more also tell how far they spread.
ENOUGH_FOR_SPREAD = 4
# Origin of an erd that nobody measured: where it lies by the bead seat, or by the old spokes, within what is usual [mm].
GUESSED = "guessed"
BELOW_BEAD_SEAT, ANY_RIM = (24.0, 13.0), 25.0
# Wheel -> tension of every spoke [N] and what the rim's radius shrinks under it [mm].
Loading = Callable[[Build, Wheel], tuple[Floats, float]]


@dataclass(frozen=True)
class Case:
    """One wheel with its spokes in: the old one, or the new one as fitted.

    Parameters
    ----------
    name : "old wheel" or "fitted"
    build : its dimensions, hub under "hub"
    lengths : of the spokes of each side, slack, with error
    ends : each side's end positions as seen, + beyond the intended end [mm]
    eye : standard uncertainty of one end position, and of one that was not seen [mm]
    given : per side what spoke and rim give under tension: stretch and shrinking [mm]
    lists : the lengths of each side as they were read [mm]
    out_of_step : sides laced one rim hole out
    """

    name: str
    build: Build
    lengths: Mapping[str, Dimension]
    ends: Mapping[str, tuple[float, ...]]
    eye: Mapping[str, float]
    given: Mapping[str, Floats]
    lists: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    out_of_step: frozenset[str] = field(default_factory=frozenset)

    def predicted(self) -> dict[str, Floats]:
        """Where the ends of each side's spokes come to sit by the dimensions [mm], one value a spoke."""
        wheel = wheel_of(self.build)
        geometric = wheel.lengths if not self.out_of_step else _out_of_step(wheel, self.out_of_step).lengths
        masks = {side: wheel.lacing.on(side) for side in SIDES}
        return {side: self.lengths[side].value + self.given[side] - geometric[masks[side]] for side in SIDES}

    def seen(self, side: str) -> float:
        """Mean end position as seen [mm]."""
        return fmean(self.ends[side])

    @property
    def give_sigma(self) -> float:
        """How well what spoke and rim give is known, as a share of it: as well as the tension."""
        tension = self.build.get("tension.target")
        return FELT if tension is None or not tension.sigma else tension.sigma / float(tension.value)

    def end_sigma(self, side: str) -> float:
        """Standard uncertainty of the mean end position [mm]."""
        return together(self.ends[side], self.eye[side])


def wheel_of(build: Build) -> Wheel:
    """Return the wheel; its lacing is made once for all wheels that share it, since slips mostly move a distance."""
    if any(key in build for key in MOVED_BY_READINGS):
        return assemble.wheel(build)
    return assemble.wheel(build, lacing_of(build))


def lacing_of(build: Build) -> Lacing:
    """Return the lacing of these counts and crosses, made once."""
    if any(key in build for key in MOVED_BY_READINGS):
        return assemble.lacing(build)
    told = (key for key in build if key.startswith("lacing.") or key in COUNTS)
    facts = tuple((key, build[key].value, build[key].origin) for key in told)
    return _as_paired(_lacing(facts), build.value("old_wheel.pair_spokes", ""))


def _as_paired(lacing: Lacing, said: str) -> Lacing:
    """Two to one: the fuller flange's spokes started so that neighbours at the rim run apart, or cross.

    Notes
    -----
    Evenly spread hub holes stand a sixth of a pitch ahead of one rim hole of a pair and behind the other. Spokes that
    run apart are led further by that, spokes that cross less far (D); the other start turns one into the other.
    """
    if lacing.pattern != "two to one" or not said:
        return lacing
    fuller = max(SIDES, key=lacing.holes_of)
    led = lacing.lean * lacing.crosses * 360 / lacing.holes_of(fuller)
    beside = np.where(lacing.on(fuller) & (lacing.lean != 0), lacing.angle_deg - led, 0.0)
    apart = float((beside * lacing.lean).sum()) > 0
    return lacing if apart == (said == "apart") else replace(lacing, hub_angle_deg=lacing.hub_angle_deg - 2 * beside)


# Where one of these is given, the lacing is not the same for all wheels of these counts.
MOVED_BY_READINGS = ("lacing.spokes", *(f"hub.{side}.pair_spacing" for side in SIDES))
COUNTS = ("rim.holes", "rim.first_hole", "hub.left.holes", "hub.right.holes", "hub.phase")


@lru_cache(maxsize=512)
def _lacing(facts: tuple[tuple[str, Any, str], ...]) -> Lacing:
    return assemble.lacing(Build({key: Dimension(value, 0.0, origin) for key, value, origin in facts}))


def _out_of_step(wheel: Wheel, sides: frozenset[str]) -> Wheel:
    """Spokes of a side led to the rim hole beside their own: the angle grows by half a flange hole on all of them."""
    shift = np.zeros(len(wheel.lacing))
    for side in sides:
        shift[wheel.lacing.on(side)] = 180 / wheel.lacing.holes_of(side)
    return replace(wheel, lacing=replace(wheel.lacing, hub_angle_deg=wheel.lacing.hub_angle_deg + shift))


def together(values: Sequence[float], tool: float) -> float:
    """Standard uncertainty of a mean [mm]: the repeats' scatter and the tool's (or the eye's) error together."""
    return mean_sigma(values, tool) if len(values) > 1 else tool


def old_wheel(build: Build, loading: Loading) -> Case:
    """Return the old wheel as it stood.

    Parameters
    ----------
    build : what is known of it
    loading : tensions and shrinking of a wheel whose `tension.target` is set

    Raises
    ------
    InputError
        If something of the old wheel is missing or cannot be.
    """
    needed(build, "old_wheel", "crosses", "lengths")
    parts = old_parts(build)
    tool = TOOL_SIGMA[build.measuring.tool]
    lengths = {side: _mean(build.old_wheel.lengths[side], tool) for side in SIDES}
    try:
        return _case("old wheel", "old_wheel", parts, build, lengths, loading)
    except InputError as error:
        raise InputError(_old_key(error.key, build), error.text, error.file) from None


def _old_key(key: str, build: Build) -> str:
    """Where the build file has what stands for the old wheel's hub and lacing."""
    if key.startswith("lacing.crosses"):
        return "old_wheel.crosses"
    return f"old_wheel.{key}" if key.startswith("hub.") and has_old_hub(build) else key


def old_parts(build: Build) -> Build:
    """Return the old wheel's dimensions in the places of a build: its hub under "hub", the rim the same."""
    hub = build.under("old_wheel.hub", "hub") if has_old_hub(build) else build.under("hub", "hub")
    sections = ("rim.", "frame.", "limits.", "measuring.")
    kept = {key: entry for key, entry in build.items() if key == "position" or key.startswith(sections)}
    wires = {
        f"spokes.wire.{side}": build[f"old_wheel.wire.{side}"] for side in SIDES if f"old_wheel.wire.{side}" in build
    }
    gives = {key: build[key] for key in (f"spokes.end_give.{side}" for side in SIDES) if build.given(key)}
    crosses = {f"lacing.crosses.{side}": build[f"old_wheel.crosses.{side}"] for side in SIDES}
    nipple = {key: entry for key, entry in build.items() if key.startswith("nipple.") and key != "nipple.washer"}
    pairs = {key: entry for key, entry in build.items() if key == "old_wheel.pair_spokes"}
    tension, sigma = UNKNOWN_TENSION
    if "old_wheel.tension" in build:
        tension = build.old_wheel.tension
        sigma = FELT * tension
    parts = {**kept, **hub, **wires, **gives, **crosses, **nipple, **pairs, "tension.target": Dimension(tension, sigma)}
    return Build({**parts, "lacing.pattern": Dimension(pattern_by_counts(parts))})


def pattern_by_counts(parts: Mapping[str, Dimension]) -> str:
    """Return the pattern that the holes of rim and flanges allow; "crossed" where a count is not known."""
    counts = [parts.get(key) for key in ("rim.holes", "hub.left.holes", "hub.right.holes")]
    if any(each is None for each in counts):
        return "crossed"
    rim, left, right = (int(each.value) for each in counts if each is not None)
    if 2 * left == rim == 2 * right:
        return "crossed"
    return "two to one" if left + right == rim and max(left, right) == 2 * min(left, right) else "uneven counts"


def has_old_hub(build: Build) -> bool:
    """Whether the file tells of an old hub; else the hub stays the same."""
    return any(key.startswith("old_wheel.hub.") for key in build)


def fitted(build: Build, loading: Loading) -> Case:
    """Return the new wheel with the spokes that were ordered for it.

    Raises
    ------
    InputError
        If their lengths or the places of their ends are missing.
    """
    needed(build, "fitted", "lengths", "end_position")
    lengths = {side: _mean(build.fitted.lengths[side], AS_ORDERED) for side in SIDES}
    return _case("fitted", "fitted", build, build, lengths, loading)


def _case(
    name: str, section: str, parts: Build, build: Build, lengths: Mapping[str, Dimension], loading: Loading
) -> Case:
    ends = {side: tuple(build.value(f"{section}.end_position.{side}", (UNKNOWN_END[0],))) for side in SIDES}
    seen = f"{section}.end_position.left" in build
    wheel = assemble.wheel(parts if "rim.erd" in parts else guessed(parts, lengths))
    tensions, shrink = loading(parts if "rim.erd" in parts else guessed(parts, lengths), wheel)
    given = wheel.stretches(tensions) + shrink
    return Case(
        name,
        parts,
        lengths,
        ends,
        dict.fromkeys(SIDES, EYE if seen else UNKNOWN_END[1]),
        {side: given[wheel.lacing.on(side)] for side in SIDES},
        {side: tuple(build.needed(f"{section}.lengths.{side}")) for side in SIDES},
    )


def guessed(parts: Build, lengths: Mapping[str, Dimension]) -> Build:
    """Join a rough erd, only to find how much spokes and rim give."""
    erd = 2 * fmean(lengths[side].value for side in SIDES) + 10.0
    return Build({**parts, "rim.erd": Dimension(erd), "rim.erd_to": Dimension("spoke end")})


def with_erd_guessed(build: Build) -> Build:
    """Return the dimensions with an erd, where none was measured: a wide guess, so that only the sides are compared."""
    if "rim.erd" in build:
        return build
    seat = build.rim.bead_seat_diameter
    lengths = [fmean(build.old_wheel.lengths[side]) for side in SIDES]
    below, sigma = BELOW_BEAD_SEAT
    guess = (
        Dimension(2 * fmean(lengths) + 10.0, ANY_RIM, GUESSED)
        if seat is None
        else Dimension(seat - below, sigma, GUESSED)
    )
    return Build({**build, "rim.erd": guess, "rim.erd_to": Dimension("spoke end")})


def _mean(values: Sequence[float], tool: float) -> Dimension:
    return Dimension(fmean(values), together(values, tool))


def needed(build: Build, section: str, *names: str) -> None:
    """Refuse a section that is begun and lacks one of its keys."""
    for name in names:
        if f"{section}.{name}.left" not in build:
            others = " and ".join(f"{section}.{other}" for other in names if other != name)
            raise InputError(f"{section}.{name}", f"is missing and `salvage` needs it beside {others}")
