"""What the tensions of the spokes do to the wheel before any load: forces in the rim, and the stiffness they add."""

from __future__ import annotations

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.tension.arc import cross_matrix, twist_about_centre, wrench_frames

ROUND_OFF = 1e-9  # of the largest of its kind: less is no resistance, no push


def carried(flexibilities: Floats, node_angles_rad: Floats, spans_rad: Floats, loads: Floats) -> Floats:
    """Wrenches in a free ring under loads at its nodes, by the force method.

    Parameters
    ----------
    flexibilities : of the arc after each node, about the centre in the frame of the arc's middle, (m, 6, 6)
    node_angles_rad, spans_rad : of the nodes and of the arcs, (m,)
    loads : wrenches on the nodes about the centre in the wheel's axes, (m, 6). Any resultant is first taken off evenly
        along the rim

    Returns
    -------
    The wrench that each arc carries (on its forward face), about the centre in the frame of the arc's middle, (m, 6).

    Notes
    -----
    Past a node the wrench drops by the node's load: W_k = W - C_k, C_k the loads summed so far. The ring closes, so the
    arcs' deformations f_k W_k sum to nothing, which gives W. D (statics; compatibility of the ring cut open).
    """
    shares = (spans_rad + np.roll(spans_rad, 1)) / (4 * np.pi)
    sums = np.cumsum(loads - shares[:, None] * loads.sum(axis=0), axis=0)
    axes = wrench_frames(node_angles_rad + spans_rad / 2)
    turned = axes @ flexibilities @ np.swapaxes(axes, -1, -2)
    at_start = np.linalg.solve(turned.sum(axis=0), np.einsum("kij,kj->i", turned, sums))
    wrenches: Floats = np.einsum("kji,kj->ki", axes, at_start - sums)
    return wrenches


def spoke_tension_stiffness(directions: Floats, arms: Floats, tensions: Floats, lengths: Floats) -> Floats:
    """Stiffness at its node that each spoke owes to its tension alone, (n, 6, 6).

    Parameters
    ----------
    directions : unit vectors from rim to hub, (n, 3)
    arms : rigid, from the node to the rim point, in the same axes, (n, 3) [mm]
    tensions, lengths : of the spokes, (n,) [N], [mm]

    Notes
    -----
    The rim point moves by u + phi cross a + phi cross (phi cross a)/2. Across itself the spoke resists with T/L; the
    second-order part of the motion lets the tension do work: T ((a.d) 1 - (a d' + d a')/2) on the rotation. D.
    """
    identity = np.eye(3)
    across = (tensions / lengths)[:, None, None] * (identity - directions[:, :, None] * directions[:, None, :])
    to_point = np.concatenate(
        [np.broadcast_to(identity, across.shape), np.swapaxes(cross_matrix(arms), -1, -2)], axis=-1
    )
    stiffness: Floats = np.swapaxes(to_point, -1, -2) @ across @ to_point
    outer = arms[:, :, None] * directions[:, None, :]
    along = np.einsum("ni,ni->n", arms, directions)[:, None, None] * identity
    stiffness[:, 3:, 3:] += tensions[:, None, None] * (along - (outer + np.swapaxes(outer, -1, -2)) / 2)
    return stiffness


def rigid_motions(radius: float, node_angles_rad: Floats) -> Floats:
    """The six motions of the rim as a rigid body, (6, 6m), along and about the wheel's axes, 1 mm at the rim."""
    size = np.array([1, 1, 1, 1 / radius, 1 / radius, 1 / radius])
    there: Floats = np.linalg.inv(twist_about_centre(radius, node_angles_rad)) * size
    return there.reshape(-1, 6).T


def unresisted(stretches: Floats, radius: float, node_angles_rad: Floats) -> Floats:
    """Motions of the rim as a rigid body that stretch no spoke, (k, 6m), each of unit size.

    Parameters
    ----------
    stretches : of each spoke per unit of twist about the rim's centre in the wheel's axes, (n, 6), in any measure
    radius, node_angles_rad : of the nodes [mm], (m,)
    """
    at_rim = stretches / np.array([1, 1, 1, radius, radius, radius])
    _, sizes, ways = np.linalg.svd(at_rim)
    resisted = np.count_nonzero(sizes > ROUND_OFF * sizes[0])
    motions = ways[resisted:] @ rigid_motions(radius, node_angles_rad)
    unit: Floats = motions / np.linalg.norm(motions, axis=1, keepdims=True)
    return unit
