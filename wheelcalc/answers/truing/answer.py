"""Of `true`: the answer, which lays itself out."""

from __future__ import annotations

from dataclasses import dataclass

from wheelcalc.answers.truing.content import TrueContent
from wheelcalc.answers.truing.page import page_of
from wheelcalc.page.blocks import Page


@dataclass(frozen=True, kw_only=True, eq=False)
class TrueAnswer(TrueContent):
    """Answer of `true` with readings; parameters as of its content."""

    def page(self) -> Page:
        """Return the answer laid out as blocks."""
        return page_of(self)
