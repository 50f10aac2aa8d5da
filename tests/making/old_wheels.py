"""Random old wheels as a careful person writes them down, and the slips such a person makes; invented sizes.

Geometry, stretch and shrinking are written out here once more, so that nothing of the library makes what it is to find.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import numpy as np

SIDES = ("left", "right")
REPEATS = 3
READING, EYE, SPOKE = 0.3, 0.25, 0.15  # mm: one reading, one look into a nipple, spokes of one bundle

Tree = dict[str, Any]


def odd_wheel(rng: np.random.Generator) -> Tree:
    """A wheel as no shop sells it: every dimension by chance and by itself, no bead seat, crosses unlike; front or rear unsaid."""
    holes = int(rng.choice([24, 28, 32, 36]))
    width, erd = float(rng.uniform(95, 150)), float(rng.uniform(380, 610))
    pcd = {side: float(rng.uniform(35, 70)) for side in SIDES}
    offset = {"left": float(rng.uniform(24, 40)), "right": float(rng.uniform(13, 36))}
    crosses = {side: int(rng.choice([1, 2, 3])) for side in SIDES}
    return _written(rng, erd, pcd, offset, crosses, holes, width)


def old_wheel(rng: np.random.Generator, *, alike: float = 0.6) -> Tree:
    """A build file's tree of an old wheel, without slips; `alike`: share of hubs whose flanges are alike."""
    rear = rng.random() < 0.7
    holes = int(rng.choice([28, 32, 36]))
    seat = float(rng.choice([559, 584, 622]))
    erd = seat - rng.uniform(16, 36)
    width = float(rng.choice([126, 130, 135] if rear else [96, 100]))
    pcd = dict.fromkeys(SIDES, float(rng.uniform(38, 60)))
    if rng.random() > alike:
        pcd["left"] += float(rng.uniform(-12, 12))
    offset = {"left": rng.uniform(30, 38), "right": rng.uniform(15, 22) if rear else 0.0}
    if not rear:
        offset["right"] = offset["left"] + rng.normal(0, 0.5)
    crosses = dict.fromkeys(SIDES, int(rng.choice([2, 3], p=[0.2, 0.8])))
    tree = _written(rng, erd, pcd, offset, crosses, holes, width)
    tree["rim"]["bead_seat_diameter"] = seat
    return {"position": "rear" if rear else "front", **tree}


def _written(
    rng: np.random.Generator, erd: float, pcd: Tree, offset: Tree, crosses: Tree, holes: int, width: float
) -> Tree:
    """What a careful person writes down of a wheel."""
    wanted = lengths(erd, pcd, offset, crosses, holes, tension := float(rng.uniform(600, 1000)))
    ends = {side: rng.uniform(-2.0, 0.7) for side in SIDES}
    spoke = {side: np.round(wanted[side] + ends[side]) for side in SIDES}
    hub: Tree = {"over_locknut": _read(rng, width)}
    for side in SIDES:
        hub[side] = {"holes": holes // 2, "pcd": _read(rng, pcd[side]), "hole_diameter": 2.5}
        hub[side]["locknut_to_flange"] = _read(rng, width / 2 - offset[side])
    return {
        "rim": {"holes": holes, "erd": _read(rng, erd), "erd_to": "spoke end"},
        "old_wheel": {
            "crosses": crosses,
            "lengths": {side: _read(rng, spoke[side], SPOKE) for side in SIDES},
            "end_position": {side: _read(rng, spoke[side] - wanted[side], 0.0, EYE) for side in SIDES},
            "tension": f"{tension * rng.normal(1, 0.1):.0f} N",
            "hub": hub,
        },
    }


def lengths(erd: float, pcd: Tree, offset: Tree, crosses: Tree, holes: int, tension: float) -> dict[str, float]:
    """Spokes that end at the intended end, slack: law of cosines, less half a hole, stretch of wire and ends, the rim's shrinking.

    The ends of a spoke with an elbow: 0.20 mm/1000 N x (T / 1000 N)^-0.42, integrated; constant below 100 N.
    """
    angle = {s: np.radians(720 * crosses[s] / holes) for s in SIDES}
    spans = {
        s: float(np.sqrt((erd / 2) ** 2 + (pcd[s] / 2) ** 2 - erd * pcd[s] / 2 * np.cos(angle[s]) + offset[s] ** 2))
        for s in SIDES
    }
    pulls = {s: offset[s] / spans[s] for s in SIDES}
    tensions = {s: tension * min(pulls.values()) / pulls[s] for s in SIDES}
    hoop = holes * sum(tensions.values()) / 2 / (2 * np.pi)
    shrink = hoop * erd / 2 / (100 * 69_000)
    ends = {s: 0.2 * (0.1**0.58 + ((tensions[s] / 1000) ** 0.58 - 0.1**0.58) / 0.58) for s in SIDES}
    return {s: spans[s] - 1.25 - tensions[s] * spans[s] / (np.pi * 200_000) - ends[s] - shrink for s in SIDES}


def _read(rng: np.random.Generator, value: float, scatter: float = 0.0, error: float = READING) -> list[float]:
    """Repeats to half a millimetre."""
    values = value + rng.normal(0, error, REPEATS) + rng.normal(0, scatter, REPEATS) * (scatter > 0)
    return [float(each) for each in np.round(2 * values) / 2]


# Slips: each changes a copy of the tree in place. The names hold the words that must be found again.

Slip = Callable[[np.random.Generator, Tree], None]


def _each(values: list[float], change: Callable[[float], float]) -> list[float]:
    return [round(change(value), 2) for value in values]


def pcd_edge(side: str) -> Slip:
    def slip(rng: np.random.Generator, tree: Tree) -> None:
        more = rng.uniform(6, 11)
        for each in (side,) if side in SIDES else SIDES:
            flange = tree["old_wheel"]["hub"][each]
            flange["pcd"] = _each(flange["pcd"], lambda value: np.round(2 * (value + more)) / 2)

    return slip


def pcd_radius(rng: np.random.Generator, tree: Tree) -> None:
    for side in SIDES:
        flange = tree["old_wheel"]["hub"][side]
        flange["pcd"] = _each(flange["pcd"], lambda value: np.round(value) / 2)


def flanges_in_inches(rng: np.random.Generator, tree: Tree) -> None:
    for side in SIDES:
        flange = tree["old_wheel"]["hub"][side]
        flange["locknut_to_flange"] = _each(flange["locknut_to_flange"], lambda value: value / 25.4)


def erd_out(rng: np.random.Generator, tree: Tree) -> None:
    off = float(rng.choice([-10, 10, 5, -5, 4, -4, 20, 3]))
    tree["rim"]["erd"] = _each(tree["rim"]["erd"], lambda value: value + off)


def erd_seat(rng: np.random.Generator, tree: Tree) -> None:
    tree["rim"]["erd"] = _each(tree["rim"]["erd"], lambda value: value - 5)


def erd_radius(rng: np.random.Generator, tree: Tree) -> None:
    tree["rim"]["erd"] = _each(tree["rim"]["erd"], lambda value: np.round(value) / 2)


def lengths_out(side: str) -> Slip:
    def slip(rng: np.random.Generator, tree: Tree) -> None:
        off = float(rng.choice([4, -4, 5, -5, 6, 10, -10]))
        own = tree["old_wheel"]["lengths"]
        own[side] = _each(own[side], lambda value: value + off)

    return slip


def one_length(side: str) -> Slip:
    def slip(rng: np.random.Generator, tree: Tree) -> None:
        own = tree["old_wheel"]["lengths"][side]
        own[int(rng.integers(len(own)))] += float(rng.choice([10, -10, 5, -5]))

    return slip


def outside_elbow(rng: np.random.Generator, tree: Tree) -> None:
    more = rng.uniform(2.0, 2.8)
    own = tree["old_wheel"]["lengths"]
    for side in SIDES:
        own[side] = _each(own[side], lambda value: np.round(2 * (value + more)) / 2)


def hub_swapped(rng: np.random.Generator, tree: Tree) -> None:
    hub = tree["old_wheel"]["hub"]
    hub["left"], hub["right"] = hub["right"], hub["left"]


def lengths_swapped(rng: np.random.Generator, tree: Tree) -> None:
    own = tree["old_wheel"]["lengths"]
    own["left"], own["right"] = own["right"], own["left"]


def crosses(rng: np.random.Generator, tree: Tree) -> None:
    own = tree["old_wheel"]["crosses"]
    tree["old_wheel"]["crosses"] = {side: max(own[side] - 1, 0) for side in SIDES}


def ends_sign(rng: np.random.Generator, tree: Tree) -> None:
    own = tree["old_wheel"]["end_position"]
    for side in SIDES:
        own[side] = _each(own[side], lambda value: -value)


def from_centre(rng: np.random.Generator, tree: Tree) -> None:
    hub = tree["old_wheel"]["hub"]
    for side in SIDES:
        half = np.mean(hub["over_locknut"]) / 2
        hub[side]["locknut_to_flange"] = _each(
            hub[side]["locknut_to_flange"], lambda value, half=half: np.round(2 * (half - value)) / 2
        )


def flange_out(side: str) -> Slip:
    def slip(rng: np.random.Generator, tree: Tree) -> None:
        flange = tree["old_wheel"]["hub"][side]
        off = float(rng.choice([10, -10, 20]))
        flange["locknut_to_flange"] = _each(flange["locknut_to_flange"], lambda value: max(value + off, 1.0))

    return slip


# Name, and the words that `what` must hold; "" for a slip of both sides, which names neither.
SLIPS: dict[str, tuple[Slip, tuple[str, ...]]] = {
    **{f"pcd to the edge, {s}": (pcd_edge(s), ("pcd", s, "edge")) for s in SIDES},
    "pcd to the edge, both": (pcd_edge("both"), ("pcd", "both", "edge")),
    "pcd radius": (pcd_radius, ("pcd", "both", "radius")),
    "flanges in inches": (flanges_in_inches, ("locknut_to_flange", "both", "inches")),
    "flanges from the centre": (from_centre, ("locknut_to_flange", "both", "centre")),
    **{f"flange out, {s}": (flange_out(s), ("locknut_to_flange", s, "offset by")) for s in SIDES},
    "erd out": (erd_out, ("erd", "offset by")),
    "erd to the seat": (erd_seat, ("erd", "seat")),
    "erd radius": (erd_radius, ("erd", "radius")),
    **{f"lengths out, {s}": (lengths_out(s), ("lengths", s, "offset by")) for s in SIDES},
    **{f"one length, {s}": (one_length(s), ("lengths", s, "one reading")) for s in SIDES},
    "outside of elbow": (outside_elbow, ("lengths", "both", "outside of elbow")),
    "hub swapped": (hub_swapped, ("hub", "sides swapped")),
    "lengths swapped": (lengths_swapped, ("lengths", "sides swapped")),
    "crosses": (crosses, ("crosses", "both")),
    "sign of the ends": (ends_sign, ("end_position", "both", "sign")),
}


def hub_in_inches(rng: np.random.Generator, tree: Tree) -> None:
    for side in SIDES:
        flange = tree["old_wheel"]["hub"][side]
        flange["pcd"] = _each(flange["pcd"], lambda value: value / 25.4)


def lengths_in_inches(rng: np.random.Generator, tree: Tree) -> None:
    own = tree["old_wheel"]["lengths"]
    for side in SIDES:
        own[side] = _each(own[side], lambda value: value / 25.4)


def erd_in_inches(rng: np.random.Generator, tree: Tree) -> None:
    tree["rim"]["erd"] = _each(tree["rim"]["erd"], lambda value: value / 25.4)


# Readings that no length in mm can be: other commands refuse them, salvage must not.
IN_INCHES: dict[str, tuple[Slip, tuple[str, ...]]] = {
    "pcd in inches": (hub_in_inches, ("pcd", "both", "inches")),
    "lengths in inches": (lengths_in_inches, ("lengths", "both", "inches")),
    "erd in inches": (erd_in_inches, ("erd", "inches")),
}


def with_slip(rng: np.random.Generator, tree: Tree, name: str) -> Tree:
    """The same wheel with a slip."""
    out = copy.deepcopy(tree)
    (SLIPS | IN_INCHES)[name][0](rng, out)
    return out


def holds(what: str, words: tuple[str, ...]) -> bool:
    """Whether a phrase names the slip that was made."""
    return all(word in what for word in words)
