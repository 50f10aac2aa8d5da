"""The wheel as the structure it is: a prestressed ring on spokes, the hub rigid and fixed.

Six degrees of freedom per node: displacement and rotation of the rim's section in its node's frame (along the axle to
the right, along the rim forward, radially outward). Between two nodes lies one exact arc (`arc`). A spoke is a
pin-ended bar from the fixed hub point to its rim point, which a rigid arm joins to its node, in series with ends that
give (`wheel.give`). Everything is linear about the tensioned wheel.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.tension import prestress
from wheelcalc.tension.arc import LATERAL, RADIAL, TANGENTIAL, Arcs, arcs, frames
from wheelcalc.tension.buckling import Buckling, buckling
from wheelcalc.tension.ring_blocks import Factors, RingMatrix, assembled
from wheelcalc.wheel import give
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Section

SAME_SPAN = 1e-12  # rad: arcs this alike share one matrix
NO_RESISTANCE = prestress.ROUND_OFF
ITERATIONS = 60  # ours: the give of the ends is found in about ten, each seven times closer
ROUND_OFF = 1e-13  # of a factor


class SlackLoad(NamedTuple):
    """The least inward radial load on the rim's centroid that slackens a spoke: load [N], node and spoke (from 0)."""

    load: float
    node: int
    spoke: int


@dataclass(frozen=True, eq=False)
class Structure:
    """A spoked wheel with m nodes and n spokes. All lengths in mm, forces in N.

    Parameters
    ----------
    section : the rim's; its centroid runs on the circle of `centroid_diameter` in the plane x = `rim_plane_x`
    node_angles_rad : of the nodes, from the valve, growing forward, increasing within one turn, (m,), m at least 3
    spoke_nodes : the node that each spoke pulls at, (n,); a node may have none (an empty hole) or several
    hub_points : where each spoke leaves the hub, (n, 3): x along the axle to the right, z from the axle to the valve, y
        forward there
    rim_points : where each spoke pulls at the rim (the spoke's end), (n, 3)
    spoke_stiffness : E A / L of each spoke's wire, (n,) [N/mm]; of a butted one 1 / sum of L / (E A) over its segments
    tensions : of the spokes, (n,). They should leave no force on the rim (`imbalance`, `balanced_tensions`). A zero is
        a bar without tension that resists both ways: leave a slack spoke out
    rim_plane_x : of the plane of the rim's centroid
    end_give : what the ends of each spoke give for 1000 N more at about 1000 N, (n,) or one for all [mm]; 0: ideal ones

    Raises
    ------
    InputError
        If shapes, angles, stiffnesses or tensions cannot be a wheel's.

    Notes
    -----
    Neglected: shear deformation and warping of the rim, its holes and joint, tyre, give of the hub, contact of crossing
    spokes, bending of spokes, and the rim's change of shape from slack to tensioned.
    """

    section: Section
    node_angles_rad: Floats
    spoke_nodes: Ints
    hub_points: Floats
    rim_points: Floats
    spoke_stiffness: Floats
    tensions: Floats
    rim_plane_x: float = 0.0
    end_give: Floats | float = 0.0

    def __post_init__(self) -> None:
        for key in ("node_angles_rad", "hub_points", "rim_points", "spoke_stiffness", "tensions"):
            object.__setattr__(self, key, np.array(getattr(self, key), dtype=float))
        object.__setattr__(self, "spoke_nodes", np.array(self.spoke_nodes, dtype=int))
        if np.ndim(self.end_give) == 0:
            object.__setattr__(self, "end_give", np.full(len(self.spoke_nodes), float(self.end_give)))
        _check(self)

    @property
    def node_count(self) -> int:
        """How many nodes the ring has."""
        return len(self.node_angles_rad)

    @property
    def radius(self) -> float:
        """Radius of the rim's centroid [mm]."""
        return self.section.centroid_diameter / 2

    @cached_property
    def _spans(self) -> Floats:
        """Angle of the arc that follows each node, (m,) [rad]."""
        return np.diff(self.node_angles_rad, append=self.node_angles_rad[0] + 2 * np.pi)

    @cached_property
    def arcs(self) -> Arcs:
        """Matrices of the arc that follows each node; arcs of one span are built once."""
        spans, which = np.unique(np.round(self._spans / SAME_SPAN), return_inverse=True)
        built = arcs(self.section, spans * SAME_SPAN)
        return Arcs(*(matrix[which] for matrix in built))

    @cached_property
    def _spoke_lines(self) -> tuple[Floats, Floats]:
        """Direction from rim to hub in the wheel's axes, (n, 3), and length, (n,) [mm]."""
        spans = self.hub_points - self.rim_points
        lengths = np.linalg.norm(spans, axis=1)
        return spans / lengths[:, None], lengths

    @cached_property
    def _arms(self) -> Floats:
        """Rigid arm from each spoke's node to its rim point, in the node's frame, (n, 3) [mm]."""
        axes = frames(self.node_angles_rad)[self.spoke_nodes]
        centres = self.radius * axes[..., RADIAL] + np.array([self.rim_plane_x, 0, 0])
        arms: Floats = np.einsum("nji,nj->ni", axes, self.rim_points - centres)
        return arms

    @cached_property
    def _directions(self) -> Floats:
        """Direction from rim to hub in the node's frame, (n, 3)."""
        axes = frames(self.node_angles_rad)[self.spoke_nodes]
        directions: Floats = np.einsum("nji,nj->ni", axes, self._spoke_lines[0])
        return directions

    @cached_property
    def pulls(self) -> Floats:
        """Force and moment on its node per unit of each spoke's tension, in the node's frame, (n, 6)."""
        return np.concatenate([self._directions, np.cross(self._arms, self._directions)], axis=1)

    @cached_property
    def _wrenches(self) -> Floats:
        """Wrench on the rim per unit of each spoke's tension, about the rim's centre in the wheel's axes, (n, 6)."""
        places = self.rim_points - np.array([self.rim_plane_x, 0, 0])
        return np.concatenate([self._spoke_lines[0], np.cross(places, self._spoke_lines[0])], axis=1)

    @property
    def imbalance(self) -> Floats:
        """Force [N] and moment [N mm] that the tensions leave on the rim, about its centre, in the wheel's axes."""
        left: Floats = self.tensions @ self._wrenches
        return left

    def balanced_tensions(self) -> Floats:
        """The tensions nearest to the given ones (least squares) that leave no force or moment on the rim, (n,)."""
        correction, *_ = np.linalg.lstsq(self._wrenches.T, self.imbalance, rcond=NO_RESISTANCE)
        return self.tensions - correction

    @cached_property
    def _carried(self) -> Floats:
        """Wrench that each arc carries, about the rim's centre in the frame of the arc's middle, (m, 6)."""
        loads = np.zeros((self.node_count, 6))
        np.add.at(loads, self.spoke_nodes, self.tensions[:, None] * self._wrenches)
        return prestress.carried(self.arcs.flexibility, self.node_angles_rad, self._spans, loads)

    @property
    def hoop_forces(self) -> Floats:
        """Mean hoop force of the arc that follows each node, (m,) [N]; compression is negative."""
        return self._carried[:, TANGENTIAL] * np.sinc(self._spans / (2 * np.pi))

    @property
    def rim_shrink(self) -> float:
        """Loss of the rim's mean radius under the tensions, from none to full [mm].

        The mean outward displacement of a closed ring is its radius times its mean hoop strain, however it bends.
        """
        mean = self._spans @ self.hoop_forces / (2 * np.pi)
        return float(-mean * self.radius / (self.section.youngs_modulus * self.section.area))

    def stretch_stiffness_at(self, factor: float) -> Floats:
        """Tension that each spoke gains per mm longer, wire and ends in series, at a factor on all tensions, (n,) [N/mm]."""
        ends = give.compliance(self.end_give, factor * self.tensions)
        return np.asarray(1 / (1 / self.spoke_stiffness + ends))

    @cached_property
    def stretch_stiffness(self) -> Floats:
        """Tension that each spoke gains per mm longer, wire and ends in series, at its tension (tangent), (n,) [N/mm]."""
        return self.stretch_stiffness_at(1.0)

    @cached_property
    def _along(self) -> Floats:
        """What stretches each spoke at its node: each spoke's pull times itself, (n, 6, 6)."""
        return self.pulls[:, :, None] * self.pulls[:, None, :]

    @cached_property
    def _spoke_geometric(self) -> Floats:
        """Stiffness of each spoke's tension at its node, (n, 6, 6)."""
        lengths = self._spoke_lines[1]
        return prestress.spoke_tension_stiffness(self._directions, self._arms, self.tensions, lengths)

    @cached_property
    def _rim_geometric(self) -> Floats:
        """Stiffness of what each arc carries, (m, 12, 12)."""
        count = self.node_count
        per_unit = self.arcs.geometric.reshape(count, 6, 144)
        return (self._carried[:, None] @ per_unit).reshape(count, 12, 12)

    def stiffness_without(self, spoke: int) -> RingMatrix:
        """Tangent stiffness when one spoke is gone and the rim's forces are those from before."""
        taken = self.stretch_stiffness[spoke] * self._along[spoke] + self._spoke_geometric[spoke]
        return self.stiffness.plus(int(self.spoke_nodes[spoke]), -taken)

    def stiffness_at(self, factor: float) -> RingMatrix:
        """Tangent stiffness of the wheel with all tensions multiplied by a factor; 0: without tension."""
        spokes = self.stretch_stiffness_at(factor)[:, None, None] * self._along + factor * self._spoke_geometric
        return self._assemble(self.arcs.stiffness + factor * self._rim_geometric, spokes)

    @cached_property
    def geometric_stiffness(self) -> RingMatrix:
        """Stiffness that the tensions and the rim's forces add."""
        return self._assemble(self._rim_geometric, self._spoke_geometric)

    @cached_property
    def stiffness(self) -> RingMatrix:
        """Tangent stiffness of the tensioned wheel."""
        return self.stiffness_at(1.0)

    def _assemble(self, rim: Floats, spokes: Floats) -> RingMatrix:
        """Add up matrices of the arcs (m, 12, 12) and of the spokes at their nodes (n, 6, 6)."""
        at_nodes = np.zeros((self.node_count, 6, 6))
        np.add.at(at_nodes, self.spoke_nodes, spokes)
        return assembled(rim, at_nodes)

    @cached_property
    def free_motions(self) -> Floats:
        """Motions of the rim as a rigid body that no spoke resists by stretching, (k, 6m), each of unit size.

        Where there is one the stiffness without tension is singular. An all-radial wheel has one: the rim turns about
        the hub, and only tension resists it.
        """
        stretches = np.sqrt(self.spoke_stiffness)[:, None] * self._wrenches
        return prestress.unresisted(stretches, self.radius, self.node_angles_rad)

    @property
    def _loose_motions(self) -> Floats:
        """Free motions that tension does not resist either, because there is none, (k, 6m)."""
        return self.free_motions[: 0 if self.tensions.any() else None]

    @cached_property
    def _factors(self) -> Factors:
        """The tangent stiffness, ready to be solved; loose motions are held at the first node, where no load pulls them."""
        stiffness, loose = self.stiffness, self._loose_motions[:, :6]
        size = np.trace(stiffness.own.mean(axis=0))
        try:
            return Factors(stiffness.plus(0, size * loose.T @ loose))
        except np.linalg.LinAlgError:
            text = f"the mean of {self.tensions.mean():.0f} N buckles this rim; lower the tensions"
            raise InputError("tensions", text) from None

    def solve(self, loads: Floats) -> Floats:
        """Displacements under columns of loads as in `displacements`, (m, 6, c) -> (m, 6, c), whatever resists them.

        Raises
        ------
        InputError
            If the tensions are above the rim's buckling.
        """
        return self._factors.solve(loads)

    @cached_property
    def _under_forces(self) -> Floats:
        """Displacements of all nodes per unit force along each axis at each node, (m, 6, m, 3)."""
        m = self.node_count
        unit = np.zeros((m, 6, m, 3))
        unit[np.arange(m), :3, np.arange(m)] = np.eye(3)
        return self.solve(unit.reshape(m, 6, 3 * m)).reshape(m, 6, m, 3)

    def _stiffness_of(self, component: int) -> Floats:
        """Load on the centroid over its own displacement, at every node, (m,) [N/mm]; 0 where nothing resists."""
        own = np.einsum("ii->i", self._under_forces[:, component, :, component])
        held = np.all(np.abs(self._loose_motions[:, component::6]) < NO_RESISTANCE, axis=0)
        return np.where(held, 1 / own, 0.0)

    @property
    def lateral_stiffness(self) -> Floats:
        """Load along the axle on the rim's centroid over its own displacement, at every node, (m,) [N/mm]."""
        return self._stiffness_of(LATERAL)

    @property
    def tangential_stiffness(self) -> Floats:
        """Load along the rim on its centroid over its own displacement, at every node, (m,) [N/mm]."""
        return self._stiffness_of(TANGENTIAL)

    @property
    def radial_stiffness(self) -> Floats:
        """Radial load on the rim's centroid over its own displacement, at every node, (m,) [N/mm]."""
        return self._stiffness_of(RADIAL)

    def four_point_stiffness(self, node: int = 0) -> float | None:
        """Load sideways at a node and the one opposite, as much back at the two half-way between, over the mean move [N/mm].

        The loads leave nothing for the hub, so it may be free. None where the count of nodes is not divisible by four.
        """
        quarter, rest = divmod(self.node_count, 4)
        if rest:
            return None
        loads = np.zeros((self.node_count, 6))
        loads[(node + quarter * np.arange(4)) % self.node_count, LATERAL] = [1, -1, 1, -1]
        return 4 / float(np.sum(loads * self.displacements(loads)))

    @cached_property
    def windup_stiffness(self) -> float:
        """Torque on the hub, carried evenly along the rim, over its turn against the rim's mean turn [N mm/rad].

        Hub and rim turning together meet no resistance, so holding the hub gives the same answer. 0 where nothing
        resists: an all-radial wheel without tension.
        """
        spread = self.even_torque()
        if self._pushes_loose(spread):
            return 0.0
        return float(1 / np.sum(spread * self.displacements(spread)))

    def _pushes_loose(self, loads: Floats) -> bool:
        """Whether loads (..., m, 6) push along a motion that nothing resists."""
        along = np.reshape(loads, (-1, 6 * self.node_count)) @ self._loose_motions.T
        return bool(np.any(np.abs(along) > NO_RESISTANCE * np.linalg.norm(loads)))

    @cached_property
    def _buckling(self) -> Buckling:
        """How all tensions together buckle the rim."""
        return buckling(self)

    @property
    def buckling_factor(self) -> float:
        """Factor on all tensions together at which the rim buckles; infinite without tension.

        Linear but for the ends of the spokes, which give as they do at the buckling tension.
        """
        return self._buckling.factor

    @property
    def buckling_motion(self) -> Floats | None:
        """How the nodes move when the rim buckles, of any size, (m, 6); None where it does not."""
        return self._buckling.motion

    def factor_in(self, motion: Floats) -> float:
        """Factor on all tensions at which a motion of the nodes, (m, 6), is no longer resisted.

        For a motion near the one in which the rim buckles it is off by the square of what the motion is off.
        """
        ends = np.concatenate([motion, np.roll(motion, -1, axis=0)], axis=1)
        rim, added = (np.einsum("mi,mij,mj->", ends, each, ends) for each in (self.arcs.stiffness, self._rim_geometric))
        at_spokes = motion[self.spoke_nodes]
        added += np.einsum("ni,nij,nj->", at_spokes, self._spoke_geometric, at_spokes)
        stretched = np.einsum("ni,ni->n", at_spokes, self.pulls) ** 2
        factor = 1.0
        for _ in range(ITERATIONS):
            before, factor = factor, float(rim + self.stretch_stiffness_at(factor) @ stretched) / -float(added)
            if abs(factor - before) <= ROUND_OFF * factor:
                break
        return factor

    def load_at(self, node: int, lateral: float = 0.0, tangential: float = 0.0, radial: float = 0.0) -> Floats:
        """A force on the rim's centroid at a node [N], + to the right, forward and outward: loads (m, 6)."""
        loads = np.zeros((self.node_count, 6))
        loads[node, :3] = lateral, tangential, radial
        return loads

    def even_torque(self, torque: float = 1.0) -> Floats:
        """A torque on the rim about the axle, + forward, spread evenly along it [N mm]: loads (m, 6)."""
        shares = (torque * self._spans / (2 * np.pi))[:, None] * self.arcs.mean_rotation
        return shares[:, :6] + np.roll(shares[:, 6:], 1, axis=0)

    def displacements(self, loads: Floats) -> Floats:
        """Displacements and rotations of the nodes under loads on the rim, the hub held.

        Parameters
        ----------
        loads : (..., m, 6), per node in its frame: forces (lateral, tangential, radial) [N] and moments about the same
            axes [N mm]

        Returns
        -------
        (..., m, 6) [mm], [rad].

        Raises
        ------
        InputError
            If nothing resists the loads (an all-radial wheel without tension has no wind-up stiffness), or the rim is
            buckled.
        """
        if self._pushes_loose(loads):
            raise InputError(
                "tensions", "found none, and this wheel resists such a load by its tension only; give them"
            )
        columns = np.reshape(loads, (-1, self.node_count, 6)).transpose(1, 2, 0)
        moved: Floats = np.reshape(self.solve(columns).transpose(2, 0, 1), np.shape(loads))
        return moved

    def tension_changes(self, loads: Floats) -> Floats:
        """Change of every spoke's tension under loads on the rim as in `displacements`: (..., m, 6) -> (..., n) [N]."""
        return self.stretched(self.displacements(loads))

    def stretched(self, displacements: Floats) -> Floats:
        """Change of every spoke's tension with the nodes' displacements, (..., m, 6) -> (..., n) [N]."""
        moved = displacements[..., self.spoke_nodes, :]
        changes: Floats = -self.stretch_stiffness * np.einsum("...ni,ni->...n", moved, self.pulls)
        return changes

    @cached_property
    def slack_loads(self) -> Floats:
        """Inward radial load at each node that would slacken each spoke, (m, n) [N]; infinite where it tightens."""
        loss = self.stretched(self._under_forces[..., RADIAL].transpose(2, 0, 1))
        loads: Floats = np.divide(self.tensions, loss, out=np.full(loss.shape, np.inf), where=loss > 0)
        return loads

    @property
    def slack_load(self) -> SlackLoad:
        """The least load of `slack_loads`, and where."""
        node, spoke = divmod(int(np.argmin(self.slack_loads)), len(self.tensions))
        return SlackLoad(float(self.slack_loads[node, spoke]), node, spoke)

    def with_nodes(self, angles_rad: Floats) -> Structure:
        """The same wheel with more nodes on its rim, at these angles from the valve [rad]."""
        first = self.node_angles_rad[0]
        extra = (np.asarray(angles_rad) - first) % (2 * np.pi) + first
        order = np.argsort(np.concatenate([self.node_angles_rad, extra]))
        place = np.argsort(order)
        angles = np.concatenate([self.node_angles_rad, extra])[order]
        return replace(self, node_angles_rad=angles, spoke_nodes=place[self.spoke_nodes])


def _check(wheel: Structure) -> None:
    """Refuse what cannot be a wheel."""
    spokes = len(wheel.spoke_nodes)
    shapes = {"hub_points": (spokes, 3), "rim_points": (spokes, 3), "spoke_stiffness": (spokes,)}
    for key, shape in (shapes | {"tensions": (spokes,), "end_give": (spokes,)}).items():
        value = getattr(wheel, key)
        if value.shape != shape or not np.isfinite(value).all():
            raise InputError(key, f"found shape {value.shape}; {spokes} spokes need finite numbers in shape {shape}")
    angles = wheel.node_angles_rad
    if angles.ndim != 1 or len(angles) < 3 or not np.isfinite(angles).all():
        raise InputError("node_angles_rad", f"found shape {angles.shape}; give at least 3 angles")
    spans = np.diff(angles, append=angles[0] + 2 * np.pi)
    if spans.min() <= NO_RESISTANCE or spans.max() > np.pi:
        raise InputError("node_angles_rad", "the angles must increase within one turn, no gap above half a turn")
    if spokes == 0 or wheel.spoke_nodes.min() < 0 or wheel.spoke_nodes.max() >= len(angles):
        raise InputError("spoke_nodes", f"each spoke needs a node from 0 to {len(angles) - 1}")
    if wheel.spoke_stiffness.min() <= 0:
        raise InputError(
            "spoke_stiffness", f"found {wheel.spoke_stiffness.min():g} N/mm; a spoke's stiffness is above 0"
        )
    if wheel.tensions.min() < 0:
        raise InputError(
            "tensions", f"found {wheel.tensions.min():g} N; a spoke cannot push, so leave it out or write 0"
        )
    if np.min(wheel.end_give) < 0:
        raise InputError("end_give", f"found {np.min(wheel.end_give):g}; mm per 1000 N, 0 for ends that do not give")
    if np.linalg.norm(wheel.hub_points - wheel.rim_points, axis=1).min() <= 0:
        raise InputError("rim_points", "a spoke's rim point lies on its hub point")
