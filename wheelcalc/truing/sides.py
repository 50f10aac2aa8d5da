"""All nipples of a side alike: for the dish, or for the tension as a whole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats

KEEP = 1e-3  # badness of a step: settles what no fault settles
OFF_BY = 4  # a dish that is only just done counts as this many equal faults: the rest is left to single nipples


@dataclass(frozen=True, eq=False)
class Sides:
    """What whole sides do; arrays of (left, right).

    Parameters
    ----------
    dish : movement of the rim per step of either side [mm], (2,)
    tension : change of either side's mean tension (rows) per step of either side (columns) [N], (2, 2)
    mean : tensions now [N], (2,)
    low, high : where the means should lie [N], (2,)
    most : steps of a pass
    """

    dish: Floats
    tension: Floats
    mean: Floats
    low: Floats
    high: Floats
    most: int

    @property
    def in_order(self) -> bool:
        """Whether both means lie where they should."""
        return bool(np.all((self.mean >= self.low) & (self.mean <= self.high)))

    @property
    def choices(self) -> Floats:
        """All whole steps of a nipple of left and right, (k, 2)."""
        each = np.arange(-self.most, self.most + 1, dtype=float)
        return np.stack(np.meshgrid(each, each, indexing="ij"), -1).reshape(-1, 2)

    def badness(self, steps: Floats, off: float, dish_done: float, tension_fault: float) -> Floats:
        """Of steps (k, 2): dish left over, means out of order, and (where they are in order) the mean tension moved.

        Parameters
        ----------
        steps : of left and right
        off : how far right of its place the rim is [mm]; 0 where that is unknown
        dish_done : dish that is good enough [mm]
        tension_fault : amount of tension that counts as bad [N]
        """
        new = self.mean + steps @ self.tension.T
        dish = OFF_BY * (off + steps @ self.dish) / dish_done
        outside = np.maximum(new - self.high, 0) + np.maximum(self.low - new, 0)
        moved = (new - self.mean).mean(axis=1) if self.in_order else 0.0
        faults = dish**2 + ((outside / tension_fault) ** 2).sum(axis=1) + (moved / tension_fault) ** 2
        badness: Floats = faults + KEEP * (steps**2).sum(axis=1)
        return badness

    def best(self, off: float, dish_done: float, tension_fault: float, steps: Floats) -> tuple[float, float]:
        """The least bad of steps (k, 2); see `badness`."""
        left, right = steps[np.argmin(self.badness(steps, off, dish_done, tension_fault))].tolist()
        return float(left), float(right)
