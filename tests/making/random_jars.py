"""Random drawers of rims, hubs and spokes for the jar search."""

import numpy as np

from wheelcalc.salvage.jar import HubChoice, RimChoice, SpokeChoice
from wheelcalc.spokes.ordering import Window
from wheelcalc.wheel.parts import Flange, Hub, Rim, Wire

SIDES = ("left", "right")
WINDOW = Window(short=1.7, beyond=0.9)
BUTTED, PLAIN = Wire(2.0, 1.8, 2.0), Wire(2.3, 2.3, 2.3, butts=(0.0, 0.0))


def random_jar(seed, rims=3, hubs=3, spokes=9, most=44):
    rng = np.random.default_rng(seed)
    rim_choices = [
        RimChoice(
            f"rim {i}",
            Rim(int(rng.choice([28, 32, 36])), rng.uniform(560, 605), rng.choice([0.0, 2.5]), rng.choice([0.0, 1.5])),
            sigma=rng.uniform(0.1, 0.8),
            tension=rng.uniform(700, 1300),
            give=rng.uniform(2e-5, 6e-5),
        )
        for i in range(rims)
    ]
    hub_choices = []
    for i in range(hubs):
        holes = int(rng.choice([14, 16, 18]))
        left, right = (
            Flange(holes, rng.uniform(38, 60), rng.uniform(*at), 2.6, spoke_head=str(rng.choice(["elbow", "straight"])))
            for at in ((28, 38), (14, 24))
        )
        sigma = {side: (rng.uniform(0.05, 0.5), rng.uniform(0.05, 0.5)) for side in ("left", "right")}
        hub_choices.append(
            HubChoice(f"hub {i}", Hub(left, right, 130.0, str(rng.choice(["staggered", "aligned"]))), sigma)
        )
    spoke_choices = [
        SpokeChoice(
            BUTTED if i % 2 else PLAIN, float(rng.uniform(255, 300)), int(rng.integers(4 if most < 44 else 12, most))
        )
        for i in range(spokes)
    ]
    return rim_choices, hub_choices, spoke_choices


def random_shed(seed: int, lots: int = 40):
    """A build file's tree of a shed: ten rims, ten hubs, so many lots of spokes; the same rims and hubs whatever the lots."""
    rng = np.random.default_rng(seed)
    rims = [
        {
            "name": f"rim {i}",
            "holes": int(rng.choice([28, 32, 36])),
            "erd": float(rng.uniform(540, 606)),
            "erd_to": "spoke end",
        }
        for i in range(10)
    ]
    hubs = []
    for i in range(10):
        holes = int(rng.choice([14, 16, 18]))
        flange = {"holes": holes, "pcd": float(rng.uniform(38, 60)), "offset": float(rng.uniform(17, 36))}
        hubs.append({"name": f"hub {i}", "over_locknut": 130, "left": {**flange, "offset": 34}, "right": flange})
    spokes = [
        {
            "wire": str(rng.choice(["2.0", "1.8", "2.0/1.8/2.0"])),
            "on_hand": {str(int(rng.integers(255, 300))): int(rng.integers(4, 40))},
        }
        for _ in range(lots)
    ]
    return {"tension": {"target": "1000 N"}, "jar": {"rims": rims, "hubs": hubs, "spokes": spokes}}
