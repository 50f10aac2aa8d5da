"""`pluck`: a recording of plucked spokes becomes pitches and tensions, spoke by spoke."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from wheelcalc.answers.base import Source, defaults_taken, opened
from wheelcalc.answers.plucking import findings as pluck_findings
from wheelcalc.answers.plucking.answer import PluckAnswer
from wheelcalc.answers.plucking.change import since
from wheelcalc.answers.plucking.content import HeardPluck, Round, SideHeard
from wheelcalc.arrays import Floats, Ints
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides, in_file
from wheelcalc.files.needs import demand
from wheelcalc.files.readings import read_readings
from wheelcalc.files.wav import Sound, read_wav
from wheelcalc.joined import tone as spoke_tone
from wheelcalc.joined.at_tensions import AtTensions, at_tensions
from wheelcalc.joined.pitch_tensions import SideTensions, advised_turns, calibrate, tensions
from wheelcalc.joined.section import section_for_truing, section_of
from wheelcalc.joined.touching import Pairs, pairs, templates
from wheelcalc.measuring import assemble
from wheelcalc.tension import targets
from wheelcalc.tension.calibration import PITCH_SIGMA
from wheelcalc.tension.tone import note_name
from wheelcalc.truing.assign import LISTED, Assigned, Spokes
from wheelcalc.truing.hearing import hear
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

# Ours: times its stiffness, that the wire of all spokes may have, as heard: thicker than said, or its partials otherwise spread.
STIFFER = (1.0, 1.7)
PREFIXES = ("pluck.end_hold", "spokes.wire", "spokes.butts")


def pluck(
    source: Source,
    recording: str | Path | Sound,
    overrides: Overrides = (),
    *,
    round_: Round | None = None,
    before: str | Path | None = None,
    tell: Callable[[float], None] | None = None,
    **keys: Any,
) -> PluckAnswer:
    """Pitches and tensions of plucked spokes.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them
    recording : path of a WAV file, or a sound already read
    round_ : which spokes were plucked in which order; absent: all, from the valve
    before : readings of the same wheel from an earlier recording
    tell : called now and then with the share of the recording that was heard

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    file = opened(source, overrides, keys)
    name = "recording" if isinstance(recording, Sound) else str(recording)
    with file.named():
        build = file.build
        demand("pluck", build)
        wheel = assemble.wheel(build)
        touch = pairs(build, wheel)
    sound = recording if isinstance(recording, Sound) else read_wav(recording)
    plan = round_ or Round()
    order = plan.spokes(wheel)
    with file.named():
        kinds = [templates(build, wheel, touch, each) for each in STIFFER]
    earlier = None if before is None else read_readings(before, wheel.rim.holes)
    with in_file(name):
        assigned = hear(sound.samples, sound.rate, kinds, _spokes(wheel, order, touch), tell)
    heard = [
        HeardPluck(each, int(order[each.place]) if each.place >= 0 else None, each.again) for each in assigned.plucks
    ]
    with file.named():
        answer = _answer(file.title, build, wheel, sound, plan, heard, assigned, touch)
    if earlier is not None:
        with in_file(str(before)):
            answer = replace(answer, since=since(answer.build, wheel, touch, answer.pitch_hz, earlier))
    return replace(answer, findings=by_weight(pluck_findings.all_of(answer)))


def _spokes(wheel: Wheel, order: Ints, touch: Pairs) -> Spokes:
    """What the walk knows of the spokes of the round."""
    ratio = float(np.sqrt(targets.ratio_left_to_right(wheel) or 1.0))
    with_next = np.append(touch.partner[order[:-1]] == order[1:], False)
    return Spokes(wheel.lacing.is_right[order], with_next, ratio)


def _answer(
    title: str,
    build: Build,
    wheel: Wheel,
    sound: Sound,
    plan: Round,
    heard: list[HeardPluck],
    assigned: Assigned,
    touch: Pairs,
) -> PluckAnswer:
    pitch = _by_spoke(heard, len(wheel.lacing))
    if not np.isfinite(pitch).any():
        raise InputError("", "no pluck is sure enough to be given a spoke; pluck them again, louder and one by one")
    rough = _roughly_at_tensions(build, wheel, tensions(build, wheel, pitch, ()))
    estimate = section_of(build) or section_for_truing(build)[0]
    calibration = calibrate(build, wheel, pitch, touch, rough.structure, estimate)
    by_side = tensions(build, wheel, pitch, calibration.references)
    tension, sigma, own = _arrays(by_side, pitch.size)
    return PluckAnswer(
        title=title,
        findings=[],
        assumptions=_assumptions(build, touch),
        build=build,
        wheel=wheel,
        target=rough.target,
        sound=sound,
        round=plan,
        heard=heard,
        assigned=assigned,
        pairs=touch,
        pitch_hz=pitch,
        tension=tension,
        sigma=sigma,
        own=own,
        sides={side: _side(build, wheel, side, each, pitch) for side, each in by_side.items()},
        calibration=calibration,
        advice=None if calibration.references else _advice(build, wheel, rough, by_side),
    )


def _arrays(by_side: Mapping[str, SideTensions], count: int) -> tuple[Floats, Floats, Floats]:
    """Tension, its standard uncertainty and the spoke's own part of that, (count,) each [N]; nan where none was heard."""
    tension, sigma, own = (np.full(count, np.nan) for _ in range(3))
    for each in by_side.values():
        tension[each.mask], sigma[each.mask] = each.tensions.tension, each.tensions.sigma
        own[each.mask] = each.tensions.own_sigma
    return tension, sigma, own


def _by_spoke(heard: Sequence[HeardPluck], count: int) -> Floats:
    """Pitch of each spoke, (n,): of several plucks the mean weighted by confidence; what is likelier wrong does not count.

    Notes
    -----
    Where no hole is told, the likeliest is taken, marked as doubtful: the pitches are those of this wheel all the same.
    """
    total, weight = np.zeros(count), np.zeros(count)
    placed = any(each.pluck.usable for each in heard)
    for each in heard:
        if each.spoke is not None and (each.pluck.usable if placed else each.pluck.confidence >= LISTED):
            total[each.spoke] += each.pluck.confidence * each.pluck.pitch
            weight[each.spoke] += each.pluck.confidence
    return np.where(weight > 0, total / np.where(weight > 0, weight, 1.0), np.nan)


def _roughly_at_tensions(build: Build, wheel: Wheel, by_side: Mapping[str, SideTensions]) -> AtTensions:
    """The wheel as a structure at about the tensions heard."""
    return at_tensions(build, wheel, {side: float(each.tensions.tension.mean()) for side, each in by_side.items()})


def _side(build: Build, wheel: Wheel, side: str, each: SideTensions, pitch_hz: Floats) -> SideHeard:
    force = each.tensions.tension
    mean, middle = float(force.mean()), float(np.median(pitch_hz[each.mask]))
    shared = np.sqrt(np.maximum(each.tensions.sigma**2 - each.tensions.own_sigma**2, 0)).mean()
    semitone = spoke_tone.per_semitone(build, wheel, side, mean)
    return SideHeard(
        spokes=int(force.size),
        tension=mean,
        sigma=float(np.hypot(shared, each.tensions.own_sigma.mean() / np.sqrt(force.size))),
        spread=100 * float(np.std(force)) / mean,
        pitch=middle,
        note=note_name(middle),
        semitone=semitone,
        ear=semitone * float(np.log2(1 + PITCH_SIGMA)) * 12,  # D: semitones of an octave
        how=each.how,
    )


def _advice(
    build: Build, wheel: Wheel, rough: AtTensions, by_side: Mapping[str, SideTensions]
) -> tuple[int, float, float] | None:
    """Which rim hole to loosen by how many turns for a calibration: a middling spoke of the tighter side."""
    side = max(by_side, key=lambda each: float(by_side[each].tensions.tension.mean()))
    force, places = by_side[side].tensions.tension, np.flatnonzero(by_side[side].mask)
    nearest = int(np.argmin(np.abs(force - np.median(force))))
    spoke = int(places[nearest])
    turns = advised_turns(build, wheel, spoke, rough.structure, float(force[nearest]))
    return (int(wheel.lacing.rim_hole[spoke]), *turns) if turns else None


def _assumptions(build: Build, touch: Pairs) -> list[str]:
    taken = defaults_taken(build, PREFIXES)
    if any(f"pluck.free_length.{side}" not in build for side in SIDES):
        taken.append(
            "The free length, elbow to nipple, comes from the geometry (pluck.free_length): 3 mm are about 2.5 % of tension."
        )
    if not build.given("pluck.end_hold"):
        taken.append("How the ends are held is not known: anything from free (0) to clamped (1) is reckoned with.")
    if (touch.partner >= 0).any() and "pluck.touching" not in build:
        taken.append("Crossed spokes touch, as they are interlaced (pluck.touching = false where you held them apart).")
    return taken
