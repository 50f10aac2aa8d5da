"""Readings that speak against each other: an odd repeat, methods that disagree, the file against its readings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from wheelcalc.build.dimension import TOOL_SIGMA, Dimension
from wheelcalc.build.whole import Build
from wheelcalc.measuring.assemble import end_beyond
from wheelcalc.measuring.statistics import TOO_FAR, TOOL_FREEDOM, apart, in_words, odd_repeat
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES

if TYPE_CHECKING:
    from wheelcalc.measuring.readings import Measured


def doubts(build: Build) -> list[Finding]:
    """Return what is odd among the readings, nothing dropped."""
    return [*_odd_repeats(build), *_between_ways(build)]


def _between_ways(build: Build) -> list[Finding]:
    """Ways to one dimension that disagree; without raw readings there are none, and their reader is not loaded."""
    if not any(key.startswith("readings.") for key in build):
        return []
    from wheelcalc.measuring.readings import measured  # noqa: PLC0415

    dimensions = measured(build)
    return [*_methods(dimensions), *_against_file(dimensions, build)]


def _odd_repeats(build: Build) -> Iterator[Finding]:
    for key, entry in build.items():
        if not entry.repeats or key == "rim.erd":  # rim.erd: measuring.checks looks at a rim's roundness
            continue
        tool = _tool(entry, build)
        odd = odd_repeat(entry.repeats, tool)
        if odd is not None:
            yield _out(key, entry, odd)
        elif apart(entry.repeats, tool):
            one, other = entry.repeats
            yield Finding(
                "caution",
                "repeats-apart",
                f"{key}: the two repeats, {one:g} and {other:g} mm, are further apart than the tool allows; both were kept.",
                "Read it a third time: two readings cannot say which of them slipped.",
            )


LISTS = ("old_wheel.lengths", "old_wheel.end_position", "fitted.lengths", "fitted.end_position")
ONE_SIZE = 3.0  # mm, ours: spokes of a side that differ by less may be of two lengths bought, or a rim out of round


def odd_lengths(build: Build) -> list[Finding]:
    """Return the length or end position of a side that does not go with the others of its list."""
    findings = []
    for key in (f"{name}.{side}" for name in LISTS for side in SIDES):
        values: tuple[float, ...] = build.value(key) or ()
        odd = odd_repeat(values, TOOL_SIGMA[build.measuring.tool])
        if odd is not None and abs(values[odd] - _mean_without(values, odd)) > ONE_SIZE:
            findings.append(_length_out(key, values, odd))
        elif len(values) == 2 and abs(values[0] - values[1]) > ONE_SIZE:
            text = f"{key}: {values[0]:g} and {values[1]:g} mm are far apart; the spokes of one side are of one length."
            remedy = "Read both again, and a third: two cannot say which of them slipped."
            findings.append(Finding("caution", "lengths-apart", text, remedy))
    return findings


def _mean_without(values: Sequence[float], odd: int) -> float:
    return (sum(values) - values[odd]) / (len(values) - 1)


def _length_out(key: str, values: Sequence[float], odd: int) -> Finding:
    others = _mean_without(values, odd)
    meant = values[odd] + math.copysign(10.0, others - values[odd])
    slip = f"; was {meant:g} meant?" if abs(meant - others) <= ONE_SIZE else "."
    off = f"{abs(values[odd] - others):.1f} mm off the mean of the other {len(values) - 1} ({others:.1f} mm){slip}"
    return Finding(
        "caution",
        "length-out",
        f"{key}: {values[odd]:g} mm is {off}",
        "Read that spoke again; if it is one of another length, leave it out of the list.",
    )


def _tool(entry: Dimension, build: Build) -> float:
    """Error of the tool alone [mm]: what is left of the mean's when the repeats' scatter is taken off (`mean_sigma`)."""
    count, mean = len(entry.repeats), sum(entry.repeats) / len(entry.repeats)
    squares = sum((value - mean) ** 2 for value in entry.repeats)
    left = (entry.sigma**2 * count * (TOOL_FREEDOM + count - 1) - squares) / TOOL_FREEDOM
    return math.sqrt(left) if left > 1e-9 else TOOL_SIGMA[build.measuring.tool]


def _out(key: str, entry: Dimension, odd: int) -> Finding:
    rest = [value for index, value in enumerate(entry.repeats) if index != odd]
    mean = sum(rest) / len(rest)
    between = f"{min(rest):g} to {max(rest):g} mm" if min(rest) < max(rest) else f"{rest[0]:g} mm"
    return Finding(
        "caution",
        "repeat-out",
        f"{key}: the repeat {entry.repeats[odd]:g} mm is {abs(entry.repeats[odd] - mean):.1f} mm off the other {len(rest)} "
        f"({between}), more than {TOO_FAR:g} times what they allow. It was kept: the mean is {entry.value:.1f}, without it {mean:.1f} mm.",
        "Read it once more; take the odd one out of the list when you know what slipped.",
    )


def _methods(dimensions: list[Measured]) -> Iterator[Finding]:
    for each in dimensions:
        if not each.mean.agree:
            values = ", ".join(f"{e.value:.1f} ({e.words})" for e in each.estimates)
            yield Finding(
                "caution",
                "methods-disagree",
                f"{each.key}: {values}. {in_words(each.mean).capitalize()}. The mean's error was widened to fit.",
                "One of these readings is wrong, or taken to another place: take each once more (`wheelcalc measure --how "
                f"{each.key}`).",
            )


def _against_file(dimensions: list[Measured], build: Build) -> Iterator[Finding]:
    for each in dimensions:
        if each.key not in build or build[each.key].origin != "given":
            continue
        own, beyond = build[each.key], 0.0
        if each.key == "rim.erd":
            beyond = 2 * end_beyond(str(build.rim.erd_to), build)
        differ = each.mean.value - own.value - beyond
        allowed = 2 * math.hypot(each.mean.sigma, own.sigma)
        if abs(differ) > allowed:
            yield Finding(
                "caution",
                "file-against-readings",
                f"{each.key} in the file is {own.value:g} mm, the readings give {each.mean.value - beyond:.1f} mm: {abs(differ):.1f} mm "
                f"apart, their errors allow {allowed:.1f}. The file's own value is used.",
                "Find out which is right; take the other one out of the file.",
            )
