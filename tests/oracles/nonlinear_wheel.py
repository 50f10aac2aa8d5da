"""A spoked wheel of large displacements, written apart from the library: the oracle of the truing tests.

The rim is a closed chain of straight co-rotational beams between the spoke holes; a spoke is a wire of given slack
length that pulls along the line between its two ends as they lie, and never pushes. Rest is the least energy, found
by Newton's method. Nothing here is linear in the nipples' turns, and nothing is imported from `wheelcalc`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats, Ints


@dataclass
class NonlinearWheel:
    """A wheel whose nipples can be turned.

    Parameters
    ----------
    shape : free places of the rim's centroid at its m nodes, (m, 3): x + right, y forward, z up
    hub, ends : where the spokes leave the hub, and where they pull at the undisturbed rim, (n, 3)
    node_of : the node that each spoke pulls at, (n,)
    stiffness : E A / L of each spoke [N/mm], (n,)
    slack : length of each spoke without tension [mm], (n,)
    rim : E A, E I in plane, E I out of plane, G J [N], [N mm2]
    perfect : places that the nodes should have, with `ends` where they would then be, (m, 3)
    end_give : what the ends of each spoke give for 1000 N more at 1000 N [mm], (n,) or one for all
    """

    shape: Floats
    hub: Floats
    ends: Floats
    node_of: Ints
    stiffness: Floats
    slack: Floats
    rim: tuple[float, float, float, float]
    perfect: Floats
    end_give: Floats | float = 0.0

    def __post_init__(self) -> None:
        self.count = len(self.shape)
        self.moved = np.zeros((self.count, 6))
        self.radius = float(np.linalg.norm(self.perfect[0, 1:]))
        self.arms = self.ends - self.perfect[self.node_of]
        chords = np.roll(self.shape, -1, axis=0) - self.shape
        self.chord = np.linalg.norm(chords, axis=1)
        self.along = chords / self.chord[:, None]
        side = np.tile([1.0, 0, 0], (self.count, 1))
        self.side = side - (side * self.along).sum(1)[:, None] * self.along
        self.side /= np.linalg.norm(self.side, axis=1)[:, None]
        self.out = np.cross(self.side, self.along)
        ea, ei_in, ei_out, gj = self.rim
        k = np.zeros((self.count, 6, 6))
        k[:, 0, 0], k[:, 1, 1] = ea / self.chord, gj / self.chord
        for first, ei in ((2, ei_in), (4, ei_out)):  # end rotations about x (in plane) and about the outward axis
            k[:, first, first] = k[:, first + 1, first + 1] = 4 * ei / self.chord
            k[:, first, first + 1] = k[:, first + 1, first] = 2 * ei / self.chord
        self.beam = k

    def copy(self) -> NonlinearWheel:
        new = replace(self, slack=self.slack.copy())
        new.moved = self.moved.copy()
        return new

    @property
    def places(self) -> Floats:
        return self.shape + self.moved[:, :3]

    @property
    def lateral(self) -> Floats:
        return self.places[:, 0]

    @property
    def radial(self) -> Floats:
        return np.linalg.norm(self.places[:, 1:], axis=1) - self.radius

    @property
    def tensions(self) -> Floats:
        return self._spokes()[0]

    def _spokes(self) -> tuple[Floats, Floats, Floats]:
        """Tension, direction toward the hub, length."""
        points = self.places[self.node_of] + self.arms + np.cross(self.moved[self.node_of, 3:], self.arms)
        lines = self.hub - points
        length = np.linalg.norm(lines, axis=1)
        tension = self.stiffness * np.maximum(length - self.slack, 0.0)
        for _ in range(
            0 if np.all(np.asarray(self.end_give) == 0) else 12
        ):  # Newton: wire and ends are that much longer
            wire_and_ends = tension / self.stiffness + self.given(tension)
            tension -= (wire_and_ends - np.maximum(length - self.slack, 0.0)) * self._tangent(tension)
            tension = np.maximum(tension, 0.0)
        return tension, lines / length[:, None], length

    def given(self, tension: Floats) -> Floats:
        """How far the ends have given [mm]: c = end_give/1000 (T/1000)^-0.42, integrated; c of 100 N below that."""
        low = self.end_give / 1000 * 0.1**-0.42 * np.minimum(tension, 100.0)
        return low + self.end_give / 0.58 * (np.maximum(tension / 1000, 0.1) ** 0.58 - 0.1**0.58)

    def _tangent(self, tension: Floats) -> Floats:
        """Stiffness of wire and ends together at a tension [N/mm]."""
        ends = self.end_give / 1000 * np.maximum(tension / 1000, 0.1) ** -0.42
        return 1 / (1 / self.stiffness + ends)

    def _strains(self, here: Ints, after: Ints) -> tuple[Floats, Floats, Floats]:
        """Strains of the beams (m, 6), their change with the ends' moves (m, 6, 12), and what turns a beam (m, 3, 3)."""
        d = self.places[after] - self.places[here]
        length = np.linalg.norm(d, axis=1)
        e = d / length[:, None]
        across = (np.eye(3) - e[:, :, None] * e[:, None, :]) / length[:, None, None]
        turn = np.cross(self.along, e)
        start, end = self.moved[here, 3:] - turn, self.moved[after, 3:] - turn
        dot = lambda a, b: (a * b).sum(1)  # noqa: E731
        q = np.column_stack(
            [
                length - self.chord,
                dot(self.moved[after, 3:] - self.moved[here, 3:], self.along),
                dot(start, self.side), dot(end, self.side), dot(start, self.out), dot(end, self.out),
            ]
        )  # fmt: skip
        b = np.zeros((self.count, 6, 12))
        b[:, 0, 0:3], b[:, 0, 6:9] = -e, e
        b[:, 1, 3:6], b[:, 1, 9:12] = -self.along, self.along
        for row, axis in ((2, self.side), (4, self.out)):
            # axis . (along x e): change with d is (axis x along) . across
            change = np.einsum("mi,mij->mj", np.cross(axis, self.along), across)
            for k in (row, row + 1):
                b[:, k, 0:3], b[:, k, 6:9] = change, -change
            b[:, row, 3:6], b[:, row + 1, 9:12] = axis, axis
        return q, b, across

    def _rim(self) -> tuple[Floats, Floats]:
        """Gradient (m, 6) and matrix (m, 6, m, 6) of the rim's energy."""
        m = self.count
        here, after = np.arange(m), np.roll(np.arange(m), -1)
        q, b, across = self._strains(here, after)
        force = np.einsum("mij,mj->mi", self.beam, q)
        gradient = np.zeros((m, 6))
        local = np.einsum("mij,mi->mj", b, force)
        np.add.at(gradient, here, local[:, :6])
        np.add.at(gradient, after, local[:, 6:])
        tangent = np.einsum("mia,mij,mjb->mab", b, self.beam, b)
        push = force[:, 0, None, None] * across
        tangent[:, 0:3, 0:3] += push
        tangent[:, 6:9, 6:9] += push
        tangent[:, 0:3, 6:9] -= push
        tangent[:, 6:9, 0:3] -= push
        whole = np.zeros((m, 6, m, 6))
        np.add.at(whole, (here, slice(None), here), tangent[:, :6, :6])
        np.add.at(whole, (after, slice(None), after), tangent[:, 6:, 6:])
        np.add.at(whole, (here, slice(None), after), tangent[:, :6, 6:])
        np.add.at(whole, (after, slice(None), here), tangent[:, 6:, :6])
        return gradient, whole

    def _forces(self) -> tuple[Floats, Floats]:
        """Gradient of the energy (m, 6) and its matrix (6m, 6m)."""
        gradient, whole = self._rim()
        tension, toward, span = self._spokes()
        pull = np.concatenate([toward, np.cross(self.arms, toward)], axis=1)
        np.add.at(gradient, self.node_of, -tension[:, None] * pull)
        tight = np.where(tension > 0, self._tangent(tension), 0.0)
        block = tight[:, None, None] * pull[:, :, None] * pull[:, None, :]
        to_point = np.zeros((len(span), 3, 6))
        to_point[:, :, :3] = np.eye(3)
        for i in range(3):
            to_point[:, :, 3 + i] = np.cross(np.eye(3)[i], self.arms)
        beside = (tension / span)[:, None, None] * (np.eye(3) - toward[:, :, None] * toward[:, None, :])
        block += np.einsum("nia,nij,njb->nab", to_point, beside, to_point)
        np.add.at(whole, (self.node_of, slice(None), self.node_of), block)
        return gradient, whole.reshape(6 * self.count, 6 * self.count)

    def settle(self, tolerance: float = 1e-3, most: int = 80) -> NonlinearWheel:
        """Let the wheel come to rest: every node's force is below `tolerance` [N]."""
        for _ in range(most):
            gradient, matrix = self._forces()
            if np.abs(gradient[:, :3]).max() < tolerance:
                return self
            step = np.linalg.solve(matrix, -gradient.ravel()).reshape(-1, 6)
            self.moved += step * min(1.0, 3.0 / np.abs(step[:, :3]).max())
        raise AssertionError(f"the wheel found no rest: {np.abs(gradient[:, :3]).max():.3g} N left")

    def turned(self, shorter: Floats) -> NonlinearWheel:
        """The same wheel with each spoke made shorter, (n,) [mm]."""
        new = self.copy()
        new.slack = self.slack - shorter
        return new.settle()

    def broken(self, spoke: int) -> NonlinearWheel:
        """The same wheel with a spoke gone."""
        new = self.copy()
        new.slack[spoke] = 1e6
        return new.settle()
