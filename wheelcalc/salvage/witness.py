"""Where a wheel's spoke ends sit against where its readings put them, for many versions of the readings at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.dimension import TOOL_SIGMA
from wheelcalc.measuring.assemble import erd_to_spoke_end, flange_offset
from wheelcalc.measuring.statistics import hand, within_tool
from wheelcalc.salvage.cases import ENOUGH_FOR_SPREAD, Case, wheel_of
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import span

Values = Mapping[str, Floats]  # name of a reading -> its versions, (k,) or a single one
SHARED = ("erd", "hole_offset")  # readings of the rim, which several wheels share


@dataclass(frozen=True, eq=False)
class Witness:
    """One wheel whose spoke ends were seen, its readings as plain numbers.

    Parameters
    ----------
    case : the wheel

    Notes
    -----
    The readings by name: "erd" to the spoke end, "hole_offset", "over", and per side "pcd.left", "place.left" (what was
    read of the flange's place: locknut_to_flange or offset), "crosses.left", "length.left", "end.left", "turned.left"
    (degrees by which all its spokes stand off their pattern) and "led.left" (degrees by which each is led further the way
    it leans). Lengths in mm.
    """

    case: Case

    @cached_property
    def raw(self) -> dict[str, bool]:
        """Per side whether the flange's place was read from the locknut."""
        return {side: f"hub.{side}.locknut_to_flange" in self.case.build for side in SIDES}

    @property
    def as_ordered(self) -> bool:
        """Whether it is a new wheel: its spokes have the lengths ordered, its lacing was just done."""
        return self.case.name == "fitted"

    def place_key(self, side: str) -> str:
        """The build file's key of a flange's place."""
        return f"hub.{side}.{'locknut_to_flange' if self.raw[side] else 'offset'}"

    @cached_property
    def values(self) -> dict[str, Floats]:
        """The readings as they stand."""
        build = self.case.build
        out = {"erd": erd_to_spoke_end(build), "hole_offset": build.rim.hole_offset}
        if "hub.over_locknut" in build:
            out["over"] = build.hub.over_locknut
        for side in SIDES:
            out[f"pcd.{side}"] = build.hub.flange(side).pcd
            out[f"place.{side}"] = build.number(self.place_key(side))
            out[f"crosses.{side}"] = float(build.lacing.crosses[side] if f"lacing.crosses.{side}" in build else 0)
            out[f"length.{side}"] = self.case.lengths[side].value
            out[f"end.{side}"] = self.case.seen(side)
            out |= {f"turned.{side}": 0.0, f"led.{side}": 0.0}
        return {name: np.asarray(value) for name, value in out.items()}

    @cached_property
    def keys(self) -> dict[str, str]:
        """The build file's key of each reading of the parts."""
        out = {"erd": "rim.erd", "hole_offset": "rim.hole_offset", "over": "hub.over_locknut"}
        for side in SIDES:
            out |= {f"pcd.{side}": f"hub.{side}.pcd", f"place.{side}": self.place_key(side)}
        return out

    @cached_property
    def sigmas(self) -> dict[str, float]:
        """Standard uncertainty of each reading that has one; of a mean of repeats by what all repeats tell of the hand."""
        build, tool = self.case.build, TOOL_SIGMA[self.case.build.measuring.tool]
        repeats = {name: build[key].repeats for name, key in self.keys.items() if key in build}
        out = {name: build.sigma(key) for name, key in self.keys.items()}
        for side in SIDES:
            out |= {f"length.{side}": self.case.lengths[side].sigma, f"end.{side}": self.case.end_sigma(side)}
            if not self.as_ordered:
                repeats[f"length.{side}"] = self.case.lists.get(side, ())
        several = {name: values for name, values in repeats.items() if len(values) > 1}
        one = hand(several.values(), tool)
        out |= {name: one / sqrt(len(v)) for name, v in several.items() if within_tool(v, tool)}
        return {name: sigma for name, sigma in out.items() if sigma > 0}

    def offset(self, side: str, values: Values) -> Floats:
        """Hub centre to flange middle [mm]."""
        place = values[f"place.{side}"]
        return np.asarray(values["over"] / 2 - place if self.raw[side] else place)

    @cached_property
    def kinds(self) -> dict[str, KindsOfSpokes]:
        """The kinds of spokes of each side."""
        wheel = wheel_of(self.case.build)
        out = {}
        for side in SIDES:
            mask, flange = wheel.lacing.on(side), wheel.hub.flange(side)
            facts = np.column_stack([wheel.lacing.angle_deg[mask], wheel.lacing.lean[mask], wheel.lacing.crosses[mask]])
            kinds, counts = np.unique(facts.round(9), axis=0, return_counts=True)
            out[side] = KindsOfSpokes(
                angle_deg=kinds[:, 0],
                lean=np.where(kinds[:, 1] == 0, np.where(np.arange(len(kinds)) % 2, -1.0, 1.0), kinds[:, 1]),
                share=counts / counts.sum(),
                pitch_deg=360 / flange.holes,
                aside=float(wheel.offsets[mask].mean()) - flange_offset(self.case.build, side),
                less=flange.hole_diameter / 2 if flange.spoke_head == "elbow" else 0.0,
            )
        return out

    def led_by_pairs(self, side: str) -> float:
        """How much further the spokes of a side lean than their crosses alone lead them, in the mean [degrees]."""
        own = self.kinds[side]
        return float(own.share @ (own.lean * own.angle_deg)) - float(self.values[f"crosses.{side}"]) * own.pitch_deg

    def misfits(self, values: Values) -> Floats:
        """End positions as seen less as predicted, left and right, (k, 2) [mm]."""
        means = [self._means(side, values) for side in SIDES]
        return np.stack(np.broadcast_arrays(*means), axis=-1)

    def _means(self, side: str, values: Values) -> Floats:
        spans, share = self.spans(side, values)[0], self.kinds[side].share
        geometric = spans @ share - self.kinds[side].less
        predicted = values[f"length.{side}"] + float(self.case.given[side].mean()) - geometric
        return np.asarray(values[f"end.{side}"] - predicted)

    def spans(self, side: str, values: Values) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Spans of each kind of spoke, and what they are made of."""
        own = self.kinds[side]
        crossed = (values[f"crosses.{side}"] - self.values[f"crosses.{side}"]) * own.pitch_deg
        more = (crossed + values[f"led.{side}"])[..., None] * own.lean
        angle = np.radians(own.angle_deg + more + values[f"turned.{side}"][..., None])
        toward = -1.0 if side == "left" else 1.0
        rim_moved = toward * (values["hole_offset"] - self.values["hole_offset"])
        offset = (self.offset(side, values) + own.aside - rim_moved)[..., None]
        rim, hub = values["erd"][..., None] / 2, values[f"pcd.{side}"][..., None] / 2
        return span(rim, hub, angle, offset), rim, hub, angle, offset

    def slopes(self, values: Values) -> dict[str, Floats]:
        """What one standard uncertainty of each reading does to the misfits, name -> (k, 2) [mm].

        First-order propagation (JCGM 100:2008, 5.1.2), at each version of the readings.
        """
        count = len(self.misfits(values)) if self.misfits(values).ndim > 1 else 1
        out: dict[str, Floats] = {}

        def add(name: str, column: int, slope: Floats | float) -> None:
            if name in self.sigmas:
                out.setdefault(name, np.zeros((count, 2)))[:, column] += self.sigmas[name] * slope

        for column, side in enumerate(SIDES):
            spans, rim, hub, angle, offset = self.spans(side, values)
            share = self.kinds[side].share
            by_erd, by_pcd = (
                (rim - hub * np.cos(angle)) / spans @ share / 2,
                (hub - rim * np.cos(angle)) / spans @ share / 2,
            )
            by_offset = offset / spans @ share
            add("erd", column, by_erd)
            add("hole_offset", column, by_offset * (1.0 if side == "left" else -1.0))
            add(f"pcd.{side}", column, by_pcd)
            add(f"place.{side}", column, -by_offset if self.raw[side] else by_offset)
            if self.raw[side]:
                add("over", column, by_offset / 2)
            add(f"length.{side}", column, 1.0)
            add(f"end.{side}", column, 1.0)
            out.setdefault("give", np.zeros((count, 2)))[:, column] = (
                self.case.give_sigma * self.case.given[side].mean()
            )
        return out

    def spread_evidence(self, values: Values) -> Floats:
        """Log likelihood of how far the ends of a side spread, for sides with enough of them, (k,).

        The variance of n normal values is a scaled chi-squared of n - 1 degrees of freedom (D).
        """
        total = np.zeros(len(np.atleast_1d(self._means("left", values))))
        for side in SIDES:
            ends = self.case.ends[side]
            if len(ends) < ENOUGH_FOR_SPREAD:
                continue
            spans, share = self.spans(side, values)[0], self.kinds[side].share
            variance = ((spans - (spans @ share)[..., None]) ** 2) @ share + self.case.eye[side] ** 2
            freedom = len(ends) - 1
            total = total - freedom * (np.log(variance) + float(np.var(ends, ddof=1)) / variance) / 2
        return np.asarray(total)


@dataclass(frozen=True, eq=False)
class KindsOfSpokes:
    """The kinds of spokes of one side: angle, way of leaning and share of each; hole pitch; what is constant."""

    angle_deg: Floats
    lean: Floats
    share: Floats
    pitch_deg: float
    aside: float
    less: float


def joined_misfits(witnesses: Sequence[Witness], versions: Sequence[Values]) -> tuple[Floats, Floats]:
    """Misfits of all wheels, (k, 2m), and their covariance, (k, 2m, 2m); readings of the one rim move all wheels."""
    misfits = [np.atleast_2d(each.misfits(values)) for each, values in zip(witnesses, versions, strict=True)]
    count = max(len(each) for each in misfits)
    out = np.concatenate([np.broadcast_to(each, (count, 2)) for each in misfits], axis=1)
    covariance = np.zeros((count, out.shape[1], out.shape[1]))
    moves: dict[str, Floats] = {}
    for index, (each, values) in enumerate(zip(witnesses, versions, strict=True)):
        for name, slope in each.slopes(values).items():
            shared = name if name in SHARED else f"{index}.{name}"
            moves.setdefault(shared, np.zeros(out.shape))[:, 2 * index : 2 * index + 2] += slope
    for move in moves.values():
        covariance += move[:, :, None] * move[:, None, :]
    return out, covariance
