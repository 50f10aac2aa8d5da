"""Of `salvage`: what the answer holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer
from wheelcalc.answers.ordering.answer import OrderAnswer
from wheelcalc.answers.salvaging.jar import JarAnswer
from wheelcalc.answers.salvaging.rim import RimAnswer
from wheelcalc.build.dimension import Dimension
from wheelcalc.measuring.statistics import Mean, in_words
from wheelcalc.salvage.old_wheel import Gauged
from wheelcalc.salvage.slips import Verdict
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.parts import SIDES


@dataclass(frozen=True)
class OldWheel:
    """What the old wheel says of the rim.

    Parameters
    ----------
    gauged : erd by its spokes
    measured : erd as measured, to the spoke end; None where it was not
    combined : their weighted mean
    spokes : what to order with it; None where the new hub is not known well enough
    lacking : keys that the order still needs
    """

    gauged: Gauged
    measured: Dimension | None
    combined: Mean
    spokes: OrderAnswer | None
    lacking: tuple[str, ...]

    @property
    def agreement(self) -> str:
        """Whether old wheel and measurement agree, in words."""
        return in_words(self.combined)

    @property
    def apart(self) -> float | None:
        """What was measured less what the old wheel says [mm]."""
        return None if self.measured is None else self.measured.value - self.gauged.erd

    def within(self, sigma: float) -> float:
        """What a standard uncertainty means, 19 times in 20 [mm]."""
        return NINETEEN_IN_TWENTY * sigma

    def as_json(self) -> dict[str, Any]:
        """Return both values, how far they are apart, and the order."""
        gauged, measured = self.gauged, self.measured
        return {
            "erd_mm": gauged.erd,
            "erd_sigma_mm": gauged.sigma,
            "sides": {s: {"erd_mm": gauged.sides[s].value, "erd_sigma_mm": gauged.sides[s].sigma} for s in SIDES},
            "sides_chance": gauged.chance,
            "measured_erd_mm": None if measured is None else measured.value,
            "measured_erd_sigma_mm": None if measured is None else measured.sigma,
            "apart_mm": self.apart,
            "chance": self.combined.chance,
            "in_words": self.agreement if measured else "",
            "lines": [] if self.spokes is None else self.spokes.content()["lines"],
            "lacking": self.lacking,
        }


@dataclass(frozen=True, kw_only=True)
class SalvageAnswer(Answer):
    """Answer of `salvage`; what the file says nothing of is None."""

    schema: ClassVar[str] = "wheelcalc/salvage/1"
    first_page: Sequence[str]
    old_wheel: OldWheel | None
    slips: Verdict | None
    jar: JarAnswer | None
    old_rim: RimAnswer | None

    def content(self) -> dict[str, Any]:
        """Return what was found, under the contract's names."""
        old, jar = self.old_wheel, self.jar
        return {
            "first_page": list(self.first_page),
            "erd_mm": None if old is None else old.combined.value,
            "erd_sigma_mm": None if old is None else old.combined.sigma,
            "old_wheel": None if old is None else old.as_json(),
            "slips": [] if self.slips is None else _slips_json(self.slips),
            "slip_told": self.slips is not None and self.slips.told and not self.slips.agree,
            "read_this_to_know": "" if self.slips is None else self.slips.look,
            "builds": [] if jar is None else [each.as_json() for each in jar.builds],
            "builds_landing": 0 if jar is None else jar.landing,
            "old_spokes": None
            if jar is None
            else {
                "of": jar.old_spokes.of,
                "may_serve": jar.old_spokes.may_serve,
                "refused": list(jar.old_spokes.refused),
            },
            "builds_tried": 0 if jar is None else jar.tried,
            "old_rim": None if self.old_rim is None else self.old_rim.as_json(),
        }


def _slips_json(verdict: Verdict) -> list[dict[str, Any]]:
    """The slips and none, the likeliest first."""
    return [
        {
            "what": each.what,
            "misfit_mm": each.misfit,
            "probability": each.probability,
            "look": each.look,
            "would_be": dict(each.would_be),
        }
        for each in verdict.explanations
    ]
