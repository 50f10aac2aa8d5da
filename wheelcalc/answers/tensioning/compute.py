"""`tension`: how tight each side is to be, what limits it, what riding takes away, and the wheel as a structure."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from wheelcalc.answers.base import Source, defaults_taken, opened
from wheelcalc.answers.tensioning import findings as tension_findings
from wheelcalc.answers.tensioning.answer import TensionAnswer
from wheelcalc.answers.tensioning.riding import TYRE_TAKES, Riding, riding
from wheelcalc.answers.tensioning.side import SideTension
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.needs import demand
from wheelcalc.joined import solved
from wheelcalc.joined.findings import build_findings
from wheelcalc.joined.section import said, section_of
from wheelcalc.joined.target import Target, target_of
from wheelcalc.joined.tone import per_semitone, pitches
from wheelcalc.joined.turning import carries_torque
from wheelcalc.measuring import assemble
from wheelcalc.page.blocks import Brief
from wheelcalc.tension import balance, remedies, targets, tone
from wheelcalc.tension.remedies import Leeway, Remedy
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

PREFIXES = ("tension.", "pluck.end_hold", "spokes.end_give")


def tension(source: Source, overrides: Overrides = (), **keys: Any) -> TensionAnswer:
    """How tight each side is to be.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    file = opened(source, overrides, keys)
    with file.named():
        build = file.build
        demand("tension", build)
        return _answer(file.title, build, assemble.wheel(build))


def _answer(title: str, build: Build, wheel: Wheel) -> TensionAnswer:
    estimate = section_of(build)
    target = target_of(build, wheel, solved.buckling_limits(build, wheel, estimate))
    ratio = targets.ratio_left_to_right(wheel)
    aimed = target.known and ratio is not None
    rest = balance.at_rest(wheel, target.per_spoke) if aimed else None
    held = rest if rest is not None and rest.tensions.min() >= 0 else None
    structure = balance.structure_at(wheel, held, estimate.section) if held and estimate else None
    figures = solved.figures(wheel, structure) if structure else None
    loads = riding(build, structure) if structure and figures and figures.slack_load else None
    sides = {side: _side(build, wheel, target, side) if aimed else _no_target(wheel, side) for side in SIDES}
    blank = TensionAnswer(
        title=title,
        findings=[],
        assumptions=_assumptions(build, target, estimate, loads),
        build=build,
        wheel=wheel,
        target=target,
        sides=sides,
        ratio=ratio,
        rest=held,
        figures=figures,
        estimate=estimate,
        sureness=solved.sureness(build, wheel, held, estimate) if figures and held and estimate else None,
        riding=loads,
        remedies=_remedies(build, wheel, target) if aimed else [],
    )
    return replace(blank, findings=by_weight([*build_findings(build, wheel), *tension_findings.all_of(blank)]))


def _side(build: Build, wheel: Wheel, target: Target, side: str) -> SideTension:
    aim = target.tension[side]
    low, high = targets.bounds(aim, build.tension.evenness, targets.lowest_on(side, target.limits))
    pitch, low_pitch, high_pitch = pitches(build, wheel, side, np.array([aim, low, high])).tolist()
    return SideTension(
        count=int(wheel.lacing.on(side).sum()),
        target_N=aim,
        low_N=low,
        high_N=high,
        pitch_hz=pitch,
        low_pitch_hz=low_pitch,
        high_pitch_hz=high_pitch,
        note=tone.note_name(pitch),
        semitone_N=per_semitone(build, wheel, side, aim),
    )


def _no_target(wheel: Wheel, side: str) -> SideTension:
    return SideTension(count=int(wheel.lacing.on(side).sum()))


def _remedies(build: Build, wheel: Wheel, target: Target) -> list[Remedy]:
    """What would raise the slack side, where it needs that even with the tighter side at its limit."""
    if remedies.slack_at_limit(wheel, target.limits) >= build.tension.floor_caution:
        return []
    loose = build.hub.loose_spacers
    leeway = Leeway(loose, carries_torque(build), build.limits.spoke_angle_stop)
    return remedies.ranked(wheel, target.limits, leeway)


def _assumptions(build: Build, target: Target, estimate: SectionEstimate | None, loads: Riding | None) -> list[str]:
    return [
        target.assumptions[0],
        *(said(build, estimate) if estimate else []),
        *(loads.assumptions if loads else []),
        Brief(
            f"Tensions are those of the wheel without a tyre. A hard one (115 psi) takes about {100 * TYRE_TAKES:.0f} % off "
            "(J. Brandt, second hand); do not make up for it.",
            f"No tyre is on: a hard one takes about {100 * TYRE_TAKES:.0f} % off; do not make up for it.",
        ),
        *defaults_taken(build, PREFIXES),
    ]
