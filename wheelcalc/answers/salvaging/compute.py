"""`salvage`: the old wheel as gauge, which reading is wrong, what the jar can build, whether the old rim is worth it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from wheelcalc.answers.base import Source, defaults_taken, opened
from wheelcalc.answers.ordering.compute import order
from wheelcalc.answers.salvaging.answer import SalvageAnswer
from wheelcalc.answers.salvaging.findings import findings_of
from wheelcalc.answers.salvaging.jar import JarAnswer, jar_of, own_name, spokes_left
from wheelcalc.answers.salvaging.old import OldWheel
from wheelcalc.answers.salvaging.rim import RimAnswer, longer_from_jar, rim_of
from wheelcalc.arrays import Floats
from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile, Overrides
from wheelcalc.files.needs import demand, missing
from wheelcalc.joined.target import target_of
from wheelcalc.measuring import assemble
from wheelcalc.measuring.doubts import odd_lengths
from wheelcalc.measuring.findings import in_inches, taken_as_inches
from wheelcalc.measuring.statistics import Mean
from wheelcalc.salvage.cases import UNKNOWN_END, UNKNOWN_TENSION, fitted, has_old_hub, old_wheel, with_erd_guessed
from wheelcalc.salvage.first_page import steps
from wheelcalc.salvage.old_wheel import combined, gauge, measured_erd
from wheelcalc.salvage.slips import Verdict, explain, with_inches
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

SECTIONS = ("old_wheel", "fitted", "jar", "old_rim")


def salvage(source: Source, overrides: Overrides = (), **keys: Any) -> SalvageAnswer:
    """What an old wheel and a jar of parts are good for.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    file = opened(source, overrides, keys, inches=True)
    with file.named():
        build = file.build
        old = _old_wheel(file) if _begun(file, "old_wheel") else None
        verdict = _verdict(file)
        if inches := in_inches(build):
            verdict = with_inches(verdict, inches)
        gauged = file if old is None else with_erd(file, old.combined)
        jar = jar_of(gauged)
        rim = _rim(gauged, jar) if _begun(file, "old_rim") else None
        any_begun = begun(file)
        return SalvageAnswer(
            title=file.title,
            findings=by_weight(
                list(
                    dict.fromkeys(
                        [
                            *taken_as_inches(build),
                            *findings_of(old, verdict, jar, rim),
                            *([] if verdict else odd_lengths(build)),
                        ]
                    )
                )
            ),
            assumptions=_assumptions(build, old, begun=any_begun),
            first_page=[] if any_begun else steps(with_cogs=build.position != "front"),
            old_wheel=old,
            slips=verdict,
            jar=jar,
            old_rim=rim,
        )


def first_page() -> list[str]:
    """Return the order of work while the old wheel is still built, for a rear wheel."""
    return steps(with_cogs=True)


def begun(file: BuildFile) -> bool:
    """Whether a build file says something of an old wheel, of spokes that came, or of a jar."""
    return any(_begun(file, section) for section in SECTIONS)


def _begun(file: BuildFile, section: str) -> bool:
    return any(key.startswith(f"{section}.") and file.build.given(key) for key in file.build) or (
        section == "jar" and any(file.jar.values())
    )


def _loading(build: Build, wheel: Wheel) -> tuple[Floats, float]:
    target = target_of(build, wheel)
    return target.per_spoke, target.shrink


def _old_wheel(file: BuildFile) -> OldWheel:
    build = file.build
    demand("salvage", build)
    gauged = gauge(old_wheel(build, _loading), _loading)
    measured = measured_erd(build)
    mean = combined(gauged, measured)
    new = with_erd(file, mean)
    lacking = tuple(ways[0] for ways in missing("order", new.build))
    return OldWheel(gauged, measured, mean, None if lacking else order(new), lacking)


def _rim(file: BuildFile, jar: JarAnswer | None) -> RimAnswer:
    """Whether the old rim is worth it; with the best build on it, which longer spokes of the jar belong at its high spots."""
    answer = rim_of(file.build)
    own = tuple(own_name(file.build, kind) for kind in ("rim", "hub"))
    best = next((each for each in jar.whole if (each.rim, each.hub) == own), None) if jar else None
    if answer.forecast is None or best is None:
        return answer
    left = spokes_left(file, best)
    lacing = assemble.lacing(file.build)
    is_right = dict(zip(lacing.rim_hole.tolist(), lacing.is_right.tolist(), strict=True))
    return replace(
        answer,
        from_jar=longer_from_jar(answer.forecast, is_right, {side: max(best.lengths_of(side)) for side in SIDES}, left),
    )


def with_erd(file: BuildFile, erd: Mean) -> BuildFile:
    """Return the build with another erd, to the spoke end."""
    entries = {"rim.erd": Dimension(erd.value, erd.sigma), "rim.erd_to": Dimension("spoke end")}
    return BuildFile(file.name, Build({**file.build, **entries}), file.jar)


def _verdict(file: BuildFile) -> Verdict | None:
    """Hold what was seen against what the readings predict, where both are there."""
    build, cases = file.build, []
    if missing("lengths", build) and not _begun(file, "old_wheel"):
        return None
    if _begun(file, "fitted"):
        cases.append(fitted(build, _loading))
    if _begun(file, "old_wheel"):
        cases.append(old_wheel(with_erd_guessed(build), _loading))
    return explain(cases) if cases else None


def _assumptions(build: Build, old: OldWheel | None, *, begun: bool) -> list[str]:
    said = []
    if old is not None:
        if not has_old_hub(build):
            said.append("No [old_wheel.hub]: the old wheel is taken to have had the same hub.")
        if "old_wheel.tension" not in build:
            value, sigma = UNKNOWN_TENSION
            said.append(
                f"old_wheel.tension is unknown: {value:.0f} +-{NINETEEN_IN_TWENTY * sigma:.0f} N on the tighter side, as old wheels have."
            )
        if "old_wheel.end_position.left" not in build:
            said.append(
                f"old_wheel.end_position is unknown: level with the slot's bottom, +-{NINETEEN_IN_TWENTY * UNKNOWN_END[1]:.0f} mm."
            )
        if "old_wheel.wire.left" not in build:
            said.append("The old spokes are taken to be plain 2.0 mm wire (old_wheel.wire).")
        if old.spokes is not None:
            return [*said, *old.spokes.assumptions]
    return [
        *said,
        *(
            defaults_taken(build, ("rim.", "hub.", "stock."), ("hub.brake", "stock.step", "stock.spares"))
            if begun
            else []
        ),
    ]
