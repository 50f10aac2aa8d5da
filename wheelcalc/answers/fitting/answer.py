"""Of `fit`: the answer as rows and in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.fitting import sentences as fit_words
from wheelcalc.answers.fitting.found import FitFound
from wheelcalc.answers.fitting.page import laid_out
from wheelcalc.answers.fitting.plans import plan_rows
from wheelcalc.page.blocks import Page


@dataclass(frozen=True, kw_only=True)
class FitAnswer(FitFound):
    """Answer of `fit`."""

    schema: ClassVar[str] = "wheelcalc/fit/1"
    records: ClassVar[str] = "plans"

    def content(self) -> dict[str, Any]:
        """Return verdict, plans, chainline, shell and geometry."""
        return {
            "verdict": self.verdict,
            "width": None if self.width is None else {f"{name}_mm": value for name, value in vars(self.width).items()},
            "fitted": None if self.chosen is None else {"left_mm": self.chosen.left, "right_mm": self.chosen.right},
            "state": plan_rows(self.state, self.build)[0] if self.state else None,
            "stacks": None if self.stacks is None else self.stacks.as_json(),
            "plans": plan_rows(self.plans, self.build) if self.plans else [],
            "chainline": None if self.chain is None else self.chain.as_json(),
            "shell": None if self.shell is None else self.shell.spacers._asdict(),
            "geometry": None if self.geometry is None else self.geometry.as_json(),
            "not_checked": [{"what": each.what, "keys": list(each.keys)} for each in self.not_checked],
            "next_reading": self.next_reading(),
        }

    def page(self, *, working: bool = False) -> Page:
        """Return the verdict and what to do first, then the ways beside it and what was not checked."""
        return laid_out(self, working=working)

    def sentence(self) -> str:
        """Return verdict and widths, a sentence each."""
        verdict = fit_words.verdict_sentence(self.verdict, self.spacers, self.chosen, stops=self.stops)
        return f"{verdict} {fit_words.width_sentence(self.width, self.spacers, self.verdict)}".rstrip()

    def steps(self) -> list[str]:
        """Return what to do, in order."""
        return fit_words.steps(self)

    def lines_to_paste(self) -> list[str]:
        """Return the lines of the build file that store the plan; none where nothing is to be stored."""
        return fit_words.lines_to_paste(self)

    def trade_off(self) -> str:
        """Say what the best plan for even spokes costs elsewhere; empty where there is no choice."""
        return fit_words.trade_off(self)

    def straighter(self) -> str:
        """Say what each move buys; empty where a finding has said it, or nothing is to be had."""
        return fit_words.straighter(self)

    def working(self) -> list[str]:
        """Return the formulas with the numbers put in."""
        return fit_words.working(self)
