"""Whether the old rim is worth it, as `salvage` tells it: sorted, and what it would take to make it run true."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.files.needs import missing
from wheelcalc.joined import section as rim_section
from wheelcalc.joined import solved
from wheelcalc.joined.findings import limits_of, old_rim_of
from wheelcalc.joined.target import target_of
from wheelcalc.measuring import assemble
from wheelcalc.salvage.bent_rim import BentRim, Built, from_diameters, from_table, saddle
from wheelcalc.salvage.old_rim import FEWEST_GAPS, OldRim, sort, verdict
from wheelcalc.tension import balance
from wheelcalc.tension.targets import lowest_on
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

WORTH_LONGER = 0.5  # mm: half a step of length; less is a turn of the nipple


@dataclass(frozen=True)
class Outcome:
    """How a wheel on this rim would come out one way.

    Parameters
    ----------
    lateral, radial : run-out that is left, peak to peak [mm]
    lowest, highest : tension of a spoke of each side [N]
    uneven : largest difference from the side's mean, as a share of it
    """

    lateral: float
    radial: float
    lowest: Mapping[str, float]
    highest: Mapping[str, float]
    uneven: float

    def as_json(self) -> dict[str, Any]:
        """Return the figures under names with their units."""
        return {
            "lateral_mm": self.lateral,
            "radial_mm": self.radial,
            "lowest_tension_N": dict(self.lowest),
            "highest_tension_N": dict(self.highest),
            "uneven_percent": 100 * self.uneven,
        }


@dataclass(frozen=True)
class RimForecast:
    """What to expect of the rim before anything is ordered.

    Parameters
    ----------
    straight, even : made to run true, and with its tensions kept even
    longer : by rim hole, how much longer a spoke is than its side's mean where the tensions are kept even [mm]; made to
        run true the rim is a true rim's, and so are the lengths
    high_spots : rim holes where a spoke half a step longer or more belongs then
    shape : what the shape was taken from, in words
    """

    straight: Outcome
    even: Outcome
    longer: Mapping[int, float]
    high_spots: tuple[int, ...]
    shape: str


@dataclass(frozen=True)
class Longer:
    """Longer spokes of the jar that belong at high spots: side, length [mm], rim holes."""

    side: str
    length_mm: float
    rim_holes: tuple[int, ...]


@dataclass(frozen=True)
class RimAnswer:
    """Verdict on the old rim, its findings, the forecast or what it lacks, and the jar's longer spokes for it."""

    verdict: str
    rim: OldRim
    findings: tuple[Finding, ...]
    forecast: RimForecast | None
    lacking: str
    from_jar: tuple[Longer, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return verdict, readings and forecast."""
        told = self.forecast
        return {
            "verdict": self.verdict,
            "out_of_round_mm": self.rim.out_of_round,
            "flat_gap_mm": self.rim.widest_gap,
            "forecast": None
            if told is None
            else {
                "straight": told.straight.as_json(),
                "even": told.even.as_json(),
                "longer_mm": [{"rim_hole": hole, "longer_mm": value} for hole, value in told.longer.items()],
                "longer_spokes_at": told.high_spots,
            },
            "longer_from_jar": [vars(each) for each in self.from_jar],
        }


def rim_of(build: Build) -> RimAnswer:
    """Return whether the old rim is worth it.

    Raises
    ------
    InputError
        If a reading of [old_rim] cannot be.
    """
    rim = old_rim_of(build)
    findings = sort(rim, limits_of(build))
    forecast, lacking = _forecast(rim, build)
    if forecast is not None:
        findings += _takes_too_much(forecast, build)
    return RimAnswer(verdict(findings), rim, tuple(findings), forecast, lacking)


def _forecast(rim: OldRim, build: Build) -> tuple[RimForecast | None, str]:
    """The forecast, or in words why there is none."""
    if not rim.diameters and rim.widest_gap is None:
        return None, "old_rim.diameters and old_rim.flat"
    keys = [ways[0] for ways in missing("lengths", build)] or rim_section.missing(build)
    estimate = None if keys else rim_section.section_of(build)
    if estimate is None:
        return None, ", ".join(keys)
    wheel = assemble.wheel(build)
    target = target_of(build, wheel, solved.buckling_limits(build, wheel, estimate))
    rest = balance.at_rest(wheel, target.per_spoke)
    structure = balance.structure_at(wheel, rest, estimate.section)
    lateral, radial, words = _shape(rim, structure.node_angles_rad, build.old_rim.table_side)
    bent = BentRim(structure, lateral, radial)
    try:
        straight, even = bent.straight, bent.even
    except InputError:
        return None, "a lower tension.target: this one buckles the rim"
    longer = {int(h): float(v) for h, v in zip(wheel.lacing.rim_hole, _over_mean(even.longer, wheel), strict=True)}
    return (
        RimForecast(
            straight=_outcome(straight, wheel, rest.tensions),
            even=_outcome(even, wheel, rest.tensions),
            longer=longer,
            high_spots=tuple(hole for hole, value in longer.items() if value >= WORTH_LONGER),
            shape=words,
        ),
        "",
    )


def _shape(rim: OldRim, angles_rad: Floats, table_side: str) -> tuple[Floats, Floats, str]:
    """Lateral and radial shape of the bare rim at its holes, and what they were taken from."""
    lateral, radial, words = np.zeros(len(angles_rad)), np.zeros(len(angles_rad)), []
    # A rim that lies on its right side gapes where it bulges to the left.
    toward = -1.0 if table_side == "right" else 1.0
    if rim.gaps and len(rim.gaps) >= FEWEST_GAPS:
        lateral = from_table(list(rim.gaps), list(rim.gaps.values()), angles_rad, toward)
        words.append(f"{len(rim.gaps)} gaps on the table")
    elif rim.widest_gap is not None:
        lateral = saddle(rim.widest_gap, angles_rad)
        words.append(
            f"the largest gap on the table, as a saddle ({FEWEST_GAPS} or more gaps by rim hole would say where)"
        )
    if rim.diameters:
        radial = from_diameters(rim.diameters, angles_rad)
        words.append(f"{len(rim.diameters)} diameters (an egg shape hides from diameters)")
    return lateral, radial, " and ".join(words)


def _over_mean(longer: Floats, wheel: Wheel) -> Floats:
    """Length of each spoke less the mean of its side [mm]."""
    out = np.empty(len(longer))
    for side in SIDES:
        mask = wheel.lacing.on(side)
        out[mask] = longer[mask] - longer[mask].mean()
    return out


def _outcome(built: Built, wheel: Wheel, tensions: Floats) -> Outcome:
    now = tensions + built.changes
    sides = {side: now[wheel.lacing.on(side)] for side in SIDES}
    uneven = max(float(np.abs(each - each.mean()).max() / max(each.mean(), 1.0)) for each in sides.values())
    return Outcome(
        lateral=built.lateral_run_out,
        radial=built.radial_run_out,
        lowest={side: float(each.min()) for side, each in sides.items()},
        highest={side: float(each.max()) for side, each in sides.items()},
        uneven=uneven,
    )


def _takes_too_much(forecast: RimForecast, build: Build) -> Iterator[Finding]:
    """What making the rim run true would ask of the spokes."""
    straight, limit = forecast.straight, build.limits.uneven_caution / 100
    slack = [side for side in SIDES if straight.lowest[side] <= 0]
    wheel = assemble.wheel(build)
    over = [
        side
        for side in SIDES
        if straight.highest[side] > _most(build, wheel, side) * (1 + build.tension.evenness / 100)
    ]
    if slack:
        text = f"Made to run true, this rim leaves spokes slack on the {' and '.join(slack)}: the wheel would not hold."
        yield Finding(
            "stop", "rim-too-bent", text, "Do not build on it, or let it run out and use it without rim brake."
        )
    elif over:
        highest = max(straight.highest.values())
        text = f"Made to run true, this rim takes {highest:.0f} N in its tightest spoke, over its limit."
        yield Finding(
            "caution", "rim-too-bent", text, "Let some run-out stand (see the forecast), or lower tension.target."
        )
    elif straight.uneven > limit:
        text = (
            f"Made to run true, this rim takes tensions up to {100 * straight.uneven:.0f} % from their side's mean (usual: "
            f"{100 * limit:.0f} %)."
        )
        lowest, floor = min(straight.lowest.values()), build.tension.floor_stop
        if lowest < floor:
            text += (
                f" The loosest spoke keeps {lowest:.0f} N, under the floor of {floor:.0f} N: it comes loose in riding."
            )
        yield Finding("caution", "rim-uneven", text, "Settle between the two: truing.prefer in the build file decides.")


def _most(build: Build, wheel: Wheel, side: str) -> float:
    """Highest tension that a spoke of a side may have [N]; infinite where no limit is known."""
    limits = target_of(build, wheel).limits
    return lowest_on(side, limits) if limits else math.inf


def longer_from_jar(
    forecast: RimForecast | None, is_right: Mapping[int, bool], lengths: Mapping[str, float], jar: Mapping[float, int]
) -> tuple[Longer, ...]:
    """Which longer spokes of the jar belong at the rim's high spots.

    Parameters
    ----------
    forecast : of the rim
    is_right : rim hole -> whether it serves the right flange
    lengths : that each side is built with [mm]
    jar : length [mm] -> how many are left over
    """
    out: list[Longer] = []
    for side in SIDES if forecast is not None else ():
        assert forecast is not None
        spots = [hole for hole in forecast.high_spots if is_right[hole] == (side == "right")]
        if not spots:
            continue
        wanted = float(np.mean([forecast.longer[hole] for hole in spots]))
        more = [each for each, count in jar.items() if 0 < each - lengths[side] <= 2 * wanted and count >= len(spots)]
        if more:
            best = min(more, key=lambda each: abs(each - lengths[side] - wanted))
            out.append(Longer(side, best, tuple(spots)))
    return tuple(out)
