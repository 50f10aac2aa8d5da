"""A pass as a problem of numbers: which whole steps of which nipples lessen the badness most, within bounds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.bounded import bounded

Steps = Floats  # whole numbers

ROUNDS = 40  # of finding out which tensions stand in the way; two or three are usual
SHARES = 0.5 ** np.arange(8)[:, None]  # of the way to what would be best if the same tensions stood in it
STIFF = 1.0  # badness per N2 beyond an allowed tension, while steps are not yet whole
ALMOST = 1e-6  # N, and share of a step: nearer is the same
NEAR = 12  # nipples apart round the rim, of two that are tried together
SMALL_GAIN = 1e-6  # of badness: less is round-off
WALL = 1e3  # badness per N beyond an allowed tension, of whole steps: nothing outweighs it


@dataclass(frozen=True, eq=False)
class Task:
    """Badness as a function of the steps x of n nipples, x'Hx + 2 g'x more than now; x = 0 is allowed.

    Parameters
    ----------
    hessian, slope : H, g; (n, n), (n,)
    low, high : fewest and most steps of each nipple, low <= 0 <= high, (n,)
    tensions : change of each tension per step [N], (n, n)
    loss, gain : how far each tension may fall and rise [N], not negative, (n,)
    """

    hessian: Floats
    slope: Floats
    low: Floats
    high: Floats
    tensions: Floats
    loss: Floats
    gain: Floats

    def change(self, x: Floats) -> float:
        """By how much steps x change the badness."""
        return float(x @ self.hessian @ x + 2 * self.slope @ x)

    def allows(self, change: Floats) -> np.ndarray:
        """Which changes of all tensions, (..., n), are allowed."""
        return np.asarray(self.beyond(change) <= ALMOST)

    def beyond(self, change: Floats) -> Floats:
        """By how many newtons changes of all tensions, (..., n), are not allowed, summed: (...)."""
        return np.asarray(self._over(change).sum(axis=-1))

    def _over(self, change: Floats) -> Floats:
        return np.asarray(np.maximum(change - self.gain, 0) + np.maximum(-self.loss - change, 0))

    def only(self, used: np.ndarray) -> Task:
        """The same for some of the nipples."""
        return replace(
            self,
            hessian=self.hessian[used][:, used],
            slope=self.slope[used],
            low=self.low[used],
            high=self.high[used],
            tensions=self.tensions[:, used],
        )

    def cost(self, x: Floats) -> Floats:
        """Badness of steps x, (..., k), with tensions beyond what is allowed costing their square: (...)."""
        over = self._over(x @ self.tensions.T)
        return np.asarray(((x @ self.hessian + 2 * self.slope) * x).sum(axis=-1) + STIFF * (over**2).sum(axis=-1))

    def best(self, start: Floats | None = None) -> tuple[Floats, Task]:
        """Steps of least cost, not whole yet, and the task with the tensions that stood in their way built in.

        Which tensions do is found by turns (Newton's method, no further along than the cost falls), from a start
        between the bounds: no steps, or near ones that are known.
        """
        x = np.zeros(len(self.slope)) if start is None else start
        task, beyond, whole_way = self, np.full(len(self.tensions), np.nan), False
        for _ in range(ROUNDS):
            change = self.tensions @ x
            before, beyond = beyond, np.where(change > self.gain, 1, np.where(change < -self.loss, -1, 0))
            if whole_way and (beyond == before).all():
                break  # least already: what stood in the way when it was looked for still does, and nothing else
            rows = self.tensions[beyond != 0]
            wall = np.where(beyond < 0, -self.loss, self.gain)[beyond != 0]
            task = replace(self, hessian=self.hessian + STIFF * rows.T @ rows, slope=self.slope - STIFF * rows.T @ wall)
            ways = x + SHARES * (bounded(task.hessian, task.slope, self.low, self.high, x) - x)
            chosen = int(np.argmin(self.cost(ways)))
            whole_way = chosen == 0
            if np.abs(ways[chosen] - x).max(initial=0.0) <= ALMOST:
                return ways[chosen], task
            x = ways[chosen]
        return x, task


def fewest(task: Task, best: Floats, allowance: float) -> np.ndarray:
    """As few nipples as keep the change of badness below the allowance (which is negative): their indices.

    Parameters
    ----------
    task : badness and bounds
    best : its best steps, not whole
    allowance : change of badness that must be reached

    Notes
    -----
    Left out, one after another, is the nipple that is missed least: x^2 / (H^-1)_ii for each, from the square that
    remains when one unknown is set to nothing. D.
    """
    used, x = np.flatnonzero(best), best[best != 0]
    walled = task.only(used).best(x)[1]
    while len(used):
        missed = x**2 / np.maximum(np.diag(np.linalg.inv(walled.hessian)), ALMOST**2)
        kept = np.delete(np.arange(len(used)), np.argmin(missed))
        new, walled = task.only(used[kept]).best(x[kept])
        if task.only(used[kept]).change(new) > allowance:
            break
        turned = new != 0
        used, x, walled = used[kept][turned], new[turned], walled.only(np.flatnonzero(turned))
    return used


def in_whole_steps(task: Task, used: np.ndarray, start: Floats) -> Steps:
    """Whole steps of some nipples, bettered by a step of one or two at once as long as that helps.

    Parameters
    ----------
    task : bounds and badness
    used : indices of the nipples that may be turned
    start : of all nipples; rounded, it is where the search begins

    Notes
    -----
    A tension beyond what is allowed weighs so much that the search leaves it first. Where it ends beyond or no better
    than without any turn, it begins again from there, which is always allowed.
    """
    part = task.only(used)
    steps = _search(part, np.clip(np.rint(start[used]), part.low, part.high))
    if part.change(steps) >= 0 or not part.allows(part.tensions @ steps):
        steps = _search(part, np.zeros(len(used)))
    out = np.zeros(len(start))
    out[used] = steps
    return out


def _search(part: Task, steps: Steps) -> Steps:
    """Whole steps that no single move betters, from some steps on."""
    moves = single_moves(len(steps))
    costs = ((moves @ part.hessian) * moves).sum(axis=1)
    by_move = moves @ part.tensions.T
    while (chosen := _best_move(part, steps, moves, costs, by_move)) is not None:
        steps = steps + moves[chosen]
    return steps


def _best_move(part: Task, steps: Steps, moves: Floats, costs: Floats, by_move: Floats) -> int | None:
    """The move that wins most, None where none wins."""
    wins = -(costs + 2 * moves @ (part.hessian @ steps + part.slope))
    now = part.tensions @ steps
    wins += WALL * (part.beyond(now) - part.beyond(now + by_move))
    new = steps + moves
    wins[np.any((new < part.low) | (new > part.high), axis=1)] = 0
    best = int(np.argmax(wins)) if len(wins) else 0
    return best if len(wins) and wins[best] > SMALL_GAIN else None


def single_moves(count: int) -> Floats:
    """A step either way of one nipple, and of two near each other at once, (k, count)."""
    single = np.eye(count)
    first, second = np.triu_indices(count, 1)
    apart_by = second - first
    near = np.minimum(apart_by, count - apart_by) <= NEAR
    first, second = first[near], second[near]
    together, apart = single[first] + single[second], single[first] - single[second]
    return np.concatenate([single, -single, together, -together, apart, -apart])
