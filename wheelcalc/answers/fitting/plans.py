"""Of `fit`: one spacer plan in words and plain values."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any, NamedTuple

from wheelcalc.answers.fitting.chain import chain_width
from wheelcalc.bike.clearances import chain_gap
from wheelcalc.bike.spacers import CLOSE, Plans
from wheelcalc.build.whole import Build
from wheelcalc.wheel.findings import Finding

UNITLESS = ("tension_ratio", "stub_short", "stub_long")


def plan_rows(plans: Plans, build: Build) -> list[dict[str, Any]]:
    """Return the plans as the JSON lists them, None for what is unknown."""
    names = [field.name if field.name in UNITLESS else f"{field.name}_mm" for field in fields(Plans)]
    columns = [[_known(value) for value in getattr(plans, field.name).tolist()] for field in fields(Plans)]
    rows = [dict(zip(names, values, strict=True)) for values in zip(*columns, strict=True)]
    return [
        {**row, "cautions": [caution.text for caution in cautions_of(plans, index, build)]}
        for index, row in enumerate(rows)
    ]


def _known(value: float | bool) -> float | bool | None:
    return None if isinstance(value, float) and math.isnan(value) else value


class Caution(NamedTuple):
    """Why a plan should not be used, or only with care: one word for a table, and the whole."""

    word: str
    text: str


def cautions_of(plans: Plans, index: int, build: Build) -> list[Caution]:
    """Say why nobody should use a plan, or only with care."""
    said = []
    left_over = float(plans.width_left_over[index])
    if abs(left_over) > build.frame.width_slack + CLOSE:
        text = f"leaves the hub {abs(left_over):.2g} mm too {'narrow' if left_over > 0 else 'wide'}"
        said.append(Caution("width", text))
    if plans.stub_short[index]:
        said.append(Caution("axle", _short(plans, index)))
    if plans.stub_long[index]:
        longest = max(plans.stub_left[index], plans.stub_right[index])
        said.append(Caution("axle", f"leaves {longest:.1f} mm of axle on one side, more than the end is thick"))
    return said + _wheel_cautions(plans, index, build)


def _short(plans: Plans, index: int) -> str:
    left, right = float(plans.stub_left[index]), float(plans.stub_right[index])
    text = f"leaves only {min(left, right):.1f} mm of axle {'on the left' if left < right else 'on the right'}"
    return text + (f" ({(left + right) / 2:.1f} mm a side once the axle is moved)" if abs(left - right) > CLOSE else "")


def forbidden(plans: Plans, index: int, build: Build) -> bool:
    """Whether a plan would be a stop that another of its width may avoid: a flange past the middle, a chain that jams."""
    gap, least = chain_gap(build, chain_width(build)), build.limits.chain_to_dropout_stop
    jams = gap is not None and gap[0] + plans.right[index] < least - CLOSE
    return bool(jams or least_outward(plans, index, build)[1] <= 0)


def _wheel_cautions(plans: Plans, index: int, build: Build) -> list[Caution]:
    said = []
    side, outward = least_outward(plans, index, build)
    if outward <= 0:
        text = f"puts the {side} flange past the middle, so that its spokes hold nothing sideways"
        said.append(Caution("dish", text))
    elif uneven(plans, index, build):
        said.append(
            Caution(
                "dish", f"leaves the slack side only {100 * plans.evenness[index]:.0f} % of the tight side's tension"
            )
        )
    gap = chain_gap(build, chain_width(build))
    least = build.limits.chain_to_dropout_stop
    if gap is not None and gap[0] + plans.right[index] < least - CLOSE:
        said.append(Caution("cogs", f"brings the chain to {gap[0] + plans.right[index]:.1f} mm from the right end"))
    return said


def least_outward(plans: Plans, index: int, build: Build) -> tuple[str, float]:
    """Name the flange that lies least outward of the rim's spoke holes, and by how much [mm]; nan where unknown."""
    holes = float(plans.rim_shift[index] + plans.cog_shift[index]) + build.rim.hole_offset
    left, right = float(plans.offset_left[index]) + holes, float(plans.offset_right[index]) - holes
    return ("left", left) if left < right else ("right", right)


def uneven(plans: Plans, index: int, build: Build) -> bool:
    """Whether a plan leaves the slack side too small a share of the tight side's tension."""
    known_ratio = not math.isnan(plans.tension_ratio[index])
    return known_ratio and float(plans.evenness[index]) < build.limits.evenness_caution


def balance_of(state: Plans, build: Build) -> list[Finding]:
    """Judge the side balance that the spacers fitted or proposed leave."""
    side, outward = least_outward(state, 0, build)
    if outward <= 0:
        text = (
            f"The {side} flange would lie {-outward:.1f} mm past the rim's spoke holes (hub.{side}.locknut_to_flange, "
            "hub.over_locknut): its spokes would hold nothing sideways."
        )
        remedy = "Read both again with a calliper, or put the spacers elsewhere."
        return [Finding("stop", "flange-past-middle", text, remedy)]
    if not uneven(state, 0, build):
        return []
    text = f"The slack side would have only {100 * state.evenness[0]:.0f} % of the tight side's tension."
    remedy = "`wheelcalc tension` says whether this rim can be built so, and what would even it."
    return [Finding("caution", "sides-uneven", text, remedy)]
