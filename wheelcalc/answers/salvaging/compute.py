"""`salvage`: the old wheel as gauge, which reading is wrong, what the jar can build, whether the old rim is worth it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.answers.ordering.compute import OrderAnswer, order
from wheelcalc.answers.salvaging.jar import THIS_HUB, THIS_RIM, JarAnswer, jar_of, spokes_left
from wheelcalc.answers.salvaging.rim import RimAnswer, longer_from_jar, rim_of
from wheelcalc.arrays import Floats
from wheelcalc.files.buildfile import Build
from wheelcalc.files.needs import HUB, how, missing
from wheelcalc.joined.target import target_of
from wheelcalc.measuring import assemble
from wheelcalc.measuring.dimensions import Dimension, Dimensions
from wheelcalc.measuring.statistics import DISAGREE, HARDLY_BY_CHANCE, Mean, in_words
from wheelcalc.salvage.cases import UNKNOWN_END, UNKNOWN_TENSION, fitted, has_old_hub, old_wheel
from wheelcalc.salvage.first_page import steps
from wheelcalc.salvage.old_wheel import Gauged, combined, gauge, measured_erd
from wheelcalc.salvage.slips import Verdict, explain
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

SECTIONS = ("old_wheel", "fitted", "jar", "old_rim")


@dataclass(frozen=True)
class OldWheel:
    """What the old wheel says of the rim.

    Parameters
    ----------
    gauged : erd by its spokes
    measured : erd as measured, to the spoke end; None where it was not
    combined : their weighted mean
    spokes : what to order with it; None where the new hub is not known well enough
    lacking : keys that the order still needs
    """

    gauged: Gauged
    measured: Dimension | None
    combined: Mean
    spokes: OrderAnswer | None
    lacking: tuple[str, ...]

    @property
    def agreement(self) -> str:
        """Whether old wheel and measurement agree, in words."""
        return in_words(self.combined)

    @property
    def apart(self) -> float | None:
        """What was measured less what the old wheel says [mm]."""
        return None if self.measured is None else self.measured.value - self.gauged.erd

    def within(self, sigma: float) -> float:
        """What a standard uncertainty means, 19 times in 20 [mm]."""
        return NINETEEN_IN_TWENTY * sigma

    def as_json(self) -> dict[str, Any]:
        """Return both values, how far they are apart, and the order."""
        gauged, measured = self.gauged, self.measured
        return {
            "erd_mm": gauged.erd,
            "erd_sigma_mm": gauged.sigma,
            "sides": {s: {"erd_mm": gauged.sides[s].value, "erd_sigma_mm": gauged.sides[s].sigma} for s in SIDES},
            "sides_chance": gauged.chance,
            "measured_erd_mm": None if measured is None else measured.value,
            "measured_erd_sigma_mm": None if measured is None else measured.sigma,
            "apart_mm": self.apart,
            "chance": self.combined.chance,
            "in_words": self.agreement if measured else "",
            "lines": [] if self.spokes is None else self.spokes.content()["lines"],
            "lacking": self.lacking,
        }


@dataclass(frozen=True, kw_only=True)
class SalvageAnswer(Answer):
    """Answer of `salvage`; what the file says nothing of is None."""

    schema: ClassVar[str] = "wheelcalc/salvage/1"
    first_page: Sequence[str]
    old_wheel: OldWheel | None
    slips: Verdict | None
    jar: JarAnswer | None
    old_rim: RimAnswer | None

    def content(self) -> dict[str, Any]:
        """Return what was found, under the contract's names."""
        old, jar = self.old_wheel, self.jar
        return {
            "first_page": list(self.first_page),
            "erd_mm": None if old is None else old.combined.value,
            "erd_sigma_mm": None if old is None else old.combined.sigma,
            "old_wheel": None if old is None else old.as_json(),
            "slips": [] if self.slips is None else _slips_json(self.slips),
            "slip_told": self.slips is not None and self.slips.told,
            "builds": [] if jar is None else [each.as_json() for each in jar.builds],
            "builds_landing": 0 if jar is None else jar.landing,
            "builds_tried": 0 if jar is None else jar.tried,
            "old_rim": None if self.old_rim is None else self.old_rim.as_json(),
        }


def _slips_json(verdict: Verdict) -> list[dict[str, Any]]:
    """The slips, best first; none where there is nothing to explain."""
    if verdict.agree:
        return []
    return [
        {"what": e.what, "misfit_mm": e.misfit, "misfit_sigma": e.chi_square**0.5, "look": e.look}
        for e in verdict.explanations
    ]


def salvage(source: Source, overrides: Sequence[str] = ()) -> SalvageAnswer:
    """What an old wheel and a jar of parts are good for.

    Parameters
    ----------
    source : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    overrides : "KEY=VALUE" each

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    build = opened(source, overrides)
    with build.named():
        known = build.dimensions
        old = _old_wheel(build) if _begun(build, "old_wheel") else None
        verdict = _verdict(build)
        gauged = build if old is None else with_erd(build, old.combined)
        jar = jar_of(gauged)
        rim = _rim(gauged, jar) if _begun(build, "old_rim") else None
        any_begun = begun(build)
        return SalvageAnswer(
            build=build.title,
            findings=by_weight(list(dict.fromkeys(_findings(old, verdict, jar, rim)))),
            assumptions=_assumptions(known, old, begun=any_begun),
            first_page=[] if any_begun else steps(with_cogs=known.value("position") != "front"),
            old_wheel=old,
            slips=verdict,
            jar=jar,
            old_rim=rim,
        )


def first_page() -> list[str]:
    """Return the order of work while the old wheel is still built, for a rear wheel."""
    return steps(with_cogs=True)


def begun(build: Build) -> bool:
    """Whether a build file says something of an old wheel, of spokes that came, or of a jar."""
    return any(_begun(build, section) for section in SECTIONS)


def _begun(build: Build, section: str) -> bool:
    return any(key.startswith(f"{section}.") and build.dimensions.given(key) for key in build.dimensions) or (
        section == "jar" and any(build.jar.values())
    )


def _loading(known: Dimensions, wheel: Wheel) -> tuple[Floats, float]:
    target = target_of(known, wheel)
    return target.per_spoke, target.shrink


def _old_wheel(build: Build) -> OldWheel:
    known = build.dimensions
    _demand_old_hub(known)
    gauged = gauge(old_wheel(known, _loading), _loading)
    measured = measured_erd(known)
    mean = combined(gauged, measured)
    new = with_erd(build, mean)
    lacking = tuple(ways[0] for ways in missing("order", new.dimensions))
    return OldWheel(gauged, measured, mean, None if lacking else order(new), lacking)


def _rim(build: Build, jar: JarAnswer | None) -> RimAnswer:
    """Whether the old rim is worth it; with the best build on it, which longer spokes of the jar belong at its high spots."""
    answer = rim_of(build.dimensions)
    best = next((each for each in jar.builds if (each.rim, each.hub) == (THIS_RIM, THIS_HUB)), None) if jar else None
    if answer.forecast is None or best is None:
        return answer
    left = spokes_left(build, best)
    lacing = assemble.lacing(build.dimensions)
    is_right = dict(zip(lacing.rim_hole.tolist(), lacing.is_right.tolist(), strict=True))
    return replace(answer, from_jar=longer_from_jar(answer.forecast, is_right, best.lengths, left))


def _demand_old_hub(known: Dimensions) -> None:
    """Refuse an old hub that is begun and lacks what a hub needs; without one the new hub stands for it."""
    section = "old_wheel.hub" if has_old_hub(known) else "hub"
    ways_by_key = [tuple(key.replace("hub", section, 1) for key in ways) for ways in HUB]
    for first, *others in [*ways_by_key, ("rim.holes",)]:
        if not any(key in known for key in (first, *others)):
            raise InputError(first, f"is missing and `salvage` needs it for the old wheel: {how(first)}")


def with_erd(build: Build, erd: Mean) -> Build:
    """Return the build with another erd, to the spoke end."""
    entries = {"rim.erd": Dimension(erd.value, erd.sigma), "rim.erd_to": Dimension("spoke end")}
    return Build(build.name, Dimensions({**build.dimensions, **entries}), build.jar)


def _verdict(build: Build) -> Verdict | None:
    """Hold what was seen against what the readings predict, where both are there."""
    known, cases = build.dimensions, []
    if missing("lengths", known) and not _begun(build, "old_wheel"):
        return None
    if _begun(build, "fitted"):
        cases.append(fitted(known, _loading))
    if _begun(build, "old_wheel") and "rim.erd" in known:
        cases.append(old_wheel(known, _loading))
    return explain(cases) if cases else None


def _findings(
    old: OldWheel | None, verdict: Verdict | None, jar: JarAnswer | None, rim: RimAnswer | None
) -> Iterator[Finding]:
    """What the parts say; the order of the new spokes and the rim may say the same."""
    yield from _old_wheel_findings(old)
    yield from _slip_findings(verdict)
    yield from _jar_findings(jar)
    yield from rim.findings if rim else ()


def _old_wheel_findings(old: OldWheel | None) -> Iterator[Finding]:
    if old is None:
        return
    yield Finding(
        "caution",
        "slacken-evenly",
        "If the old wheel still stands: deflate the tyre first, wear eye protection, and slacken all round by quarter turns before any "
        "spoke is taken out or cut. A tight spoke flies when it is cut, and a rim pulled from one side folds.",
    )
    if old.gauged.chance < DISAGREE:
        yield Finding(
            "caution",
            "old-sides-disagree",
            f"The old wheel's left spokes put rim.erd at {old.gauged.sides['left'].value:.1f} mm, its right ones at "
            f"{old.gauged.sides['right'].value:.1f} mm: {abs(old.gauged.apart):.1f} mm apart, more than the readings allow.",
            "Read the old hub's flanges and a spoke of each side again; were left and right swapped?",
        )
    if old.measured is not None and not old.combined.agree:
        hardly = old.combined.chance < HARDLY_BY_CHANCE
        yield Finding(
            "stop" if hardly else "caution",
            "old-and-measured-disagree",
            f"rim.erd was measured as {old.measured.value:.1f} mm, the old wheel says {old.gauged.erd:.1f} mm: "
            f"{abs(old.apart or 0.0):.1f} mm apart; {old.agreement}. The error of their mean was widened to fit.",
            ("Do not order: find the slip first" if hardly else "Look for a slip before you order")
            + ", the ranking above says where to look.",
        )
    if old.spokes is not None:
        yield from (each for each in old.spokes.findings if each.level != "note")


def _slip_findings(verdict: Verdict | None) -> Iterator[Finding]:
    if verdict is not None and not verdict.agree:
        text = f"The spokes' ends sit {verdict.unexplained.misfit:.1f} mm off where the readings put them: one reading is wrong."
        yield Finding("caution", "slip", text, "Take the look named above before you order or build on these readings.")


def _jar_findings(jar: JarAnswer | None) -> Iterator[Finding]:
    if jar is None:
        return
    if not jar.builds:
        text = f"Nothing that can be built from the jar lands in the window ({jar.tried} combinations tried)."
        yield Finding(
            "note", "nothing-from-the-jar", text, "Widen the jar, or `wheelcalc order` spokes for the wheel you want."
        )
    elif jar.used_spokes:
        yield Finding(
            "caution",
            "old-spokes",
            "Old spokes: only straight ones without nicks, rust or a damaged thread; same side, same place (a trailing one stays "
            "trailing), with new nipples. Contested: many builders reuse them, others renew all once one has broken.",
            "Throw away what is bent at the elbow, and every spoke of a set in which some have broken.",
        )
        yield Finding(
            "caution",
            "old-notches",
            "A used hub's flanges carry the marks of their old spokes: laced the other way round, new marks cross the old ones and "
            "flanges crack there.",
            "Lace each hole in its old direction, heads on the old face.",
        )


def _assumptions(known: Dimensions, old: OldWheel | None, *, begun: bool) -> list[str]:
    said = []
    if old is not None:
        if not has_old_hub(known):
            said.append("No [old_wheel.hub]: the old wheel is taken to have had the same hub.")
        if "old_wheel.tension" not in known:
            value, sigma = UNKNOWN_TENSION
            said.append(
                f"old_wheel.tension is unknown: {value:.0f} +-{NINETEEN_IN_TWENTY * sigma:.0f} N on the tighter side, as old wheels have."
            )
        if "old_wheel.end_position.left" not in known:
            said.append(
                f"old_wheel.end_position is unknown: level with the slot's bottom, +-{NINETEEN_IN_TWENTY * UNKNOWN_END[1]:.0f} mm."
            )
        if "old_wheel.wire.left" not in known:
            said.append("The old spokes are taken to be plain 2.0 mm wire (old_wheel.wire).")
        if old.spokes is not None:
            return [*said, *old.spokes.assumptions]
    return [
        *said,
        *(
            defaults_taken(known, ("rim.", "hub.", "stock."), ("hub.brake", "stock.step", "stock.spares"))
            if begun
            else []
        ),
    ]
