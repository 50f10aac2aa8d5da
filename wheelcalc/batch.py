"""Many wheels at once: lengths, tension ratio, chances and spacer plans over arrays, without a loop over combinations.

What differs between the wheels is an array, what they share one number; they broadcast like all arrays of numpy, so
a thousand hubs against three rims are `pcd` of shape (1000, 1) and `erd` of shape (3,). What may differ by side is one
value for both or {"left": ..., "right": ...}. The formulas are those of `Wheel`; only patterns of one length a side
(crossed and radial, flanges half a pitch apart) have one formula for a whole side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from wheelcalc.arrays import Bools, Floats, in_rows
from wheelcalc.bike.chainline import cog_shift
from wheelcalc.bike.spacers import CLOSE, STEP, evenness, in_order, stacked
from wheelcalc.spokes.lengths import geometric_length
from wheelcalc.spokes.ordering import Window, chance_inside
from wheelcalc.wheel import give
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.given import numbers
from wheelcalc.wheel.joining import WIDEST_CROSSING_DEG
from wheelcalc.wheel.parts import SIDES, Wire
from wheelcalc.wheel.wheel import crossing_angle_rad, span

__all__ = ["SpacerPlans", "Wheels", "chances"]

LEAST = {
    "erd": 1.0,
    "pcd": 1.0,
    "offset": -1e3,
    "hole": 0.0,
    "holes": 3.0,
    "crosses": 0.0,
}  # ours: what a wheel can have
BySide = Any  # a number, an array, a quantity, or one of these for each side
MOST_PLANS = 20_000_000  # ours: cells of the table of all plans of all wheels, some hundred MB each


def _sides(key: str, value: BySide, unit: str) -> dict[str, Floats]:
    """Return an array for each side."""
    if not isinstance(value, Mapping):
        return dict.fromkeys(SIDES, numbers(key, value, unit))
    if set(value) != set(SIDES):
        raise InputError(key, f'found {sorted(map(str, value))}; give one value, or {{"left": ..., "right": ...}}')
    return {side: numbers(f"{key}.{side}", value[side], unit) for side in SIDES}


@dataclass(frozen=True, eq=False)
class Wheels:
    """Wheels whose parameters are numbers or arrays that broadcast; lengths in mm, forces in N.

    Parameters
    ----------
    erd : effective rim diameter, to the spoke end [mm]
    holes : of the rim, half of them for each flange
    pcd, offset : of the flanges, an offset from the hub's centre outward [mm]; by side
    crosses : 0 is radial; by side
    hole_diameter : of the flanges' spoke holes, 0 for straight heads [mm]; by side
    hole_offset : of the rim's holes, + right; `hole_stagger` : toward the flange that they serve [mm]
    rim_shift : the rim's centre plane from the hub's centre, + right [mm]

    Raises
    ------
    InputError
        If a value is no number, or the shapes do not broadcast.

    Examples
    --------
    >>> from wheelcalc import batch
    >>> wheels = batch.Wheels(erd=[602.4, 598.9], holes=32, pcd=45, crosses=3, offset={"left": 34.4, "right": 18.7})
    >>> wheels.lengths["right"].round(2).tolist()
    [292.67, 290.93]
    >>> wheels.ratio_left_to_right.round(3).tolist()
    [0.546, 0.546]
    """

    erd: Any
    holes: Any
    pcd: BySide
    offset: BySide
    crosses: BySide = 3
    hole_diameter: BySide = 2.5  # C: as of `Flange`
    hole_offset: Any = 0.0
    hole_stagger: Any = 0.0
    rim_shift: Any = 0.0
    _by_side: dict[str, dict[str, Floats]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        erd, holes = numbers("erd", self.erd, "mm"), numbers("holes", self.holes, "count")
        pcd, offset = _sides("pcd", self.pcd, "mm"), _sides("offset", self.offset, "mm")
        crosses, hole = _sides("crosses", self.crosses, "count"), _sides("hole_diameter", self.hole_diameter, "mm")
        right = numbers("hole_offset", self.hole_offset, "mm") + numbers("rim_shift", self.rim_shift, "mm")
        stagger = numbers("hole_stagger", self.hole_stagger, "mm")
        out = {}
        for side, sign in (("left", 1.0), ("right", -1.0)):
            given = {
                "erd": erd,
                "pcd": pcd[side],
                "offset": offset[side] + sign * right - stagger,
                "crosses": crosses[side],
                "holes": holes / 2,
                "hole": hole[side],
            }
            out[side] = given
        object.__setattr__(self, "_by_side", out)
        _ = self.shape  # refuses shapes that do not broadcast
        for side in SIDES:
            _possible(side, out[side])

    @cached_property
    def shape(self) -> tuple[int, ...]:
        """Shape that all parameters broadcast to."""
        shapes = [each.shape for given in self._by_side.values() for each in given.values()]
        try:
            return np.broadcast_shapes(*shapes)
        except ValueError:
            said = ", ".join(map(str, dict.fromkeys(shape for shape in shapes if shape)))
            raise InputError("Wheels", f"found arrays of shapes {said}; give shapes that broadcast") from None

    def __len__(self) -> int:
        return int(np.prod(self.shape))

    def __repr__(self) -> str:
        return f"<batch.Wheels of shape {self.shape}>"

    @cached_property
    def lengths(self) -> dict[str, Floats]:
        """Geometric length of each side's spokes, as `Wheel.lengths` [mm]."""
        return {side: self._full(geometric_length(**given)) for side, given in self._by_side.items()}

    @cached_property
    def spans(self) -> dict[str, Floats]:
        """From hub hole centre to rim point [mm]."""
        return {side: self._full(self._span(side, given["offset"])) for side, given in self._by_side.items()}

    @cached_property
    def bracing_angles_deg(self) -> dict[str, Floats]:
        """Between each side's spokes and the rim's plane, positive [degrees]."""
        return {side: np.degrees(np.arcsin(np.abs(self._by_side[side]["offset"]) / self.spans[side])) for side in SIDES}

    @cached_property
    def ratio_left_to_right(self) -> Floats:
        """Left tension over right at which the rim stays in its plane; nan where a flange has no sideways pull.

        Notes
        -----
        As many spokes a side: T_left (w/L)_left = T_right (w/L)_right (statics, D).
        """
        return self._ratio({side: self._by_side[side]["offset"] for side in SIDES}, self.spans)

    def tensions(self, tighter: Any) -> dict[str, Floats]:
        """Tension of each side [N] when the tighter one has `tighter` and the rim stays in its plane.

        Parameters
        ----------
        tighter : of the tighter side [N]
        """
        force, ratio = numbers("tighter", tighter, "N"), self.ratio_left_to_right
        _refuse(~(force >= 0), force, "tighter", "0 N or more")
        return {"left": force * np.minimum(ratio, 1.0), "right": force * np.minimum(1 / ratio, 1.0)}

    def cut_lengths(
        self,
        tighter: Any = 1000.0,
        wire: Wire | None = None,
        end_give: float = give.BY_HEAD["elbow"].value,
        rim_shrink: Any = 0.0,
    ) -> dict[str, Floats]:
        """Length to buy before rounding [mm]: geometric, less the spoke's stretch and the rim's shrinking.

        Parameters
        ----------
        tighter : tension of the tighter side [N]
        wire : of the spokes; None: plain 2.0
        end_give : what both ends give for 1000 N more at about 1000 N [mm]
        rim_shrink : of the rim's radius [mm]
        """
        wire, tensions = wire or Wire(), self.tensions(tighter)
        out = {}
        for side in SIDES:
            ends = give.given(end_give, tensions[side])
            stretch = tensions[side] * _flexibility(wire, self.spans[side]) + ends
            out[side] = self.lengths[side] - stretch - numbers("rim_shrink", rim_shrink, "mm")
        return out

    def spacer_plans(
        self,
        missing: Any,
        *,
        slack: float = 0.0,
        on_hand: Mapping[float, int] | None = None,
        chainline_error: Any = None,
        most: int | None = None,
    ) -> SpacerPlans:
        """Every way to fill the width between the ends with spacers, for each wheel, best first.

        Parameters
        ----------
        missing : frame's width less the bare hub's, + frame wider [mm]
        slack : over or short that still counts, of spacers on hand [mm]
        on_hand : thickness -> how many; None: any multiple of 0.5 mm, and what comes nearest
        chainline_error : front less rear with the bare hub [mm]; None: not known
        most : plans kept for each wheel; None: all

        Returns
        -------
        Arrays of the wheels' shape and one axis more, the plans in the order of `fit`: least width left over, then
        smallest chainline error, most even ratio, most equal split. Where a wheel has fewer plans, nan.

        Raises
        ------
        InputError
            If there are more plans than anybody could use.
        """
        width = numbers("missing", missing, "mm")
        chain = np.asarray(np.nan) if chainline_error is None else numbers("chainline_error", chainline_error, "mm")
        shape = np.broadcast_shapes(self.shape, width.shape, chain.shape)
        width, chain = (np.broadcast_to(each, shape)[..., None] for each in (width, chain))
        _refuse(~np.isfinite(width), width, "missing", "a width in mm")
        ways = _spacer_pairs(float(width.max()), on_hand, slack)
        if len(ways) * width.size > MOST_PLANS:
            raise InputError("missing", f"found {width.size} wheels with {len(ways)} ways each; give fewer at once")
        left, right, kept = _filling(width, ways, 0.0 if on_hand is None else slack)
        over, move = width - left - right, cog_shift(left, right)
        ratio, error = self._moved_ratio(move), chain - move
        order = in_order(left, right, even=evenness(ratio), error=error, over=over, last=~kept)[..., :most]

        def best(values: Floats) -> Floats:
            return np.take_along_axis(np.where(kept, values, np.nan), order, axis=-1)

        return SpacerPlans(
            left=best(left),
            right=best(right),
            width_left_over=best(over),
            tension_ratio=best(ratio),
            chainline_error=best(error),
        )

    def rows(self) -> list[dict[str, float]]:
        """Return a record for each wheel, as pandas and polars take them: lengths [mm], bracing angles [degrees], ratio."""
        columns = {"erd_mm": self._full(self._by_side["left"]["erd"])}
        for side in SIDES:
            given = self._by_side[side]
            columns[f"{side}_pcd_mm"] = self._full(given["pcd"])
            columns[f"{side}_crosses"] = self._full(given["crosses"])
            columns[f"{side}_geometric_length_mm"] = self.lengths[side]
            columns[f"{side}_bracing_angle_deg"] = self.bracing_angles_deg[side]
        columns["tension_ratio"] = self.ratio_left_to_right
        return in_rows({name: np.broadcast_to(each, self.shape).ravel() for name, each in columns.items()})

    def _full(self, values: Floats) -> Floats:
        return np.array(np.broadcast_to(values, self.shape))

    def _span(self, side: str, offset: Floats) -> Floats:
        given = self._by_side[side]
        angle = crossing_angle_rad(given["crosses"], given["holes"])
        return span(given["erd"] / 2, given["pcd"] / 2, angle, offset)

    def _moved_ratio(self, move: Floats) -> Floats:
        """Ratio with the hub moved right under its rim by each of some moves, on a last axis of their own."""
        in_plane = {side: (self.spans[side] ** 2 - self._by_side[side]["offset"] ** 2)[..., None] for side in SIDES}
        signs = {"left": -1.0, "right": 1.0}
        offsets = {side: self._full(self._by_side[side]["offset"])[..., None] + signs[side] * move for side in SIDES}
        return self._ratio(offsets, {side: np.sqrt(in_plane[side] + offsets[side] ** 2) for side in SIDES})

    def _ratio(self, offsets: Mapping[str, Floats], spans: Mapping[str, Floats]) -> Floats:
        left, right = (offsets[side] / spans[side] for side in SIDES)
        both = (left > 0) & (right > 0)
        return np.where(both, right, np.nan) / np.where(both, left, 1.0)


@dataclass(frozen=True, eq=False)
class SpacerPlans:
    """Spacer plans of many wheels, arrays of one shape, the plans of a wheel along the last axis, best first; else nan.

    Parameters
    ----------
    left, right : spacers [mm]
    width_left_over : + frame wider [mm]
    tension_ratio : left over right
    chainline_error : front less rear [mm]
    """

    left: Floats
    right: Floats
    width_left_over: Floats
    tension_ratio: Floats
    chainline_error: Floats

    @property
    def counts(self) -> Any:
        """How many plans each wheel has."""
        return np.isfinite(self.left).sum(axis=-1)

    def __repr__(self) -> str:
        return f"<batch.SpacerPlans of shape {self.left.shape[:-1]}, up to {self.left.shape[-1]} each>"


def chances(
    cut_length: Any, length: Any, sigma: Any, *, short_at_most: float = 2.0, beyond_at_most: float = 1.0
) -> Floats:
    """Chance that spokes of a length fit where another is wanted, its error normal; arrays broadcast.

    Parameters
    ----------
    cut_length : wanted, before rounding [mm]
    length : of the spoke [mm]
    sigma : standard uncertainty of the cut length [mm]
    short_at_most, beyond_at_most : how far its end may sit short of the intended end, or beyond it [mm]; the defaults
        are those of brass nipples (common practice, contested)

    Examples
    --------
    >>> from wheelcalc import batch
    >>> batch.chances(291.4, [290, 291, 292, 293], sigma=0.6).round(2).tolist()
    [0.84, 0.99, 0.75, 0.16]
    """
    end = numbers("length", length, "mm") - numbers("cut_length", cut_length, "mm")
    error = numbers("sigma", sigma, "mm")
    _refuse(~(error >= 0), error, "sigma", "0 mm or more")
    return chance_inside(end, end, error, Window(short_at_most, beyond_at_most))


def _possible(side: str, given: Mapping[str, Floats]) -> None:
    """Refuse what no wheel is.

    Raises
    ------
    InputError
        With the first value that cannot be.
    """
    erd, holes, crosses = given["erd"], given["holes"], given["crosses"]
    for name, least in LEAST.items():
        values = given[name]
        _refuse(~(np.isfinite(values) & (values >= least)), values, f"{name}, {side}", f"finite, {least:g} or more")
    _refuse(holes != np.floor(holes), 2 * holes, "holes", "even: half of the rim's holes serve each flange")
    _refuse(crosses != np.floor(crosses), crosses, f"crosses, {side}", "whole numbers")
    _refuse(given["pcd"] >= erd, given["pcd"], f"pcd, {side}", "smaller than the rim, in mm")
    most = np.floor(WIDEST_CROSSING_DEG * holes / 360 + CLOSE)
    _refuse(crosses > most, crosses, f"crosses, {side}", f"{most.min():g} at most on the flange with the fewest holes")


def _refuse(wrong: Bools, values: Floats, key: str, would_do: str) -> None:
    if wrong.any():
        wrong_value = np.broadcast_to(values, wrong.shape)[wrong].flat[0]
        raise InputError(key, f"found {wrong_value:g}; all must be {would_do}")


def _flexibility(wire: Wire, lengths: Floats) -> Floats:
    """Stretch per newton [mm/N] of spokes longer than their thick ends: linear in the length, as only the middle grows."""
    shortest = sum(wire.butts)
    if (lengths < shortest).any():
        raise InputError(
            "wire", f"found a spoke of {lengths.min():g} mm, shorter than its thick ends ({shortest:g} mm)"
        )
    per_mm = wire.flexibility(shortest + 1.0) - wire.flexibility(shortest)
    return wire.flexibility(shortest) + per_mm * (lengths - shortest)


def _spacer_pairs(widest: float, on_hand: Mapping[float, int] | None, slack: float) -> Floats:
    """Return every pair of spacers, left and right, that may fill any width up to the widest [mm], (ways, 2)."""
    if on_hand is None:
        return _multiples(widest)
    return stacked(np.zeros((1, 2)), on_hand, widest + max([slack, *on_hand]))


def _filling(width: Floats, ways: Floats, slack: float) -> tuple[Floats, Floats, Bools]:
    """Return the pairs that come nearest to each wheel's width, or within the slack: left, right, and which of them do."""
    off = np.abs(width - ways.sum(axis=-1))
    kept = off <= np.maximum(off.min(axis=-1, keepdims=True), slack) + CLOSE
    first = np.argsort(~kept, axis=-1, kind="stable")[..., : int(kept.sum(axis=-1).max())]
    left, right = ways.T[:, first]
    return left, right, np.take_along_axis(kept, first, axis=-1)


def _multiples(missing: float) -> Floats:
    """Return every pair of spacers of whole steps that comes nearest to any width up to this."""
    most = max(int(np.ceil(missing / STEP - CLOSE)), 0)
    left, right = (STEP * each.ravel() for each in np.indices((most + 1, most + 1)))
    return np.column_stack([left, right])[left + right <= STEP * most + CLOSE]
