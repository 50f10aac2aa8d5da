"""Which partials a spoke of this wheel may sound: tables over all tensions that it can have and all ways its ends are held.

A pluck is recognised by comparing what is heard with these tables. A comb of equal steps or an even wire would not do:
the partials of stiff, stepped wire lie so far from multiples of the fundamental that they would be taken for each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.tension.stepped import Segments, partials
from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS

# C, choices: ends from free to clamped in quarters, as many partials as a pluck shows, and places tried for its pitch.
HOLDS = (0.0, 0.25, 0.5, 0.75, 1.0)
PARTIALS = 8
TENSIONS = 24  # of the table, evenly in the logarithm: interpolation is then good to 3e-4 (D)
PITCHES = 200


@dataclass(frozen=True, eq=False)
class Template:
    """Partials of one kind of spoke, tabulated by the logarithm of its fundamental.

    Parameters
    ----------
    log_pitch : evenly spaced, (p,) [ln Hz]
    together : ln of each partial over the fundamental, by end hold: (h, p, n); entry 0 is 0
    against : the same for the further partials that a touching pair may sound, (h, p, k); k is 0 where none touches
    lowest, highest : ln of the least and greatest fundamental that the tensions allow, by end hold, (h,)
    exact : whether its partials are whole multiples and not those of real wire
    """

    log_pitch: Floats
    together: Floats
    against: Floats
    lowest: Floats
    highest: Floats
    exact: bool = False

    @property
    def holds(self) -> int:
        """How many end holds it is tabulated for."""
        return int(self.together.shape[0])

    @property
    def touching(self) -> bool:
        """Whether it is one for spokes that touch."""
        return bool(self.against.shape[-1])

    def predicted(self, log_pitch: Floats, hold: Ints) -> tuple[Floats, Floats]:
        """Ln of the partials that fundamentals (c,) with end holds of index (c,) have: (c, n), (c, k)."""
        place = (log_pitch - self.log_pitch[0]) / (self.log_pitch[1] - self.log_pitch[0])
        left = np.clip(place.astype(int), 0, self.log_pitch.size - 2)
        share = (place - left)[:, None]
        both = (
            log_pitch[:, None] + (1 - share) * table[hold, left] + share * table[hold, left + 1]
            for table in (self.together, self.against)
        )
        first, second = both
        return first, second

    def fundamentals(self, log_partial: Floats, number: int, hold: int) -> Floats:
        """Ln of the fundamentals whose partial of this number (from 0) lies there; nan outside what tensions allow."""
        ladder = self.log_pitch + self.together[hold, :, number]
        fundamental = np.interp(log_partial, ladder, self.log_pitch, left=np.nan, right=np.nan)
        allowed = (fundamental >= self.lowest[hold]) & (fundamental <= self.highest[hold])
        return np.where(allowed, fundamental, np.nan)


def template(
    segments: Segments,
    lowest: float,
    highest: float,
    *,
    crossing: float | None = None,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
) -> Template:
    """Tabulate the partials of a spoke.

    Parameters
    ----------
    segments : lengths and diameters [mm], head to nipple
    lowest, highest : tensions that it may have [N]
    crossing : distance from the head at which it touches another [mm]; None: it touches none
    youngs_modulus : [N/mm2]
    """
    lengths, diameters = (tuple(np.asarray(each, dtype=float).tolist()) for each in segments)
    return _tabulated(lengths, diameters, lowest, highest, crossing, youngs_modulus)


@lru_cache(maxsize=64)  # one table costs as much as hearing two plucks; a session hears the same spokes again and again
def _tabulated(
    lengths: tuple[float, ...],
    diameters: tuple[float, ...],
    lowest: float,
    highest: float,
    crossing: float | None,
    youngs_modulus: float,
) -> Template:
    segments = lengths, diameters
    tensions = np.geomspace(lowest, highest, TENSIONS)
    free = _log_partials(segments, tensions, youngs_modulus, None)
    held = _log_partials(segments, tensions, youngs_modulus, crossing) if crossing else free[..., :0]
    grid = np.linspace(free[..., 0].min(), free[..., 0].max(), PITCHES)
    return Template(
        log_pitch=grid,
        together=_by_pitch(grid, free[..., 0], free),
        against=_by_pitch(grid, free[..., 0], held),
        lowest=free[:, 0, 0],
        highest=free[:, -1, 0],
    )


def voices(lowest_hz: float, highest_hz: float) -> Template:
    """Table of what is no stiff wire: voices and instruments, whose partials are whole multiples of the fundamental (D)."""
    log_pitch = np.log(np.array([lowest_hz, highest_hz]))
    together = np.tile(np.log(np.arange(1, PARTIALS + 1)), (1, 2, 1))
    return Template(log_pitch, together, together[..., :0], log_pitch[:1], log_pitch[1:], exact=True)


def _log_partials(segments: Segments, tensions: Floats, youngs_modulus: float, support_at: float | None) -> Floats:
    """Ln of the partials, (holds, tensions, partials)."""
    each = [
        partials(segments, tensions, hold, count=PARTIALS, youngs_modulus=youngs_modulus, support_at=support_at)
        for hold in HOLDS
    ]
    return np.asarray(np.log(np.stack(each)))


def _by_pitch(grid: Floats, log_pitch: Floats, logs: Floats) -> Floats:
    """Partials over their fundamental, from a table by tension to one by fundamental; flat beyond its ends."""
    over = logs - log_pitch[..., None]
    out = np.empty((logs.shape[0], grid.size, logs.shape[-1]))
    for hold, column in np.ndindex(logs.shape[0], logs.shape[-1]):
        out[hold, :, column] = np.interp(grid, log_pitch[hold], over[hold, :, column])
    return out
