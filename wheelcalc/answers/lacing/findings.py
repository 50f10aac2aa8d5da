"""What `lace` warns of: spokes that cannot be woven, flanges out of balance."""

from __future__ import annotations

from collections.abc import Mapping

from wheelcalc.answers.lacing.side import SideFacts
from wheelcalc.wheel.findings import Finding


def weaving(sides: Mapping[str, SideFacts], woven: bool) -> list[Finding]:
    """Sides that are to be woven and cannot be."""
    findings = []
    for side, each in sides.items():
        if woven and each.weave is not None and not each.weave.possible:
            text = (
                f"The {side} spokes cannot be interlaced: their last crossing is {each.weave.from_hub:.0f} mm from the hub hole "
                f"(bend {each.weave.bend_deg:.0f} degrees), or both heads sit on one face."
            )
            findings.append(
                Finding("note", "cannot-interlace", text, "Lace that side without weaving; no gain was ever measured.")
            )
    return findings


def balance(sides: Mapping[str, SideFacts], wave: float, turning_limit: float, wave_limit: float) -> list[Finding]:
    """Flanges that turn the hub at even tension, and sideways pulls with a long wave."""
    findings = []
    for side, each in sides.items():
        if each.turning.left_over > turning_limit:
            text = (
                f"Leading and trailing {side} spokes differ by {100 * each.turning.left_over:.0f} % in how they turn the hub at even "
                "tension; the other flange makes up for it through the hub shell."
            )
            findings.append(
                Finding("note", "turning-left-over", text, "Nothing to do; the tensions settle a little uneven.")
            )
    if wave > wave_limit:
        text = (
            f"The sideways pulls round the rim have a long wave of {100 * wave:.0f} % of one side's pull: at even tension the rim would "
            "not run straight."
        )
        findings.append(
            Finding("caution", "long-wave", text, "True it sideways first; its tensions will come out uneven.")
        )
    return findings
