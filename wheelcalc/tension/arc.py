"""A circular arc of the rim as one exact curved beam element.

Between two nodes no load acts on the arc, so the wrench it carries, written about the wheel's centre, is the same all
along. Its flexibility about that centre is one integral over the arc, and everything else follows from it: the
stiffness, the shape between the nodes, and the geometric stiffness of whatever forces and moments the arc carries
already.

Frames: at an angle from the valve the axes are (x, t, r): along the axle to the right, along the rim in the direction
of forward rotation, radially outward. They are right-handed (x cross t = r) and at angle 0 they are the wheel's own (x,
y, z). A twist or a wrench has six components, (displacement, rotation) or (force, moment).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.polynomial import legendre

from wheelcalc.arrays import Floats
from wheelcalc.wheel.parts import Section

LATERAL, TANGENTIAL, RADIAL = 0, 1, 2  # a node's displacements; its three rotations follow in the same order
GAUSS_POINTS = 12  # trigonometric integrands over at most 180 degrees: exact to round-off from 12 points on (D, tests)


class Arcs(NamedTuple):
    """Matrices of k arcs, on 12 components: the first node's six, then the second's, each in its node's own frame.

    Parameters
    ----------
    flexibility : (k, 6, 6) twist of the second end against the first per wrench carried, both about the wheel's centre
        in the frame of the arc's middle
    stiffness : (k, 12, 12)
    geometric : (k, 6, 12, 12) geometric stiffness per unit of each component of the wrench carried
    mean_rotation : (k, 12) mean of (tangential displacement / radius) over the arc per unit of each end component [rad]
    """

    flexibility: Floats
    stiffness: Floats
    geometric: Floats
    mean_rotation: Floats


def frames(angles_rad: Floats) -> Floats:
    """Axes (x, t, r) as columns, in the wheel's (x, y, z): (..., 3, 3).

    Parameters
    ----------
    angles_rad : from the valve, growing in the direction of forward rotation, (...)
    """
    angles = np.asarray(angles_rad)
    axes = np.zeros((*angles.shape, 3, 3))
    axes[..., 0, 0] = 1
    axes[..., 1, 1] = axes[..., 2, 2] = np.cos(angles)
    axes[..., 1, 2] = np.sin(angles)
    axes[..., 2, 1] = -np.sin(angles)
    return axes


def cross_matrix(vectors: Floats) -> Floats:
    """The matrices [v] with [v] w = v cross w: (..., 3) -> (..., 3, 3)."""
    matrix = np.zeros((*vectors.shape, 3))
    matrix[..., [2, 0, 1], [1, 2, 0]] = vectors
    matrix[..., [1, 2, 0], [2, 0, 1]] = -vectors
    return matrix


def wrench_frames(angles_rad: Floats) -> Floats:
    """The frames at these angles for twists and wrenches: (..., 6, 6), two equal blocks."""
    axes = frames(angles_rad)
    matrix = np.zeros((*axes.shape[:-2], 6, 6))
    matrix[..., :3, :3] = matrix[..., 3:, 3:] = axes
    return matrix


def twist_about_centre(radius: float, angles_rad: Floats) -> Floats:
    """Takes a node's displacement and rotation in its own frame to the twist about the wheel's centre: (..., 6, 6).

    Parameters
    ----------
    radius : of the nodes [mm]
    angles_rad : of the nodes, in the frame in which the twist is wanted, (...)
    """
    matrix = wrench_frames(angles_rad)
    axes = matrix[..., :3, :3]
    matrix[..., :3, 3:] = cross_matrix(radius * axes[..., 2]) @ axes
    return matrix


def section_forces(radius: float, angles_rad: Floats) -> Floats:
    """Section's force (x, t, r) and moment (x, t, r) per wrench about the centre: (..., 6, 6).

    The same matrix's transpose takes strains at the section to the change of twist about the centre (virtual work).
    """
    return np.swapaxes(twist_about_centre(radius, angles_rad), -1, -2)


def gauss_rule() -> tuple[Floats, Floats, Floats]:
    """Gauss-Legendre points and weights on -1..1, and the matrix that integrates from -1 to each point."""
    points, weights = legendre.leggauss(GAUSS_POINTS)
    values = legendre.legvander(points, GAUSS_POINTS)
    order = np.arange(GAUSS_POINTS)
    integrals = np.empty((GAUSS_POINTS, GAUSS_POINTS))
    integrals[:, 0] = points + 1
    integrals[:, 1:] = (values[:, 2:] - values[:, :-2]) / (2 * order[1:] + 1)
    to_coefficients = (order[:, None] + 0.5) * values[:, :-1].T * weights
    return points, weights, integrals @ to_coefficients


POINTS, WEIGHTS, RUNNING = gauss_rule()
STRAINED = [1, 3, 4, 5]  # of a section's six: hoop force and moments; shear does not strain this beam


def compliances(section: Section) -> Floats:
    """Strain per unit of section force, (4,): stretch [1/N]; bending in plane, twist, bending sideways [1/(N mm2)]."""
    e, g = section.youngs_modulus, section.shear_modulus
    in_plane, sideways = section.inertia_in_plane, section.inertia_out_of_plane
    return 1 / np.array([e * section.area, e * in_plane, g * section.torsion_constant, e * sideways])


def arcs(section: Section, spans_rad: Floats) -> Arcs:
    """All matrices of arcs of these spans.

    Parameters
    ----------
    section : the rim's
    spans_rad : angle from node to node, (k,), each above 0 and at most pi

    Notes
    -----
    Twist about the centre at a point of the arc: V(s) = V1 + f(s) W, f(s) the flexibility up to there, W = f(end)^-1
    (V2 - V1). Euler-Bernoulli beam, centroid line: stretch and the three curvatures are uncoupled in the section, and
    coupled by the arc.
    """
    radius = section.centroid_diameter / 2
    angles = spans_rad[:, None] / 2 * POINTS
    lengths = radius * spans_rad[:, None] / 2 * WEIGHTS
    forces = section_forces(radius, angles)
    strains = compliances(section)[:, None] * forces[..., STRAINED, :]
    rates = np.swapaxes(forces[..., STRAINED, :], -1, -2) @ strains * (radius * spans_rad / 2)[:, None, None, None]
    running = np.einsum("gh,khij->kgij", RUNNING, rates)
    flexibility = np.einsum("g,kgij->kij", WEIGHTS, rates)

    first = twist_about_centre(radius, -spans_rad / 2)
    relative = np.concatenate([-first, twist_about_centre(radius, spans_rad / 2)], axis=-1)
    wrench = np.linalg.solve(flexibility, relative)
    twists = running @ wrench[:, None]
    twists[..., :6] += first[:, None]
    moved = np.linalg.solve(
        np.swapaxes(forces, -1, -2), twists
    )  # back from the centre to the points, in their own frames
    mean_rotation = np.einsum("kg,kgi->ki", lengths, moved[:, :, TANGENTIAL]) / (radius**2 * spans_rad[:, None])
    stiffness = np.swapaxes(relative, -1, -2) @ wrench
    return Arcs(
        flexibility, stiffness, _geometric(forces, lengths, moved[:, :, 3:], strains @ wrench[:, None]), mean_rotation
    )


def _geometric(section_force: Floats, lengths: Floats, rotations: Floats, strains: Floats) -> Floats:
    """Geometric stiffness per unit wrench carried: (k, 6, 12, 12).

    With a stretch e and exact finite rotations exp(phi), the section's second-order strains are
    (phi^2 t - (phi.t) phi)/2 - e phi cross t in stretch and shear, and -(phi cross phi')/2 in curvature. The force F (along
    the rim: N) and the moment M carried do work on them, per length half of
    N phi^2 - (F.phi)(t.phi) - 2 e phi.(t cross F) + phi.(M cross phi'). D. A hoop force alone works on the square of the
    tangent's turn. Left out: the hoop force's share in twisting the section itself, N (I1 + I2)/A against G J.
    """
    forces = np.moveaxis(section_force[..., :3, :], -1, 2)
    moments = np.moveaxis(section_force[..., 3:, :], -1, 2)
    on_rotation = forces[..., TANGENTIAL, None, None] * np.eye(3)
    on_rotation[..., :, TANGENTIAL] -= forces
    on_stretch = -2 * np.cross(np.eye(3)[TANGENTIAL], forces)
    work = on_rotation @ rotations[:, :, None] + cross_matrix(moments) @ strains[:, :, None, 1:]
    work += on_stretch[..., None] * strains[:, :, None, :1]
    weighted = lengths[..., None, None] * rotations
    k, g, c = work.shape[:3]
    left = weighted.reshape(k, 1, 3 * g, 12).swapaxes(-1, -2)
    matrix = left @ work.swapaxes(1, 2).reshape(k, c, 3 * g, 12)
    symmetric: Floats = (matrix + matrix.swapaxes(-1, -2)) / 2
    return symmetric
