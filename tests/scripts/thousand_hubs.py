"""Which of a thousand hubs suits one rim and one frame: lengths, evenness and spacers of all of them in one call."""

from __future__ import annotations

import numpy as np

from wheelcalc import batch

COUNT, ERD, FRAME = 1000, 602.4, 130.0
IN_THE_JAR = 291.0  # mm, the spokes that are there


def hubs() -> dict[str, np.ndarray]:
    """Invented hubs, a column each [mm]."""
    rng = np.random.default_rng(11)
    return {
        "left_pcd": rng.uniform(38, 58, COUNT),
        "right_pcd": rng.uniform(41, 62, COUNT),
        "left_offset": rng.uniform(28, 38, COUNT),
        "right_offset": rng.uniform(15, 24, COUNT),
        "over_locknut": rng.choice([120.0, 126.0, 130.0], COUNT),
    }


def best(most: int = 5) -> list[dict[str, float]]:
    """The hubs whose left spokes the jar serves, the most even first."""
    hub = hubs()
    wheels = batch.Wheels(
        erd=ERD,
        holes=36,
        crosses=3,
        pcd={"left": hub["left_pcd"], "right": hub["right_pcd"]},
        offset={"left": hub["left_offset"], "right": hub["right_offset"]},
    )
    plans = wheels.spacer_plans(FRAME - hub["over_locknut"], most=1)
    chance = batch.chances(wheels.cut_lengths(1000.0)["left"], IN_THE_JAR, sigma=0.4)
    evenness = np.minimum(plans.tension_ratio[:, 0], 1 / plans.tension_ratio[:, 0])
    order = np.argsort(-np.where(chance > 0.95, evenness, -1.0))[:most]
    return [
        {
            "hub": float(i),
            "evenness": float(evenness[i]),
            "left_spacer": float(plans.left[i, 0]),
            "right_spacer": float(plans.right[i, 0]),
            "chance": float(chance[i]),
        }
        for i in order
    ]


if __name__ == "__main__":
    rows = best()
    for row in rows:
        print(row)
