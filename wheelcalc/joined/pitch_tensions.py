"""Pitches of plucked spokes as tensions: uncalibrated, or by known spokes, loosened spokes or the rim's circumference."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.joined import tone as spoke_tone
from wheelcalc.joined.touching import Pairs
from wheelcalc.tension import calibration, targets
from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.calibration import HOLD_SCATTER, HOLD_SIGMA, LEAST_RATIO, PITCH_SIGMA, Sigmas, Tensions
from wheelcalc.tension.loosening import STIFFNESS_SIGMA, Experiment, Loosened
from wheelcalc.tension.section import SectionEstimate
from wheelcalc.tension.structure import Structure
from wheelcalc.truing import tape
from wheelcalc.wheel import give
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY, SPOKE_THREAD_PITCH
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES, opposite
from wheelcalc.wheel.wheel import Wheel

KNOWN_SIGMA = 0.03  # C: of a known tension, where the file states none: a good tension meter
# C: two touching spokes differ by about 8 % of the tension; what sounds is their mean, half of that away.
PAIR_SIGMA = 0.04
# A circumference that is less sure than this says no more than the pitches do uncalibrated.
TAPE_USEFUL = 0.08
QUARTER = 0.25  # of a turn
LARGEST_MISFIT = 1.5  # of a loosened spoke's pitches, in standard uncertainties: see `Loosened`


@dataclass(frozen=True)
class Reference:
    """A spoke whose tension and pitch are both known.

    Parameters
    ----------
    side : that it is on
    tension, sigma : of what sounds [N]
    pitch : [Hz]
    says : where it comes from, a sentence
    """

    side: str
    tension: float
    sigma: float
    pitch: float
    says: str


@dataclass(frozen=True)
class Tape:
    """What the rim's circumference says: mean tension of each side [N] and its relative standard uncertainty."""

    by_side: Mapping[str, float]
    share: float

    @property
    def useful(self) -> bool:
        """Whether it is surer than an uncalibrated pitch."""
        return self.share < TAPE_USEFUL


@dataclass(frozen=True, eq=False)
class Calibration:
    """All that is known beside the pitches.

    Parameters
    ----------
    references : spokes of known tension and pitch
    loosened : rim hole -> what the pitches of a loosened spoke say
    tape : from the circumference, None where it was not read
    unheard : rim holes of known spokes that were not plucked
    """

    references: Sequence[Reference]
    loosened: Mapping[int, Loosened]
    tape: Tape | None
    unheard: Sequence[int]


@dataclass(frozen=True, eq=False)
class SideTensions:
    """Tensions of the plucked spokes of a side, and what they rest on in words."""

    mask: np.ndarray
    tensions: Tensions
    how: str


def calibrate(
    build: Build, wheel: Wheel, pitch_hz: Floats, pairs: Pairs, structure: Structure, estimate: SectionEstimate
) -> Calibration:
    """Collect what the build file knows of tensions.

    Parameters
    ----------
    build, wheel : the build
    pitch_hz : of every spoke, (n,), nan where none was heard
    pairs : which spokes touch
    structure : the wheel at about its tensions
    estimate : of the rim's section

    Raises
    ------
    InputError
        If an entry of [pluck] names a rim hole without a spoke, or cannot be.
    """
    references, unheard = _known(build, wheel, pitch_hz, pairs)
    loosened = {
        entry["rim_hole"]: _experiment(build, wheel, spoke_at(wheel, entry, "pluck.loosened"), structure).tension(
            entry["turns"], entry["pitch_hz"]
        )
        for entry in build.pluck.loosened
    }
    by_tape = _tape(build, wheel, estimate)
    if not references:
        references = [_as_reference(wheel, entry, loosened) for entry in build.pluck.loosened]
    if not references and by_tape and by_tape.useful:
        references = _from_tape(wheel, pitch_hz, by_tape)
    return Calibration(references, loosened, by_tape, unheard)


def spoke_at(wheel: Wheel, entry: Mapping[str, object], key: str) -> int:
    """Place of the spoke that an entry of [pluck] names by its rim hole."""
    places = np.flatnonzero(wheel.lacing.rim_hole == entry["rim_hole"])
    if not places.size:
        raise InputError(
            key, f"found rim hole {entry['rim_hole']}, which has no spoke; the rim has {wheel.rim.holes} holes"
        )
    return int(places[0])


def _known(build: Build, wheel: Wheel, pitch_hz: Floats, pairs: Pairs) -> tuple[list[Reference], list[int]]:
    references, unheard = [], []
    for entry in build.pluck.known:
        spoke = spoke_at(wheel, entry, "pluck.known")
        if not np.isfinite(pitch_hz[spoke]):
            unheard.append(int(entry["rim_hole"]))
            continue
        force = float(entry["tension"])
        own = entry["tension_sigma"] or KNOWN_SIGMA * force
        sigma = float(np.hypot(own, PAIR_SIGMA * force if pairs.partner[spoke] >= 0 else 0.0))
        says = f"rim hole {entry['rim_hole']}, known to carry {force:.0f} N"
        references.append(Reference(wheel.lacing.sides[spoke], force, sigma, float(pitch_hz[spoke]), says))
    return references, unheard


def force_per_turn(spoke: int, structure: Structure) -> float:
    """What a turn of its nipple takes from a spoke's own tension [N]."""
    return SPOKE_THREAD_PITCH * float(shortening(structure).tensions[spoke, spoke])


def _experiment(build: Build, wheel: Wheel, spoke: int, structure: Structure) -> Experiment:
    """A spoke loosened on its own: held apart from the one that it touches, as their tensions part with every turn."""
    side = wheel.lacing.sides[spoke]
    hold_sigma = build.sigma("pluck.end_hold")
    force, at = force_per_turn(spoke, structure), float(structure.tensions[spoke])
    ends_open = float(give.compliance(build.sigma(f"spokes.end_give.{side}"), at))  # mm/N
    return Experiment(
        spoke_tone.segments(build, wheel, side),
        force,
        force_sigma=math.hypot(STIFFNESS_SIGMA, ends_open * force / SPOKE_THREAD_PITCH),
        end_give=wheel.give_of(side),
        at=at,
        hold_known=(build.pluck.end_hold, hold_sigma) if hold_sigma > 0 else None,
        youngs_modulus=wheel.wire(side).youngs_modulus,
    )


def advised_turns(
    build: Build, wheel: Wheel, spoke: int, structure: Structure, tension: float
) -> tuple[float, float] | None:
    """How far to loosen a spoke for the surest answer [turns], and how sure that would be [N]; None where too slack."""
    try:
        best, compared, sigmas = _experiment(build, wheel, spoke, structure).best_turns(tension, build.pluck.end_hold)
    except InputError:
        return None
    # Half of it is plucked too, and a key counts eighths.
    advised = max(QUARTER * math.floor(best / QUARTER), QUARTER)
    return advised, float(np.interp(advised, compared, sigmas))


def _as_reference(wheel: Wheel, entry: Mapping[str, object], loosened: Mapping[int, Loosened]) -> Reference:
    hole = int(str(entry["rim_hole"]))
    spoke = loosened[hole]
    pitches = entry["pitch_hz"]
    assert isinstance(pitches, tuple)
    says = (
        f"rim hole {hole}, which was loosened: {spoke.tension:.0f} +-{NINETEEN_IN_TWENTY * spoke.tension_sigma:.0f} N"
    )
    side = wheel.lacing.sides[spoke_at(wheel, entry, "pluck.loosened")]
    return Reference(side, spoke.tension, spoke.tension_sigma, float(pitches[0]), says)


def _tape(build: Build, wheel: Wheel, estimate: SectionEstimate) -> Tape | None:
    keys = ("pluck.circumference.bare", "pluck.circumference.built")
    given = [key for key in keys if key in build]
    if not given:
        return None
    if len(given) == 1:
        other = keys[1 - keys.index(given[0])]
        raise InputError(other, "is missing; the tension by tape needs the circumference bare and built")
    bare, built = (build.number(key) for key in keys)
    force = tape.hoop_force(bare, built, estimate.section)
    share = targets.by_side(wheel, 1.0)
    tighter = force / targets.hoop_force(wheel, targets.per_spoke(wheel, share))
    strip = math.hypot(*(build.sigma(key) or tape.STRIP_SIGMA for key in keys))
    sigmas = estimate.sigmas
    off = tape.relative_sigma(bare - built, strip, sigmas.get("area", 0.0), sigmas.get("youngs_modulus", 0.0))
    return Tape({side: tighter * share[side] for side in SIDES}, off)


def _from_tape(wheel: Wheel, pitch_hz: Floats, tape: Tape) -> list[Reference]:
    out = []
    for side in SIDES:
        heard = pitch_hz[wheel.lacing.on(side) & np.isfinite(pitch_hz)]
        if heard.size:
            force = tape.by_side[side]
            says = "the rim's circumference"
            out.append(Reference(side, force, force * tape.share, float(np.median(heard)), says))
    return out


def tensions(build: Build, wheel: Wheel, pitch_hz: Floats, references: Sequence[Reference]) -> dict[str, SideTensions]:
    """Tensions [N] of each side that was heard, by the references of that side, else of the other, else without any.

    Raises
    ------
    InputError
        If a reference cannot be true of this wire.
    """
    out = {}
    for side in SIDES:
        mask = wheel.lacing.on(side) & np.isfinite(pitch_hz)
        if mask.any():
            own = [each for each in references if each.side == side]
            side_tensions, how = _of_side(build, wheel, side, pitch_hz[mask], own or list(references))
            out[side] = SideTensions(mask, side_tensions, how)
    return out


def _of_side(
    build: Build, wheel: Wheel, side: str, pitch_hz: Floats, references: list[Reference]
) -> tuple[Tensions, str]:
    segments, modulus = spoke_tone.segments(build, wheel, side), wheel.wire(side).youngs_modulus
    if not references:
        sigmas = Sigmas(pitch=PITCH_SIGMA, end_hold=hold_sigma(build))
        forces = calibration.tensions(segments, pitch_hz, build.pluck.end_hold, sigmas=sigmas, youngs_modulus=modulus)
        return forces, ""
    force, pitch = (np.array([getattr(each, name) for each in references]) for name in ("tension", "pitch"))
    sigma = float(np.sqrt(np.mean([each.sigma**2 for each in references])))
    how = " and ".join(dict.fromkeys(each.says for each in references))
    own = references[0].side == side
    if own and force.size > 1 and force.max() >= LEAST_RATIO * force.min():
        line = calibration.fit_line(force.tolist(), pitch.tolist(), known_sigma=sigma)
        return line.tensions(pitch_hz), how
    other = None if own else spoke_tone.segments(build, wheel, opposite(side))
    forces = calibration.tensions_from_known(
        segments, pitch_hz, force, pitch, known_sigma=sigma, known_segments=other, youngs_modulus=modulus
    )
    return forces, how if own else f"{how}, on the other side"


def hold_sigma(build: Build) -> float:
    """Standard uncertainty of the end hold, 0 to 1: as stated; of a stated one without, that among spokes; else of any."""
    if not build.given("pluck.end_hold"):
        return HOLD_SIGMA
    return build.sigma("pluck.end_hold") or HOLD_SCATTER
