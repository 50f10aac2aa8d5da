"""A bare rim that was tapped inward and sideways: both recordings together, and what they do not tell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.measuring.mode_fit import Fit, Mode, Peak, Told, fitted
from wheelcalc.measuring.rim_modes import WAVES, BareRim, lateral_hz, radial_hz
from wheelcalc.measuring.ringing import HIGHEST_HZ, LOWEST_HZ, SAME_HZ, SAME_SHARE, Ringing
from wheelcalc.wheel.errors import InputError

LEAST_SURE = 0.2  # ours: a figure with a larger sigma (a share) is not told; 19 in 20 then reach from 0.7 to 1.5 times
# Ours: logarithm of how much likelier than chance the peaks must be; and where both recordings tell less than two of the
# three figures. Synthetic wheels with spokes, voices and chords stay below 5, bare rims are mostly above 8.
LEAST_EVIDENCE, DOUBTED_EVIDENCE = 1.0, 5.0
SWAPPED = 4.0  # ours: so much likelier the other way round
ALONE_DB = 3.0  # ours: of one recording alone, how much likelier the modes of its direction are
LOOKED_FOR = 3  # the modes of 2, 3 and 4 waves are missed where they were not heard


@dataclass(frozen=True, eq=False)
class Tapped:
    """What recordings of a tapped rim say.

    Parameters
    ----------
    rim : what is known of it
    recordings : by the direction of the taps, "radial" and "lateral"
    fit : the likeliest stiffness, and all modes
    swapped : whether the two recordings seem to be of each other's direction
    """

    rim: BareRim
    recordings: dict[str, Ringing]
    fit: Fit
    swapped: bool

    @property
    def told(self) -> Told:
        """Whether EI in plane, EI out of plane and GJ are sure enough to be told."""
        return Told(*(sigma <= LEAST_SURE for sigma in self.fit.sigma))

    @property
    def doubtful(self) -> bool:
        """Whether another thing than a bare rim might ring so."""
        return self.fit.evidence < DOUBTED_EVIDENCE

    @property
    def steady(self) -> Floats:
        """Frequencies that sound all the time, in any recording [Hz]."""
        tones = np.sort(np.concatenate([each.steady for each in self.recordings.values()]))
        return tones[np.diff(tones, prepend=-np.inf) > SAME_HZ]

    def missing(self) -> list[Mode]:
        """Modes of 2 to 4 waves of figures that are told and that were not heard, where they would lie."""
        heard = {(mode.kind, mode.waves) for mode in self.fit.modes}
        stiff = self.fit.stiffness
        places = {
            "radial": radial_hz(self.rim, np.array(stiff.in_plane)),
            "lateral": lateral_hz(self.rim, np.array(stiff.torsion), np.array(stiff.torsion / stiff.out_of_plane)),
        }
        told = {"radial": self.told.in_plane, "lateral": self.told.out_of_plane and self.told.torsion}
        every = [(kind, int(n), float(hz)) for kind in places for n, hz in zip(WAVES, places[kind], strict=True)]
        return [
            Mode(hz, kind, n, None)
            for kind, n, hz in every
            if told[kind] and n < 2 + LOOKED_FOR and (kind, n) not in heard and hz < self.band[1]
        ]

    @property
    def band(self) -> tuple[float, float]:
        """Within which peaks were looked for [Hz]."""
        return _band(self.recordings)


def tapped(rim: BareRim, recordings: dict[str, Ringing]) -> Tapped:
    """The stiffness of a rim from one or two recordings.

    Parameters
    ----------
    rim : what is known of it
    recordings : by the direction of the taps, "radial" (inward), "lateral" (sideways) or both

    Raises
    ------
    InputError
        If what rings is no bare rim of this size.
    """
    peaks = _peaks(recordings)
    if not peaks:
        raise InputError("", f"holds taps, but nothing rings after them; {HANG}")
    band = _band(recordings)
    fit = fitted(rim, peaks, band, tuple(recordings))
    other = (
        fitted(rim, [Peak(each.hz, -each.louder, each.level) for each in peaks], band) if len(recordings) > 1 else fit
    )
    answer = Tapped(rim, recordings, fit, other.evidence > fit.evidence + SWAPPED)
    tells = sum(answer.told)
    if not tells or fit.evidence < LEAST_EVIDENCE or (len(recordings) > 1 and tells < 2 and answer.doubtful):
        heard = ", ".join(f"{each.hz:.0f}" for each in peaks[:6])
        more = ", ..." if len(peaks) > 6 else ""
        both = "" if len(recordings) > 1 else ", and record it tapped both ways"
        raise InputError("", f"does not ring like a bare rim of this size: heard {heard}{more} Hz; {HANG}{both}")
    return answer


HANG = "take tyre and spokes off, hang the rim on a string, tap it in a quiet room (`wheelcalc measure --how tap`)"


def _band(recordings: dict[str, Ringing]) -> tuple[float, float]:
    return LOWEST_HZ, min(HIGHEST_HZ, *(float(each.hz[-1]) for each in recordings.values()))


def _peaks(recordings: dict[str, Ringing]) -> list[Peak]:
    """The peaks of all recordings, each once, with how loud it is in either."""
    hz: list[float] = []
    for each in recordings.values():
        hz += [float(f) for f in each.peaks if not any(abs(f - g) < max(SAME_HZ, SAME_SHARE * g) for g in hz)]
    hz.sort()
    if not hz:
        return []
    level = np.array([[each.level(f) for f in hz] for each in recordings.values()])
    level -= np.median(level, axis=1, keepdims=True)
    if len(recordings) == 1:
        alone = ALONE_DB if "radial" in recordings else -ALONE_DB
        louder = np.full(len(hz), alone)
    else:
        louder = level[list(recordings).index("radial")] - level[list(recordings).index("lateral")]
        louder -= np.median(louder)
    loud = level.max(axis=0) - np.median(level.max(axis=0))
    return [Peak(*map(float, each)) for each in zip(hz, louder, loud, strict=True)]
