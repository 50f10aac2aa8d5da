"""Old wheels of other makes than `old_wheels`, on which nothing is tuned: small wheels, fixed and disc hubs, a radial side,
straight heads, twice as many spokes on the right; other scatter, other sizes of the same slips; invented.

Each spoke is placed in space here, hole by hole; nothing of the library makes what it is to find.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.making import old_wheels
from tests.making.old_wheels import SIDES, Slip, Tree

KINDS = ("city", "small", "fixed", "disc front", "radial left", "straight", "two to one")


def other_wheel(rng: np.random.Generator, kind: str = "") -> Tree:
    """A build file's tree of an old wheel without slips; of any kind where none is named."""
    kind = kind or str(rng.choice(KINDS))
    holes = {"left": 16, "right": 16}
    seat, front = float(rng.choice([559, 571, 584, 590, 622, 630])), kind == "disc front"
    crosses = dict.fromkeys(SIDES, 3)
    width, offset = float(rng.choice([126, 130, 135])), {"left": rng.normal(34, 2), "right": rng.normal(19, 2)}
    pcd = dict.fromkeys(SIDES, float(np.clip(rng.normal(46, 6), 36, 65)))
    if kind == "small":
        seat, holes = float(rng.choice([305, 349, 355, 406])), dict.fromkeys(SIDES, int(rng.choice([10, 12, 14])))
        crosses = dict.fromkeys(SIDES, int(rng.choice([1, 2])))
    elif kind == "fixed":
        width, holes = float(rng.choice([110, 120])), dict.fromkeys(SIDES, 18)
        offset = {"left": rng.normal(33, 1.5), "right": rng.normal(32, 1.5)}
        pcd = dict.fromkeys(SIDES, float(rng.normal(63, 3)))
    elif front:
        width, offset = 100.0, {"left": rng.normal(22, 2), "right": rng.normal(35, 2)}
        pcd = {"left": 58.0 + rng.normal(0, 1.5), "right": float(rng.choice([44.0, 58.0]))}
    elif kind == "radial left":
        crosses, holes = {"left": 0, "right": 2}, dict.fromkeys(SIDES, 12)
        pcd["left"] = float(rng.normal(40, 4))
    elif kind == "straight":
        crosses, holes = dict.fromkeys(SIDES, 2), dict.fromkeys(SIDES, 12)
    elif kind == "two to one":
        holes, crosses = {"left": 8, "right": 16}, {"left": 0, "right": 2}
        pcd["right"] += float(rng.normal(6, 2))
    head = "straight" if kind == "straight" else "elbow"
    erd = seat - float(rng.normal(25, 5))
    tree = _written(rng, erd, pcd, offset, crosses, holes, width, head)
    tree["rim"]["bead_seat_diameter"] = seat
    return {"position": "front" if front else "rear", **tree}


def lengths(
    erd: float, pcd: Tree, offset: Tree, crosses: Tree, holes: Tree, head: str, tension: float
) -> dict[str, float]:
    """Mean slack length of each side that ends at the intended end; every spoke from its hub hole to its rim hole."""
    spans, pulls = {}, {}
    for side, sign in (("left", -1), ("right", 1)):
        pitch, own = 360 / holes[side], []
        # Two to one: the right spokes stand in pairs, each a sixth of a pitch off an even spacing; those of a pair lean
        # apart, so that the valve, which stands in one, has room.
        aside = pitch / 6 if holes["right"] == 2 * holes["left"] and side == "right" else 0.0
        for index in range(holes[side]):
            for lean in (1, -1):  # all hub holes once as trailing and once as leading: the same mean
                at, led = np.radians(index * pitch), np.radians(index * pitch + lean * (crosses[side] * pitch + aside))
                rim = np.array([erd / 2 * np.cos(at), erd / 2 * np.sin(at), 0.0])
                hub = np.array([pcd[side] / 2 * np.cos(led), pcd[side] / 2 * np.sin(led), sign * offset[side]])
                own.append(float(np.linalg.norm(rim - hub)))
        spans[side] = float(np.mean(own))
        pulls[side] = offset[side] / spans[side] * holes[side]
    tensions = {side: tension * min(pulls.values()) / pulls[side] for side in SIDES}
    shrink = sum(tensions[s] * holes[s] for s in SIDES) / (2 * np.pi) * erd / 2 / (95 * 69_000)
    give = 0.1 if head == "straight" else 0.2
    less = 0.0 if head == "straight" else 1.25
    ends = {s: give * (0.1**0.58 + ((max(tensions[s], 100) / 1000) ** 0.58 - 0.1**0.58) / 0.58) for s in SIDES}
    return {s: spans[s] - less - tensions[s] * spans[s] / (np.pi * 200_000) - ends[s] - shrink for s in SIDES}


def _read(rng: np.random.Generator, value: float, error: float = 0.0) -> list[float]:
    """Three repeats to half a mm; errors of one person and rule, part of it the same in all."""
    bias = rng.normal(0, 0.1)
    return [float(each) for each in np.round(2 * (value + bias + rng.laplace(0, 0.2 + error, 3))) / 2]


def _written(
    rng: np.random.Generator, erd: float, pcd: Tree, offset: Tree, crosses: Tree, holes: Tree, width: float, head: str
) -> Tree:
    tension = float(rng.uniform(500, 1100))
    wanted = lengths(erd, pcd, offset, crosses, holes, head, tension)
    ends = {side: float(np.clip(rng.normal(-0.6, 0.8), -2.5, 1.2)) for side in SIDES}
    even = 2 if rng.random() < 0.3 else 1  # some shops keep even lengths only
    spoke = {side: float(even * np.round((wanted[side] + ends[side]) / even)) for side in SIDES}
    hub: Tree = {"over_locknut": _read(rng, width)}
    for side in SIDES:
        hub[side] = {"holes": holes[side], "pcd": _read(rng, pcd[side]), "spoke_head": head}
        hub[side] |= {"hole_diameter": 2.5} if head == "elbow" else {}
        hub[side]["locknut_to_flange"] = _read(rng, width / 2 - offset[side])
    return {
        "rim": {"holes": sum(holes.values()), "erd": _read(rng, erd), "erd_to": "spoke end"},
        "old_wheel": {
            "crosses": crosses,
            "lengths": {side: _read(rng, spoke[side]) for side in SIDES},
            "end_position": {side: _read(rng, spoke[side] - wanted[side]) for side in SIDES},
            "tension": f"{tension * rng.uniform(0.85, 1.15):.0f} N",
            "hub": hub,
        },
    }


def _out(sizes: list[float], *path: str) -> Slip:
    def slip(rng: np.random.Generator, tree: Tree) -> None:
        off, place = float(rng.choice(sizes)), tree
        for each in path[:-1]:
            place = place[each]
        place[path[-1]] = [max(value + off, 1.0) for value in place[path[-1]]]

    return slip


def _edge(sides: tuple[str, ...]) -> Slip:
    def slip(rng: np.random.Generator, tree: Tree) -> None:
        more = float(np.round(2 * rng.normal(8, 1.5)) / 2)
        for side in sides:
            _out([more], "old_wheel", "hub", side, "pcd")(rng, tree)

    return slip


def _elbow(rng: np.random.Generator, tree: Tree) -> None:
    for side in SIDES:
        _out([float(rng.choice([2.0, 2.0, 2.5, 2.5, 3.0]))], "old_wheel", "lengths", side)(rng, tree)


def _own() -> dict[str, Any]:
    own: dict[str, Any] = {f"pcd to the edge, {s}": _edge((s,)) for s in SIDES}
    own["pcd to the edge, both"] = _edge(SIDES)
    own["outside of elbow"] = _elbow
    own["erd out"] = _out([-10, 10, 20, -20, 5, -5, 2, 3], "rim", "erd")
    own |= {f"lengths out, {s}": _out([10, -10, 5, 3, -3, 8], "old_wheel", "lengths", s) for s in SIDES}
    own |= {f"flange out, {s}": _out([10, -10, 5, 20], "old_wheel", "hub", s, "locknut_to_flange") for s in SIDES}
    return own


# The same names and words; other sizes. A radial side cannot be counted one cross too few: then it was the other side alone.
SLIPS = {name: (_own().get(name, slip), words) for name, (slip, words) in old_wheels.SLIPS.items()}
SLIPS["crosses"] = (SLIPS["crosses"][0], ("crosses", "miscounted"))
