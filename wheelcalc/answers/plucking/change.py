"""What happened to a wheel since an earlier recording, in words and numbers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.files.readings import RimReadings
from wheelcalc.joined import tone as spoke_tone
from wheelcalc.joined.at_tensions import at_tensions
from wheelcalc.joined.pitch_tensions import tensions
from wheelcalc.joined.touching import Pairs
from wheelcalc.tension.calibration import PITCH_SIGMA
from wheelcalc.truing.two_recordings import LEAST_LOSS, MISREAD, SPOKE, Change, Event, change
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

LEAST_COMMON = 8  # C: fewer spokes show no pattern
# D: share of tension per share of pitch; 2 for a string, 2.1 to 2.4 for stiff wire between 500 and 1000 N.
TENSION_PER_PITCH = 2.2


@dataclass(frozen=True, eq=False)
class Since:
    """What changed.

    Parameters
    ----------
    change : events, sides, scatter
    spokes : how many were in both recordings
    log_ratio : ln of each tension now over then, (n,), nan where it was not in both
    """

    change: Change
    spokes: int
    log_ratio: Floats

    def as_json(self, wheel: Wheel) -> dict[str, Any]:
        """Return events, change of each side and scatter."""
        return {
            "spokes_compared": self.spokes,
            "events": [
                {
                    "kind": each.kind,
                    "rim_hole": hole(wheel, each, each.place),
                    "turns_looser": each.amount if each.kind == SPOKE else None,
                    "kink_mm": each.amount if each.kind.endswith("bend") else None,
                    "also": [hole(wheel, each, place) for place in each.also],
                }
                for each in self.change.events
            ],
            "sides_percent": {side: 100 * value for side, (value, _) in self.change.level.items()},
            "scatter_percent": 100 * self.change.scatter,
        }

    def sentences(self) -> Iterator[str]:
        """What happened to the sides as a whole, and whether anything stands out (a finding says what)."""
        if not any(each.kind != MISREAD for each in self.change.events):
            yield "No single spoke and no place of the rim stands out."
        for side, (value, sigma) in self.change.level.items():
            if value < -max(LEAST_LOSS, 2 * sigma):
                yield f"The {side} side as a whole lost {-100 * value:.1f} % of its tension: plain bedding in, as new wheels do."
            elif value > max(LEAST_LOSS, 2 * sigma):
                yield f"The {side} side as a whole gained {100 * value:.1f} %: a colder day does that, or somebody tightened it."
            else:
                yield f"The {side} side as a whole kept its tension ({100 * value:+.1f} %)."
        yield f"Single spokes differ from that by {100 * self.change.scatter:.1f} % (one standard deviation)."


def hole(wheel: Wheel, event: Event, place: int) -> int:
    """Rim hole of an event: the spoke's, or the one behind which the bend lies."""
    return place + 1 if event.kind.endswith("bend") else int(wheel.lacing.rim_hole[place])


def event_in_words(wheel: Wheel, event: Event) -> str:
    """One event as a sentence."""
    here = hole(wheel, event, event.place)
    also = ", ".join(str(hole(wheel, event, place)) for place in event.also)
    nearly = f" Nearly as likely: {also}." if also else ""
    if event.kind == SPOKE:
        length = abs(event.amount) * SPOKE_THREAD_PITCH
        what = "lost tension, as if loosened" if event.amount > 0 else "gained tension, as if tightened"
        return f"Rim hole {here} {what} by {abs(event.amount):.2f} turn ({length:.2f} mm).{nearly}"
    if event.kind == MISREAD:
        return f"Rim hole {here} was misread then or now: its pitch changed, and its neighbours' did not as they would have.{nearly}"
    ahead = here % wheel.rim.holes + 1
    way = "sideways" if event.kind.startswith("lateral") else "up or down"
    return (
        f"The rim took a lasting kink {way} between rim holes {here} and {ahead}, about {abs(event.amount):.1f} mm over the "
        f"distance of two holes.{nearly}"
    )


def since(build: Build, wheel: Wheel, touch: Pairs, pitch_hz: Floats, earlier: RimReadings) -> Since:
    """Compare with readings of an earlier recording.

    Parameters
    ----------
    build, wheel : the build
    touch : which spokes touch
    pitch_hz : now, (n,), nan where none was heard
    earlier : pitches or tensions then

    Raises
    ------
    InputError
        If too few spokes are in both.
    """
    before = _earlier_pitches(build, wheel, earlier)
    both = np.isfinite(before) & np.isfinite(pitch_hz)
    count = int(both.sum())
    if count < LEAST_COMMON:
        raise InputError(
            "", f"has {count} spokes in common with the recording; a comparison needs {LEAST_COMMON} or more"
        )
    then, now = (_tensions(build, wheel, np.where(both, each, np.nan)) for each in (before, pitch_hz))
    log_ratio = np.log(now / then)
    means = {
        side: float(np.nanmean(then[wheel.lacing.on(side)])) for side in SIDES if both[wheel.lacing.on(side)].any()
    }
    structure = at_tensions(build, wheel, means).structure
    sigma = TENSION_PER_PITCH * float(np.sqrt(2)) * PITCH_SIGMA
    return Since(change(structure, wheel.lacing.is_right, then, log_ratio, touch.partner, sigma), count, log_ratio)


def _tensions(build: Build, wheel: Wheel, pitch_hz: Floats) -> Floats:
    out = np.full(pitch_hz.size, np.nan)
    for each in tensions(build, wheel, pitch_hz, ()).values():
        out[each.mask] = each.tensions.tension
    return out


def _earlier_pitches(build: Build, wheel: Wheel, earlier: RimReadings) -> Floats:
    """Pitch of each spoke then, (n,); of a tension the pitch that it has in this build."""
    pitch, force = earlier.of("pitch_hz"), earlier.of("tension_N")
    out = np.full(len(wheel.lacing), np.nan)
    for spoke, number in enumerate(wheel.lacing.rim_hole.tolist()):
        side = wheel.lacing.sides[spoke]
        if number in pitch:
            out[spoke] = pitch[number]
        elif force.get(number, 0) > 0:
            out[spoke] = spoke_tone.pitches(build, wheel, side, np.array([force[number]]))[0]
    return out
