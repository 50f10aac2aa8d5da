"""Raw readings become dimensions with their uncertainty: every method that applies, several for one dimension combined."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.measuring.assemble import end_beyond
from wheelcalc.measuring.methods import METHODS, OFFSET, READ, SPOKE_END, TYPICAL, Method
from wheelcalc.measuring.statistics import Mean, in_words, weighted_mean
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES


@dataclass(frozen=True)
class Estimate:
    """What one method gives: value and standard uncertainty [mm], how it was found, and from which inputs and numbers."""

    value: float
    sigma: float
    words: str
    inputs: tuple[str, ...] = ()
    values: tuple[float, ...] = ()

    @property
    def within(self) -> float:
        """What it is sure to, 19 times in 20 [mm]."""
        return NINETEEN_IN_TWENTY * self.sigma


@dataclass(frozen=True)
class Measured:
    """A dimension from readings.

    Parameters
    ----------
    key : the build file's
    mean : over the methods
    estimates : one for each method
    """

    key: str
    mean: Mean
    estimates: tuple[Estimate, ...] = field(default=())

    @property
    def words(self) -> str:
        """How it was found."""
        return "; ".join(estimate.words for estimate in self.estimates)

    @property
    def agreement(self) -> str:
        """Whether the methods agree, in words."""
        return in_words(self.mean)


def measured(build: Build) -> list[Measured]:
    """Return every dimension that the readings give, several methods combined; erd to the intended spoke end.

    Parameters
    ----------
    build : the build file's keys, defaults or not

    Raises
    ------
    InputError
        If a reading cannot be.
    """
    if not any(key.startswith(READ) for key in build):
        return []
    by_key: dict[str, list[Estimate]] = {}
    so_far = _joined(build, by_key)
    for method in METHODS:
        if _applies(method, so_far):
            by_key.setdefault(method.key, []).append(_estimate(method, so_far))
            so_far = _joined(build, by_key)
    _check_chords(build, by_key)
    _check_edges(build)
    return [_combined(key, estimates) for key, estimates in by_key.items()]


def fill(build: Build) -> dict[str, Dimension]:
    """Return the dimensions from readings whose keys are absent, with origin "readings".

    An erd comes out as the file's `rim.erd_to` says, to the spoke end where the file does not say.
    """
    by_readings = {each.key: Dimension(each.mean.value, each.mean.sigma, "readings") for each in measured(build)}
    absent = {key: entry for key, entry in by_readings.items() if key not in build and _worth(key, entry, build)}
    if "rim.erd" in absent:
        erd, to = absent["rim.erd"], build.rim.erd_to or "spoke end"
        absent["rim.erd"] = Dimension(erd.value - 2 * end_beyond(to, build), erd.sigma, "readings")
        if "rim.erd_to" not in build:
            absent["rim.erd_to"] = Dimension(to, 0.0, "readings")
    return absent


def _worth(key: str, entry: Dimension, build: Build) -> bool:
    """Whether a dimension from readings beats what would be taken without it."""
    section, _, name = key.rpartition(".")
    if name == "locknut_to_flange":
        return f"{section}.offset" not in build
    # Half the difference of two rule readings says less of a hole than what holes usually are.
    return name != "hole_diameter" or entry.sigma <= TYPICAL[name][1]


def unused(build: Build) -> list[tuple[str, tuple[str, ...]]]:
    """Readings that give nothing yet, each with the keys that it still needs; none named: it is not for this part."""
    so_far = _joined(Build({**build, **fill(build)}), {})
    used = {key for method in METHODS if _applies(method, so_far) for key in method.inputs}
    out = []
    for key in build:
        if key.startswith(READ) and key not in used:
            own = [method for method in METHODS if key in method.inputs and not _other_heads(method, build)]
            out.append((key, min((_lacking(method, so_far) for method in own), key=len, default=())))
    return out


def _lacking(method: Method, build: Build) -> tuple[str, ...]:
    names = {SPOKE_END: "rim.erd", **{OFFSET[side]: f"hub.{side}.locknut_to_flange" for side in SIDES}}
    return tuple(names.get(key, key) for key in method.inputs if _input(key, build) is None)


def _joined(build: Build, by_key: Mapping[str, list[Estimate]]) -> Build:
    """What is known so far: the file before the readings; and the distances that only join two methods."""
    entries: dict[str, Dimension] = {}
    for key, estimates in by_key.items():
        mean = _combined(key, estimates).mean
        entries[key] = Dimension(mean.value, mean.sigma, "readings")
    if "rim.erd" in entries:
        entries[SPOKE_END] = entries["rim.erd"]
    entries.update(build)
    if "rim.erd" in build and "rim.erd_to" in build:
        beyond = end_beyond(str(build.rim.erd_to), build)
        entries[SPOKE_END] = Dimension(build.rim.erd + 2 * beyond, build.sigma("rim.erd"))
    for side in SIDES:
        offset = _offset(Build(entries), side)
        if offset is not None:
            entries[OFFSET[side]] = offset
    return Build(entries)


def _offset(build: Build, side: str) -> Dimension | None:
    """Sideways from the rim's holes of a side to its flange, which only a known straight spoke needs."""
    distance, width, key = f"hub.{side}.locknut_to_flange", "hub.over_locknut", f"hub.{side}.offset"
    sign = 1.0 if side == "right" else -1.0
    holes = sign * build.rim.hole_offset + build.rim.hole_stagger
    if distance in build and width in build:
        sigma = math.hypot(build.sigma(width) / 2, build.sigma(distance))
        return Dimension(build.number(width) / 2 - build.number(distance) - holes, sigma)
    return Dimension(build.number(key) - holes, build.sigma(key)) if key in build else None


def _input(key: str, build: Build) -> Dimension | None:
    """Value and error of an input; a part's own dimension that nobody measured is taken as it usually is."""
    if key in build and build[key].origin != "default":
        return build[key]
    last = "cog_thickness" if key == f"{READ}cogs.thickness" else key.rsplit(".", 1)[-1]
    return Dimension(*TYPICAL[last], "default") if last in TYPICAL else None


def _applies(method: Method, build: Build) -> bool:
    if any(key in build for key in method.unless) or _other_heads(method, build):
        return False
    return all(_input(key, build) is not None for key in method.inputs)


def _other_heads(method: Method, build: Build) -> bool:
    """Whether a method is for the other kind of flange: holes have edges, the seats of straight heads have not."""
    kinds = [("known_spoke", "elbow"), ("_edges", "straight")]
    side = method.key.split(".")[1]
    head = build.hub.flange(side).spoke_head if side in SIDES else ""
    return any(mark in key and head == kind for mark, kind in kinds for key in method.inputs)


def _estimate(method: Method, build: Build) -> Estimate:
    """Value of a method and its first-order standard uncertainty (JCGM 100:2008, 5.1.2 and the note of 5.1.3)."""
    entries = [entry for entry in (_input(key, build) for key in method.inputs) if entry is not None]
    values = [float(entry.value) for entry in entries]
    try:
        value = method.formula(*values)
        shares = [_share(method.formula, values, index, entry.sigma) for index, entry in enumerate(entries)]
    except InputError as error:
        raise _at_reading(error, method) from None
    return Estimate(value, math.hypot(*shares), method.words, method.inputs, tuple(values))


def _share(formula: Callable[..., float], values: list[float], index: int, sigma: float) -> float:
    if sigma <= 0:
        return 0.0
    moved = [[*values[:index], values[index] + step, *values[index + 1 :]] for step in (sigma, -sigma)]
    return (formula(*moved[0]) - formula(*moved[1])) / 2


def _at_reading(error: InputError, method: Method) -> InputError:
    """Put the reading's whole key before an error that names its last part."""
    if error.key.startswith(READ):
        return error
    whole = next(key for key in method.inputs if error.key in key.split("."))
    return InputError(whole[: whole.index(error.key) + len(error.key)], error.text)


def _combined(key: str, estimates: list[Estimate]) -> Measured:
    mean = weighted_mean([each.value for each in estimates], [each.sigma for each in estimates])
    return Measured(key, mean, tuple(estimates))


def _check_chords(build: Build, by_key: Mapping[str, list[Estimate]]) -> None:
    """Refuse a chord that is longer than the circle of holes is wide."""
    for side in SIDES:
        key = f"{READ}hub.{side}.chord.length"
        if key not in build:
            continue
        widths = [(build[k], k) for k in (f"hub.{side}.outside_diameter", f"hub.{side}.pcd") if k in build]
        for each in by_key.get(f"hub.{side}.pcd", []):
            if key not in each.inputs:
                widths.append((Dimension(each.value, each.sigma), each.words))
        for width, name in widths:
            if width.origin != "readings" and build.number(key) > width.value + 3 * math.hypot(
                width.sigma, build.sigma(key)
            ):
                text = f"found {build.number(key):g} mm, longer than the circle of holes is wide ({width.value:.1f} mm: {name})"
                raise InputError(
                    key, f"{text}; measure straight from hole centre to hole centre, and check both readings"
                )


def _check_edges(build: Build) -> None:
    """Refuse hole edges that leave no hole."""
    for side in SIDES:
        near, far = f"{READ}hub.{side}.near_edges", f"{READ}hub.{side}.far_edges"
        if near in build and far in build and build.number(near) >= build.number(far):
            text = f"found {build.number(near):g} mm, and far_edges is {build.number(far):g} mm: the far edges of two holes"
            raise InputError(near, f"{text} lie further apart than the near ones; were the two swapped?")
