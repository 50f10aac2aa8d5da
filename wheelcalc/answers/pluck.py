"""`pluck`: a recording of plucked spokes becomes pitches and tensions, spoke by spoke."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers import pluck_findings, spoke_tone
from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.answers.pluck_change import Since, since
from wheelcalc.answers.pluck_tension import Calibration, SideTensions, advised_turns, calibrate, tensions
from wheelcalc.answers.rim_section import section_of
from wheelcalc.answers.spoke_pairs import Pairs, pairs, templates
from wheelcalc.answers.target import Target
from wheelcalc.answers.true_setup import Setup, section_for_truing, setup
from wheelcalc.files.buildfile import in_file
from wheelcalc.files.needs import demand
from wheelcalc.files.readings import read_readings
from wheelcalc.files.wav import Sound, read_wav
from wheelcalc.measuring import assemble
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.tension import targets
from wheelcalc.tension.calibration import PITCH_SIGMA
from wheelcalc.tension.tone import note_name
from wheelcalc.truing.assign import Assigned, Played, Spokes, assign
from wheelcalc.truing.recording import Pluck, heard
from wheelcalc.wheel.constants import NEWTON_PER_KGF, NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.joining import Ints
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Floats, Wheel

PREFIXES = ("pluck.end_hold", "spokes.wire", "spokes.butts")


@dataclass(frozen=True)
class Round:
    """Which spokes were plucked: from which rim hole on, of which side, which rim holes left out."""

    start: int = 1
    side: str = "both"
    skip: Sequence[int] = ()

    def spokes(self, wheel: Wheel) -> Ints:
        """Places of the spokes in the order in which they were plucked.

        Raises
        ------
        InputError
            If a rim hole is not one of the rim's, or nothing is left.
        """
        holes = wheel.rim.holes
        for option, hole in (("--from", self.start), *(("--skip", each) for each in self.skip)):
            if not 1 <= hole <= holes:
                raise InputError(option, f"found rim hole {hole}; this rim has 1 to {holes}")
        order = np.argsort((wheel.lacing.rim_hole - self.start) % holes, kind="stable")
        wanted = np.ones(len(wheel.lacing), dtype=bool) if self.side == "both" else wheel.lacing.on(self.side)
        wanted = wanted & ~np.isin(wheel.lacing.rim_hole, list(self.skip))
        out = order[wanted[order]]
        if not out.size:
            raise InputError("--skip", "leaves no spoke; name only the rim holes that were not plucked")
        return out


@dataclass(frozen=True)
class Heard:
    """One pluck and the spoke that it was.

    Parameters
    ----------
    pluck : when, which pitch, how sure
    spoke : its place in rim-hole order, None where it was given to none
    again : whether it is the spoke of the pluck before once more
    """

    pluck: Pluck
    spoke: int | None
    again: bool


@dataclass(frozen=True)
class SideHeard:
    """One side as it was heard.

    Parameters
    ----------
    spokes : how many
    tension, sigma : mean and its standard uncertainty [N]
    spread : standard deviation of the spokes over their mean, per cent
    pitch : middle one [Hz]
    note : nearest to it
    semitone : tension to add for a pitch one semitone higher [N]
    ear : how much tension the pitch's own error is [N], one standard uncertainty
    how : what the height of the tension rests on, in words; empty: nothing
    """

    spokes: int
    tension: float
    sigma: float
    spread: float
    pitch: float
    note: str
    semitone: float
    ear: float
    how: str


@dataclass(frozen=True, kw_only=True, eq=False)
class PluckAnswer(Answer):
    """Answer of `pluck`; wheel, sound and structure are there for a notebook.

    Parameters
    ----------
    heard : the plucks in order
    pitch_hz, tension, sigma, own : of every spoke, (n,), nan where none was heard [Hz], [N]; `own` is the part of sigma
        that differs from spoke to spoke
    advice : how far to loosen which rim hole for a calibration without a meter, and how sure that would be: hole,
        turns, [N]; None where it is calibrated
    since : what happened since an earlier recording
    """

    schema: ClassVar[str] = "wheelcalc/pluck/1"
    known: Dimensions
    wheel: Wheel
    target: Target
    sound: Sound
    round: Round
    heard: Sequence[Heard]
    assigned: Assigned
    pairs: Pairs
    pitch_hz: Floats
    tension: Floats
    sigma: Floats
    own: Floats
    sides: Mapping[str, SideHeard]
    calibration: Calibration
    advice: tuple[int, float, float] | None
    since: Since | None = field(default=None)

    @property
    def calibrated(self) -> bool:
        """Whether the height of the tensions rests on anything but the pitch."""
        return bool(self.calibration.references)

    def within(self, sigma: float) -> float:
        """What a standard uncertainty comes to 19 times in 20."""
        return NINETEEN_IN_TWENTY * sigma

    def kgf(self, force: float) -> float:
        """A force [N] in kilogram-force."""
        return force / NEWTON_PER_KGF

    def against_side(self) -> Floats:
        """Each spoke's tension against its side's mean, as a share, (n,)."""
        out = np.full(len(self.wheel.lacing), np.nan)
        for side, each in self.sides.items():
            mask = self.wheel.lacing.on(side)
            out[mask] = self.tension[mask] / each.tension - 1
        return out

    def content(self) -> dict[str, Any]:
        """Return plucks, sides, calibration and what changed."""
        rows = [self._row(each) for each in self.heard]
        sides = {side: _side_json(self.sides[side]) if side in self.sides else None for side in SIDES}
        advice = dict(zip(("rim_hole", "turns", "sigma_N"), self.advice, strict=True)) if self.advice else None
        return {
            "plucks": rows,
            "calibrated": self.calibrated,
            "sides": sides,
            "calibration": [each.says for each in self.calibration.references],
            "tape": self._tape_json(),
            "loosening_advice": advice,
            "since": self.since.as_json(self.wheel) if self.since else None,
        }

    def _row(self, each: Heard) -> dict[str, Any]:
        spoke, share = each.spoke, self.against_side()
        with_spoke = spoke is not None and np.isfinite(self.tension[spoke])
        return {
            "at_s": each.pluck.at,
            "pitch_hz": each.pluck.pitch,
            "confidence": each.pluck.confidence,
            "rim_hole": None if spoke is None else int(self.wheel.lacing.rim_hole[spoke]),
            "side": None if spoke is None else self.wheel.lacing.sides[spoke],
            "again": each.again,
            "tension_N": float(self.tension[spoke]) if with_spoke else None,
            "tension_sigma_N": float(self.sigma[spoke]) if with_spoke else None,
            "own_sigma_N": float(self.own[spoke]) if with_spoke else None,
            "against_side_percent": 100 * float(share[spoke]) if with_spoke else None,
        }

    def _tape_json(self) -> dict[str, Any] | None:
        found = self.calibration.tape
        if found is None:
            return None
        return {
            "left_N": found.by_side["left"],
            "right_N": found.by_side["right"],
            "sigma_percent": 100 * found.share,
            "used": found.useful,
        }

    def readings(self) -> list[dict[str, Any]]:
        """Rows of the readings file that `true` reads: the pitch of every spoke that was surely heard."""
        holes, pitch = self.wheel.lacing.rim_hole, self.pitch_hz
        return [
            {"rim_hole": int(holes[i]), "lateral_mm": "", "radial_mm": "", "pitch_hz": f"{pitch[i]:.2f}"}
            for i in np.flatnonzero(np.isfinite(pitch))
        ]


def pluck(
    source: Source,
    recording: str | Path | Sound,
    overrides: Sequence[str] = (),
    *,
    round_: Round | None = None,
    before: str | Path | None = None,
) -> PluckAnswer:
    """Pitches and tensions of plucked spokes.

    Parameters
    ----------
    source : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    recording : path of a WAV file, or a sound already read
    overrides : "KEY=VALUE" each
    round_ : which spokes were plucked in which order; absent: all, from the valve
    before : readings of the same wheel from an earlier recording

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    build = opened(source, overrides)
    name = "recording" if isinstance(recording, Sound) else str(recording)
    with build.named():
        known = build.dimensions
        demand("pluck", known)
        wheel = assemble.wheel(known)
        touch = pairs(known, wheel)
        kinds = templates(known, wheel, touch)
    sound = recording if isinstance(recording, Sound) else read_wav(recording)
    plan = round_ or Round()
    order = plan.spokes(wheel)
    with in_file(name):
        plucks = heard(sound.samples, sound.rate, kinds)
        assigned = _assigned(plucks, wheel, order, touch)
    found = [
        Heard(each, int(order[place]) if place >= 0 else None, bool(again))
        for each, place, again in zip(plucks, assigned.place, assigned.again, strict=True)
    ]
    with build.named():
        answer = _answer(build.title, known, wheel, sound, plan, found, assigned, touch)
    if before is not None:
        earlier = read_readings(before, wheel.rim.holes)
        with in_file(str(before)):
            answer = replace(answer, since=since(answer.known, wheel, touch, answer.pitch_hz, earlier))
    return replace(answer, findings=by_weight(pluck_findings.found(answer)))


def _assigned(plucks: Sequence[Pluck], wheel: Wheel, order: Ints, touch: Pairs) -> Assigned:
    at, pitch, doubtful = (np.array([getattr(each, name) for each in plucks]) for name in ("at", "pitch", "doubtful"))
    ratio = float(np.sqrt(targets.ratio_left_to_right(wheel) or 1.0))
    with_next = np.append(touch.partner[order[:-1]] == order[1:], False)
    return assign(Played(at, pitch, doubtful), Spokes(wheel.lacing.is_right[order], with_next, ratio))


def _answer(
    title: str,
    known: Dimensions,
    wheel: Wheel,
    sound: Sound,
    plan: Round,
    found: list[Heard],
    assigned: Assigned,
    touch: Pairs,
) -> PluckAnswer:
    pitch = _by_spoke(found, len(wheel.lacing))
    if not np.isfinite(pitch).any():
        raise InputError("", "no pluck is sure enough to be given a spoke; pluck them again, louder and one by one")
    rough = _setup(known, wheel, tensions(known, wheel, pitch, ()))
    estimate = section_of(known) or section_for_truing(known)[0]
    calibration = calibrate(known, wheel, pitch, touch, rough.structure, estimate)
    by_side = tensions(known, wheel, pitch, calibration.references)
    tension, sigma, own = (np.full(pitch.size, np.nan) for _ in range(3))
    for each in by_side.values():
        tension[each.mask], sigma[each.mask] = each.found.tension, each.found.sigma
        own[each.mask] = each.found.own_sigma
    return PluckAnswer(
        build=title,
        findings=[],
        assumptions=_assumptions(known, touch),
        known=known,
        wheel=wheel,
        target=rough.target,
        sound=sound,
        round=plan,
        heard=found,
        assigned=assigned,
        pairs=touch,
        pitch_hz=pitch,
        tension=tension,
        sigma=sigma,
        own=own,
        sides={side: _side(known, wheel, side, each, pitch) for side, each in by_side.items()},
        calibration=calibration,
        advice=None if calibration.references else _advice(known, wheel, rough, by_side),
    )


def _by_spoke(found: Sequence[Heard], count: int) -> Floats:
    """Pitch of each spoke, (n,): of several plucks the mean weighted by confidence; doubtful ones do not count."""
    total, weight = np.zeros(count), np.zeros(count)
    for each in found:
        if each.spoke is not None and not each.pluck.doubtful:
            total[each.spoke] += each.pluck.confidence * each.pluck.pitch
            weight[each.spoke] += each.pluck.confidence
    return np.where(weight > 0, total / np.where(weight > 0, weight, 1.0), np.nan)


def _setup(known: Dimensions, wheel: Wheel, by_side: Mapping[str, SideTensions]) -> Setup:
    """The wheel as a structure at about the tensions heard."""
    return setup(known, wheel, {side: float(each.found.tension.mean()) for side, each in by_side.items()})


def _side(known: Dimensions, wheel: Wheel, side: str, each: SideTensions, pitch_hz: Floats) -> SideHeard:
    force = each.found.tension
    mean, middle = float(force.mean()), float(np.median(pitch_hz[each.mask]))
    shared = np.sqrt(np.maximum(each.found.sigma**2 - each.found.own_sigma**2, 0)).mean()
    semitone = spoke_tone.per_semitone(known, wheel, side, mean)
    return SideHeard(
        spokes=int(force.size),
        tension=mean,
        sigma=float(np.hypot(shared, each.found.own_sigma.mean() / np.sqrt(force.size))),
        spread=100 * float(np.std(force)) / mean,
        pitch=middle,
        note=note_name(middle),
        semitone=semitone,
        ear=semitone * float(np.log2(1 + PITCH_SIGMA)) * 12,  # D: semitones of an octave
        how=each.how,
    )


def _side_json(side: SideHeard) -> dict[str, Any]:
    return {
        "spokes": side.spokes,
        "tension_N": side.tension,
        "tension_sigma_N": side.sigma,
        "spread_percent": side.spread,
        "pitch_hz": side.pitch,
        "note": side.note,
        "semitone_N": side.semitone,
        "ear_sigma_N": side.ear,
    }


def _advice(
    known: Dimensions, wheel: Wheel, rough: Setup, by_side: Mapping[str, SideTensions]
) -> tuple[int, float, float] | None:
    """Which rim hole to loosen by how many turns for a calibration: a middling spoke of the tighter side."""
    side = max(by_side, key=lambda each: float(by_side[each].found.tension.mean()))
    force, places = by_side[side].found.tension, np.flatnonzero(by_side[side].mask)
    nearest = int(np.argmin(np.abs(force - np.median(force))))
    spoke = int(places[nearest])
    found = advised_turns(known, wheel, spoke, rough.structure, float(force[nearest]))
    return (int(wheel.lacing.rim_hole[spoke]), *found) if found else None


def _assumptions(known: Dimensions, touch: Pairs) -> list[str]:
    taken = defaults_taken(known, PREFIXES)
    if any(f"pluck.free_length.{side}" not in known for side in SIDES):
        taken.append(
            "The free length, elbow to nipple, comes from the geometry (pluck.free_length): 3 mm are about 2.5 % of tension."
        )
    if not known.given("pluck.end_hold"):
        taken.append("How the ends are held is not known: anything from free (0) to clamped (1) is reckoned with.")
    if (touch.partner >= 0).any() and "pluck.touching" not in known:
        taken.append("Crossed spokes touch, as they are interlaced (pluck.touching = false where you held them apart).")
    return taken
