"""Round trips of every measuring method (make a part, compute the readings from coordinates, recover it) and its error."""

import math

import html5lib
import numpy as np
import pytest
import scipy.stats
import uncertainties
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import umath

from tests.making.builds import with_keys
from wheelcalc import answers
from wheelcalc.files.buildfile import build_of
from wheelcalc.measuring import readings as taken
from wheelcalc.measuring.methods import METHODS
from wheelcalc.measuring.statistics import chi_square_chance, odd_repeat, weighted_mean
from wheelcalc.measuring.working import FORMULAS
from wheelcalc.wheel.errors import InputError

PCD = st.floats(28.0, 120.0)
HOLE = st.floats(2.2, 3.1)


def found(readings, **keys):
    """Build from readings, by key; `keys` as with_keys takes them."""
    tree = with_keys(**keys)
    tree["readings"] = readings
    return {each.key: each for each in taken.measured(build_of(tree, "test").build)}


def on_circle(pcd, angle_deg):
    return np.array([pcd / 2 * math.cos(math.radians(angle_deg)), pcd / 2 * math.sin(math.radians(angle_deg))])


@given(st.floats(200, 310), st.floats(-90, 150))
def test_two_spokes_round_trip(length, gap):
    # Points on a line: one elbow, its spoke's end at the rim, the other spoke's end, the other elbow.
    ends = np.array([gap / 2 + length, -gap / 2 - length])
    measured = found({"rim": {"two_spokes": {"length": length, "gap": gap}}})["rim.erd"]
    assert measured.mean.value == pytest.approx(ends[0] - ends[1], abs=1e-9)


@given(st.floats(300, 640), st.floats(4, 30), st.floats(0.5, 1.6))
def test_outside_circumference_round_trip(erd, depth, slot):
    outside = erd + 2 * (slot + depth)
    readings = {"rim": {"outside_circumference": math.pi * outside, "head_depth": depth}}
    measured = found(readings, nipple={"slot_depth": slot})["rim.erd"]
    assert measured.mean.value == pytest.approx(erd, abs=1e-9)


@given(st.floats(300, 640), st.floats(0.7, 4.0), st.floats(1.0, 9.0))
def test_inside_diameter_round_trip(erd, wall, seat_to_end):
    # The seat is the outer face of the inner wall; the spoke's end lies further out by seat_to_end.
    readings = {"rim": {"inside_diameter": erd - 2 * seat_to_end - 2 * wall, "wall": wall}}
    measured = found(readings, nipple={"seat_to_end": seat_to_end})["rim.erd"]
    assert measured.mean.value == pytest.approx(erd, abs=1e-9)


@given(PCD, HOLE)
def test_hole_edges_round_trip(pcd, hole):
    first, opposite = on_circle(pcd, 11.0), on_circle(pcd, 191.0)
    apart = float(np.linalg.norm(first - opposite))
    near, far = apart - hole, apart + hole
    both = found({"hub": {"left": {"near_edges": near, "far_edges": far}}})
    assert both["hub.left.pcd"].mean.value == pytest.approx(pcd, abs=1e-9)
    assert both["hub.left.hole_diameter"].mean.value == pytest.approx(hole, abs=1e-9)
    for name, value in (("near_edges", near), ("far_edges", far)):
        one = found({"hub": {"left": {name: value}}}, hub__left__hole_diameter=hole)["hub.left.pcd"]
        assert one.mean.value == pytest.approx(pcd, abs=1e-9)


@given(PCD, st.sampled_from([14, 16, 18, 20, 24]), st.data())
def test_chord_round_trip(pcd, holes, data):
    over = data.draw(st.integers(1, holes - 1))
    length = float(np.linalg.norm(on_circle(pcd, 5.0) - on_circle(pcd, 5.0 + over * 360 / holes)))
    tree = {"hub": {"right": {"chord": {"over": over, "length": length}}}}
    measured = found(tree, hub__right__holes=holes, hub__right__pcd=None)["hub.right.pcd"]
    assert measured.mean.value == pytest.approx(pcd, rel=1e-9)


@given(st.floats(15, 45), st.floats(15, 45), st.floats(95, 150), st.floats(1.5, 6), st.floats(1.5, 6))
def test_flange_distances_round_trip(left, right, width, thin, thick):
    # Places along the axle, from the left locknut's face.
    left_middle, right_middle = width / 2 - left, width / 2 + right
    outer = (right_middle + thick / 2) - (left_middle - thin / 2)
    readings = {
        "over_locknut": width,
        "hub": {"left": {"locknut_to_outer_face": left_middle - thin / 2}, "outer_faces": outer},
    }
    parts = {"hub__left__thickness": thin, "hub__right__thickness": thick}
    got = found(readings, **parts, hub__over_locknut=None, hub__left__locknut_to_flange=None)
    assert got["hub.left.locknut_to_flange"].mean.value == pytest.approx(left_middle, abs=1e-9)
    assert got["hub.right.locknut_to_flange"].mean.value == pytest.approx(width - right_middle, abs=1e-9)
    assert got["hub.flange_distance"].mean.value == pytest.approx(right_middle - left_middle, abs=1e-9)


@pytest.mark.parametrize("crosses", [0, 1, 2, 3])
@pytest.mark.parametrize(("pcd", "sticks_out", "rim_moves"), [(44.2, 2.5, 0.0), (58.9, -3.5, 2.4)])
def test_known_straight_spoke_round_trip(crosses, pcd, sticks_out, rim_moves):
    keys = {
        "hub__left__spoke_head": "straight",
        "hub__left__pcd": pcd,
        "lacing__crosses": {"left": crosses, "right": 3},
        "rim__hole_offset": rim_moves,
    }
    # The wheel's own points in space, not the method's formula.
    length = answers.lengths(with_keys(**keys)).wheel.lengths
    left = answers.lengths(with_keys(**keys)).wheel.lacing.on("left")
    whole = float(length[left].mean()) + sticks_out
    keys["hub__left__pcd"] = None
    readings = {"hub": {"left": {"known_spoke": {"length": whole, "sticks_out": sticks_out}}}}
    assert found(readings, **keys)["hub.left.pcd"].mean.value == pytest.approx(pcd, abs=1e-6)


def test_known_straight_spoke_wants_the_spoke_end_of_an_erd_read_elsewhere():
    keys = {"hub__left__spoke_head": "straight", "hub__left__pcd": None, "nipple": {"seat_to_end": 3.4}}
    readings = {"hub": {"left": {"known_spoke": {"length": 290, "sticks_out": 1.2}}}}
    to_end = found(readings, **keys, rim__erd=600.2)["hub.left.pcd"]
    to_seat = found(readings, **keys, rim__erd=600.2 - 6.8, rim__erd_to="nipple seat")["hub.left.pcd"]
    assert to_seat.mean.value == pytest.approx(to_end.mean.value, abs=1e-9)


def test_chain_readings():
    readings = {
        "crank": {"seat_tube_to_ring": 29.2, "seat_tube_diameter": 28.6},
        "cogs": {"locknut_to_face": 3.1, "thickness": 1.8, "stack": 35.4},
        "hub": {"rotor_depth": 15.2, "body_length": 34.9},
    }
    got = found(readings, cogs={"count": 8})
    # D: 29.2 + 14.3; 3.1 + 0.9; (35.4 - 1.8)/7
    assert got["crank.chainline"].mean.value == pytest.approx(43.5)
    assert got["cogs.locknut_to_smallest"].mean.value == pytest.approx(4.0)
    assert got["cogs.pitch"].mean.value == pytest.approx(4.8)
    assert (got["hub.rotor_face"].mean.value, got["hub.body_length"].mean.value) == (15.2, 34.9)


# Uncertainty


def test_errors_against_the_uncertainties_package():
    readings = {
        "rim": {
            "two_spokes": {"length": "260.0 +- 0.3 mm", "gap": "82.4 +- 0.7 mm"},
            "outside_circumference": "1985 +- 1.3 mm",
            "head_depth": "12.7 +- 0.4 mm",
            "inside_diameter": "594.3 +- 0.8 mm",
            "wall": "1.8 +- 0.2 mm",
        },
        "hub": {"left": {"chord": {"over": 7, "length": "41.3 +- 0.25 mm"}, "near_edges": "42.2 +- 0.3 mm"}},
    }
    keys = {
        "hub__left__hole_diameter": "2.6 +- 0.1 mm",
        "nipple": {"slot_depth": "1.1 +- 0.2 mm", "seat_to_end": "2.6 +- 0.15 mm"},
    }
    u = uncertainties.ufloat
    oracle = [
        2 * u(260.0, 0.3) + u(82.4, 0.7),
        u(1985, 1.3) / math.pi - 2 * u(12.7, 0.4) - 2 * u(1.1, 0.2),
        u(594.3, 0.8) + 2 * u(1.8, 0.2) + 2 * u(2.6, 0.15),
    ]
    got = found(readings, **keys, hub__left__pcd=None)
    assert len(got["rim.erd"].estimates) == len(oracle)
    for estimate, expected in zip(got["rim.erd"].estimates, oracle, strict=True):
        assert estimate.value == pytest.approx(expected.n, abs=1e-9)
        assert estimate.sigma == pytest.approx(expected.s, rel=1e-9)
    near = u(42.2, 0.3) + u(2.6, 0.1)
    by_chord = u(41.3, 0.25) / math.sin(math.pi * 7 / 16)
    assert [e.sigma for e in got["hub.left.pcd"].estimates] == pytest.approx([near.s, by_chord.s], rel=1e-9)


def test_straight_spoke_error_against_the_uncertainties_package():
    u = uncertainties.ufloat
    length, out, erd = u(291.0, 0.5), u(1.5, 0.3), u(600.2, 0.8)
    offset = u(131.3, 0.5) / 2 - u(29.8, 0.4)
    angle = 2 * math.pi * 2 / 16
    across = erd / 2 * math.sin(angle)
    oracle = 2 * (erd / 2 * math.cos(angle) - umath.sqrt((length - out) ** 2 - offset**2 - across**2))
    keys = {
        "hub__left__spoke_head": "straight",
        "hub__left__pcd": None,
        "rim__erd": "600.2 +- 0.8 mm",
        "hub__over_locknut": "131.3 +- 0.5 mm",
        "hub__left__locknut_to_flange": "29.8 +- 0.4 mm",
    }
    readings = {"hub": {"left": {"known_spoke": {"length": "291.0 +- 0.5 mm", "sticks_out": "1.5 +- 0.3 mm"}}}}
    got = found(readings, **keys)["hub.left.pcd"].mean
    assert got.value == pytest.approx(oracle.n, abs=1e-9)
    assert got.sigma == pytest.approx(oracle.s, rel=0.01)  # central difference over one sigma, not a derivative


def test_errors_against_monte_carlo():
    rng = np.random.default_rng(20261125)
    count = 200_000
    tape, depth = rng.normal(1985.0, 1.0, count), rng.normal([12.7], 0.5, count)
    slot = rng.normal(1.0, 0.25, count)
    drawn = tape / np.pi - 2 * depth - 2 * slot
    measured = found({"rim": {"outside_circumference": 1985.0, "head_depth": 12.7}})["rim.erd"].mean
    assert measured.value == pytest.approx(drawn.mean(), abs=0.01)
    assert measured.sigma == pytest.approx(drawn.std(), rel=0.01)  # 200000 draws: 0.2 %


def test_scatter_and_tool_count_together():
    gaps = [82.4, 82.9, 82.0, 82.5]
    for tool, sigma in (("rule", 0.5), ("calliper", 0.1)):
        readings = {"rim": {"two_spokes": {"length": "260 +- 0.2 mm", "gap": gaps}}}
        measured = found(readings, measuring={"tool": tool})["rim.erd"].mean
        # D: squares 0.41 of four repeats, the tool's error for three more
        of_the_gap = math.sqrt((3 * sigma**2 + 0.41) / 6 / 4)
        assert measured.sigma == pytest.approx(math.hypot(2 * 0.2, of_the_gap), rel=1e-9)


def test_a_tape_is_a_tape_whatever_the_tool():
    readings = {"rim": {"outside_circumference": 1985.0, "head_depth": "12.7 +- 0.001 mm"}}
    keys = {"measuring": {"tool": "calliper"}, "nipple": {"slot_depth": "1.0 +- 0.001 mm"}}
    assert found(readings, **keys)["rim.erd"].mean.sigma == pytest.approx(1 / math.pi, abs=1e-4)


@given(st.lists(st.tuples(st.floats(590, 610), st.floats(0.1, 3.0)), min_size=2, max_size=6))
def test_weighted_mean_and_chi_square_against_scipy(pairs):
    values, sigmas = (np.array(column) for column in zip(*pairs, strict=True))
    got = weighted_mean(values.tolist(), sigmas.tolist())
    mean = np.average(values, weights=sigmas**-2)
    chi_square = float((((values - mean) / sigmas) ** 2).sum())
    assert got.value == pytest.approx(mean, abs=1e-9)
    assert got.chi_square == pytest.approx(chi_square, rel=1e-6, abs=1e-9)
    assert got.chance == pytest.approx(scipy.stats.chi2.sf(chi_square, len(pairs) - 1), rel=1e-6, abs=1e-12)
    plain = 1 / math.sqrt((sigmas**-2).sum())
    widened = math.sqrt(chi_square / (len(pairs) - 1)) if got.chance < 0.05 else 1.0
    assert got.sigma == pytest.approx(plain * max(widened, 1.0), rel=1e-6)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 7, 10])
@pytest.mark.parametrize("chi_square", [0.0, 0.03, 1.7, 6.1, 25.0, 140.0])
def test_chance_of_chi_square_against_scipy(freedom, chi_square):
    assert chi_square_chance(chi_square, freedom) == pytest.approx(scipy.stats.chi2.sf(chi_square, freedom), rel=1e-9)


def test_errors_of_methods_cover_the_truth_as_often_as_they_say():
    # Readings drawn with the errors that the tool is said to have: the weighted mean's interval holds 19 times in 20.
    rng = np.random.default_rng(7)
    erd, inside, hits, total = 602.3, 0, 0, 400
    for _ in range(total):
        length, depth, wall = 262.0 + rng.normal(0, 0.5), 12.4 + rng.normal(0, 0.5), 1.8 + rng.normal(0, 0.1)
        readings = {
            "rim": {
                "two_spokes": {"length": length, "gap": erd - 524.0 + rng.normal(0, 0.5)},
                "outside_circumference": math.pi * (erd + 2 + 24.8) + rng.normal(0, 1.0),
                "head_depth": depth,
                "inside_diameter": erd - 5 - 3.6 + rng.normal(0, 0.5),
                "wall": f"{wall:.6f} +- 0.1 mm",
            }
        }
        keys = {"nipple": {"seat_to_end": 2.5, "slot_depth": "1.0 +- 0.0001 mm"}}
        mean = found(readings, **keys)["rim.erd"].mean
        inside += abs(mean.value - erd) <= 1.96 * mean.sigma
        hits += mean.agree
    assert 0.92 <= inside / total <= 0.98  # 0.95 +- 3 x sqrt(0.95 x 0.05 / 400)
    assert 0.92 <= hits / total <= 0.98  # chi-square at 0.05


# What the readings are used for


def test_readings_fill_only_absent_keys_and_the_answer_says_so():
    tree = with_keys(rim__erd=None, rim__erd_to=None, hub__left__pcd=None)
    tree["readings"] = {
        "rim": {"two_spokes": {"length": 255, "gap": 84.1}},
        "hub": {"left": {"near_edges": 39.4}, "right": {"near_edges": 20.0}},
    }
    answer = answers.lengths(tree)
    assert answer.wheel.rim.erd == pytest.approx(594.1)
    assert answer.wheel.hub.left.pcd == pytest.approx(42.0)
    assert answer.wheel.hub.right.pcd == 47.3
    said = " ".join(answer.assumptions)
    assert "rim.erd to spoke end 594.1 +-2.2 mm" in said
    assert "hub.left.pcd 42.0" in said
    assert "hub.right.pcd" not in said
    assert "rim.erd" in {share.reading for share in answer.error_budget}


def test_an_erd_from_readings_follows_the_files_erd_to():
    tree = with_keys(rim__erd=None, rim__erd_to="nipple seat", nipple={"seat_to_end": 3.3})
    tree["readings"] = {"rim": {"two_spokes": {"length": 255, "gap": 84.1}}}
    build = build_of(tree, "test")
    assert build.build.number("rim.erd") == pytest.approx(594.1 - 6.6)
    assert answers.lengths(tree).wheel.rim.erd == pytest.approx(594.1)
    assert answers.measure(tree).as_json()["dimensions"][0]["value_mm"] == pytest.approx(594.1)


def test_a_hole_by_rule_is_left_to_its_usual_size_and_one_by_calliper_is_used():
    edges = {"hub": {"left": {"near_edges": 39.2, "far_edges": 44.6}}}
    for tool, hole in (("rule", 2.5), ("calliper", 2.7)):
        tree = with_keys(hub__left__hole_diameter=None, measuring={"tool": tool})
        tree["readings"] = edges
        assert build_of(tree, "test").build.number("hub.left.hole_diameter") == pytest.approx(hole)


def test_methods_that_disagree_are_named_and_the_error_widened():
    tree = with_keys(rim__erd=None, rim__erd_to=None, nipple={"seat_to_end": 2.5})
    tree["readings"] = {"rim": {"two_spokes": {"length": 255, "gap": 84.1}, "inside_diameter": 594.5, "wall": 1.8}}
    answer = answers.measure(tree)
    (row,) = answer.as_json()["dimensions"]
    assert row["agree"] is False
    names = [finding.name for finding in answer.findings]
    assert names == ["methods-disagree"]
    assert "594.1" in answer.findings[0].text
    assert "603.1" in answer.findings[0].text
    # D: 9 mm apart, errors 1.118 and 1.118 (rule 0.5 once and twice): chi-square 32.4, widened by sqrt(32.4)
    assert row["sigma_mm"] == pytest.approx(1.118 / math.sqrt(2) * math.sqrt(32.4), rel=1e-3)
    assert "methods-disagree" in [finding.name for finding in answers.lengths(tree).findings]


def test_file_against_its_readings():
    tree = with_keys()
    tree["readings"] = {"rim": {"two_spokes": {"length": 255, "gap": 88.3}}}
    (finding,) = answers.measure(tree).findings
    assert finding.name == "file-against-readings"
    assert answers.lengths(tree).wheel.rim.erd == 593.7
    tree["readings"]["rim"]["two_spokes"]["gap"] = 84.1
    assert not answers.measure(tree).findings


# Bad input


@pytest.mark.parametrize(
    ("repeats", "odd"),
    [
        ([82.4, 82.8, 82.6, 92.5], 3),
        ([82.4, 72.8, 82.6], 1),
        ([82.4, 82.8, 82.6, 83.4], None),
        ([82.4, 92.4], None),
        ([80.0, 90.0, 100.0], None),
    ],
)
def test_the_odd_repeat(repeats, odd):
    assert odd_repeat(repeats, 0.5) == odd


def test_an_odd_repeat_is_named_and_kept():
    tree = with_keys()
    tree["readings"] = {"rim": {"two_spokes": {"length": 255, "gap": [83.7, 84.1, 93.9]}}}
    finding = next(each for each in answers.measure(tree).findings if each.name == "repeat-out")
    assert "readings.rim.two_spokes.gap: the repeat 93.9 mm is 10.0 mm off" in finding.text
    assert found(tree["readings"])["rim.erd"].mean.value == pytest.approx(510 + np.mean([83.7, 84.1, 93.9]))


def test_odd_repeats_are_rarely_cried_over():
    rng = np.random.default_rng(3)
    draws = rng.normal(0.0, 0.5, (3000, 4))
    assert sum(odd_repeat(list(row), 0.5) is not None for row in draws) / 3000 < 0.01


@pytest.mark.parametrize(
    ("readings", "keys", "key"),
    [
        ({"rim": {"two_spokes": {"length": 120, "gap": -130}}}, {}, "readings.rim.two_spokes.gap"),
        ({"hub": {"left": {"chord": {"over": 16, "length": 40}}}}, {}, "readings.hub.left.chord.over"),
        ({"hub": {"left": {"chord": {"over": 5, "length": 44.1}}}}, {}, "readings.hub.left.chord.length"),
        (
            {"hub": {"left": {"chord": {"over": 7, "length": 47.0}, "far_edges": 44.5}}},
            {"hub__left__pcd": None},
            "readings.hub.left.chord.length",
        ),
        (
            {"hub": {"left": {"known_spoke": {"length": 200, "sticks_out": 2}}}},
            {"hub__left__spoke_head": "straight", "hub__left__pcd": None},
            "readings.hub.left.known_spoke",
        ),
        ({"rim": {"two_spokes": {"length": 2.55, "gap": 84}}}, {}, "readings.rim.two_spokes.length"),
        ({"rim": {"gap": 84}}, {}, "readings.rim.gap"),
    ],
)
def test_readings_that_cannot_be(readings, keys, key):
    with pytest.raises(InputError) as caught:
        found(readings, **keys)
    assert caught.value.key == key


def test_readings_without_partner_are_named():
    tree = with_keys(rim__erd=None, rim__erd_to=None)
    tree["readings"] = {
        "over_locknut": 130.3,
        "rim": {"inside_diameter": 594.5},
        "hub": {"left": {"known_spoke": {"length": 280, "sticks_out": 1}}},
    }
    texts = [finding.text for finding in answers.measure(tree).findings]
    assert any(
        "readings.rim.inside_diameter gives nothing yet: it needs readings.rim.wall and nipple.seat_to_end" in t
        for t in texts
    )
    assert any("readings.hub.left.known_spoke.length gives nothing yet" in text for text in texts)


def test_no_readings_at_all():
    with pytest.raises(InputError, match="measure --how"):
        answers.measure(with_keys())


@pytest.mark.parametrize("far", [47.3, 48.3])
def test_edges_that_leave_no_hole_are_refused(far):
    with pytest.raises(InputError) as refused:
        found({"hub": {"left": {"near_edges": 48.3, "far_edges": far}}})
    assert refused.value.key == "readings.hub.left.near_edges"
    assert f"{far:g} mm" in refused.value.text


def test_readings_that_give_nothing_are_refused_with_what_they_lack():
    with pytest.raises(InputError) as refused:
        answers.measure({"title": "t", "readings": {"rim": {"wall": 1.8}}})
    assert refused.value.key == "readings.rim.wall"
    assert "readings.rim.inside_diameter" in refused.value.text
    assert "measure --how" in refused.value.text


def test_in_a_notebook_every_row_has_a_cell_for_every_heading():
    tree = with_keys(rim__erd=None, rim__erd_to=None, nipple={"seat_to_end": 2.5})
    rim = {"two_spokes": {"length": 255, "gap": 84.1}, "inside_diameter": 585.5, "wall": 1.8}
    tree["readings"] = {"over_locknut": 130.3, "rim": rim}
    answer = answers.measure(tree)
    shown = html5lib.parseFragment(answer._repr_html_(), namespaceHTMLElements=False)
    tables = list(shown.iter("table"))
    assert len(tables) == 2
    for table in tables:
        headings = len(table.findall("thead/tr/th"))
        assert {len(row) for row in table.findall("tbody/tr")} == {headings}


@pytest.mark.parametrize("method", METHODS, ids=lambda method: f"{method.key} {method.words}")
def test_the_formula_shown_is_the_one_used(method):
    values = [3.0, 41.5, 18.0] if "chord" in method.words else [301.25, 4.5, 602.5, 17.25, 3, 18][: len(method.inputs)]
    shown = FORMULAS[method.words].format(*values).replace(" x ", " * ").replace("^", "**")
    places = {"pi": math.pi, "sqrt": math.sqrt}
    places |= {name: lambda deg, f=f: f(math.radians(deg)) for name, f in (("sin", math.sin), ("cos", math.cos))}
    assert eval(shown, places) == pytest.approx(method.formula(*values), abs=1e-9)


def test_working_shows_the_numbers():
    tree = with_keys(rim__erd=None, rim__erd_to=None)
    tree["readings"] = {"over_locknut": 130.3, "rim": {"two_spokes": {"length": 255, "gap": 84.1}}}
    assert answers.measure(tree).working() == ["rim.erd = 2 x 255 + 84.1 = 594.10 mm"]
