"""What the best of all observers could tell of the slips of `tests.making.old_wheels`: nobody can do better.

It knows how the wheels are made, which slips are made and of which sizes, and all errors; it sees the same readings.
Bayes by Monte Carlo: for each slip and size the readings without it, true dimensions drawn around them, and on average
over these how likely the lengths and ends are. Slips that are plain at sight (inches, a radius) are left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from tests.making.old_wheels import EYE, READING, SIDES, SPOKE, Tree

HALF_MM = 0.5 / np.sqrt(12)
OF_MEAN = np.hypot(READING, HALF_MM) / np.sqrt(3)
OF_END = np.hypot(EYE, HALF_MM) / np.sqrt(3)
OF_LENGTH = np.sqrt(READING**2 + SPOKE**2 + HALF_MM**2)  # of one reading
WIDTHS = {True: (126, 130, 135), False: (96, 100)}
DRAWS = 600
NAMES = (
    *(f"{name}, {s}" for name in ("pcd to the edge", "flange out", "lengths out", "one length") for s in SIDES),
    *("pcd to the edge, both", "flanges from the centre", "erd out", "erd to the seat", "outside of elbow"),
    *("hub swapped", "lengths swapped", "crosses", "sign of the ends"),
)

Reading = dict[str, Any]  # erd, over, pcd.left ... each a mean; length.left: list; crosses; end.left


def _normal(value: Any, mean: Any, sigma: float) -> Any:
    return np.exp(-(((value - mean) / sigma) ** 2) / 2) / (sigma * np.sqrt(2 * np.pi))


def read(tree: Tree) -> Reading:
    """The tree's readings as means, lengths as lists."""
    old = tree["old_wheel"]
    out: Reading = {"erd": np.mean(tree["rim"]["erd"]), "over": np.mean(old["hub"]["over_locknut"])}
    for s in SIDES:
        out[f"pcd.{s}"] = np.mean(old["hub"][s]["pcd"])
        out[f"place.{s}"] = np.mean(old["hub"][s]["locknut_to_flange"])
        out[f"length.{s}"] = np.array(old["lengths"][s])
        out[f"end.{s}"] = np.mean(old["end_position"][s])
        out[f"crosses.{s}"] = old["crosses"][s]
    return out


def _moved(reading: Reading, **by: float) -> Reading:
    return {**reading, **{name.replace("_", "."): reading[name.replace("_", ".")] - off for name, off in by.items()}}


def _swapped(reading: Reading, *names: str) -> Reading:
    other = dict(zip(SIDES, SIDES[::-1], strict=True))
    return {**reading, **{f"{n}.{s}": reading[f"{n}.{other[s]}"] for n in names for s in SIDES}}


def one_length_out(reading: Reading, side: str) -> list[tuple[float, Reading]]:
    """Readings before one of three lengths of a side was read 5 or 10 mm off, with the share of each."""
    name, out = f"length.{side}", []
    for index in range(3):
        for off in (10, -10, 5, -5):
            own = reading[name].copy()
            own[index] -= off
            out.append((1 / 12, {**reading, name: own}))
    return out


def without(reading: Reading) -> Iterator[tuple[str, list[tuple[float, Reading]]]]:
    """Each slip by name: the readings before it was made, with the share of each size."""
    edges, elbows = np.arange(6.1, 11, 0.2), np.arange(2.05, 2.8, 0.1)
    for s in SIDES:
        pcd, place, length = f"pcd_{s}", f"place_{s}", f"length_{s}"
        yield f"pcd to the edge, {s}", [(1 / len(edges), _moved(reading, **{pcd: e})) for e in edges]
        yield f"flange out, {s}", [(1 / 3, _moved(reading, **{place: off})) for off in (10, -10, 20)]
        yield (
            f"lengths out, {s}",
            [(1 / 7, _moved(reading, **{length: off})) for off in (4, -4, 5, -5, 6, 10, -10)],
        )
        yield f"one length, {s}", one_length_out(reading, s)
    yield "pcd to the edge, both", [(1 / len(edges), _moved(reading, pcd_left=e, pcd_right=e)) for e in edges]
    half = reading["over"] / 2
    yield "flanges from the centre", [(1.0, {**reading, **{f"place.{s}": half - reading[f"place.{s}"] for s in SIDES}})]
    yield "erd out", [(1 / 8, _moved(reading, erd=off)) for off in (-10, 10, 5, -5, 4, -4, 20, 3)]
    yield "erd to the seat", [(1.0, _moved(reading, erd=-5))]
    yield "outside of elbow", [(1 / len(elbows), _moved(reading, length_left=e, length_right=e)) for e in elbows]
    yield "hub swapped", [(1.0, _swapped(reading, "pcd", "place"))]
    yield "lengths swapped", [(1.0, _swapped(reading, "length"))]
    yield "crosses", [(1.0, _moved(reading, crosses_left=-1, crosses_right=-1))]
    yield "sign of the ends", [(1.0, {**reading, **{f"end.{s}": -reading[f"end.{s}"] for s in SIDES}})]


def wanted(theta: dict[str, Any], crosses: dict[str, int], holes: int) -> dict[str, Any]:
    """Slack length that ends at the intended end, arrays of draws; the same physics as the maker's, written for arrays."""
    erd, spans, pulls = theta["erd"], {}, {}
    for s in SIDES:
        pcd, angle = theta[f"pcd.{s}"], np.radians(720 * crosses[s] / holes)
        plane = (erd / 2) ** 2 + (pcd / 2) ** 2 - erd * pcd / 2 * np.cos(angle)
        spans[s] = np.sqrt(plane + theta[f"offset.{s}"] ** 2)
        pulls[s] = np.maximum(theta[f"offset.{s}"], 0.5) / spans[s]
    least = np.minimum(*pulls.values())
    tensions = {s: theta["tension"] * least / pulls[s] for s in SIDES}
    shrink = holes * sum(tensions.values()) / 2 / (2 * np.pi) * erd / 2 / (100 * 69_000)
    out = {}
    for s in SIDES:
        ends = 0.2 * (0.1**0.58 + ((np.maximum(tensions[s], 100) / 1000) ** 0.58 - 0.1**0.58) / 0.58)
        out[s] = spans[s] - 1.25 - tensions[s] * spans[s] / (np.pi * 200_000) - ends - shrink
    return out


def _usual_end(away: Any) -> Any:
    """Density of a spoke's end: the length wanted and U(-2, 0.7), rounded to a whole mm."""
    return np.clip(np.minimum(away + 2.5, 1.2 - away), 0, 1) / 2.7


def evidence(reading: Reading, tree: Tree, alike: float | None, noise: dict[str, Any]) -> float:
    """How likely right readings are to be these, up to what all slips share; `alike` None: `odd_wheel`."""
    crosses = {s: int(reading[f"crosses.{s}"]) for s in SIDES}
    theta = {"erd": reading["erd"] + OF_MEAN * noise["erd"], "tension": noise["tension"]}
    prior = _shop(reading, tree, crosses, theta, noise) if alike is not None else _odd(reading, crosses, theta, noise)
    if prior is None:
        return 0.0
    total = 0.0
    left, right = reading["pcd.left"], reading["pcd.right"]
    for share, same in ((alike, True), (1 - alike, False)) if alike is not None else ((1.0, None),):
        if same:
            mean = (left + right) / 2 + OF_MEAN / np.sqrt(2) * noise["pcd.right"]
            theta |= {"pcd.left": mean, "pcd.right": mean}
            more = share * _normal(left, right, OF_MEAN * np.sqrt(2)) * _inside(mean, 38, 60)
        else:
            theta |= {f"pcd.{s}": reading[f"pcd.{s}"] + OF_MEAN * noise[f"pcd.{s}"] for s in SIDES}
            if same is None:
                more = share * _inside(theta["pcd.left"], 35, 70) * _inside(theta["pcd.right"], 35, 70)
            else:
                more = share * _inside(theta["pcd.right"], 38, 60)
                more = more * _inside(theta["pcd.left"] - theta["pcd.right"], -12, 12)
        fits = prior * more
        for s, want in wanted(theta, crosses, tree["rim"]["holes"]).items():
            lengths, over = reading[f"length.{s}"], 0.0
            for whole in np.arange(np.floor(np.median(lengths)) - 1, np.ceil(np.median(lengths)) + 2):
                seen = np.prod(_normal(lengths, whole, OF_LENGTH))
                over = over + seen * _usual_end(whole - want) * _normal(reading[f"end.{s}"], whole - want, OF_END)
            fits = fits * over
        total += float(np.mean(fits))
    return total


def _shop(reading: Reading, tree: Tree, crosses: Tree, theta: Tree, noise: Tree) -> Any:
    """Density of all but the flanges' sizes, and their offsets drawn, of `old_wheel`; None where it cannot be."""
    rear, seat = tree["position"] == "rear", tree["rim"]["bead_seat_diameter"]
    kinds = np.array([_normal(reading["over"], width, OF_MEAN) for width in WIDTHS[rear]])
    if crosses["left"] != crosses["right"] or crosses["left"] not in (2, 3) or kinds.sum() < 1e-30:
        return None
    width = np.array(WIDTHS[rear])[np.searchsorted(np.cumsum(kinds) / kinds.sum(), noise["pick"])]
    _offsets(reading, width, theta, noise)
    left, right = theta["offset.left"], theta["offset.right"]
    prior = kinds.mean() * {2: 0.2, 3: 0.8}[crosses["left"]] * _inside(theta["erd"], seat - 36, seat - 16)
    return prior * _inside(left, 30, 38) * (_inside(right, 15, 22) if rear else _normal(right, left, 0.5))


def _odd(reading: Reading, crosses: Tree, theta: Tree, noise: Tree) -> Any:
    """The same of `odd_wheel`: all by chance."""
    if not all(1 <= each <= 3 for each in crosses.values()):
        return None
    width = reading["over"] + OF_MEAN * noise["over"]
    _offsets(reading, width, theta, noise)
    prior = _inside(width, 95, 150) * _inside(theta["erd"], 380, 610)
    return prior * _inside(theta["offset.left"], 24, 40) * _inside(theta["offset.right"], 13, 36)


def _offsets(reading: Reading, width: Any, theta: Tree, noise: Tree) -> None:
    for s in SIDES:
        theta[f"offset.{s}"] = width / 2 - reading[f"place.{s}"] + OF_MEAN * noise[f"place.{s}"]


def _inside(value: Any, low: float, high: float) -> Any:
    return ((value > low) & (value < high)) / (high - low)


def posteriors(
    tree: Tree, rng: np.random.Generator, *, alike: float | None = 0.6, none: float = 0.5
) -> dict[str, float]:
    """Probability of each slip by name, and of "none", where one of them, each as often, was made in 1 - none of wheels."""
    reading = read(tree)
    names = ("erd", "over", *(f"{n}.{s}" for n in ("pcd", "place") for s in SIDES))
    noise: dict[str, Any] = {name: rng.standard_normal(DRAWS) for name in names}
    noise["pick"] = rng.random(DRAWS)
    noise["tension"] = float(str(tree["old_wheel"]["tension"]).split()[0]) / rng.normal(1, 0.1, DRAWS)
    found = {"none": none * evidence(reading, tree, alike, noise)}
    slips = dict(without(reading))
    for name, versions in slips.items():
        own = sum(share * evidence(each, tree, alike, noise) for share, each in versions)
        found[name] = (1 - none) / len(slips) * own
    total = sum(found.values())
    return {name: value / total for name, value in found.items()} if total else {"none": 1.0}
