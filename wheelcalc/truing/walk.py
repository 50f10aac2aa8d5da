"""All likely walks along the spokes of a round at once: which sound was a pluck, of which spoke, at which of its pitches.

A hidden Markov model whose steps skip the sounds that are no plucks. Forward and backward sums give, for every sound, the
probability of every spoke and pitch, all others taken into account (D: L. R. Rabiner, Proc. IEEE 77 (1989) 257; the chances
of steps are ours).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats

# Ours, chances of a step from one pluck to the next: the same spoke again; the next; over one, two or three that sounded too
# softly to be heard; over one that was left out.
AGAIN, UNHEARD, LEFT_OUT = 0.02, (0.02, 0.004, 0.001), 0.005
# Ours: the first pluck is that of a later spoke, each further one.
LATE = (0.96, 0.02, 0.006, 0.002)
# The last pluck closes the round at the spoke that it began with, is that of the last spoke, or of one before it; where the
# round is marked, the one that marks its end is the last.
CLOSED, FULL, EARLY, ANY_END, MARKED_END, FULL_UNMARKED = 0.04, 0.85, 0.04, 0.01, 0.9, 0.1
SAME, SAME_SHARE = 0.003, 0.95  # of the logarithm: two plucks of one spoke agree so well, nearly always
PAUSE_CHANCE, PAUSE, PAUSE_SPREAD = 0.08, 0.5, 0.6  # a longer break, of the logarithm of the usual gap
AGAIN_GAP, AGAIN_SPREAD = -0.15, 0.4
BETWEEN = 10  # so many sounds between two plucks are looked past
LOWEST = -1e9  # ln of no chance at all


@dataclass(frozen=True, eq=False)
class Steps:
    """What is known of a round.

    Parameters
    ----------
    at : when each sound begins [s], (n,)
    log_pitch : pitches that each may have, nan where there are fewer, (n, k)
    evidence : ln of each pitch's likelihood over that of no pluck, the last for a pluck of another pitch, (n, k + 1)
    none : ln of each sound's likelihood as none of the round, (n,)
    by_place : ln of the likelihood of each pitch at each place over that of any pitch, (n, p, k + 1); the first spoke is there once
        more at the end, and where the round is marked twice at either end
    alike_next : chance that the spoke of a place sounds like that of the next: it touches it, or is the same, (p,)
    gap, spread : mean and standard deviation of the logarithm of the time between plucks
    marks : whether start and end are marked by two plucks of the first spoke
    """

    at: Floats
    log_pitch: Floats
    evidence: Floats
    none: Floats
    by_place: Floats
    alike_next: Floats
    gap: float
    spread: float
    marks: bool


@dataclass(frozen=True, eq=False)
class Walked:
    """Posterior: of each sound being the pluck of each place at each pitch, (n, p, k + 1); ln of the whole's likelihood."""

    posterior: Floats
    log_likelihood: float


def walked(steps: Steps) -> Walked:
    """Sum over all walks."""
    count = steps.at.size
    passed = np.append(0.0, np.cumsum(steps.none))
    pulls = {
        (i, j): _Pull.of(steps, i, j, passed[j] - passed[i + 1])
        for j in range(count)
        for i in range(max(j - 1 - BETWEEN, 0), j)
    }
    start, end = _start(steps), _end(steps)
    forward = np.empty(steps.by_place.shape)
    for j in range(count):
        came = [start + steps.by_place[j] + passed[j]]
        came += [pulls[i, j].forward(forward[i]) for i in range(max(j - 1 - BETWEEN, 0), j)]
        forward[j] = _sum(came) + steps.evidence[j]
    backward = np.empty(steps.by_place.shape)
    for i in reversed(range(count)):
        goes = [np.broadcast_to(end + passed[count] - passed[i + 1], backward[i].shape)]
        goes += [
            pulls[i, j].backward(backward[j] + steps.evidence[j]) for j in range(i + 1, min(i + 2 + BETWEEN, count))
        ]
        backward[i] = _sum(goes)
    last = (passed[count] - passed[1:])[:, None, None] + forward + end
    total = float(np.logaddexp(_log_sum(last), passed[count]))
    return Walked(np.exp(np.minimum(forward + backward - total, 0)), total)


@dataclass(frozen=True, eq=False)
class _Pull:
    """From one pluck to a later one, no other between: ln of the chance of it."""

    ahead: Floats  # by step 0.. : chance where pitches of the two are independent, (p, steps), from each place
    same: Floats  # (k + 1, k + 1): likelihood of the second pitch if the spokes sound alike, over that of any pitch
    again: Floats  # chance of the same place, (p,)
    paired: Floats  # chance of the next place, which sounds alike, (p,)
    place: Floats  # exp of by_place of the later, (p, k + 1)
    passed: float

    @classmethod
    def of(cls, steps: Steps, i: int, j: int, passed: float) -> _Pull:
        gap = float(np.log(max(steps.at[j] - steps.at[i], 1e-3))) - steps.gap
        places = steps.by_place.shape[1]
        slow = _slow(gap, steps.spread)
        ahead = np.zeros((places, 1 + len(UNHEARD) + 1))
        ahead[:, 1] = (1 - AGAIN - sum(UNHEARD) - LEFT_OUT) * slow
        ahead[:, 2] = LEFT_OUT * slow
        for over, chance in enumerate(UNHEARD, 2):
            ahead[:, over] += chance * _slow(gap - np.log(over), steps.spread / np.sqrt(over))
        again = np.full(places, AGAIN * float(_normal(gap - AGAIN_GAP, AGAIN_SPREAD)))
        paired = steps.alike_next * ahead[:, 1]
        ahead[:, 1] -= paired
        for step in range(1, ahead.shape[1]):
            ahead[max(places - step, 0) :, step] = 0
        if not steps.marks:
            ahead[places - 2, 1] *= CLOSED
        return cls(ahead, _same(steps, i, j), again, paired, np.exp(steps.by_place[j]), passed)

    def forward(self, before: Floats) -> Floats:
        most = float(before.max())
        chance = np.exp(before - most)
        whole = chance.sum(axis=1)
        moved = np.zeros(whole.size)
        for step in range(1, self.ahead.shape[1]):
            moved[step:] += (whole * self.ahead[:, step])[: whole.size - step]
        out = moved[:, None] * self.place
        alike = chance @ self.same
        out += (1 - SAME_SHARE) * (self.again * whole)[:, None] * self.place + SAME_SHARE * self.again[:, None] * alike
        out[1:] += (self.paired[:, None] * alike)[:-1]
        return np.asarray(np.log(np.maximum(out, 1e-300)) + most + self.passed)

    def backward(self, after: Floats) -> Floats:
        most = float(after.max())
        chance = np.exp(after - most)
        whole = (chance * self.place).sum(axis=1)
        alike = chance @ self.same.T
        out = SAME_SHARE * self.again[:, None] * alike + (1 - SAME_SHARE) * (self.again * whole)[:, None]
        for step in range(1, self.ahead.shape[1]):
            out[: whole.size - step] += (self.ahead[: whole.size - step, step] * whole[step:])[:, None]
        out[:-1] += self.paired[:-1, None] * alike[1:]
        return np.asarray(np.log(np.maximum(out, 1e-300)) + most + self.passed)


def _same(steps: Steps, i: int, j: int) -> Floats:
    """Likelihood of each pitch of j if it sounds like i's, over that of any pitch; a pitch not known says nothing."""
    apart = steps.log_pitch[j] - steps.log_pitch[i][:, None]
    alike = np.ones((apart.shape[0] + 1, apart.shape[1] + 1))
    alike[:-1, :-1] = np.nan_to_num(ANY_PITCH * _normal(apart, SAME))
    return alike


ANY_PITCH = 1.6  # D: tensions from 100 N to what breaks a spoke are so wide in the logarithm of the pitch


def _normal(away: Floats | float, spread: float) -> Floats:
    return np.asarray(np.exp(-0.5 * (np.asarray(away) / spread) ** 2) / (spread * np.sqrt(2 * np.pi)))


def _slow(gap: float, spread: float) -> float:
    """Likelihood of a gap, a pause now and then among them."""
    return float((1 - PAUSE_CHANCE) * _normal(gap, spread) + PAUSE_CHANCE * _normal(gap - PAUSE, PAUSE_SPREAD))


def _start(steps: Steps) -> Floats:
    """Ln of the chance that the first pluck is that of each place, (p, 1)."""
    out = np.full(steps.by_place.shape[1], LOWEST)
    late = LATE[: out.size - 1]
    out[: len(late)] = np.log(late)
    return out[:, None]


def _end(steps: Steps) -> Floats:
    """Ln of the chance that the last pluck is that of each place, (p, 1)."""
    out = np.full(steps.by_place.shape[1], ANY_END)
    if steps.marks:
        out[-3], out[-2], out[-1] = FULL_UNMARKED, FULL_UNMARKED, MARKED_END
        return np.asarray(np.log(out)[:, None])
    out[-2:] = FULL
    for before in range(3, min(6, out.size + 1)):
        out[-before] = EARLY / (before - 2)
    return np.asarray(np.log(out)[:, None])


def _sum(logs: list[Floats]) -> Floats:
    stacked = np.stack(logs)
    most = stacked.max(axis=0)
    return np.asarray(most + np.log(np.exp(stacked - most).sum(axis=0)))


def _log_sum(logs: Floats) -> float:
    most = float(logs.max())
    return most + float(np.log(np.exp(logs - most).sum()))
