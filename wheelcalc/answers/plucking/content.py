"""Of `pluck`: the round of plucks, what was heard of it, and all that as rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers.base import Answer
from wheelcalc.answers.plucking.change import TENSION_PER_PITCH, Since
from wheelcalc.answers.truing.sheet import mark_of
from wheelcalc.arrays import Floats, Ints
from wheelcalc.build.whole import Build
from wheelcalc.files.readings import wheel_line
from wheelcalc.files.wav import Sound
from wheelcalc.joined.pitch_tensions import Calibration
from wheelcalc.joined.target import Target
from wheelcalc.joined.touching import Pairs
from wheelcalc.truing.assign import Assigned, Pluck
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

LEAST_SIGMA = 0.1  # N: the least that a file of readings may state


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
        for name, hole in (("start", self.start), *(("skip", each) for each in self.skip)):
            if not 1 <= hole <= holes:
                raise InputError(name, f"found rim hole {hole}; this rim has 1 to {holes}")
        order = np.argsort((wheel.lacing.rim_hole - self.start) % holes, kind="stable")
        wanted = np.ones(len(wheel.lacing), dtype=bool) if self.side == "both" else wheel.lacing.on(self.side)
        wanted = wanted & ~np.isin(wheel.lacing.rim_hole, list(self.skip))
        out = order[wanted[order]]
        if not out.size:
            raise InputError("skip", "leaves no spoke; name only the rim holes that were not plucked")
        return out


@dataclass(frozen=True)
class HeardPluck:
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
class PluckContent(Answer):
    """What `pluck` answers, but for its layout; wheel, sound and structure are there for a notebook.

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
    records: ClassVar[str] = "plucks"
    build: Build
    wheel: Wheel
    target: Target
    sound: Sound
    round: Round
    heard: Sequence[HeardPluck]
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

    def _row(self, each: HeardPluck) -> dict[str, Any]:
        spoke, share = each.spoke, self.against_side()
        with_spoke = spoke is not None and np.isfinite(self.tension[spoke])
        return {
            "at_s": each.pluck.at,
            "pitch_hz": each.pluck.pitch if each.pluck.known else None,
            "confidence": each.pluck.confidence,
            "rim_hole": None if spoke is None else int(self.wheel.lacing.rim_hole[spoke]),
            "side": None if spoke is None else self.wheel.lacing.sides[spoke],
            "assigned": each.pluck.assigned,
            "again": each.again,
            "tension_N": float(self.tension[spoke]) if with_spoke else None,
            "tension_sigma_N": float(self.sigma[spoke]) if with_spoke else None,
            "own_sigma_N": float(self.own[spoke]) if with_spoke else None,
            "against_side_percent": 100 * float(share[spoke]) if with_spoke else None,
        }

    def _tape_json(self) -> dict[str, Any] | None:
        tape = self.calibration.tape
        if tape is None:
            return None
        return {
            "left_N": tape.by_side["left"],
            "right_N": tape.by_side["right"],
            "sigma_percent": 100 * tape.share,
            "used": tape.useful,
        }

    def readings(self) -> list[dict[str, Any]]:
        """Rows of the readings file that `true` reads: the pitch of every spoke that was heard, and how sure it is.

        Notes
        -----
        `tension_sigma_N` is the tension's own standard uncertainty [N], that of reading the pitch in it; `assigned` how sure it is
        that this is the pitch of this rim hole.
        """
        holes, pitch, sure = self.wheel.lacing.rim_hole, self.pitch_hz, self._sure()
        sigma = np.hypot(self.own, TENSION_PER_PITCH * self._pitch_share() * self.tension)
        return [
            {
                "rim_hole": int(holes[i]),
                "lateral_mm": "",
                "radial_mm": "",
                "pitch_hz": f"{pitch[i]:.2f}",
                "tension_sigma_N": f"{max(float(sigma[i]), LEAST_SIGMA):.1f}",
                "assigned": f"{sure[i]:.3f}",
            }
            for i in np.flatnonzero(np.isfinite(pitch))
        ]

    def readings_csv(self) -> str:
        """The readings file, its wheel named in its first line."""
        rows = self.readings()
        lines = [",".join(rows[0]), *(",".join(map(str, row.values())) for row in rows)]
        return "\n".join([wheel_line(self.title, self.wheel.rim.holes, mark_of(self.wheel)), *lines])

    def _pitch_share(self) -> Floats:
        """Standard uncertainty of each spoke's pitch as it was read, as a share, (n,); of several plucks the least."""
        out = np.full(len(self.wheel.lacing), np.inf)
        for each in self.heard:
            if each.spoke is not None and each.pluck.usable:
                out[each.spoke] = min(out[each.spoke], each.pluck.share)
        return np.where(np.isfinite(out), out, 0.0)

    def _sure(self) -> Floats:
        """How sure pitch and rim hole of each spoke are together, by its surest pluck, (n,)."""
        out = np.zeros(len(self.wheel.lacing))
        for each in self.heard:
            if each.spoke is not None and each.pluck.usable:
                out[each.spoke] = max(out[each.spoke], each.pluck.assigned * each.pluck.confidence)
        return out


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
