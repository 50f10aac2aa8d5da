"""What turned nipples and a bent rim do to the readings of a wheel, all at once and linear.

The state of a wheel is one vector: lateral place of the rim at its m nodes, radial place there, tension of its n
spokes. Every spoke that is shorter than it should be, and every way in which the free rim is bent, adds its column.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.adjust import shortening
from wheelcalc.tension.arc import LATERAL, RADIAL, TANGENTIAL, arcs
from wheelcalc.tension.ring_blocks import assembled
from wheelcalc.tension.structure import Structure


@dataclass(frozen=True, eq=False)
class Model:
    """Linear model of a wheel about its true and even state.

    Parameters
    ----------
    structure : the wheel, at the tensions that it has on the whole
    is_right : which spokes serve the right flange, (n,)
    """

    structure: Structure
    is_right: np.ndarray

    @property
    def nodes(self) -> int:
        """How many places of the rim there are, m."""
        return self.structure.node_count

    @property
    def spokes(self) -> int:
        """How many spokes there are, n."""
        return len(self.structure.tensions)

    @property
    def lateral(self) -> slice:
        """Where the lateral places stand in a state."""
        return slice(0, self.nodes)

    @property
    def radial(self) -> slice:
        """Where the radial places stand."""
        return slice(self.nodes, 2 * self.nodes)

    @property
    def tension(self) -> slice:
        """Where the tensions stand."""
        return slice(2 * self.nodes, 2 * self.nodes + self.spokes)

    @cached_property
    def sides(self) -> tuple[np.ndarray, np.ndarray]:
        """Masks of the left and of the right spokes, each (n,)."""
        return ~self.is_right, self.is_right

    @cached_property
    def true(self) -> Floats:
        """State of the true and even wheel, (2m + n,)."""
        places = np.zeros(2 * self.nodes)
        places[self.lateral] = self.structure.rim_plane_x
        return np.concatenate([places, self.structure.tensions])

    @cached_property
    def by_spoke(self) -> Floats:
        """Change of the state with each spoke made 1 mm shorter, (2m + n, n)."""
        shortened = shortening(self.structure)
        return np.concatenate([shortened.lateral, shortened.radial, shortened.tensions])

    @cached_property
    def dish_and_level(self) -> tuple[Floats, Floats]:
        """Lengths of all spokes, alike on each side, that move the rim 1 mm to the right and that add 1 N to the mean tension.

        Neither does the other: (n,) [mm shorter] each.
        """
        both = np.stack([self.by_spoke[:, side].sum(axis=1) for side in self.sides], axis=1)
        demands = np.array([both[self.lateral].mean(axis=0), both[self.tension].mean(axis=0)])
        dish, level = np.linalg.inv(demands).T
        left, right = self.sides
        return left * dish[0] + right * dish[1], left * level[0] + right * level[1]

    @cached_property
    def bends(self) -> tuple[np.ndarray, np.ndarray]:
        """Waves round the rim of each way of bending, and whether it is lateral, (b,) each."""
        waves = np.repeat(np.arange(2, max(3, (self.nodes + 1) // 2)), 4)
        return waves, np.tile([True, True, False, False], len(waves) // 4)

    def as_bends(self, heights: Floats) -> Floats:
        """Amplitudes of the ways of bending that give the free rim these heights at its nodes, (m, c) -> (b, c).

        The same for lateral and radial ways; what moves the rim as a whole is lost. D (Fourier).
        """
        waves, _ = self.bends
        turned = waves * self.structure.node_angles_rad[:, None] - np.tile([0, np.pi / 2], len(waves) // 2)
        return np.asarray(2 / self.nodes * np.cos(turned).T @ heights)

    @cached_property
    def free_bends(self) -> Floats:
        """Displacements of the free rim at its nodes for each way of bending by 1 mm, (6m, b)."""
        angles, radius = self.structure.node_angles_rad[:, None], self.structure.radius
        waves, lateral = self.bends
        turned = waves * angles - np.tile([0, np.pi / 2], len(waves) // 2)
        height, slope = np.cos(turned), -waves * np.sin(turned)
        moved = np.zeros((self.nodes, 6, len(waves)))
        moved[:, LATERAL] = np.where(lateral, height, 0)
        moved[:, 3 + RADIAL] = np.where(lateral, -slope / radius, 0)
        moved[:, RADIAL] = np.where(lateral, 0, height)
        along = slope / waves**2  # the rim does not stretch: its slope is less the height
        moved[:, TANGENTIAL] = np.where(lateral, 0, along)
        moved[:, 3 + LATERAL] = np.where(lateral, 0, (slope - along) / radius)
        return moved.reshape(6 * self.nodes, -1)

    @cached_property
    def by_bend(self) -> Floats:
        """Change of the state with each way of bending of the free rim by 1 mm, spokes in it, (2m + n, b).

        The rim pulls back toward its own shape with its elastic stiffness, the wheel gives by its compliance. D.
        """
        spans = np.diff(self.structure.node_angles_rad, append=self.structure.node_angles_rad[0] + 2 * np.pi)
        rim = assembled(arcs(self.structure.section, spans).stiffness, np.zeros((self.nodes, 6, 6)))
        loads = (rim.whole() @ self.free_bends).reshape(self.nodes, 6, -1)
        moved = self.structure.solve(loads)
        tensions = self.structure.stretched(moved.transpose(2, 0, 1)).T
        return np.concatenate([moved[:, LATERAL], moved[:, RADIAL], tensions])
