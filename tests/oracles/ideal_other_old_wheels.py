"""What the best of all observers could tell of the slips of `tests.making.other_old_wheels`: nobody can do better.

It knows the kinds of wheels and how often each, the reader's errors, which slips are made and of which sizes. Bayes: the
readings before each slip, true dimensions drawn around them, on average over these how likely lengths and ends are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from scipy.special import erf

from tests.making.old_wheels import SIDES, Tree
from tests.oracles.ideal_old_wheels import NAMES, Reading, one_length_out

DRAWS = 500
STEP = 0.02  # mm, grid of a dimension's likelihood
BIAS = np.array([-0.18, -0.09, 0.0, 0.09, 0.18])  # nodes of N(0, 0.1)
BIAS_SHARE = np.exp(-((BIAS / 0.1) ** 2) / 2) / np.exp(-((BIAS / 0.1) ** 2) / 2).sum()


def _normal(value: Any, mean: Any, sigma: float) -> Any:
    return np.exp(-(((value - mean) / sigma) ** 2) / 2) / (sigma * math.sqrt(2 * math.pi))


def _below(end: Any) -> Any:
    """Share of ends wanted below a place: N(-0.6, 0.8) clipped to -2.5 .. 1.2."""
    inside = (1 + erf((end + 0.6) / 0.8 / math.sqrt(2))) / 2
    return np.where(end >= 1.2, 1.0, np.where(end < -2.5, 0.0, inside))


def _laplace(value: Any) -> Any:
    """Cumulative distribution of a Laplace error of 0.2 mm."""
    half = np.exp(-np.abs(value) / 0.2) / 2
    return np.where(value < 0, half, 1 - half)


def likelihood(readings: Any, at: Any) -> Any:
    """How likely these repeats, to half a mm, are of each true value."""
    off = np.asarray(readings)[:, None, None] - np.atleast_1d(at)[None, None, :] - BIAS[None, :, None]
    mass = _laplace(off + 0.25) - _laplace(off - 0.25)
    return BIAS_SHARE @ mass.prod(axis=0)


@dataclass(frozen=True, eq=False)
class Known:
    """A dimension as its repeats tell it: total likelihood over a flat prior, and draws in proportion to it."""

    grid: Any
    density: Any

    @classmethod
    def of(cls, *lists: Any) -> Known:
        """One true value behind all these lists."""
        return _known(tuple(tuple(np.asarray(each).tolist()) for each in lists))

    @property
    def total(self) -> float:
        return float(self.density.sum() * STEP)

    def drawn(self, share: Any) -> Any:
        """The values at these shares of the whole."""
        sums = np.cumsum(self.density)
        return np.interp(share, sums / sums[-1], self.grid) if sums[-1] > 0 else np.full(len(share), self.grid[0])


@lru_cache(maxsize=256)
def _known(lists: tuple[tuple[float, ...], ...]) -> Known:
    every = [value for each in lists for value in each]
    grid = np.arange(min(every) - 1.0, max(every) + 1.0, STEP)
    return Known(grid, np.prod([likelihood(each, grid) for each in lists], axis=0))


def read(tree: Tree) -> Reading:
    """All repeats of the tree as arrays."""
    old = tree["old_wheel"]
    out: Reading = {"erd": np.array(tree["rim"]["erd"]), "over": np.array(old["hub"]["over_locknut"])}
    for s in SIDES:
        hub = old["hub"][s]
        out |= {f"pcd.{s}": np.array(hub["pcd"]), f"place.{s}": np.array(hub["locknut_to_flange"])}
        out |= {f"length.{s}": np.array(old["lengths"][s]), f"end.{s}": np.array(old["end_position"][s])}
        out |= {f"crosses.{s}": old["crosses"][s], f"holes.{s}": hub["holes"]}
    return out


def _less(reading: Reading, *names: str, by: float) -> Reading:
    return {**reading, **{name: reading[name] - by for name in names}}


def _swapped(reading: Reading, *names: str) -> Reading:
    other = dict(zip(SIDES, SIDES[::-1], strict=True))
    return {**reading, **{f"{n}.{s}": reading[f"{n}.{other[s]}"] for n in names for s in SIDES}}


def without(reading: Reading) -> Iterator[tuple[str, list[tuple[float, Reading]]]]:
    """Each slip by name: the readings before it was made, with the share of each size."""
    edges = np.arange(3.5, 12.6, 0.5)
    share = _normal(edges, 8.0, 1.5) / _normal(edges, 8.0, 1.5).sum()
    for s in SIDES:
        yield (
            f"pcd to the edge, {s}",
            [(w, _less(reading, f"pcd.{s}", by=e)) for w, e in zip(share, edges, strict=True)],
        )
        yield f"flange out, {s}", [(1 / 4, _less(reading, f"place.{s}", by=off)) for off in (10, -10, 5, 20)]
        yield f"lengths out, {s}", [(1 / 6, _less(reading, f"length.{s}", by=off)) for off in (10, -10, 5, 3, -3, 8)]
        yield f"one length, {s}", one_length_out(reading, s)
    both = [(w, _less(reading, "pcd.left", "pcd.right", by=e)) for w, e in zip(share, edges, strict=True)]
    yield "pcd to the edge, both", both
    half = reading["over"].mean() / 2
    yield "flanges from the centre", [(1.0, {**reading, **{f"place.{s}": half - reading[f"place.{s}"] for s in SIDES}})]
    yield "erd out", [(1 / 8, _less(reading, "erd", by=off)) for off in (-10, 10, 20, -20, 5, -5, 2, 3)]
    yield "erd to the seat", [(1.0, _less(reading, "erd", by=-5))]
    sizes = {2.0: 0.4, 2.5: 0.4, 3.0: 0.2}
    yield (
        "outside of elbow",
        [
            (p * q, _less(_less(reading, "length.left", by=left), "length.right", by=right))
            for left, p in sizes.items()
            for right, q in sizes.items()
        ],
    )
    yield "hub swapped", [(1.0, _swapped(reading, "pcd", "place", "holes"))]
    yield "lengths swapped", [(1.0, _swapped(reading, "length"))]
    left, right = (reading[f"crosses.{s}"] for s in SIDES)
    fewer = [(1.0, {**reading, "crosses.left": left + 1, "crosses.right": right + 1})]
    if left == 0:
        fewer.append((1.0, {**reading, "crosses.right": right + 1}))
    yield "crosses", fewer
    yield "sign of the ends", [(1.0, {**reading, **{f"end.{s}": -reading[f"end.{s}"] for s in SIDES}})]


@dataclass(frozen=True)
class Kind:
    """A kind of wheels: how often these counts and crosses, and the densities of its dimensions."""

    name: str
    holes: tuple[tuple[int, int], ...] = ((16, 16),)
    crosses: tuple[tuple[int, int], ...] = ((3, 3),)
    widths: tuple[int, ...] = (126, 130, 135)
    left: tuple[float, float] = (34.0, 2.0)
    right: tuple[float, float] = (19.0, 2.0)


# The kinds of `other_old_wheels.other_wheel`, one to one.
KINDS = (
    Kind("city"),
    Kind("small", ((10, 10), (12, 12), (14, 14)), ((1, 1), (2, 2))),
    Kind("fixed", ((18, 18),), widths=(110, 120), left=(33.0, 1.5), right=(32.0, 1.5)),
    Kind("disc front", widths=(100,), left=(22.0, 2.0), right=(35.0, 2.0)),
    Kind("radial left", ((12, 12),), ((0, 2),)),
    Kind("straight", ((12, 12),), ((2, 2),)),
    Kind("two to one", ((8, 16),), ((0, 2),)),
)
SMALL_SEATS = (305, 349, 355, 406)


def _fits(kind: Kind, reading: Reading, tree: Tree) -> bool:
    """Whether the wheel can be one of this kind by what no error blurs."""
    small, front = tree["rim"]["bead_seat_diameter"] in SMALL_SEATS, tree["position"] == "front"
    straight = tree["old_wheel"]["hub"]["left"]["spoke_head"] == "straight"
    counts = tuple(reading[f"holes.{s}"] for s in SIDES)
    crosses = tuple(int(reading[f"crosses.{s}"]) for s in SIDES)
    alike = (kind.name == "small") == small and (kind.name == "disc front") == front
    return alike and (kind.name == "straight") == straight and counts in kind.holes and crosses in kind.crosses


def _common(pcd: Any) -> Any:
    """Density of clip(N(46, 6), 36, 65); what is clipped is taken for near its end."""
    return np.where((pcd > 35.8) & (pcd < 65.2), _normal(pcd, 46.0, 6.0), 0.0)


def _circles(kind: Kind, reading: Reading, noise: Tree) -> tuple[float, Any, Any, Any]:
    """Total weight, hole circles left and right drawn, and their density."""
    lists = {s: reading[f"pcd.{s}"] for s in SIDES}
    if kind.name in ("city", "small", "straight", "fixed"):
        one = Known.of(*lists.values())
        pcd = one.drawn(noise["pcd.left"])
        return one.total, pcd, pcd, _normal(pcd, 63.0, 3.0) if kind.name == "fixed" else _common(pcd)
    left = Known.of(lists["left"])
    pcd = left.drawn(noise["pcd.left"])
    if kind.name == "disc front":
        chances = likelihood(lists["right"], np.array([44.0, 58.0])) / 2
        right = np.where(noise["pcd.right"] * chances.sum() < chances[0], 44.0, 58.0)
        return left.total * float(chances.sum()), pcd, right, _normal(pcd, 58.0, 1.5)
    other = Known.of(lists["right"])
    right = other.drawn(noise["pcd.right"])
    both = _normal(pcd, 40.0, 4.0) * _common(right)
    if kind.name == "two to one":
        both = _common(pcd) * _normal(right - pcd, 6.0, 2.0)
    return left.total * other.total, pcd, right, both


def wanted(theta: Tree, reading: Reading, head: str) -> Tree:
    """Slack lengths that end at the intended end; the maker's physics, written for arrays of draws."""
    spans, pulls, holes = {}, {}, {s: reading[f"holes.{s}"] for s in SIDES}
    for s in SIDES:
        pitch = 360 / holes[s]
        aside = pitch / 6 if s == "right" and holes["right"] == 2 * holes["left"] else 0.0
        r, rim, o = theta[f"pcd.{s}"] / 2, theta["erd"] / 2, theta[f"offset.{s}"]
        spans[s] = np.sqrt(
            rim**2 + r**2 - 2 * rim * r * np.cos(np.radians(reading[f"crosses.{s}"] * pitch + aside)) + o**2
        )
        pulls[s] = np.maximum(o, 0.5) / spans[s] * holes[s]
    tensions = {s: theta["tension"] * np.minimum(*pulls.values()) / pulls[s] for s in SIDES}
    shrink = sum(tensions[s] * holes[s] for s in SIDES) / (2 * np.pi) * theta["erd"] / 2 / (95 * 69_000)
    give, less = (0.1, 0.0) if head == "straight" else (0.2, 1.25)
    ends = {s: give * (0.1**0.58 + ((np.maximum(tensions[s], 100) / 1000) ** 0.58 - 0.1**0.58) / 0.58) for s in SIDES}
    return {s: spans[s] - less - tensions[s] * spans[s] / (np.pi * 200_000) - ends[s] - shrink for s in SIDES}


def evidence(reading: Reading, tree: Tree, noise: Tree) -> float:
    """How likely right readings are to be these, up to what all slips share."""
    return sum(_of_kind(kind, reading, tree, noise) for kind in KINDS if _fits(kind, reading, tree))


def _of_kind(kind: Kind, reading: Reading, tree: Tree, noise: Tree) -> float:
    widths = np.array(kind.widths, dtype=float)
    chances = likelihood(reading["over"], widths) / len(widths)
    weight, left, right, density = _circles(kind, reading, noise)
    erd = Known.of(reading["erd"])
    places = {s: Known.of(reading[f"place.{s}"]) for s in SIDES}
    weight *= float(chances.sum()) * erd.total * places["left"].total * places["right"].total
    weight /= len(kind.holes) * len(kind.crosses)
    if weight <= 0:
        return 0.0
    width = widths[np.minimum(np.searchsorted(np.cumsum(chances) / chances.sum(), noise["over"]), len(widths) - 1)]
    theta = {"erd": erd.drawn(noise["erd"]), "pcd.left": left, "pcd.right": right, "tension": noise["tension"]}
    for s, usual in zip(SIDES, (kind.left, kind.right), strict=True):
        theta[f"offset.{s}"] = width / 2 - places[s].drawn(noise[f"place.{s}"])
        density = density * _normal(theta[f"offset.{s}"], *usual)
    density = density * _normal(tree["rim"]["bead_seat_diameter"] - theta["erd"], 25.0, 5.0)
    head = "straight" if kind.name == "straight" else "elbow"
    sides = [_ends(reading, s, want) for s, want in wanted(theta, reading, head).items()]
    fits = 0.7 * sides[0][0] * sides[1][0] + 0.3 * sides[0][1] * sides[1][1]
    return weight * float(np.mean(density * fits))


def _ends(reading: Reading, side: str, want: Any) -> tuple[Any, Any]:
    """How likely one side's lengths and ends are where a shop keeps every whole mm, and where it keeps even ones."""
    lengths, ends = reading[f"length.{side}"], reading[f"end.{side}"]
    middle = int(np.round(np.median(lengths)))
    every, even = np.zeros(len(want)), np.zeros(len(want))
    for n in range(middle - 2, middle + 3):
        seen = float(likelihood(lengths, float(n))[0])
        if seen < 1e-14:
            continue
        fits = seen * likelihood(ends, n - want)
        every = every + fits * (_below(n + 0.5 - want) - _below(n - 0.5 - want))
        if n % 2 == 0:
            even = even + fits * (_below(n + 1 - want) - _below(n - 1 - want))
    return every, even


def posteriors(tree: Tree, rng: np.random.Generator, *, none: float = 0.5) -> dict[str, float]:
    """Probability of each slip by name, and of "none", where one of them, each as often, was made in 1 - none of wheels."""
    reading = read(tree)
    names = ("erd", "over", *(f"{n}.{s}" for n in ("pcd", "place") for s in SIDES))
    noise: Tree = {name: rng.random(DRAWS) for name in names}
    noise["tension"] = float(str(tree["old_wheel"]["tension"]).split()[0]) / rng.uniform(0.85, 1.15, DRAWS)
    found = {"none": none * evidence(reading, tree, noise)}
    slips = dict(without(reading))
    assert set(slips) == set(NAMES)
    for name, versions in slips.items():
        own = sum(share * evidence(each, tree, noise) for share, each in versions)
        found[name] = (1 - none) / len(slips) * own
    total = sum(found.values())
    return {name: value / total for name, value in found.items()} if total else {"none": 1.0}
