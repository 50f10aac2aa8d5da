"""Of `pluck`: the answer, which lays itself out."""

from __future__ import annotations

from dataclasses import dataclass

from wheelcalc.answers.plucking.content import PluckContent
from wheelcalc.answers.plucking.page import page_of
from wheelcalc.page.blocks import Page


@dataclass(frozen=True, kw_only=True, eq=False)
class PluckAnswer(PluckContent):
    """Answer of `pluck`; parameters as of its content."""

    def page(self, *, working: bool = False) -> Page:
        """Return how even each side is first, then what was heard.

        Parameters
        ----------
        working : with the formulas
        """
        return page_of(self, working=working)
