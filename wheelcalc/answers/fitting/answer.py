"""Of `fit`: the answer, which says itself in words."""

from __future__ import annotations

from dataclasses import dataclass

from wheelcalc.answers.fitting import sentences as fit_words
from wheelcalc.answers.fitting.content import FitContent
from wheelcalc.answers.fitting.page import laid_out
from wheelcalc.page.blocks import Page


@dataclass(frozen=True, kw_only=True)
class FitAnswer(FitContent):
    """Answer of `fit`; parameters as of its content."""

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
