"""Random builds as a mechanic could write them down: used parts that mostly go together, some with a slip; invented."""

from __future__ import annotations

from typing import Any

import numpy as np

SEATS = (349, 406, 451, 507, 559, 571, 584, 590, 622, 630, 635)  # P (makers; CT): bead seats that are made [mm]
WIDTHS = (96, 100, 110, 120, 126, 130, 135, 142, 148)  # P (makers): over the locknuts of hubs [mm]


def plausible_build(rng: np.random.Generator) -> dict[str, Any]:
    """A build as a tree of plain values; one in ten with a reading that slipped by a decimal point or a side."""
    holes = int(rng.choice([20, 24, 28, 32, 36, 40]))
    seat = int(rng.choice(SEATS))
    width = int(rng.choice(WIDTHS))
    rear = width > 110
    tree: dict[str, Any] = {
        "title": f"Random {holes} holes {seat}",
        "position": "rear" if rear else "front",
        "rim": {
            "holes": holes,
            "erd": round(float(seat - rng.uniform(8, 38)), 1),
            "erd_to": str(rng.choice(["spoke end", "nipple top"])),
            "hole_offset": float(rng.choice([0, 0, 0, round(float(rng.uniform(-2.5, 2.5)), 1)])),
        },
        "hub": {
            "over_locknut": round(width + float(rng.normal(0, 0.3)), 1),
            "phase": str(rng.choice(["staggered", "staggered", "aligned"])),
            "left": _flange(rng, holes // 2, rng.uniform(28, 37)),
            "right": _flange(rng, holes // 2, rng.uniform(41, 48) if rear else rng.uniform(28, 37)),
        },
        "lacing": {"crosses": int(rng.integers(1, 4 if holes >= 28 else 3))},
        "spokes": {"wire": str(rng.choice(["2.0", "1.8", "2.0/1.8/2.0", "2.0/1.5/2.0"]))},
        "nipple": {"material": str(rng.choice(["brass", "aluminium"]))},
    }
    if rng.random() < 0.7:
        tree["rim"]["bead_seat_diameter"] = seat
    if rng.random() < 0.4:
        tree["rim"]["tension_limit"] = f"{int(rng.integers(90, 140))} kgf"
    if rear:
        tree["hub"]["drive"] = str(rng.choice(["cassette", "freewheel", "internal gear"]))
    if rng.random() < 0.5:
        tree["frame"] = {"dropout_spacing": float(width + rng.choice([0, 0, 0, 2, 5]))}
    if rng.random() < 0.2:
        near = tree["rim"]["erd"] / 2
        tree["stock"] = {"on_hand": {str(int(near - rng.integers(0, 25))): int(rng.integers(10, 40)) for _ in range(3)}}
    if rng.random() < 0.1:
        slip(tree, rng)
    return tree


def _flange(rng: np.random.Generator, holes: int, place: float) -> dict[str, Any]:
    return {
        "holes": holes,
        "pcd": round(float(rng.uniform(38, 62)), 1),
        "locknut_to_flange": round(float(place), 1),
        "hole_diameter": round(float(rng.uniform(2.3, 2.7)), 1),
    }


def slip(tree: dict[str, Any], rng: np.random.Generator) -> None:
    """Let one reading slip as readings do."""
    left, right = tree["hub"]["left"], tree["hub"]["right"]
    which = rng.integers(0, 3)
    if which == 0:
        left["locknut_to_flange"] = round(left["locknut_to_flange"] / 10, 2)
    elif which == 1:
        right["pcd"] = round(right["pcd"] / 2, 1)
    else:
        left["locknut_to_flange"], right["locknut_to_flange"] = right["locknut_to_flange"], left["locknut_to_flange"]
