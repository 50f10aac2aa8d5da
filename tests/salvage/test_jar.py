"""The jar search against brute force over whole wheels, its chances against sampling, its speed."""

import itertools
import time

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from tests.making.random_jars import WINDOW, random_jar
from wheelcalc.salvage.jar import HubChoice, RimChoice, SpokeChoice, normal_share, search
from wheelcalc.tension import targets
from wheelcalc.wheel import lacing
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import Flange, Hub, Rim, Wire
from wheelcalc.wheel.wheel import Wheel


def whole_wheel(rim, hub, crosses):
    pattern = lacing.crossed(rim.holes, dict(zip(("left", "right"), crosses, strict=True)), rim.first_hole, hub.phase)
    return Wheel(rim, hub, pattern)


def by_hand(rims, hubs, spokes, widest=90.0):
    """Every wheel built whole and looked at, one after the other: the ends of each side, least and most."""
    found = {}
    for (r, rim), (h, hub) in itertools.product(enumerate(rims), enumerate(hubs)):
        holes = hub.hub.left.holes
        if 2 * holes != rim.rim.holes:
            continue
        able = [k for k in range(8) if 360 * k / holes <= widest and (k == 0 or holes % 2 == 0)]
        for crosses in itertools.product(able, able):
            wheel = whole_wheel(rim.rim, hub.hub, crosses)
            tensions = targets.per_spoke(wheel, targets.by_side(wheel, rim.tension))
            shrink = targets.hoop_force(wheel, tensions) * rim.give
            for left, right in itertools.product(range(len(spokes)), repeat=2):
                need = holes * (1 + (left == right))
                if min(spokes[left].count, spokes[right].count) < need:
                    continue
                ends = []
                for side, place in (("left", left), ("right", right)):
                    mask = wheel.lacing.on(side)
                    flexible = np.array([spokes[place].wire.flexibility(span) for span in wheel.spans[mask]])
                    own = spokes[place].length - wheel.lengths[mask] + tensions[mask] * flexible + shrink
                    ends.append((own.min(), own.max()))
                found[(r, h, *crosses, left, right)] = ends
    return found


def margin(ends):
    return min(min(low + WINDOW.short, WINDOW.beyond - high) for low, high in ends)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_against_brute_force(seed):
    rims, hubs, spokes = random_jar(seed)
    expected = by_hand(rims, hubs, spokes)
    found = search(rims, hubs, spokes, WINDOW, 90.0)
    places = {build[:6]: build for build in found.builds}
    # Butted wire shorter than its thick ends aside, the two compute the same; only ends on the very edge may differ.
    assert set(places) == {place for place, ends in expected.items() if margin(ends) >= 0}
    assert found.landing == len(places)
    for place, build in places.items():
        low, high = zip(*expected[place], strict=True)
        assert [build.end_left, build.end_right] == pytest.approx(
            [(a + b) / 2 for a, b in zip(low, high, strict=True)], abs=0.02
        )


def test_brute_force_sees_something():
    landings = [sum(margin(ends) >= 0 for ends in by_hand(*random_jar(seed)).values()) for seed in (1, 2, 3, 4)]
    assert sum(landings) > 20


def test_chance_against_sampling():
    rims, hubs, spokes = random_jar(2, spokes=14)
    rng, draws = np.random.default_rng(0), 3000
    builds = search(rims, hubs, spokes, WINDOW, 90.0).builds
    chances = [build.chance for build in builds]
    assert chances == sorted(chances, reverse=True)
    for build in [builds[i] for i in np.linspace(0, len(builds) - 1, 5).astype(int)]:
        rim, hub, hits = rims[build.rim], hubs[build.hub], 0
        crosses = (build.cross_left, build.cross_right)
        plain = whole_wheel(rim.rim, hub.hub, crosses)
        for _ in range(draws):
            erd = rim.rim.erd + rng.normal(0, rim.sigma)
            flanges = {}
            for side in ("left", "right"):
                flange, (pcd, offset) = hub.hub.flange(side), hub.sigma[side]
                moved = (flange.pcd + rng.normal(0, pcd), flange.offset + rng.normal(0, offset))
                flanges[side] = Flange(flange.holes, *moved, flange.hole_diameter, spoke_head=flange.spoke_head)
            wheel = Wheel(
                Rim(rim.rim.holes, erd, rim.rim.hole_offset, rim.rim.hole_stagger),
                Hub(flanges["left"], flanges["right"], 130.0, hub.hub.phase),
                plain.lacing,
            )
            low, high = [], []
            for side, mean in (("left", build.end_left), ("right", build.end_right)):
                mask = wheel.lacing.on(side)
                ends = mean - (wheel.lengths[mask] - plain.lengths[mask].mean())
                low.append(ends.min())
                high.append(ends.max())
            hits += min(low) >= -WINDOW.short and max(high) <= WINDOW.beyond
        sure = 3 * np.sqrt(0.25 / draws) + 0.012
        assert build.chance == pytest.approx(hits / draws, abs=sure)


def test_thousands_of_combinations_well_under_a_second():
    rims, hubs, spokes = random_jar(5, rims=8, hubs=8, spokes=24)
    start = time.perf_counter()
    found = search(rims, hubs, spokes, WINDOW, 90.0)
    assert found.tried > 100_000
    assert time.perf_counter() - start < 2.0  # 0.2 s alone on an idle core


@given(st.lists(st.floats(-40, 40), min_size=1, max_size=20))
def test_normal_share_against_scipy(values):
    z = np.array(values)
    np.testing.assert_allclose(normal_share(z), scipy.stats.norm.cdf(z), atol=1e-7)


def test_one_length_for_both_sides_needs_twice_as_many():
    rim = RimChoice("rim", Rim(32, 600.0), 0.1, 1000.0, 4e-5)
    flange = Flange(16, 45.0, 30.0, 2.5)
    hub = HubChoice("hub", Hub(flange, flange, 100.0), {"left": (0.1, 0.1), "right": (0.1, 0.1)})
    # D: sqrt(300^2 + 22.5^2 - 2 x 300 x 22.5 cos 67.5 + 30^2) - 1.25 = 293.02, less stretch and shrinking
    for count, expected in ((31, 0), (32, 1)):
        jar = [SpokeChoice(Wire(), 292.4, count)]
        builds = search([rim], [hub], jar, WINDOW, 90.0).builds
        assert sum((b.cross_left, b.cross_right) == (3, 3) for b in builds) == expected


def test_a_jar_beyond_memory_is_refused():
    rims, hubs, spokes = random_jar(6, rims=20, hubs=20, spokes=200)
    with pytest.raises(InputError, match="combinations"):
        search(rims, hubs, spokes, WINDOW, 90.0)
