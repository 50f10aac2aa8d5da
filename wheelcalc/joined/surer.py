"""Which figure of a structure is the least sure, and what would make it surer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from wheelcalc.build.whole import Build
from wheelcalc.joined.solved import GIVE, JSON_NAMES, SECTION, TARGET, StructureFigures, Sureness
from wheelcalc.page.numbers import sure
from wheelcalc.tension.section import RESTS_ON, SHAPE, SIGMAS, SectionEstimate
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

# P (M. Ford, PhD thesis, Northwestern University 2018): what tapping four rims left open, of EI in plane and of GJ 4 to 8 and 4 to
# 5 %, of GJ / EI out of plane 9 to 21 %.
TAPPED_TO = {"inertia_in_plane": 0.06, "inertia_out_of_plane": 0.15, "torsion_constant": 0.05}
# C: of what a tension meter reads; ours: what two passes of turns and readings leave of the give.
METER, LEARNT = 0.03, 0.10
WORTH_SAYING = 0.9  # of the error now: above, a remedy gains nothing

# The figures of a wheel in use; four points are for the bench.
WORDS = {
    "radial_stiffness": ("radial stiffness", "N/mm", 1.0),
    "lateral_stiffness": ("lateral stiffness", "N/mm", 1.0),
    "windup_stiffness": ("wind-up of hub in rim", "N m/degree", math.radians(1.0) / 1000),
    "buckling_tension": ("the tension that buckles the rim", "N", 1.0),
    "slack_load": ("the load that slackens a spoke", "N", 1.0),
    "rim_shrink": ("the rim's shrinking", "mm", 1.0),
}


class Way(NamedTuple):
    """What would help: the figure's standard uncertainty then, the build file's key that it is about, what to do."""

    then: float
    key: str
    how: str


@dataclass(frozen=True)
class Surer:
    """The least sure figure and what would help it.

    Parameters
    ----------
    figure : its name
    value, sigma : as it is, in its unit of JSON
    ways : what would help, most first
    """

    figure: str
    value: float
    sigma: float
    ways: Sequence[Way]

    def as_json(self) -> dict[str, Any]:
        """Return the figure, its sigma now, and for each way the key and the sigma then."""
        words, unit = JSON_NAMES[self.figure]
        ways = [{"key": each.key, "text": each.how, f"sigma_{unit}": each.then} for each in self.ways]
        return {"figure": f"{words}_{unit}", f"sigma_{unit}": self.sigma, "ways": ways}

    def __str__(self) -> str:
        """Return the sentence that says it."""
        words, unit, factor = WORDS[self.figure]
        value, within = sure(factor * self.value, factor * NINETEEN_IN_TWENTY * self.sigma)
        said = ", ".join(f"{each.how} makes it {self._percent(each.then):.0f} %" for each in self.ways)
        return f"Least sure: {words}, {value} +-{within} {unit} ({self._percent(self.sigma):.0f} %); {said}."

    def _percent(self, sigma: float) -> float:
        return 100 * NINETEEN_IN_TWENTY * sigma / self.value


def surer(build: Build, figures: StructureFigures, sureness: Sureness, estimate: SectionEstimate) -> Surer | None:
    """The least sure figure and what would help it; None where nothing would."""
    unsure = {name: getattr(figures, name) for name in sureness.effects if name in WORDS and getattr(figures, name)}
    if not unsure:
        return None
    figure = max(unsure, key=lambda name: (sureness.sigma(name) or 0.0) / unsure[name])
    now = sureness.sigma(figure) or 0.0
    remedies = _remedies(build, estimate)
    ways = sorted(Way(sureness.with_shares(figure, shares), key, how) for key, how, shares in remedies)
    worth = [each for each in ways if each.then < WORTH_SAYING * now]
    return Surer(figure, unsure[figure], now, worth) if worth else None


def _remedies(build: Build, estimate: SectionEstimate) -> Iterator[tuple[str, str, Mapping[str, float]]]:
    """Key, what to do, and the share of its error that each source then keeps."""
    guessed = [name for name in SHAPE if name in estimate.guessed]
    tapping = {name: min(1.0, TAPPED_TO[name] / estimate.sigmas[name]) for name in guessed if name in TAPPED_TO}
    if tapping:
        yield SECTION, "tapping the bare rim (`wheelcalc tap`)", tapping
    for fact, what in (
        ("mass", "weighing the bare rim"),
        ("width", "measuring its width"),
        ("depth", "measuring its depth"),
    ):
        if build.sigma(f"{SECTION}.{fact}"):
            own = build.sigma(f"{SECTION}.{fact}") / build.number(f"{SECTION}.{fact}")
            keeps = {name: _without(name, RESTS_ON[name].get(fact, 0.0) * own, estimate) for name in guessed}
            yield f"{SECTION}.{fact}", f"{what} again", keeps
    gives = [(build.value(f"{GIVE}.{side}"), build.sigma(f"{GIVE}.{side}")) for side in ("left", "right")]
    share = max((LEARNT * value / sigma for value, sigma in gives if sigma), default=1.0)
    if share < 1:
        yield GIVE, "what two passes of `wheelcalc true` learn", {GIVE: share}
    if build.given(TARGET) and build.sigma(TARGET):
        share = METER * build.number(TARGET) / build.sigma(TARGET)
        if share < 1:
            yield TARGET, "a tension meter", {TARGET: share}


def _without(name: str, error: float, estimate: SectionEstimate) -> float:
    """Share of a guessed property's error that is left without the part of one fact."""
    whole = estimate.sigmas[name]
    return math.sqrt(max(whole**2 - error**2, SIGMAS[name] ** 2)) / whole
