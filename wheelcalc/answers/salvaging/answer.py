"""Of `salvage`: what the answer holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer
from wheelcalc.answers.salvaging import page as said
from wheelcalc.answers.salvaging.jar import JarAnswer
from wheelcalc.answers.salvaging.old import OldWheel
from wheelcalc.answers.salvaging.rim import RimAnswer
from wheelcalc.page.blocks import Block, Page
from wheelcalc.salvage.slips import Verdict


@dataclass(frozen=True, kw_only=True)
class SalvageAnswer(Answer):
    """Answer of `salvage`; what the file says nothing of is None. `whole`: its text tells all that it knows."""

    schema: ClassVar[str] = "wheelcalc/salvage/1"
    records: ClassVar[str] = "builds"
    first_page: Sequence[str]
    old_wheel: OldWheel | None
    slips: Verdict | None
    jar: JarAnswer | None
    old_rim: RimAnswer | None
    whole: bool = False

    def page(self) -> Page:
        """Return what each part of the file tells, the old wheel first."""
        if self.first_page:
            title = f"{self.title}: first page, while the old wheel is still built"
            verdict = "Do and read this while the old wheel is still built."
            return Page(verdict, title, said.first_page(self.first_page), judges=False)
        parts: list[Block] = []
        parts += said.old_wheel(self.old_wheel, whole=self.whole) if self.old_wheel else []
        parts += said.slips(self.slips, whole=self.whole) if self.slips else []
        parts += said.old_rim(self.old_rim, whole=self.whole) if self.old_rim else []
        parts += said.builds(self.jar, whole=self.whole) if self.jar else []
        return Page(
            verdict=said.verdict(self.old_wheel, self.slips, self.jar, self.old_rim, stops=self.stops),
            title=f"{self.title}: what the old wheel and the jar are good for",
            answer=parts,
            findings=self.findings,
            assumptions=self.assumptions,
        )

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
