"""What a jar builds of rims and hubs of unlike counts, two to one among them, against brute force over whole wheels."""

import itertools

import numpy as np
import pytest

from tests.oracles.whole_wheels import most_served
from wheelcalc import answers
from wheelcalc.answers.salvaging import jar as salvaging
from wheelcalc.files.buildfile import build_of
from wheelcalc.joined.target import target_of
from wheelcalc.measuring import assemble
from wheelcalc.salvage.cases import pattern_by_counts
from wheelcalc.salvage.jar import SpokeChoice, pooled
from wheelcalc.spokes.lengths import cut_lengths
from wheelcalc.spokes.ordering import Window
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Wire

SIDES = ("left", "right")
WIRES = {"2.0": Wire(2.0, 2.0, 2.0, butts=(0.0, 0.0)), "1.8": Wire(1.8, 1.8, 1.8, butts=(0.0, 0.0))}
COUNTS = {"narrow": (8, 16), "many": (18, 18), "few": (14, 14), "odd": (16, 18)}


def shed(seed: int, straight: bool = False) -> dict:
    rng = np.random.default_rng(seed)
    rims = [
        {"name": f"rim {holes}", "holes": holes, "erd": f"{rng.uniform(560, 600):.2f} mm", "erd_to": "spoke end"}
        for holes in (24, 32, 36)
    ]
    hubs = []
    for name, (left, right) in COUNTS.items():
        pcd = round(float(rng.uniform(40, 56)), 2)
        sides = {
            side: {"holes": holes, "pcd": pcd, "offset": round(float(rng.uniform(*at)), 2), "hole_diameter": 2.5}
            for side, holes, at in (("left", left, (29, 37)), ("right", right, (16, 22)))
        }
        if straight and name == "many":
            sides = {side: {**own, "spoke_head": "straight"} for side, own in sides.items()}
        hubs.append({"name": name, "over_locknut": 130, **sides})
    lots = [
        {"wire": wire, "on_hand": {str(length): int(rng.integers(3, 16))}, "spoke_head": "elbow"}
        for wire in WIRES
        for length in sorted(rng.choice(np.arange(262, 302), 22, replace=False).tolist())
    ]
    return {"tension": {"target": "1000 N"}, "jar": {"rims": rims, "hubs": hubs, "spokes": lots}}


def brute_force(tree: dict) -> tuple[set, dict]:
    """Every wheel of unlike counts laced whole: those for which every spoke can be served, and what the others lack."""
    jar, whole, lacking = tree["jar"], set(), {}
    lots = [
        SpokeChoice(WIRES[e["wire"]], float(n), c, "", "elbow") for e in jar["spokes"] for n, c in e["on_hand"].items()
    ]
    pools = {str(pool.wire.middle): pool for pool in pooled(lots)}
    for rim, hub in itertools.product(jar["rims"], jar["hubs"]):
        apart = rim["holes"] - sum(hub[side]["holes"] for side in SIDES)
        if abs(apart) > salvaging.MOST_HOLES_APART or (not apart and hub["left"]["holes"] == hub["right"]["holes"]):
            continue
        if any(hub[side].get("spoke_head") == "straight" for side in SIDES):
            continue
        rim_keys, hub_keys = ({key: value for key, value in part.items() if key != "name"} for part in (rim, hub))
        parts = {"rim": rim_keys, "hub": hub_keys, "tension": tree["tension"]}
        for crosses in itertools.product(range(4), repeat=2):
            for wires in itertools.product(WIRES, repeat=2):
                lacing = {"crosses": dict(zip(SIDES, crosses, strict=True))}
                spokes = {"wire": dict(zip(SIDES, wires, strict=True))}
                build = build_of({**parts, "lacing": lacing, "spokes": spokes}, "one").build
                build = build.having({"lacing.pattern": pattern_by_counts(build)})
                try:
                    wheel = assemble.wheel(build)
                except InputError:
                    continue
                target = target_of(build, wheel)
                cut = cut_lengths(wheel, target.per_spoke, target.shrink)
                own = {side: cut[wheel.lacing.on(side)] for side in SIDES}
                served = most_served(
                    own, {side: pools[w] for side, w in zip(SIDES, wires, strict=True)}, Window(2.0, 1.0)
                )
                place = (rim["name"], hub["name"], crosses, wires)
                lacking[place] = len(cut) - served
                if served == len(cut):
                    whole.add(place)
    return whole, lacking


def place_of(build) -> tuple:
    return (
        build.rim,
        build.hub,
        tuple(build.crosses[side] for side in SIDES),
        tuple(str(build.wires[side].middle) for side in SIDES),
    )


@pytest.mark.parametrize("seed", [1, 3])
def test_against_brute_force(seed: int, monkeypatch) -> None:
    for limit in ("PLANNED", "SHOWN", "NEAR_MISSES"):
        monkeypatch.setattr(salvaging, limit, 10_000)
    tree = shed(seed, straight=seed == 3)
    whole, lacking = brute_force(tree)
    assert len(whole) > 10
    assert any(crosses[0] != crosses[1] for _, _, crosses, _ in whole)
    assert any(wires[0] != wires[1] for *_, wires in whole)
    found = answers.salvage(tree).jar
    mine = {place_of(each) for each in found.whole if not (each.rim == "rim 36" and each.hub == "many")}
    assert mine == whole
    for each in found.near:
        if place_of(each) in lacking:
            assert sum(lack.count for lack in each.short_of) == lacking[place_of(each)]
            pair = [n for place, n in lacking.items() if place[:2] == (each.rim, each.hub)]
            assert lacking[place_of(each)] <= min(pair) + 1  # of nearly alike ones the one nearer in length
