"""Matrices of a closed ring of nodes, each joined to its two neighbours only: put together, solved, written out whole.

Eliminating every other node leaves a ring of half as many, so solving costs as much as there are nodes (cyclic reduction).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from wheelcalc.arrays import Floats, Ints

FEW = 12  # nodes that are solved as one matrix


class RingMatrix(NamedTuple):
    """A symmetric matrix over m nodes, m at least 3.

    Parameters
    ----------
    own : block of each node, (m, 6, 6)
    ahead : block of each node with the next one, the last with the first, (m, 6, 6)
    """

    own: Floats
    ahead: Floats

    def whole(self) -> Floats:
        """Written out, (6m, 6m)."""
        m, size = self.own.shape[:2]
        here, following = np.arange(m), np.roll(np.arange(m), -1)
        matrix = np.zeros((m, size, m, size))
        matrix[here, :, here] = self.own
        matrix[here, :, following] = self.ahead
        matrix[following, :, here] = np.swapaxes(self.ahead, -1, -2)
        return matrix.reshape(m * size, m * size)

    def times(self, motions: Floats) -> Floats:
        """The matrix times columns of motions, (m, 6, c) -> (m, 6, c)."""
        onward = np.swapaxes(self.ahead, -1, -2) @ motions
        return self.own @ motions + self.ahead @ np.roll(motions, -1, axis=0) + np.roll(onward, 1, axis=0)

    def plus(self, node: int, block: Floats) -> RingMatrix:
        """With a block (6, 6) added at a node."""
        own = self.own.copy()
        own[node] += block
        return RingMatrix(own, self.ahead)


def assembled(arcs: Floats, at_nodes: Floats) -> RingMatrix:
    """Add up matrices of the arcs, each from its node to the next, (m, 12, 12), and of the nodes, (m, 6, 6)."""
    return RingMatrix(at_nodes + arcs[:, :6, :6] + np.roll(arcs[:, 6:, 6:], 1, axis=0), arcs[:, :6, 6:])


class _Level(NamedTuple):
    """One halving: the odd nodes' inverses, and what they take from the node before and after each."""

    inverse: Floats
    before: Floats
    after: Floats


class Factors:
    """A positive definite ring matrix, ready to be solved.

    Raises
    ------
    numpy.linalg.LinAlgError
        If the matrix is not positive definite.
    """

    def __init__(self, matrix: RingMatrix) -> None:
        self._levels: list[_Level] = []
        while len(matrix.own) > FEW:
            matrix = self._halve(matrix)
        last = matrix.whole()
        np.linalg.cholesky(last)
        self._last: Floats = np.asarray(np.linalg.inv(last))

    def _halve(self, matrix: RingMatrix) -> RingMatrix:
        """Eliminate nodes 1, 3, 5 ...; of an odd number the last stays beside the first."""
        own, ahead = matrix
        count = len(own) // 2
        odd, onward = own[1::2], ahead[1::2]
        toward = ahead[0 : 2 * count : 2]
        np.linalg.cholesky(odd)
        inverse: Floats = np.asarray(np.linalg.inv(odd))
        level = _Level(inverse, inverse @ np.swapaxes(toward, -1, -2), inverse @ onward)
        self._levels.append(level)
        kept_own, kept_ahead = own[::2].copy(), ahead[::2].copy()
        kept_own[:count] -= toward @ level.before
        kept_own[_next(count, len(kept_own))] -= np.swapaxes(onward, -1, -2) @ level.after
        kept_ahead[:count] = -toward @ level.after
        return RingMatrix(kept_own, kept_ahead)

    def solve(self, loads: Floats) -> Floats:
        """Solutions of columns of loads, (m, 6, c) -> (m, 6, c)."""
        return self._solve(loads, 0)

    def _solve(self, loads: Floats, depth: int) -> Floats:
        if depth == len(self._levels):
            m, size, columns = loads.shape
            solved: Floats = (self._last @ loads.reshape(m * size, columns)).reshape(loads.shape)
            return solved
        inverse, before, after = self._levels[depth]
        count = len(inverse)
        odd, kept = loads[1::2], loads[::2].copy()
        following = _next(count, len(kept))
        kept[:count] -= np.swapaxes(before, -1, -2) @ odd
        kept[following] -= np.swapaxes(after, -1, -2) @ odd
        result = np.empty_like(loads)
        result[::2] = self._solve(kept, depth + 1)
        even = result[::2]
        result[1::2] = inverse @ odd - before @ even[:count] - after @ even[following]
        return result


def _next(count: int, kept: int) -> Ints:
    """Places, among the kept nodes, of those after each of the eliminated."""
    return (np.arange(count) + 1) % kept
