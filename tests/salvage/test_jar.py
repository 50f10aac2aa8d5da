"""What the jar can build against brute force over whole wheels, its chances against sampling, its speed."""

import itertools
import time
from dataclasses import replace

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from tests.making.random_jars import WINDOW, random_jar
from wheelcalc import answers
from wheelcalc.salvage.jar import chance_of_lines, errors_of, pooled, search, unserved
from wheelcalc.spokes.ordering import normal_share, plan
from wheelcalc.tension import targets
from wheelcalc.wheel import lacing
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Flange, Hub, Rim
from wheelcalc.wheel.wheel import Wheel

SIDES = ("left", "right")


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


def most_served(cut, pools):
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
            inside = -WINDOW.short - 1e-9 <= length - each <= WINDOW.beyond + 1e-9
            edges[2 + i, 2 + len(lots) + j] = key == own and inside
    edges[2 + len(lots) :, 1] = 1
    return maximum_flow(csr_array(edges), 0, 1).flow_value


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


def safe(cut, pools):
    """Whether no length sits within 0.02 mm of a window's edge, where the two ways of computing stretch may differ."""
    for side in SIDES:
        ends = np.subtract.outer(pools[side].stock.lengths, cut[side])
        if min(np.abs(ends + WINDOW.short).min(), np.abs(ends - WINDOW.beyond).min()) < 0.02:
            return False
    return True


def test_against_brute_force():
    assert sum(compared_by_brute_force(seed) for seed in (1, 2, 3, 4)) > 20


def compared_by_brute_force(seed):
    """How many wheels the jar builds wholly, each of them found, each planned with as many spokes as can be served."""
    rims, hubs, spokes = random_jar(seed, spokes=26, most=24)
    pools = pooled(spokes)
    found = search(rims, hubs, pools, WINDOW, 90.0)
    places, complete = {each[:6] for each in found.enough}, 0
    for place, wheel, cut in every_wheel(rims, hubs, pools):
        own = dict(zip(SIDES, (pools[i] for i in place[4:]), strict=True))
        if not safe(cut, own):
            continue
        served = most_served(cut, own)
        whole = served == len(wheel.lacing)
        complete += whole
        if whole:
            assert place in places
        if own["left"] is own["right"]:
            everyone = np.concatenate([cut["left"], cut["right"]])
            assert len(everyone) - unserved(everyone, own["left"], WINDOW) == served
            if whole or place in places:  # what was sifted out is not planned
                holes = {side: wheel.lacing.rim_hole[wheel.lacing.on(side)] for side in SIDES}
                lines, left_out = plan(
                    cut, holes, dict.fromkeys(SIDES, 0.3), own["left"].near(everyone, WINDOW), WINDOW, 0, 0.8
                )
                assert len(left_out) == len(wheel.lacing) - served
                assert sum(line.count for line in lines) == served
    assert found.tried == sum(1 for _ in every_wheel(rims, hubs, pools))
    return complete


@pytest.mark.parametrize("seed", [1, 2])
def test_the_nearest_miss_of_a_rim_and_hub_lacks_no_more_than_any_other(seed):
    rims, hubs, spokes = random_jar(seed, spokes=8, most=14)
    pools = pooled(spokes)
    found = search(rims, hubs, pools, WINDOW, 90.0)
    lacks = {}
    for place, wheel, cut in every_wheel(rims, hubs, pools):
        own = dict(zip(SIDES, (pools[i] for i in place[4:]), strict=True))
        lacks.setdefault(place[:2], {})[place] = len(wheel.lacing) - most_served(cut, own)
    assert found.short
    for each in found.short:
        # the sieve counts spokes in reach, which is at least what can be served
        assert each.missing <= lacks[each[:2]][each[:6]]
        assert each.missing <= min(lacks[each[:2]].values())


def test_chance_against_sampling():
    rng, draws, looked_at = np.random.default_rng(0), 3000, 0
    rims, hubs, spokes = random_jar(2, spokes=26, most=60)
    pools = pooled(spokes)
    for candidate in search(rims, hubs, pools, WINDOW, 90.0).enough[::6][:5]:
        rim, hub = rims[candidate.rim], hubs[candidate.hub]
        crosses = (candidate.cross_left, candidate.cross_right)
        plain = whole_wheel(rim.rim, hub.hub, crosses)
        own = [pools[candidate.wire_left], pools[candidate.wire_right]]
        if own[0] is not own[1]:
            continue
        cut = cut_of(plain, rim, [pool.wire for pool in own])
        holes = {side: plain.lacing.rim_hole[plain.lacing.on(side)] for side in SIDES}
        stock = own[0].near(np.concatenate([*cut.values()]), WINDOW)
        lines, left_out = plan(cut, holes, dict.fromkeys(SIDES, 0.3), stock, WINDOW, 0, 0.8)
        if left_out:
            continue
        looked_at += 1
        said = chance_of_lines(lines, errors_of(plain, rim.sigma, hub.sigma), WINDOW)
        length = np.zeros(len(plain.lacing))
        for line in lines:
            length[np.isin(plain.lacing.rim_hole, line.rim_holes)] = line.length
        ends = np.zeros(len(length))
        for side in SIDES:
            mask = plain.lacing.on(side)
            ends[mask] = length[mask] - cut[side]
        hits = 0
        for _ in range(draws):
            erd, flanges = rim.rim.erd + rng.normal(0, rim.sigma), {}
            for side in SIDES:
                flange, (pcd, offset) = hub.hub.flange(side), hub.sigma[side]
                moved = (flange.pcd + rng.normal(0, pcd), flange.offset + rng.normal(0, offset))
                flanges[side] = Flange(flange.holes, *moved, flange.hole_diameter, spoke_head=flange.spoke_head)
            wheel = Wheel(
                Rim(rim.rim.holes, erd, rim.rim.hole_offset, rim.rim.hole_stagger),
                Hub(flanges["left"], flanges["right"], 130.0, hub.hub.phase),
                plain.lacing,
            )
            now = ends - (wheel.lengths - plain.lengths)
            hits += now.min() >= -WINDOW.short and now.max() <= WINDOW.beyond
        assert said == pytest.approx(hits / draws, abs=3 * np.sqrt(0.25 / draws) + 0.012)
    assert looked_at >= 2


SHED = {
    "rim": {"holes": 36, "erd": "602.4 +- 0.3 mm", "erd_to": "spoke end"},
    "hub": {
        "over_locknut": 130,
        "left": {"holes": 18, "pcd": 45, "offset": 34.1},
        "right": {"holes": 18, "pcd": 45, "offset": 21.2},
    },
    "lacing": {"crosses": 3},
    "tension": {"target": "1000 N"},
}


def shed(*on_hand, **more):
    return {
        **SHED,
        **more,
        "jar": {"spokes": [{"wire": "2.0", "on_hand": each} for each in on_hand], **more.get("jar", {})},
    }


def of_three(found):
    return [each for each in found.jar.builds if set(each.crosses.values()) == {3}]


def test_lots_of_one_length_are_pooled_and_a_side_mixes_lengths_as_an_order_does():
    cut = {side: each.cut for side, each in answers.lengths(SHED).sides.items()}
    near = {side: round(value - 0.5) for side, value in cut.items()}
    low, high = str(near["left"]), str(near["left"] + 1)
    jar = shed({high: 5, low: 12}, {high: 5, str(near["right"] - 1): 30})
    found = of_three(answers.salvage(jar))
    assert found[0].short_of == ()
    ordered = answers.order({**SHED, "stock": {"on_hand": {low: 12, high: 10, str(near["right"] - 1): 30}}})
    assert [(line.side, line.length, line.rim_holes) for line in found[0].lines] == [
        (line.side, line.length, line.rim_holes) for line in ordered.lines
    ]


def test_lines_are_as_sure_as_those_of_an_order():
    cut = {side: each.cut for side, each in answers.lengths(SHED).sides.items()}
    near = {side: round(value + 0.6) for side, value in cut.items()}  # near the window's edge, where the error counts
    on_hand = {str(length): 18 for length in near.values()}
    ordered = answers.order({**SHED, "stock": {"on_hand": on_hand}})
    build = of_three(answers.salvage(shed(on_hand)))[0]
    assert [line.chance for line in build.lines] == pytest.approx([line.chance for line in ordered.lines], abs=0.01)
    assert max(line.chance for line in ordered.lines) < 0.999


@pytest.mark.parametrize("end_give", [0, 0.4])
def test_what_the_ends_of_the_spokes_give_counts_in_the_sieve_too(end_give):
    tree = {**SHED, "spokes": {"end_give": end_give}}
    cut = {side: each.cut for side, each in answers.lengths(tree).sides.items()}
    # half a tenth inside the window's edge by the give stated, outside of it by the usual one
    at = {side: round(value + (0.95 if end_give else -1.95), 2) for side, value in cut.items()}
    jar = {**tree, "jar": {"spokes": [{"wire": "2.0", "on_hand": {str(length): 18 for length in at.values()}}]}}
    assert any(set(each.crosses.values()) == {3} for each in answers.salvage(jar).jar.whole)


def test_a_near_miss_says_what_to_buy_and_what_could_be_cut():
    cut = {side: each.cut for side, each in answers.lengths(SHED).sides.items()}
    near = {side: round(value - 0.5) for side, value in cut.items()}
    jar = shed({str(near["left"]): 12, str(near["right"] - 1): 18, str(near["left"] + 14): 9})
    build = answers.salvage(jar).as_json()["builds"][0]
    (lack,) = build["short_of"]
    assert (lack["side"], lack["length_mm"], lack["count"]) == ("left", near["left"], 6)
    assert lack["or_cut_from"] == [{"length_mm": near["left"] + 14, "count": 9}]
    assert "thread roller" in lack["tool"]
    bought = shed({str(near["left"]): 18, str(near["right"] - 1): 18})
    assert any(each.short_of == () for each in of_three(answers.salvage(bought)))


def test_a_butted_spoke_is_not_cut_through_its_thick_end():
    # D: 25 mm of thick end, 10 of thread: 15 may come off
    cut = {side: each.cut for side, each in answers.lengths({**SHED, "spokes": {"wire": "2.0/1.8/2.0"}}).sides.items()}
    near = {side: round(value - 0.5) for side, value in cut.items()}
    on_hand = {str(near["left"]): 12, str(near["right"] - 1): 18, str(near["left"] + 15): 3, str(near["left"] + 16): 9}
    jar = {**SHED, "jar": {"spokes": [{"wire": "2.0/1.8/2.0", "on_hand": on_hand}]}}
    (lack,) = answers.salvage(jar).as_json()["builds"][0]["short_of"]
    assert lack["or_cut_from"] == [{"length_mm": near["left"] + 15, "count": 3}]


def test_rims_and_hubs_of_unequal_counts_are_tried_too():
    odd = {"rims": [{"name": "odd rim", "holes": 40, "erd": "602.4 +- 0.3 mm", "erd_to": "spoke end"}]}
    every = {str(length): 40 for length in range(270, 305)}
    found = answers.salvage(shed(every, jar=odd)).as_json()["builds"]
    uneven = [build for build in found if build["rim"] == "odd rim"]
    assert uneven
    assert {build["pattern"] for build in uneven} == {"uneven counts"}
    for build in uneven:
        assert sum(line["count"] for line in build["lines"]) == 36
        assert build["short_of"] == []


@pytest.mark.parametrize(
    ("keys", "serve", "why"),
    [
        ({}, 36, ""),
        ({"thread": "worn"}, 0, "threads"),
        ({"condition": "bent or rusty"}, 0, "bent"),
        ({"broken": 2}, 0, "broke"),
        ({"broken": 1}, 36, ""),
        ({"spoke_head": "straight"}, 36, ""),
    ],
)
def test_which_old_spokes_may_serve_again(keys, serve, why):
    cut = {side: each.cut for side, each in answers.lengths(SHED).sides.items()}
    on_hand = {str(round(value - 0.5) - (side == "right") * 0): 18 for side, value in cut.items()}
    tree = {**SHED, "jar": {"spokes": [{"wire": "2.0", "on_hand": on_hand, "taken_from": "left", **keys}]}}
    answer = answers.salvage(tree)
    old = answer.as_json()["old_spokes"]
    assert (old["of"], old["may_serve"]) == (36, serve)
    assert all(why in each for each in old["refused"])
    # straight heads do not go into a flange for elbows
    assert bool(answer.jar.whole) == (serve == 36 and "spoke_head" not in keys)
    assert ("one-spoke-broke" in {finding.name for finding in answer.findings}) == (keys.get("broken") == 1)


def test_a_shed_of_forty_lots_ten_rims_and_ten_hubs_in_two_seconds():
    rng = np.random.default_rng(7)
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
    lots = [
        {
            "wire": str(rng.choice(["2.0", "1.8", "2.0/1.8/2.0"])),
            "on_hand": {str(int(rng.integers(255, 300))): int(rng.integers(4, 40))},
        }
        for _ in range(40)
    ]
    start = time.process_time()
    answer = answers.salvage({"tension": {"target": "1000 N"}, "jar": {"rims": rims, "hubs": hubs, "spokes": lots}})
    taken = time.process_time() - start
    assert answer.jar.whole
    assert answer.jar.near
    assert taken < 2.0  # of the processor, whatever else runs on it; 1 s when this was written


@given(st.lists(st.floats(-40, 40), min_size=1, max_size=20))
def test_normal_share_against_scipy(values):
    z = np.array(values)
    np.testing.assert_allclose(normal_share(z), scipy.stats.norm.cdf(z), atol=1e-7)


def test_a_jar_beyond_memory_is_refused():
    rims, hubs, spokes = random_jar(6, rims=20, hubs=20, spokes=200)
    many = [each._replace(wire=each.wire) if hasattr(each, "_replace") else each for each in spokes]
    pools = [pooled([each])[0] for each in many]
    with pytest.raises(InputError, match="combinations"):
        search(rims, hubs, pools, WINDOW, 90.0)
