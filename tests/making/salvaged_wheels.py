"""Random wheels with realistic readings, for the tests of the old wheel and of the slips; invented sizes."""

from __future__ import annotations

import numpy as np

from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import build_of
from wheelcalc.joined.target import target_of

SIGMA = {"rim.erd": 0.6, "pcd": 0.2, "locknut_to_flange": 0.4, "over_locknut": 0.3}


def loading(known, wheel):
    target = target_of(known, wheel)
    return target.per_spoke, target.shrink


def random_tree(rng: np.random.Generator) -> dict:
    """A build file's tree with the errors of its readings stated."""
    holes = int(rng.choice([28, 32, 36]))
    width = float(rng.uniform(98, 142))
    tree = {
        "rim": {"holes": holes, "erd": _stated(rng.uniform(420, 610), "rim.erd"), "erd_to": "spoke end"},
        "hub": {
            "over_locknut": _stated(width, "over_locknut"),
            **{s: _flange(rng, holes, width, s) for s in ("left", "right")},
        },
        "lacing": {"crosses": {side: int(rng.choice([1, 2, 3])) for side in ("left", "right")}},
    }
    if rng.random() < 0.3:
        tree["rim"]["hole_offset"] = float(rng.choice([-3.0, 2.5]))
    return tree


def _flange(rng, holes, width, side):
    offset = rng.uniform(28, 40) if side == "left" else rng.uniform(15, 27)
    return {
        "holes": holes // 2,
        "pcd": _stated(rng.uniform(38, 62), "pcd"),
        "locknut_to_flange": _stated(width / 2 - offset, "locknut_to_flange"),
        "hole_diameter": 2.5,
    }


def _stated(value, name):
    return f"{value:.3f} +- {SIGMA[name]} mm"


def known_of(tree) -> Build:
    return build_of(tree, "random").build


def with_noise(known: Build, rng: np.random.Generator) -> Build:
    """The same readings, each off by its own error."""
    moved = {key: known.number(key) + rng.normal(0, entry.sigma) for key, entry in known.items() if entry.sigma > 0}
    return known.having(moved)
