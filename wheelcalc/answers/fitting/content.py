"""Of `fit`: what the answer holds, and its JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers.base import Answer
from wheelcalc.answers.fitting.chain import Chain
from wheelcalc.answers.fitting.geometry import Geometry
from wheelcalc.answers.fitting.plans import Caution, cautions_of, plan_rows
from wheelcalc.answers.fitting.shell import Shell
from wheelcalc.answers.fitting.width import IN_THE_FRAME, Width
from wheelcalc.bike.ends import Unchecked
from wheelcalc.bike.spacers import SAME, Plans
from wheelcalc.bike.stacks import Stacks
from wheelcalc.bike.width import Spacing, Verdict
from wheelcalc.build.whole import Build
from wheelcalc.files.needs import how
from wheelcalc.wheel.wheel import Wheel


@dataclass(frozen=True, kw_only=True)
class FitContent(Answer):
    """What `fit` found; what the build file does not allow is None.

    Parameters
    ----------
    verdict : one of the contract's four, with the spacers fitted, else with the best plan
    width : hub against frame
    plans : all of them, best first
    chosen : spacers that the build file says are fitted
    spacers : those that the verdict, the findings and the chain are for
    state : what those do, a single plan
    stacks : which spacers on hand or on the axle make them up; None where they do not, or none are known
    wheel : with the bare hub
    chain, shell, geometry : see their classes
    not_checked : what could not be checked, and the keys that would settle it
    """

    schema: ClassVar[str] = "wheelcalc/fit/1"
    records: ClassVar[str] = "plans"
    build: Build
    verdict: Verdict | None
    width: Width | None
    plans: Plans | None
    chosen: Spacing | None
    spacers: Spacing
    state: Plans | None
    stacks: Stacks | None
    wheel: Wheel | None
    chain: Chain | None
    shell: Shell | None
    geometry: Geometry | None
    not_checked: Sequence[Unchecked]

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

    def next_reading(self) -> dict[str, Any] | None:
        """Return the one reading that settles most of what is open, and how it is taken."""
        key = most_wanted([check for check in self.not_checked if self.verdict or check.what == IN_THE_FRAME])
        if key is None:
            return None
        return {"key": key, "how": how(key), "settles": [each.what for each in self.not_checked if key in each.keys]}

    def cautions(self, plan: int) -> list[Caution]:
        """Say why a plan should not be used."""
        return [] if self.plans is None else cautions_of(self.plans, plan, self.build)

    def state_cautions(self) -> list[Caution]:
        """Say why the spacers fitted or proposed should not be used."""
        return [] if self.state is None else cautions_of(self.state, 0, self.build)

    def is_taken(self, plan: int) -> bool:
        """Whether a plan is the one that the build file says is fitted, else the one proposed."""
        if self.plans is None:
            return False
        return bool(np.allclose(self.spacers, (self.plans.left[plan], self.plans.right[plan]), rtol=0, atol=SAME))

    def gear_marks(self) -> list[list[str]]:
        """Mark the gears: x cross-chained, s steep, both, or nothing; a list of cogs for each ring."""
        return [] if self.chain is None else self.chain.marks(self.build.limits.chain_angle_caution)


def most_wanted(open_checks: Sequence[Unchecked]) -> str | None:
    """Key that settles most of what is open: a check counts one, shared among the keys that it lacks."""
    worth: dict[str, float] = {}
    for check in open_checks:
        for key in check.keys:
            worth[key] = worth.get(key, 0.0) + 1 / len(check.keys)
    return max(worth, key=lambda key: worth[key], default=None)
