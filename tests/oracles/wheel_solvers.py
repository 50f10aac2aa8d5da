"""Two other ways to solve a wheel, for the tests: a chain of rigid-ended links with exact finite rotations, and PyNiteFEA.

Neither shares a formula with wheelcalc.tension. The chain has its energy written for finite displacements and rotations, forces
already carried included, and differentiates it numerically; PyNiteFEA has textbook beams and no tension.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse
import scipy.sparse.linalg
from scipy.spatial.transform import Rotation

from wheelcalc.tension.structure import Structure

STEP = np.array([1e-1] * 3 + [1e-5] * 3)  # mm, rad, of the second differences
UNSHEARED = (
    100.0  # shear stiffness over stretch stiffness: high, as the wheel's rim has no shear; higher, rounding tells
)


@dataclass
class Mesh:
    """Points of the rim, the spokes' nodes first (in order), `pieces` straight elements to each gap."""

    points: np.ndarray
    elements: np.ndarray
    gaps: np.ndarray

    @staticmethod
    def of(wheel: Structure, pieces: int) -> Mesh:
        angles = wheel.node_angles_rad
        m = len(angles)
        ends = np.append(angles[1:], angles[0] + 2 * math.pi)
        inner = angles[:, None] + (ends - angles)[:, None] * np.arange(1, pieces) / pieces
        order = np.c_[np.arange(m), m + np.arange(m * (pieces - 1)).reshape(m, pieces - 1)].ravel()
        all_angles = np.r_[angles, inner.ravel()]
        radius = wheel.section.centroid_diameter / 2
        points = np.c_[0 * all_angles + wheel.rim_plane_x, radius * np.sin(all_angles), radius * np.cos(all_angles)]
        return Mesh(points, np.c_[order, np.roll(order, -1)], np.repeat(np.arange(m), pieces))


def second_differences(energy: Callable[[np.ndarray], np.ndarray], nodes: int) -> np.ndarray:
    """Hessians of a batch of energies of 6 displacements per node: energy((6 nodes,)) -> (batch,)."""
    steps = np.tile(STEP, nodes)
    unit = np.diag(steps)
    size = len(steps)
    columns = []
    for i in range(size):
        for j in range(size):
            a, b = unit[i], unit[j]
            change = energy(a + b) - energy(a - b) - energy(b - a) + energy(-a - b)
            columns.append(change / (4 * steps[i] * steps[j]))
    return np.array(columns).T.reshape(-1, size, size)


def spoke_energies(wheel: Structure, moved: np.ndarray, scale: float) -> np.ndarray:
    """Of all spokes when their nodes are displaced and turned (rotation vector) alike, the tensions times `scale`."""
    nodes = Mesh.of(wheel, 1).points[wheel.spoke_nodes]
    tips = nodes + moved[:3] + Rotation.from_rotvec(moved[3:]).apply(wheel.rim_points - nodes)
    longer = np.linalg.norm(tips - wheel.hub_points, axis=1)
    longer -= np.linalg.norm(wheel.rim_points - wheel.hub_points, axis=1)
    return scale * wheel.tensions * longer + wheel.spoke_stiffness * longer**2 / 2


class Chain:
    """The rim as short links: strains from the nodes' places and exact rotations, one point of integration each."""

    def __init__(self, wheel: Structure, pieces: int) -> None:
        self.wheel, self.mesh = wheel, Mesh.of(wheel, pieces)
        first, second = self.mesh.points[self.mesh.elements[:, 0]], self.mesh.points[self.mesh.elements[:, 1]]
        self.along = second - first
        self.spans = np.linalg.norm(self.along, axis=1)
        axle = np.tile([1.0, 0, 0], (len(first), 1))
        tangents = self.along / self.spans[:, None]
        middle = np.stack([axle, tangents, np.cross(axle, tangents)], axis=2)
        self.frame = Rotation.from_matrix(middle)
        s = wheel.section
        stretch = s.youngs_modulus * s.area
        self.stiff = np.array([UNSHEARED * stretch, stretch, UNSHEARED * stretch])
        bend, side = s.youngs_modulus * s.inertia_in_plane, s.youngs_modulus * s.inertia_out_of_plane
        self.bend = np.array([bend, s.shear_modulus * s.torsion_constant, side])
        self.carried = np.zeros((len(first), 6))
        self.carried = self._carried()

    def strains(self, moved: np.ndarray) -> np.ndarray:
        """(links, 6) stretch, shears and curvatures in each link's own axes, when all ends are displaced alike (12,)."""
        turn1, turn2 = Rotation.from_rotvec(moved[3:6]), Rotation.from_rotvec(moved[9:12])
        between = (turn1.inv() * turn2).as_rotvec()
        half = turn1 * Rotation.from_rotvec(between / 2)
        gap = self.along + moved[6:9] - moved[0:3]
        stretch = self.frame.inv().apply(half.inv().apply(gap)) / self.spans[:, None] - np.array([0, 1.0, 0])
        curvature = self.frame.inv().apply(np.tile(between, (len(gap), 1))) / self.spans[:, None]
        return np.c_[stretch, curvature]

    def energies(self, moved: np.ndarray, scale: float) -> np.ndarray:
        strains = self.strains(moved)
        stored = strains**2 @ np.r_[self.stiff, self.bend] / 2
        return self.spans * (stored + scale * np.sum(self.carried * strains, axis=1))

    def tangent(self, scale: float, with_spokes: bool = True) -> scipy.sparse.csc_matrix:
        """Tangent stiffness in the wheel's axes, tensions and carried forces times `scale`."""
        rows = (6 * self.mesh.elements[:, :, None] + np.arange(6)).reshape(-1, 12)
        blocks = [(rows, second_differences(lambda moved: self.energies(moved, scale), 2))]
        if with_spokes:
            at = 6 * self.wheel.spoke_nodes[:, None] + np.arange(6)
            blocks.append((at, second_differences(lambda moved: spoke_energies(self.wheel, moved, scale), 1)))
        size = 6 * len(self.mesh.points)
        parts = [
            scipy.sparse.coo_matrix(
                (b.ravel(), (np.repeat(r, r.shape[1], axis=1).ravel(), np.tile(r, (1, r.shape[1])).ravel())),
                (size, size),
            )
            for r, b in blocks
        ]
        return sum(part.tocsc() for part in parts)

    def _carried(self) -> np.ndarray:
        """Forces and moments in the links of the free ring under the spokes' pulls, in each link's axes."""
        size = 6 * len(self.mesh.points)
        load = np.zeros((len(self.mesh.points), 6))
        pull = self.wheel.hub_points - self.wheel.rim_points
        pull *= (self.wheel.tensions / np.linalg.norm(pull, axis=1))[:, None]
        arms = self.wheel.rim_points - self.mesh.points[self.wheel.spoke_nodes]
        np.add.at(load, self.wheel.spoke_nodes, np.c_[pull, np.cross(arms, pull)])
        held = scipy.sparse.diags(
            np.r_[[1e6] * 6, np.zeros(size - 6)]
        )  # the loads balance, so holding a node adds nothing
        moved = scipy.sparse.linalg.spsolve((self.tangent(0.0, False) + held).tocsc(), load.ravel()).reshape(-1, 6)
        ends = moved[self.mesh.elements].reshape(-1, 12)
        between = ends[:, 9:] - ends[:, 3:6]
        middle = (ends[:, 9:] + ends[:, 3:6]) / 2
        gap = ends[:, 6:9] - ends[:, :3] - np.cross(middle, self.along)
        local = np.c_[self.frame.inv().apply(gap), self.frame.inv().apply(between)] / self.spans[:, None]
        return local * np.r_[self.stiff, self.bend]

    def solved(self, node: int, forces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Displacement at a node under each row of forces there (lateral, tangential, radial), and all tension changes."""
        axes = node_axes(self.wheel)[node]
        factor = scipy.sparse.linalg.splu(self.tangent(1.0))
        places, changes = [], []
        for force in forces:
            load = np.zeros(6 * len(self.mesh.points))
            load[6 * node : 6 * node + 3] = force @ axes
            moved = factor.solve(load).reshape(-1, 6)
            places.append(axes @ moved[node, :3])
            changes.append(tension_changes(self.wheel, self.mesh, moved))
        return np.array(places), np.array(changes)

    def buckling_factor(self) -> float:
        tense = self.tangent(1.0)
        added = tense - self.tangent(0.0)
        factor = scipy.sparse.linalg.splu(tense)
        operator = scipy.sparse.linalg.LinearOperator(tense.shape, lambda v: -factor.solve(added @ v))
        start = np.random.default_rng(5).normal(size=tense.shape[0])
        return 1 + 1 / float(
            scipy.sparse.linalg.eigs(operator, 1, which="LR", v0=start, return_eigenvectors=False)[0].real
        )


def node_axes(wheel: Structure) -> np.ndarray:
    """Lateral, tangential and radial directions at the nodes as rows, (m, 3, 3)."""
    sin, cos = np.sin(wheel.node_angles_rad), np.cos(wheel.node_angles_rad)
    zero, one = 0 * sin, 0 * sin + 1
    return np.stack([np.c_[one, zero, zero], np.c_[zero, cos, -sin], np.c_[zero, sin, cos]], axis=1)


def tension_changes(wheel: Structure, mesh: Mesh, moved: np.ndarray) -> np.ndarray:
    """From displacements of the mesh in global axes, (points, 6)."""
    at = moved[wheel.spoke_nodes]
    arms = wheel.rim_points - mesh.points[wheel.spoke_nodes]
    tips = at[:, :3] + np.cross(at[:, 3:], arms)
    lines = wheel.rim_points - wheel.hub_points
    lines /= np.linalg.norm(lines, axis=1, keepdims=True)
    return wheel.spoke_stiffness * np.sum(tips * lines, axis=1)


def pynite_model(wheel: Structure, mesh: Mesh) -> Any:
    """The wheel without tension terms in the general library. Its Y is the axle, X up to the valve, Z forward.

    Its trap: spokes must be released at both ends, or the wire bends and carries moment.
    """
    from Pynite import FEModel3D  # loads matplotlib and more, which no other test needs

    model = FEModel3D()
    s = wheel.section
    model.add_material("rim", s.youngs_modulus, s.shear_modulus, 0.3, 0.0)
    model.add_material("wire", 200e3, 77e3, 0.3, 0.0)
    model.add_material("rigid", 200e7, 77e7, 0.3, 0.0)
    model.add_section("rim", s.area, s.inertia_in_plane, s.inertia_out_of_plane, s.torsion_constant)
    model.add_section("arm", 100.0, 1e4, 1e4, 1e4)
    for i, (x, y, z) in enumerate(mesh.points):
        model.add_node(f"P{i}", z, x, y)
    for i, j in mesh.elements:
        model.add_member(f"R{i}", f"P{i}", f"P{j}", "rim", "rim")
    for k, node in enumerate(wheel.spoke_nodes):
        (hx, hy, hz), (rx, ry, rz) = wheel.hub_points[k], wheel.rim_points[k]
        model.add_node(f"H{k}", hz, hx, hy)
        model.def_support(f"H{k}", *[True] * 6)
        end = f"P{node}"
        if np.linalg.norm(wheel.rim_points[k] - mesh.points[node]) > 1e-9:
            end = f"E{k}"
            model.add_node(end, rz, rx, ry)
            model.add_member(f"A{k}", f"P{node}", end, "rigid", "arm")
        span = np.linalg.norm(wheel.rim_points[k] - wheel.hub_points[k])
        model.add_section(f"S{k}", wheel.spoke_stiffness[k] * span / 200e3, 0.1, 0.1, 0.1)
        model.add_member(f"S{k}", f"H{k}", end, "wire", f"S{k}")
        model.def_releases(f"S{k}", Ryi=True, Rzi=True, Ryj=True, Rzj=True)
    return model


def pynite_solved(wheel: Structure, pieces: int, node: int, forces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """As `solved`, by the general library and without tension terms."""
    mesh = Mesh.of(wheel, pieces)
    model = pynite_model(wheel, mesh)
    axes = node_axes(wheel)[node]
    for case, force in enumerate(forces):
        fx, fy, fz = force @ axes
        for direction, part in (("FX", fz), ("FY", fx), ("FZ", fy)):
            model.add_node_load(f"P{node}", direction, part, case=str(case))
        model.add_load_combo(str(case), {str(case): 1.0})
    model.analyze_linear(check_stability=False)
    places, changes = [], []
    for case in map(str, range(len(forces))):
        moved = np.zeros((len(mesh.points), 6))
        for i in range(len(mesh.points)):
            p = model.nodes[f"P{i}"]
            parts = (p.DY, p.DZ, p.DX, p.RY, p.RZ, p.RX)
            moved[i] = [part[case] for part in parts]
        places.append(axes @ moved[node, :3])
        changes.append([-model.members[f"S{k}"].axial(0.0, case) for k in range(len(wheel.tensions))])
    return np.array(places), np.array(changes)
