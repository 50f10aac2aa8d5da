"""Of `salvage`: what the old wheel says of the rim."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from wheelcalc.answers.ordering.answer import OrderAnswer
from wheelcalc.build.dimension import Dimension
from wheelcalc.measuring.statistics import Mean, in_words
from wheelcalc.salvage.old_wheel import Gauged
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
