"""The answers of lengths and order: the contract's JSON, and what the numbers must satisfy."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from tests.making.builds import ALIGNED, with_keys
from wheelcalc import InputError, answers
from wheelcalc.files.buildfile import build_of

LENGTH_KEYS = {
    "rim_hole", "side", "hub_hole", "crosses", "direction", "heads", "rim_angle_deg", "hub_angle_deg",
    "geometric_length_mm", "cut_length_mm", "bracing_angle_deg",
}  # fmt: skip


def test_json_of_lengths() -> None:
    found = json.loads(json.dumps(answers.lengths(with_keys()).as_json(), allow_nan=False))
    assert found["schema"] == "wheelcalc/lengths/1"
    assert found["build"] == "Test wheel"
    assert set(found["sides"]) == {"left", "right"}
    assert [spoke["rim_hole"] for spoke in found["spokes"]] == list(range(1, 33))
    assert set(found["spokes"][0]) == LENGTH_KEYS
    assert found["spokes"][0]["direction"] == "trailing"
    effects = [share["effect_mm"] for share in found["error_budget"]]
    assert effects == sorted(effects, reverse=True)
    for side, each in found["sides"].items():
        own = [s for s in found["spokes"] if s["side"] == side]
        assert each["count"] == len(own) == 16
        assert each["geometric_length_mm"] == pytest.approx(sum(s["geometric_length_mm"] for s in own) / 16, abs=1e-5)
        assert each["spread_mm"] == pytest.approx(0.0, abs=1e-9)
        total = math.sqrt(sum(s["effect_mm"] ** 2 for s in found["error_budget"] if s["side"] == side))
        assert each["cut_length_sigma_mm"] == pytest.approx(total, abs=1e-5)


def test_geometric_and_cut_length_by_hand() -> None:
    """D: the law of cosines, Hooke for 2.0 wire at 1150 N, and a ring of 100 mm2 aluminium, worked with a calculator."""
    answer = answers.lengths(
        with_keys(
            rim__section={"area": 108.0, "youngs_modulus": 70_000, "centroid_diameter": 604.0}, spokes__end_give=0
        )
    )
    right = answer.sides["right"]
    # R 296.85, r 23.65, 67.5 degrees, w 131.3/2 - 46.1 = 19.55, hole 2.4
    span = math.sqrt(296.85**2 + 23.65**2 - 2 * 296.85 * 23.65 * math.cos(math.radians(67.5)) + 19.55**2)
    assert right.geometric == pytest.approx(span - 1.2, abs=1e-9)
    assert right.bracing_angle_deg == pytest.approx(math.degrees(math.asin(19.55 / span)), abs=1e-9)
    left_span = math.sqrt(296.85**2 + 20.95**2 - 2 * 296.85 * 20.95 * math.cos(math.radians(45)) + 35.85**2)
    slack = 1150 * (19.55 / span) / (35.85 / left_span)
    stretch = 1150 * span / (200_000 * math.pi)
    hoop = 16 * (
        1150 * (296.85 - 23.65 * math.cos(math.radians(67.5))) / span
        + slack * (296.85 - 20.95 * math.cos(math.radians(45))) / left_span
    ) / (2 * math.pi)  # fmt: skip
    shrink = hoop * 302 / (108 * 70_000)
    assert right.cut == pytest.approx(span - 1.2 - stretch - shrink, abs=1e-6)


def test_a_rim_read_under_tension_is_not_shrunk_again() -> None:
    bare, built = answers.lengths(with_keys()), answers.lengths(with_keys(rim__measured="tensioned"))
    assert built.target.shrink == 0
    assert built.sides["left"].cut == pytest.approx(bare.sides["left"].cut + bare.target.shrink, abs=1e-9)


def test_where_erd_was_read_to() -> None:
    plain = answers.lengths(with_keys()).wheel.rim.erd
    seat = answers.lengths(with_keys(rim__erd_to="nipple seat", nipple__seat_to_end=2.7)).wheel.rim.erd
    top = answers.lengths(with_keys(rim__erd_to="nipple top", nipple__slot_depth=1.2)).wheel.rim.erd
    washer = answers.lengths(with_keys(nipple__washer=0.7)).wheel.rim.erd
    assert (seat - plain, top - plain, washer - plain) == pytest.approx((5.4, -2.4, 1.4))


def test_spacers_move_the_flanges_for_every_command() -> None:
    plain = answers.lengths(with_keys()).wheel.hub
    fitted = answers.lengths(with_keys(spacers__fitted={"left": 3, "right": 1})).wheel.hub
    assert fitted.left.offset - plain.left.offset == pytest.approx(-1.0)
    assert fitted.right.offset - plain.right.offset == pytest.approx(1.0)
    assert fitted.over_locknut == pytest.approx(135.3)


def test_a_frame_with_the_rim_off_the_middle() -> None:
    """D: the rim 3 to the right lengthens the left spokes as if their flange sat 3 further out."""
    moved = answers.lengths(with_keys(frame__wheel_offset="3 mm right"))
    further = answers.lengths(with_keys(hub__left__locknut_to_flange=26.8, hub__right__locknut_to_flange=49.1))
    assert moved.sides["left"].geometric == pytest.approx(further.sides["left"].geometric, abs=1e-9)
    assert moved.sides["right"].geometric == pytest.approx(further.sides["right"].geometric, abs=1e-9)


def test_aligned_flanges_give_two_lengths_a_side_and_the_order_mixes() -> None:
    answer = answers.order(with_keys(hub__phase="aligned", lacing__crosses=3))
    ways = answer.lengths.sides["right"].by_direction
    assert abs(ways["trailing"] - ways["leading"]) > 2
    assert answer.mixed("left")
    assert answer.mixed("right")
    holes = sorted(hole for line in answer.lines for hole in line.rim_holes)
    assert holes == list(range(1, 33))


def test_json_of_order() -> None:
    found = json.loads(json.dumps(answers.order(with_keys(stock__spares=3)).as_json(), allow_nan=False))
    assert found["schema"] == "wheelcalc/order/1"
    assert [line["side"] for line in found["lines"]] == ["left", "right"]
    for line in found["lines"]:
        assert line["count"] == len(line["rim_holes"]) == 16
        assert line["spares"] == 3
        cut = found["sides"][line["side"]]["cut_length_mm"]
        assert line["end_position_mm"] == pytest.approx(line["length_mm"] - cut, abs=1e-5)
        assert 0 <= line["chance_that_it_fits"] <= 1
    assert found["nipples"]["count"] == 38


def test_facing_flanges_get_two_lengths_and_not_one_that_hardly_fits() -> None:
    # D: 281 would fill the right side with its ends 1 mm beyond and 2 mm short, each on the edge of the window.
    answer = answers.order(ALIGNED)
    right = [line for line in answer.lines if line.side == "right"]
    assert [line.count for line in right] == [9, 9]
    assert right[1].length - right[0].length in (2.0, 3.0)
    assert all(line.chance > 0.99 for line in answer.lines)
    assert not any(finding.name == "low-chance" for finding in answer.findings)


def test_buying_puts_lines_of_one_length_and_kind_together() -> None:
    both = answers.order(
        with_keys(stock__lengths=[287], stock__spares=3, hub__left__pcd=25, hub__right__pcd=52.5, limits__pcd_least=20)
    ).as_json()
    assert [line["length_mm"] for line in both["lines"]] == [287, 287]
    assert both["verdict"] == "order"
    expected = {"length_mm": 287, "count": 32, "spares": 3, "wire": "2.0", "head": "elbow"}
    expected |= {"thread_length_mm": 10, "thread_for_wire_mm": 2.0, "nipples": 35}
    assert both["buy"] == [expected]
    assert both["nipples"]["for_wire_mm"] == {"2": 35}


def test_lines_of_one_length_and_two_kinds_stay_apart() -> None:
    wires = {"left": "1.8", "right": "2.3/2.0"}
    found = answers.order(
        with_keys(spokes__wire=wires, stock__lengths=[287], hub__left__pcd=25, hub__right__pcd=52.5)
    ).as_json()
    assert [(each["length_mm"], each["wire"], each["thread_for_wire_mm"]) for each in found["buy"]] == [
        (287, "1.8", 1.8),
        (287, "2.3/2.0/2.0", 2.0),
    ]
    assert found["nipples"]["for_wire_mm"] == {"1.8": 18, "2": 18}


def test_what_is_on_hand_is_not_bought() -> None:
    found = answers.order(with_keys(stock__on_hand={"283": 20, "287": 20})).as_json()
    assert found["buy"] == []
    assert [(each["length_mm"], each["count"], each["spares"]) for each in found["take"]] == [
        (283, 16, 2),
        (287, 16, 2),
    ]


def test_a_stop_says_do_not_order() -> None:
    assert answers.order(with_keys(nipple__for_wire=1.8)).as_json()["verdict"] == "do not order"


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (
            {"stock__lengths": [281.1, 287], "spokes__end_give": 0},
            "Buy 282 mm for them instead",
        ),  # an end 1.9 short: another length
        ({"measuring__tool": "tape", "nipple__material": "aluminium"}, "Read rim.erd"),  # no length is sure enough
    ],
)
def test_the_remedy_of_a_low_chance_raises_it(keys: dict[str, object], words: str) -> None:
    finding = next(each for each in answers.order(with_keys(**keys)).findings if each.name == "low-chance")
    assert words in finding.remedy
    now, then = (int(text.split(" %")[0].split()[-1]) for text in (finding.text, finding.remedy))
    assert then > now + 10


def test_the_length_that_a_remedy_names_has_the_chance_it_says() -> None:
    # Followed, the remedy must do what it says: the length named goes into the stock, and the line has that chance.
    keys = {"stock__lengths": [281.1, 287], "spokes__end_give": 0}
    finding = next(each for each in answers.order(with_keys(**keys)).findings if each.name == "low-chance")
    said = int(finding.remedy.split(" %")[0].split()[-1])
    after = answers.order(with_keys(**keys | {"stock__lengths": [282, 287]}))
    assert round(100 * after.lines[0].chance) == said


def test_from_a_jar_with_too_few() -> None:
    answer = answers.order(with_keys(stock__on_hand={"283": 17, "287": 10}))
    assert answer.stops
    assert [(line.side, line.count, line.spares) for line in answer.lines] == [("left", 16, 1), ("right", 10, 0)]
    assert len(answer.left_out) == 6


def test_a_build_already_read_and_a_path_give_the_same(tmp_path) -> None:
    from tests.making.builds import as_toml

    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys()))
    assert answers.order(path).as_json() == answers.order(build_of(with_keys(), "x")).as_json()


def test_it_shows_itself_and_escapes_what_the_user_typed() -> None:
    shown = answers.order(with_keys(title="<b>wheel</b>"))._repr_html_()
    assert "&lt;b&gt;wheel" in shown
    assert "<b>" not in shown


def test_the_advice_when_everything_counts_as_exact() -> None:
    exact = {
        "rim__erd": 593.7,
        "hub__over_locknut": 131.3,
        "hub__left__pcd": 41.9,
        "hub__right__pcd": 47.3,
        "hub__left__locknut_to_flange": 29.8,
        "hub__right__locknut_to_flange": 46.1,
    }
    readings = {key: f"{value} +- 0.000000000001 mm" for key, value in exact.items()}
    answer = answers.lengths(with_keys(**readings, spokes__end_give=0, rim__measured="tensioned"))
    assert answer.error_budget == []
    assert "counts as exact" in answer.advice()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (
            {"rim__erd": None},
            "rim.erd: is missing and `lengths` needs it: put two old spokes.*measure --how rim.erd` shows how",
        ),
        ({"hub__left__locknut_to_flange": None}, "hub.left.locknut_to_flange: is missing .*or give hub.left.offset"),
        ({"hub__over_locknut": None}, "hub.over_locknut: is missing"),
        ({"lacing__crosses": None}, "lacing.crosses: is missing"),
        ({"hub__left__holes": 18}, "hub.left.holes: found 18; .*the rim has 32 holes.* would work"),
        ({"rim__holes": 34, "hub__left__holes": 17, "hub__right__holes": 17}, "go in pairs and need an even count"),
        ({"lacing__crosses": 5}, "lacing.crosses.left: found 5; .*allow 4 at most"),
        ({"hub__left__pcd": 15, "hub__left__hole_diameter": 3.2}, "hub.left.pcd: found 15 mm; 16 holes of 3.2 mm"),
    ],
)
def test_what_cannot_be_computed(changed: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words) as error:
        answers.lengths(with_keys(**changed))
    assert str(error.value).startswith("build: ")


def test_what_nobody_reads_is_in_the_error_budget() -> None:
    """Monte Carlo of give, target, area and modulus through stretch and shrinking written out here. D; 20000 draws, 1 %."""
    section = {"area": "104 +- 9 mm2", "youngs_modulus": "70000 +- 3000 N/mm2", "centroid_diameter": 604.0}
    keys = {"rim__section": section, "spokes__end_give": "0.23 +- 0.07", "tension__target": "950 +- 140 N"}
    answer = answers.lengths(with_keys(**keys))
    draw = np.random.default_rng(4)
    end_give, target = 0.23 + 0.07 * draw.normal(size=20_000), 950 + 140 * draw.normal(size=20_000)
    stiffness = (104 + 9 * draw.normal(size=20_000)) * (70_000 + 3000 * draw.normal(size=20_000))
    wheel, shares = answer.wheel, {}
    for share in answer.error_budget:
        shares.setdefault(share.side, {})[share.reading] = share
    for side in ("left", "right"):
        mask = wheel.lacing.on(side)
        tension = target * answer.target.tension[side] / 950
        wire = wheel.spans[mask].mean() / (200_000 * math.pi)
        ends = end_give * (0.1**0.58 + ((tension / 1000) ** 0.58 - 0.1**0.58) / 0.58)
        hoop = (target[:, None] / 950 * (answer.target.per_spoke * wheel.inward)[None]).sum(axis=1) / (2 * math.pi)
        shorter = tension * wire + ends + hoop * 302 / stiffness
        own = shares[side]
        assert {"spokes.end_give", "tension.target", "rim.section"} <= set(own)
        stated = math.hypot(*(own[key].effect_mm for key in ("spokes.end_give", "tension.target", "rim.section")))
        assert stated == pytest.approx(shorter.std(), rel=0.03)
        assert answer.sides[side].sigma == pytest.approx(math.hypot(*(each.effect_mm for each in own.values())))
    assert answer.advice().startswith("Read ")
    assert all(words not in answer.advice() for words in ("end_give", "tension.target", "rim.section"))


def test_an_error_of_the_target_moves_the_chance_of_an_order() -> None:
    sure, unsure = (answers.order(with_keys(tension__target=target)) for target in ("1000 N", "1000 +- 300 N"))
    assert unsure.lines[0].chance < sure.lines[0].chance
    assert unsure.lengths.sides["right"].sigma > sure.lengths.sides["right"].sigma + 0.05


def test_no_error_is_none_where_there_is_one() -> None:
    exact = {
        f"hub__{side}__{name}": f"{value} +- 0.001 mm"
        for side in ("left", "right")
        for name, value in (("pcd", 45), ("locknut_to_flange", 33))
    }
    keys = {"rim__erd": "593.7 +- 0.001 mm", "hub__over_locknut": "131 +- 0.001 mm", **exact}
    answer = answers.lengths(with_keys(**keys, spokes__end_give=0, rim__measured="tensioned"))
    assert "+-0.01 mm" in str(answer)
    assert "+-0.0 " not in str(answer)


def test_a_slot_that_was_not_measured_has_an_error_where_the_erd_rests_on_it() -> None:
    top = answers.lengths(with_keys(rim__erd_to="nipple top"))
    assert top.build.sigma("nipple.slot_depth") == 0.25
    assert "nipple.slot_depth" in {share.reading for share in top.error_budget}
    measured = answers.lengths(with_keys(rim__erd_to="nipple top", nipple__slot_depth=1.1))
    assert "nipple.slot_depth" not in {share.reading for share in measured.error_budget}
    assert "nipple.slot_depth" not in {share.reading for share in answers.lengths(with_keys()).error_budget}
