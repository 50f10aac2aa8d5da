"""Every wheel of a jar built whole, one after the other: what the jar's search is held against, in results and in time."""

import itertools
from dataclasses import replace

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from tests.making.random_jars import SIDES
from wheelcalc import lacing
from wheelcalc.tension import targets
from wheelcalc.wheel.wheel import Wheel


def whole_wheel(rim, hub, crosses):
    pattern = lacing.crossed(rim.holes, dict(zip(SIDES, crosses, strict=True)), rim.first_hole, hub.phase)
    return Wheel(rim, hub, pattern)


def cut_of(wheel, rim, wires):
    """Length that each spoke would have to be, one side's wire each."""
    tensions = targets.per_spoke(wheel, targets.by_side(wheel, rim.tension))
    shrink = targets.hoop_force(wheel, tensions) * rim.give
    out = {}
    for side, wire in zip(SIDES, wires, strict=True):
        mask = wheel.lacing.on(side)
        out[side] = wheel.lengths[mask] - replace(wheel, wires=wire).stretches(tensions)[mask] - shrink
    return out


def every_wheel(rims, hubs, pools, widest=90.0):
    """Every wheel of half the rim's holes on each flange, built whole, one after the other."""
    for (r, rim), (h, hub) in itertools.product(enumerate(rims), enumerate(hubs)):
        holes = hub.hub.left.holes
        if 2 * holes != rim.rim.holes:
            continue
        able = [k for k in range(8) if 360 * k / holes <= widest and (k == 0 or holes % 2 == 0)]
        for crosses in itertools.product(able, able):
            wheel = whole_wheel(rim.rim, hub.hub, crosses)
            for a, b in itertools.product(range(len(pools)), repeat=2):
                yield (r, h, *crosses, a, b), wheel, cut_of(wheel, rim, (pools[a].wire, pools[b].wire))


def most_served(cut, pools, window):
    """The most spokes that the jar can serve: maximum flow from lots to spokes (scipy), no order and no greed in it."""
    ids = [id(pools[side]) for side in SIDES]
    lots = [
        (key, length, count)
        for key, pool in dict(zip(ids, pools.values(), strict=True)).items()
        for length, count in zip(pool.stock.lengths, pool.stock.counts, strict=True)
    ]
    spokes = [(key, each) for key, side in zip(ids, SIDES, strict=True) for each in cut[side]]
    size = 2 + len(lots) + len(spokes)
    edges = np.zeros((size, size), dtype=np.int32)
    for i, (key, length, count) in enumerate(lots):
        edges[0, 2 + i] = count
        for j, (own, each) in enumerate(spokes):
            inside = -window.short - 1e-9 <= length - each <= window.beyond + 1e-9
            edges[2 + i, 2 + len(lots) + j] = key == own and inside
    edges[2 + len(lots) :, 1] = 1
    return maximum_flow(csr_array(edges), 0, 1).flow_value
