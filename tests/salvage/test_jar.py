"""What the jar can build against brute force over whole wheels, its chances against sampling, its speed."""

from collections import Counter

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from tests.making.random_jars import SIDES, WINDOW, random_jar, random_shed
from tests.oracles.whole_wheels import cut_of, every_wheel, most_served, whole_wheel
from wheelcalc import answers
from wheelcalc.answers.salvaging import jar
from wheelcalc.salvage.jar import SpokeChoice, chance_of_lines, errors_of, pooled, search, unserved
from wheelcalc.spokes.ordering import Line, Window, normal_share, plan
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Flange, Hub, Rim, Wire
from wheelcalc.wheel.wheel import Wheel


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
        served = most_served(cut, own, WINDOW)
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
        lacks.setdefault(place[:2], {})[place] = len(wheel.lacing) - most_served(cut, own, WINDOW)
    assert found.short
    for each in found.short:
        # the sieve counts spokes in reach, which is at least what can be served
        assert each.missing <= lacks[each[:2]][each[:6]]
        assert each.missing <= min(lacks[each[:2]].values())


def test_room_is_how_far_the_nearest_length_lies_from_the_middle_of_the_window():
    """D: of the worse side, less what its own lengths spread about their middle; by whole wheels, one at a time."""
    rims, hubs, spokes = random_jar(2, spokes=26, most=60)
    pools = pooled(spokes)
    rooms = {each[:6]: each.room for each in search(rims, hubs, pools, WINDOW, 90.0).enough}
    looked_at = apart = 0
    for place, _, cut in every_wheel(rims, hubs, pools):
        if place in rooms:
            away = []
            for side, pool in zip(SIDES, (pools[i] for i in place[4:]), strict=True):
                least, most = cut[side].min(), cut[side].max()
                middle = (least + most) / 2 + (WINDOW.beyond - WINDOW.short) / 2
                away.append(min(abs(np.array(pool.stock.lengths) - middle)) - (most - least) / 2)
            assert rooms[place] == pytest.approx(max(*away, 0.0), abs=0.02)
            looked_at, apart = looked_at + 1, apart + (max(away) > 0.1)
    assert looked_at > 20
    assert apart > 5


def test_an_error_of_the_rim_moves_both_sides_together():
    """D: of one shared error alone both sides fit or neither does; of errors of their own they fit apart."""
    lines = [Line(side, 290.0, (1, 3), -0.4, -0.4, -0.4, 0.0) for side in SIDES]
    window = Window(short=1.7, beyond=0.9)
    alone = scipy.stats.norm.cdf(1.3 / 0.83) - scipy.stats.norm.cdf(-1.3 / 0.83)
    together = chance_of_lines(lines, dict.fromkeys(SIDES, (0.83, 1e-6)), window)
    apart = chance_of_lines(lines, dict.fromkeys(SIDES, (1e-6, 0.83)), window)
    assert together == pytest.approx(alone, abs=0.012)  # the shared error goes by steps, whose corners are rounded off
    assert apart == pytest.approx(alone**2, abs=0.005)


def test_a_spoke_whose_end_lies_at_the_edge_of_the_window_serves():
    pool = pooled([SpokeChoice(Wire(2.0, 2.0, 2.0), 291.0, 1)])[0]
    assert unserved(np.array([290.0]), pool, Window(short=2.0, beyond=1.0)) == 0
    assert unserved(np.array([293.0]), pool, Window(short=2.0, beyond=1.0)) == 0
    assert unserved(np.array([289.99]), pool, Window(short=2.0, beyond=1.0)) == 1


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


def test_a_shed_of_forty_lots_ten_rims_and_ten_hubs_builds_no_more_wheels_than_it_shows(monkeypatch):
    """All patterns are sifted as arrays; whole wheels are built of those planned and shown only, however many lots there are."""
    built = Counter()

    def counted(name):
        plain = getattr(jar, name)

        def call(*args, **keys):
            built[name] += 1
            return plain(*args, **keys)

        monkeypatch.setattr(jar, name, call)

    for name in ("wheel_of", "plan", "search", "fit"):
        counted(name)
    wheels = []
    for lots in (10, 20, 40):
        built.clear()
        tree = random_shed(7, lots)
        answer = answers.salvage(tree)
        assert answer.jar.whole
        rims, hubs = (
            [sum(part["holes"] for part in parts(each)) for each in tree["jar"][kind]] for kind, parts in PARTS.items()
        )
        uneven = sum(0 < abs(rim - hub) <= jar.MOST_HOLES_APART for rim in rims for hub in hubs)
        assert uneven > 20
        planned = jar.PLANNED + 3 * jar.NEAR_MISSES
        assert built["search"] == 1
        assert built["fit"] <= 10
        assert built["wheel_of"] <= 4 * uneven + planned + jar.SHOWN + jar.NEAR_MISSES
        assert built["plan"] <= 6 * planned  # each side by itself, what lacks of each, with lengths in use and anew
        wheels.append(built["wheel_of"])
    assert answer.jar.near
    assert answer.jar.landing > 5 * jar.PLANNED  # of these one at a time would be planned without the sieve
    assert answer.jar.tried > 5000
    assert wheels[-1] <= 1.3 * wheels[0]


PARTS = {"rims": lambda rim: [rim], "hubs": lambda hub: [hub[side] for side in SIDES]}


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
