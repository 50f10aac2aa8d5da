"""A rim that is not round or not flat, built into a wheel: how uneven the tension must be, or how far out it stays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.adjust import Shortening, shortening
from wheelcalc.tension.arc import LATERAL, RADIAL, arcs
from wheelcalc.tension.ring_blocks import assembled
from wheelcalc.tension.structure import Structure

# What counts as equally bad when the rim is made to run true, and when the tensions are kept even: lateral [mm], radial
# [mm], tension [N]. Ours: far enough apart that one of the two rules and the other only settles what is left open.
STRAIGHT, EVEN = (0.02, 0.02, 200.0), (1.0, 1.0, 1.0)


@dataclass(frozen=True, eq=False)
class Built:
    """A wheel with a bent rim, its spokes turned to one end.

    Parameters
    ----------
    lateral, radial : of the rim at its holes, (m,) [mm]; + right, + outward
    changes : of the tensions against those of a true rim, (n,) [N]
    longer : how much longer each spoke is than with a true rim, (n,) [mm]
    """

    lateral: Floats
    radial: Floats
    changes: Floats
    longer: Floats

    @property
    def lateral_run_out(self) -> float:
        """Peak to peak [mm]."""
        return float(np.ptp(self.lateral))

    @property
    def radial_run_out(self) -> float:
        """Peak to peak [mm]."""
        return float(np.ptp(self.radial))


@dataclass(frozen=True, eq=False)
class BentRim:
    """A wheel, and the shape that its bare rim has without any force.

    Parameters
    ----------
    structure : the wheel as it would be with a true rim, one node at every rim hole
    lateral, radial : of the bare rim at its nodes, (m,) [mm]; + right, + outward

    Notes
    -----
    The rim pulls back toward its own shape u0 with its elastic stiffness K_r; in the wheel it comes to rest where
    K u = K_r u0 + (what the nipples do), K the tangent stiffness of the tensioned wheel. Of what nobody measured, twist
    and slope between the readings, that shape is taken which bends the rim least. D.
    """

    structure: Structure
    lateral: Floats
    radial: Floats

    @cached_property
    def _rim(self) -> Floats:
        """Elastic stiffness of the rim alone, (6m, 6m)."""
        angles = self.structure.node_angles_rad
        spans = np.diff(angles, append=angles[0] + 2 * np.pi)
        m = self.structure.node_count
        return assembled(arcs(self.structure.section, spans).stiffness, np.zeros((m, 6, 6))).whole()

    @cached_property
    def loads(self) -> Floats:
        """Forces with which the rim, held true, pushes toward its own shape, (m, 6) [N]."""
        m = self.structure.node_count
        places = np.arange(m) * 6
        held = np.concatenate([places + LATERAL, places + RADIAL])
        shape = np.concatenate([self.lateral, self.radial])
        free = np.setdiff1d(np.arange(6 * m), held)
        # The free places follow without force; a turn in its own plane moves none of the held ones, hence lstsq.
        follow = -np.linalg.lstsq(self._rim[np.ix_(free, free)], self._rim[np.ix_(free, held)] @ shape, rcond=1e-10)[0]
        out = np.zeros(6 * m)
        out[held] = self._rim[np.ix_(held, held)] @ shape + self._rim[np.ix_(held, free)] @ follow
        return out.reshape(m, 6)

    @cached_property
    def _as_laced(self) -> tuple[Floats, Floats]:
        """Displacements (m, 6) and changes of tension (n,) with spokes as for a true rim."""
        moved = self.structure.solve(self.loads[..., None])[..., 0]
        return moved, self.structure.stretched(moved)

    @cached_property
    def _shortening(self) -> Shortening:
        return shortening(self.structure)

    def built(self, weights: tuple[float, float, float]) -> Built:
        """The wheel with its nipples turned so that run-out and uneven tension, so weighted, are least (squares).

        Parameters
        ----------
        weights : amounts of lateral [mm], radial [mm] and tension [N] that count as equally bad
        """
        lateral, radial, tension = weights
        by, (moved, changes) = self._shortening, self._as_laced
        level = np.eye(self.structure.node_count) - 1 / self.structure.node_count  # any mean radius will do
        matrix = np.vstack([by.lateral / lateral, level @ by.radial / radial, by.tensions / tension])
        state = np.concatenate([moved[:, LATERAL] / lateral, level @ moved[:, RADIAL] / radial, changes / tension])
        shorter = -np.linalg.lstsq(matrix, state, rcond=1e-12)[0]
        return Built(
            lateral=moved[:, LATERAL] + by.lateral @ shorter,
            radial=moved[:, RADIAL] + by.radial @ shorter,
            changes=changes + by.tensions @ shorter,
            longer=-shorter,
        )

    @property
    def straight(self) -> Built:
        """Made to run true."""
        return self.built(STRAIGHT)

    @property
    def even(self) -> Built:
        """Tensions kept even."""
        return self.built(EVEN)


def saddle(gap: float, angles_rad: Floats) -> Floats:
    """Lateral shape of a rim, (m,) [mm], of which only the largest gap over a flat table is known: two waves, its height the gap."""
    return np.asarray(gap / 2 * np.cos(2 * angles_rad))


def from_table(holes: Sequence[int], gaps: Sequence[float], angles_rad: Floats, toward: float) -> Floats:
    """Lateral shape at all rim holes from gaps over a flat table at some of them [mm].

    Parameters
    ----------
    holes : rim holes, from 1
    gaps : of the rim there over the table [mm]
    angles_rad : of all rim holes, (m,)
    toward : 1 if the table was on the rim's left, so that a gap is a bulge to the right; -1 if on its right

    Notes
    -----
    Least squares with as many waves round the rim as the readings bear (two and more; plane and tilt taken off, since
    the rim may lie on the table as it likes), a third of the readings kept for the misfit.
    """
    at = angles_rad[np.asarray(holes, dtype=np.int64) - 1]
    most = max(2, (len(holes) - 3) // 3 + 1)
    waves = np.arange(2.0, most + 1.0)
    plane = np.column_stack([np.ones(len(at)), np.cos(at), np.sin(at)])
    solved, *_ = np.linalg.lstsq(np.column_stack([plane, _waves(waves, at)]), np.asarray(gaps), rcond=None)
    return np.asarray(toward * (_waves(waves, angles_rad) @ solved[3:]))


def from_diameters(diameters: Sequence[float], angles_rad: Floats) -> Floats:
    """Radial shape at all rim holes from diameters, the first across the valve, the others turned by equal steps [mm].

    A diameter shows even waves only: an egg shape (three waves) hides from it.
    """
    count = len(diameters)
    ways = np.arange(count) * np.pi / count
    half = (np.asarray(diameters) - np.mean(diameters)) / 2
    waves = np.arange(2.0, 2 * (count // 2) + 1.0, 2.0)
    solved, *_ = np.linalg.lstsq(_waves(waves, ways), half, rcond=1e-9)
    return np.asarray(_waves(waves, angles_rad) @ solved)


def _waves(waves: Floats, angles_rad: Floats) -> Floats:
    turned = np.outer(angles_rad, waves)
    return np.column_stack([np.cos(turned), np.sin(turned)])
