"""A bare rim as a ring of straight beam elements, each with six freedoms a node: its modes, by scipy.

Nothing here comes from the closed forms that `tap` uses: bending, twist, stretch, shear, the inertia of turning and
warping are in the elements; a joint (mass and stiffness) and a valve hole break the symmetry, so that pairs split.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh

NODES = 120


@dataclass(frozen=True)
class RingingRim:
    """A rim to ring: N m2, m, kg; `area_stiffness` EA [N], `shear` GA [N], `gyration` radius of the section [m]."""

    radius: float
    mass: float
    in_plane: float
    out_of_plane: float
    torsion: float
    area_stiffness: float = 7e6
    shear: float = 8e5
    gyration: float = 0.007
    warping: float = 0.0  # E I_omega [N m4]
    joint_mass: float = 0.0  # kg
    joint_stiffness: float = 1.0  # times, over `joint_length`
    joint_length: float = 0.06  # m
    valve_stiffness: float = 1.0  # times, over 10 mm
    spokes: tuple[float, float] = (0.0, 0.0)  # radial and lateral stiffness spread round it [N/m2]


@dataclass(frozen=True)
class Modes:
    """Frequencies [Hz]; shapes (modes, nodes, 3) as radial, tangential, lateral, mass-normalised."""

    hz: np.ndarray
    shapes: np.ndarray


def beam(length, axial, in_plane, out_of_plane, torsion, shear):
    """Stiffness of a straight Timoshenko beam: x along, y radial, z lateral; (12, 12)."""
    out = np.zeros((12, 12))
    for value, at in ((axial, (0, 6)), (torsion, (3, 9))):
        out[np.ix_(at, at)] += value / length * np.array([[1, -1], [-1, 1]])
    for bending, at, sign in ((in_plane, (1, 5, 7, 11), 1), (out_of_plane, (2, 4, 8, 10), -1)):
        phi = 12 * bending / (shear * length**2)
        l1, l2 = sign * 6 * length, length**2
        block = np.array(
            [
                [12, l1, -12, l1],
                [l1, (4 + phi) * l2, -l1, (2 - phi) * l2],
                [-12, -l1, 12, -l1],
                [l1, (2 - phi) * l2, -l1, (4 + phi) * l2],
            ]
        )
        out[np.ix_(at, at)] += bending / (length**3 * (1 + phi)) * block
    return out


def modes(rim: RingingRim, highest: float = 1600.0, nodes: int = NODES) -> Modes:
    """Every mode that rings, up to `highest` [Hz]."""
    angles = 2 * np.pi * np.arange(nodes) / nodes
    points = rim.radius * np.column_stack([np.cos(angles), np.sin(angles), np.zeros(nodes)])
    size = 6 * nodes
    stiffness, mass = np.zeros((size, size)), np.zeros(size)
    twists = np.zeros((nodes, size))
    length = float(np.linalg.norm(points[1] - points[0]))
    for i in range(nodes):
        j = (i + 1) % nodes
        along = (points[j] - points[i]) / length
        outward = points[i] + points[j]
        outward /= np.linalg.norm(outward)
        turn = np.kron(np.eye(4), np.vstack([along, outward, np.cross(along, outward)]))
        middle = (i + 0.5) * rim.radius * 2 * np.pi / nodes
        share = _overlap(middle, length, 2 * np.pi * rim.radius / 2, rim.joint_length) * (rim.joint_stiffness - 1)
        share += _overlap(middle, length, 0.0, 0.01) * (rim.valve_stiffness - 1)
        share += _overlap(middle, length, 2 * np.pi * rim.radius, 0.01) * (rim.valve_stiffness - 1)
        factor = 1 + share
        local = beam(
            length,
            rim.area_stiffness * factor,
            rim.in_plane * factor,
            rim.out_of_plane * factor,
            rim.torsion * factor,
            rim.shear * factor,
        )
        at = np.r_[6 * i : 6 * i + 6, 6 * j : 6 * j + 6]
        stiffness[np.ix_(at, at)] += turn.T @ local @ turn
        row = np.zeros(12)
        row[3], row[9] = -1 / length, 1 / length
        twists[i, at] = row @ turn
    change = (np.roll(twists, -1, axis=0) - twists) / length
    stiffness += rim.warping * length * change.T @ change
    for i in range(nodes):
        outward = points[i] / rim.radius
        block = rim.spokes[0] * np.outer(outward, outward) + rim.spokes[1] * np.diag([0, 0, 1])
        stiffness[6 * i : 6 * i + 3, 6 * i : 6 * i + 3] += length * block
    each = rim.mass / nodes
    for i in range(nodes):
        mass[6 * i : 6 * i + 3] = each
        mass[6 * i + 3 : 6 * i + 6] = each * rim.gyration**2 / 2
    near = np.flatnonzero(np.abs(angles - np.pi) * rim.radius < max(rim.joint_length / 2, length))
    for i in near:
        mass[6 * i : 6 * i + 3] += rim.joint_mass / near.size
    root = 1 / np.sqrt(mass)
    values, vectors = eigh(stiffness * root[:, None] * root, subset_by_value=(-1e4, (2 * np.pi * highest) ** 2))
    hz = np.sqrt(np.maximum(values, 0)) / (2 * np.pi)
    keep = hz > 15
    shapes = (vectors * root[:, None])[:, keep].T.reshape(-1, nodes, 6)[:, :, :3]
    radial = shapes[:, :, 0] * np.cos(angles) + shapes[:, :, 1] * np.sin(angles)
    tangential = -shapes[:, :, 0] * np.sin(angles) + shapes[:, :, 1] * np.cos(angles)
    return Modes(hz[keep], np.stack([radial, tangential, shapes[:, :, 2]], axis=2))


def _overlap(middle: float, length: float, centre: float, wide: float) -> float:
    """Share of an element that lies within a stretch of the rim."""
    low, high = max(middle - length / 2, centre - wide / 2), min(middle + length / 2, centre + wide / 2)
    return max(high - low, 0.0) / length
