"""Of `fit`: what was found, before anything is said of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wheelcalc.answers.base import Answer
from wheelcalc.answers.fitting.chain import Chain
from wheelcalc.answers.fitting.geometry import Geometry
from wheelcalc.answers.fitting.shell import Shell
from wheelcalc.answers.fitting.width import Width
from wheelcalc.bike.fit import Unchecked
from wheelcalc.bike.spacers import Plans
from wheelcalc.bike.stacks import Stacks
from wheelcalc.bike.width import Spacing, Verdict
from wheelcalc.build.whole import Build
from wheelcalc.wheel.wheel import Wheel


@dataclass(frozen=True, kw_only=True)
class FitFound(Answer):
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
