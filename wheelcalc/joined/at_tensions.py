"""What `true` works with: the wheel as a structure at the tensions that it has, the readings as arrays, the settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wheelcalc.build.whole import Build
from wheelcalc.joined import solved
from wheelcalc.joined.section import section_for_truing
from wheelcalc.joined.target import Target, target_of
from wheelcalc.tension import balance, targets
from wheelcalc.tension.structure import Structure
from wheelcalc.truing.faults import EqualFaults
from wheelcalc.truing.turns import Done, Room
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES, Section
from wheelcalc.wheel.wheel import Wheel

if TYPE_CHECKING:
    pass

UNKNOWN_THREAD = 2.5  # mm of wire, M: the tables end at 2.3
UNREAD = 0.8  # C: of the highest tension allowed, where no tension was read and no target given
LEAST_TENSION = 25.0  # N: a structure at rest needs some
PREFERRED = 4.0  # times, C: how much more a preferred fault counts, and how much less the other


@dataclass(frozen=True, eq=False)
class AtTensions:
    """The wheel at the tensions that were read, else at its target: all that planning needs.

    Parameters
    ----------
    build, wheel, target : the build
    structure : at the mean tensions that were read, else at the target
    lacking : facts of the rim's section that were missing
    taken : what was taken, in words
    """

    build: Build
    wheel: Wheel
    target: Target
    structure: Structure
    lacking: list[str]
    taken: list[str]

    @property
    def room(self) -> Room:
        """Within what the nipples may be turned."""
        build, spokes = self.build, len(self.wheel.lacing)
        limits = targets.per_spoke(self.wheel, {side: self.limit(side) for side in SIDES})
        floor = np.full(spokes, build.tension.floor_stop)
        return Room(build.truing.step, build.truing.most_per_pass, floor, limits)

    def limit(self, side: str) -> float:
        """Lowest limit of a side's spokes [N]."""
        return targets.lowest_on(side, self.target.limits)

    @property
    def equal_faults(self) -> EqualFaults:
        """How faults weigh, the preferred ones more."""
        said = self.build.truing.equal_faults
        equal = EqualFaults(said.lateral, said.radial, said.dish, said.tension)
        return preferring(self.build.truing.prefer, equal)

    @property
    def done(self) -> Done:
        """When the wheel is true enough."""
        said = self.build.truing.done
        return Done(said.lateral, said.radial, said.dish, said.spread)


def preferring(prefer: str, equal: EqualFaults) -> EqualFaults:
    """Weigh place higher than tension ("straight"), or lower ("even"); "both" leaves it."""
    if prefer == "both":
        return equal
    factor = PREFERRED if prefer == "straight" else 1 / PREFERRED
    return replace(equal, lateral=equal.lateral / factor, radial=equal.radial / factor, tension=equal.tension * factor)


def at_tensions(build: Build, wheel: Wheel, means: Mapping[str, float] | None = None) -> AtTensions:
    """The wheel of a build at its tensions.

    Parameters
    ----------
    build, wheel : the build
    means : mean tensions by side, as read [N]; a side that is not there follows from the other, both from the target

    Raises
    ------
    InputError
        If the spokes cannot hold the rim in its plane.
    """
    estimate, taken, lacking = section_for_truing(build)
    target = target_of(build, wheel, solved.buckling_limits(build, wheel, estimate))
    if targets.ratio_left_to_right(wheel) is None:
        side = "left" if targets.sideways_pull(wheel)["left"] <= 0 else "right"
        raise InputError(
            f"hub.{side}", f"the {side} flange does not pull the rim to the {side}; `wheelcalc tension` says more"
        )
    levels = _levels(build, wheel, means or {}, target)
    if not means:
        words = ", ".join(f"{side} {levels[side]:.0f} N" for side in SIDES)
        taken = [f"No tension is known; the spokes are taken to carry {words} in the mean.", *taken]
    taken = [*taken, *_thread(wheel)]
    return AtTensions(build, wheel, target, _structure(wheel, levels, estimate.section), lacking, taken)


def _thread(wheel: Wheel) -> list[str]:
    """What is taken of a thread whose pitch no table gives (`wheelcalc tables threads`)."""
    thick = max(wheel.wire(side).thread_end for side in SIDES)
    if thick < UNKNOWN_THREAD:
        return []
    return [
        f"No pitch is known of the thread on {thick:g} mm wire; 56 turns to the inch are taken: count them over 10 mm."
    ]


def structure_of(ready: AtTensions, means: Mapping[str, float]) -> Structure:
    """The same wheel at other mean tensions by side [N]."""
    levels = _levels(ready.build, ready.wheel, means, ready.target)
    return _structure(ready.wheel, levels, ready.structure.section)


def _structure(wheel: Wheel, levels: Mapping[str, float], section: Section) -> Structure:
    rest = balance.at_rest(wheel, targets.per_spoke(wheel, levels))
    return balance.structure_at(wheel, replace(rest, tensions=np.maximum(rest.tensions, LEAST_TENSION)), section)


def _levels(build: Build, wheel: Wheel, read: Mapping[str, float], target: Target) -> dict[str, float]:
    """Mean tension of each side [N]: as read, else by the other side, else by the target."""
    share = 1.0 if build.given("tension.target") else UNREAD
    means = dict(read)
    ratio = targets.ratio_left_to_right(wheel) or 1.0
    if "left" in means and "right" not in means:
        means["right"] = means["left"] / ratio
    if "right" in means and "left" not in means:
        means["left"] = means["right"] * ratio
    return {side: means.get(side, share * target.tension[side]) for side in SIDES}
