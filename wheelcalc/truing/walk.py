"""All likely walks along the spokes of a round at once: which sound was a pluck, of which spoke, at which of its pitches.

A hidden Markov model whose steps skip the sounds that are no plucks. Forward and backward sums give, for every sound, the
probability of every spoke and pitch, all others taken into account (D: L. R. Rabiner, Proc. IEEE 77 (1989) 257; the chances
of steps are ours).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats, Ints

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


def walked(ways: Sequence[Steps]) -> list[Walked]:
    """Sum over all walks, for several views of the same sounds with as many places."""
    pull = _Pull.of(ways)
    passed, ends = pull.passed, np.stack([_end(each) for each in ways])
    starts = np.stack([_start(each) for each in ways])
    count = passed.size - 1
    by_place = np.stack([each.by_place for each in ways], axis=1)
    evidence = ways[0].evidence
    forward = np.empty(by_place.shape)
    for j in range(count):
        begun = starts + by_place[j] + passed[j]
        forward[j] = np.logaddexp(begun, pull.forward(forward, j)) + evidence[j]
    backward = np.empty(by_place.shape)
    for i in reversed(range(count)):
        ended = np.broadcast_to(ends + passed[count] - passed[i + 1], backward[i].shape)
        backward[i] = np.logaddexp(ended, pull.backward(backward, evidence, i))
    last = forward + ends + (passed[count] - passed[1:])[:, None, None, None]
    out = []
    for way in range(len(ways)):
        total = float(np.logaddexp(_log_sum(last[:, way]), passed[count]))
        posterior = np.exp(np.minimum(forward[:, way] + backward[:, way] - total, 0))
        out.append(Walked(posterior, total))
    return out


@dataclass(frozen=True, eq=False)
class _Pull:
    """From one pluck to a later one, no other between; w views, from sound i to j = i + 1 + b."""

    ahead: Floats  # chance of each step from 1 on, where pitches of the two are independent, (n, b, w, steps)
    again: Floats  # chance of the same place, (n, b, w)
    same: (
        Floats  # likelihood of the second pitch if the spokes sound alike, over that of any pitch, (n, b, k + 1, k + 1)
    )
    leaves: Floats  # share of each place's steps that leads on, (w, steps, p): none beyond the end
    alike: Floats  # share of each place's first steps to a spoke that sounds alike, (w, p)
    place: Floats  # likelihood of each pitch at each place over that of any pitch, (n, w, p, k + 1)
    passed: Floats  # ln of the likelihood of all sounds before each as none, (n + 1,)

    @classmethod
    def of(cls, ways: Sequence[Steps]) -> _Pull:
        first, count = ways[0], ways[0].at.size
        later = np.minimum(np.arange(count)[:, None] + 1 + np.arange(BETWEEN + 1), count - 1)
        usual, spread = (np.array(each) for each in zip(*((way.gap, way.spread) for way in ways), strict=True))
        gap = np.log(np.maximum(first.at[later] - first.at[:, None], 1e-3))[:, :, None] - usual
        ahead = np.zeros((*gap.shape, 1 + len(UNHEARD)))
        slow = _slow(gap, spread)
        ahead[..., 0] = (1 - AGAIN - sum(UNHEARD) - LEFT_OUT) * slow
        ahead[..., 1] = LEFT_OUT * slow
        for over, chance in enumerate(UNHEARD, 2):
            ahead[..., over - 1] += chance * _slow(gap - np.log(over), spread / np.sqrt(over))
        again = AGAIN * _normal(gap - AGAIN_GAP, AGAIN_SPREAD)
        places = first.by_place.shape[1]
        alike = np.stack([way.alike_next for way in ways])
        leaves = np.ones((len(ways), ahead.shape[-1], places))
        leaves[:, 0] -= alike
        for step in range(ahead.shape[-1]):
            leaves[:, step, max(places - 1 - step, 0) :] = 0
        if not first.marks:
            leaves[:, 0, places - 2] *= CLOSED
        place = np.exp(np.stack([way.by_place for way in ways], axis=1))
        passed = np.append(0.0, np.cumsum(first.none))
        return cls(ahead, again, _same(first.log_pitch, later), leaves, alike, place, passed)

    def forward(self, before: Floats, j: int) -> Floats:
        """Ln of what comes to sound j from all before it, (w, p, k + 1)."""
        i = np.arange(max(j - 1 - BETWEEN, 0), j)
        if not i.size:
            return np.full(before.shape[1:], LOWEST)
        b = j - 1 - i
        chance, weight, most = _scaled(before[i], self.passed[j] - self.passed[i + 1])
        whole = chance.sum(axis=3)
        ahead, again = self.ahead[i, b] * weight[..., None], self.again[i, b] * weight
        moved = np.einsum("iw,iwp->wp", (1 - SAME_SHARE) * again, whole)
        for step in range(min(ahead.shape[-1], whole.shape[2] - 1)):
            went = np.einsum("iw,iwp->wp", ahead[..., step], whole) * self.leaves[:, step]
            moved[:, step + 1 :] += went[:, : -step - 1]
        alike = chance @ self.same[i, b][:, None]
        out = moved[:, :, None] * self.place[j]
        out += SAME_SHARE * np.einsum("iw,iwpk->wpk", again, alike)
        paired = np.einsum("iw,iwpk->wpk", ahead[..., 0], alike) * self.alike[:, :, None]
        out[:, 1:] += paired[:, :-1]
        return np.asarray(np.log(np.maximum(out, 1e-300)) + most)

    def backward(self, after: Floats, evidence: Floats, i: int) -> Floats:
        """Ln of what follows sound i, (w, p, k + 1)."""
        j = np.arange(i + 1, min(i + 2 + BETWEEN, self.passed.size - 1))
        if not j.size:
            return np.full(after.shape[1:], LOWEST)
        b = j - 1 - i
        chance, weight, most = _scaled(after[j] + evidence[j][:, None, None], self.passed[j] - self.passed[i + 1])
        whole = (chance * self.place[j]).sum(axis=3)
        ahead, again = self.ahead[i, b] * weight[..., None], self.again[i, b] * weight
        alone = np.einsum("iw,iwp->wp", (1 - SAME_SHARE) * again, whole)
        for step in range(min(ahead.shape[-1], whole.shape[2] - 1)):
            comes = np.einsum("iw,iwp->wp", ahead[..., step], whole)
            alone[:, : -step - 1] += self.leaves[:, step, : -step - 1] * comes[:, step + 1 :]
        alike = chance @ np.swapaxes(self.same[i, b], 1, 2)[:, None]
        out = alone[:, :, None] + SAME_SHARE * np.einsum("iw,iwpk->wpk", again, alike)
        paired = np.einsum("iw,iwpk->wpk", ahead[..., 0], alike)
        out[:, :-1] += self.alike[:, :-1, None] * paired[:, 1:]
        return np.asarray(np.log(np.maximum(out, 1e-300)) + most)


def _scaled(logs: Floats, passed: Floats) -> tuple[Floats, Floats, Floats]:
    """Numbers that an exponential can hold, (i, w, p, k + 1); what each row counts against the largest, (i, w); ln of that, (w, 1, 1)."""
    largest = logs.max(axis=(2, 3))
    chance = np.exp(logs - largest[:, :, None, None])
    total = largest + passed[:, None]
    most = total.max(axis=0)
    return chance, np.exp(total - most), most[:, None, None]


def _same(log_pitch: Floats, later: Ints) -> Floats:
    """Likelihood of each later pitch if it sounds like the earlier, over that of any pitch; a pitch not known says nothing."""
    apart = log_pitch[later][:, :, None, :] - log_pitch[:, None, :, None]
    alike = np.ones((*later.shape, log_pitch.shape[1] + 1, log_pitch.shape[1] + 1))
    alike[:, :, :-1, :-1] = np.nan_to_num(ANY_PITCH * _normal(apart, SAME))
    return alike


ANY_PITCH = 1.6  # D: tensions from 100 N to what breaks a spoke are so wide in the logarithm of the pitch


def _normal(away: Floats, spread: Floats | float) -> Floats:
    return np.asarray(np.exp(-0.5 * (away / spread) ** 2) / (spread * np.sqrt(2 * np.pi)))


def _slow(gap: Floats, spread: Floats) -> Floats:
    """Likelihood of a gap, a pause now and then among them."""
    return np.asarray((1 - PAUSE_CHANCE) * _normal(gap, spread) + PAUSE_CHANCE * _normal(gap - PAUSE, PAUSE_SPREAD))


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


def _log_sum(logs: Floats) -> float:
    most = float(logs.max())
    return most + float(np.log(np.exp(logs - most).sum()))
