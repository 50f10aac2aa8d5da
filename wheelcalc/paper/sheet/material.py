"""What the sections of the bench sheet are made of: the build and the answers of the other commands, each asked once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from wheelcalc.answers.base import Answer
from wheelcalc.answers.fitting.answer import FitAnswer
from wheelcalc.answers.fitting.compute import fit
from wheelcalc.answers.lacing.answer import LaceAnswer
from wheelcalc.answers.lacing.compute import lace
from wheelcalc.answers.ordering.answer import OrderAnswer
from wheelcalc.answers.salvaging.answer import SalvageAnswer
from wheelcalc.answers.salvaging.compute import begun, salvage
from wheelcalc.answers.spoke_lengths import LengthsAnswer
from wheelcalc.answers.tensioning.answer import TensionAnswer
from wheelcalc.answers.tensioning.compute import tension
from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.compute import true
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.page.tags import Html, joined, tag
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding


@dataclass(frozen=True)
class Material:
    """A build and its answers; each answer raises `InputError` where the build lacks something for it."""

    file: BuildFile
    answered: dict[str, Answer] = field(default_factory=dict)
    readings: str | Path | None = None
    own_plane: bool = False
    record: bool = False

    @property
    def build(self) -> Build:
        """What the build file says."""
        return self.file.build

    def _kept(self, name: str, command: Callable[..., Any], *more: Any, **named: Any) -> Any:
        if name not in self.answered:
            self.answered[name] = command(self.file, *more, **named)
        return self.answered[name]

    @cached_property
    def lace(self) -> LaceAnswer:
        """The lacing, and with it order and lengths."""
        answer: LaceAnswer = self._kept("lace", lace)
        return answer

    @cached_property
    def order(self) -> OrderAnswer:
        """The order."""
        order = self.lace.order
        self.answered.setdefault("order", order)
        return order

    @cached_property
    def lengths(self) -> LengthsAnswer:
        """The lengths."""
        return self.order.lengths

    @cached_property
    def fit(self) -> FitAnswer:
        """Hub in frame."""
        answer: FitAnswer = self._kept("fit", fit)
        return answer

    @cached_property
    def tension(self) -> TensionAnswer:
        """Tensions."""
        answer: TensionAnswer = self._kept("tension", tension)
        return answer

    @cached_property
    def true(self) -> TrueAnswer | None:
        """What the readings ask for; None where none were given."""
        if self.readings is None:
            return None
        answer: TrueAnswer = self._kept("true", true, self.readings, own_plane=self.own_plane)
        return answer

    @cached_property
    def salvage(self) -> SalvageAnswer:
        """The old wheel and the jar."""
        answer: SalvageAnswer = self._kept("salvage", salvage)
        return answer

    @property
    def tells_of_salvage(self) -> bool:
        """Whether the build file says something of an old wheel or a jar."""
        return begun(self.file)

    @property
    def asks_of_fit(self) -> bool:
        """Whether hub and frame leave anything to do or to say; also where that is not known for want of a key."""
        try:
            return bool(any(self.fit.spacers) or self.fit.stops or self.fit.verdict != "fits")
        except InputError:
            return True

    def findings(self) -> list[Finding]:
        """Return the findings of all answers that were used, each once."""
        return list(dict.fromkeys(finding for answer in self.answered.values() for finding in answer.findings))

    def assumptions(self) -> list[str]:
        """Return what all answers that were used took for given, each once."""
        return list(dict.fromkeys(said for answer in self.answered.values() for said in answer.assumptions))


def findings(every: Iterable[Finding], notes: bool = True) -> Html:
    """Return findings as one reads them: a thick frame for a stop, a broken one for a note."""
    return joined(
        tag("div", tag("b", each.level), ": ", each.text, " ", each.remedy, class_=f"finding {each.level}")
        for each in every
        if notes or each.level != "note"
    )
