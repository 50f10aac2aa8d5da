"""Of `fit`: one spacer plan in words and plain values."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any, NamedTuple

from wheelcalc.bike.spacers import CLOSE, Plans
from wheelcalc.measuring.dimensions import Dimensions

UNITLESS = ("tension_ratio", "stub_short", "stub_long")


def plan_rows(plans: Plans, known: Dimensions) -> list[dict[str, Any]]:
    """Return the plans as the JSON lists them, None for what is unknown."""
    names = [field.name if field.name in UNITLESS else f"{field.name}_mm" for field in fields(Plans)]
    columns = [[_known(value) for value in getattr(plans, field.name).tolist()] for field in fields(Plans)]
    rows = [dict(zip(names, values, strict=True)) for values in zip(*columns, strict=True)]
    return [
        {**row, "cautions": [caution.text for caution in cautions_of(plans, index, known)]}
        for index, row in enumerate(rows)
    ]


def _known(value: float | bool) -> float | bool | None:
    return None if isinstance(value, float) and math.isnan(value) else value


class Caution(NamedTuple):
    """Why a plan should not be used, or only with care: one word for a table, and the whole."""

    word: str
    text: str


def cautions_of(plans: Plans, index: int, known: Dimensions) -> list[Caution]:
    """Say why nobody should use a plan, or only with care."""
    said = []
    left_over = float(plans.width_left_over[index])
    if abs(left_over) > known.number("frame.width_slack") + CLOSE:
        text = f"leaves the hub {abs(left_over):.2g} mm too {'narrow' if left_over > 0 else 'wide'}"
        said.append(Caution("width", text))
    if plans.stub_short[index]:
        said.append(Caution("axle", _short(plans, index)))
    if plans.stub_long[index]:
        longest = max(plans.stub_left[index], plans.stub_right[index])
        said.append(Caution("axle", f"leaves {longest:.1f} mm of axle on one side, more than the end is thick"))
    return said + _wheel_cautions(plans, index, known)


def _short(plans: Plans, index: int) -> str:
    left, right = float(plans.stub_left[index]), float(plans.stub_right[index])
    text = f"leaves only {min(left, right):.1f} mm of axle {'on the left' if left < right else 'on the right'}"
    return text + (f" ({(left + right) / 2:.1f} mm a side once the axle is moved)" if abs(left - right) > CLOSE else "")


def _wheel_cautions(plans: Plans, index: int, known: Dimensions) -> list[Caution]:
    said = []
    ratio, even = float(plans.tension_ratio[index]), float(plans.evenness[index])
    offsets = {"left": float(plans.offset_left[index]), "right": float(plans.offset_right[index])}
    gone = [side for side, offset in offsets.items() if offset <= 0]
    if gone:
        text = f"puts the {gone[0]} flange past the middle, so that its spokes hold nothing sideways"
        said.append(Caution("dish", text))
    elif not math.isnan(ratio) and even < known.number("limits.evenness_caution"):
        said.append(Caution("dish", f"leaves the slack side only {even:.0%} of the tight side's tension"))
    gap = known.value("cogs.chain_to_dropout")
    least = known.number("limits.chain_to_dropout_stop")
    if gap is not None and gap + plans.right[index] < least - CLOSE:
        said.append(Caution("cogs", f"brings the chain to {gap + plans.right[index]:.1f} mm from the right end"))
    return said
