"""The frame turned on its wheels: against a root finder on the contact geometry, and by its properties."""

from __future__ import annotations

import cmath
import math
from dataclasses import asdict, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, root  # type: ignore[import-untyped]

from wheelcalc.bike.geometry import (
    Bike,
    brake_reach_change,
    changed,
    gap_change,
    lean_angle_deg,
    reach_misfit,
    reach_now_that_serves,
    stack_and_reach,
    stance,
    trail,
)
from wheelcalc.wheel.errors import InputError

# An invented errand bike, nothing about it equal, symmetric or round.
ERRAND = Bike(
    head_angle_deg=71.3, seat_angle_deg=72.6, wheelbase=1037.0, bracket_height=277.0, crank_length=172.5,
    fork_length=391.0, fork_offset=47.0, front_diameter=664.0, rear_diameter=681.0, chainstay=433.0,
)  # fmt: skip


@st.composite
def bikes(draw: st.DrawFn) -> Bike:
    """Bikes of usual sizes, everything known; no two of them turn into each other by more than 12 degrees."""
    return Bike(
        head_angle_deg=draw(st.floats(66.0, 76.0)),
        seat_angle_deg=draw(st.floats(68.0, 77.0)),
        wheelbase=draw(st.floats(950.0, 1250.0)),
        bracket_height=draw(st.floats(255.0, 350.0)),
        crank_length=draw(st.floats(150.0, 180.0)),
        fork_length=draw(st.floats(400.0, 480.0)),
        fork_offset=draw(st.floats(25.0, 70.0)),
        front_diameter=draw(st.floats(620.0, 740.0)),
        rear_diameter=draw(st.floats(620.0, 740.0)),
        chainstay=draw(st.floats(400.0, 480.0)),
    )


NEW_PARTS = st.fixed_dictionaries(
    {
        "fork_length": st.floats(400.0, 480.0),
        "fork_offset": st.floats(20.0, 75.0),
        "front_diameter": st.floats(620.0, 740.0),
        "rear_diameter": st.floats(620.0, 740.0),
        "crank_length": st.floats(140.0, 185.0),
    }
)


def assert_alike(found: Bike, expected: Bike, within: float = 1e-7) -> None:
    assert asdict(found) == pytest.approx(asdict(expected), abs=within)


def by_root_finder(bike: Bike, new: dict[str, float]) -> dict[str, float]:
    """Stand the frame on its new wheels by solving for turn and lift; complex numbers, x forward, y up.

    Independent of the module: it goes from the crown down the fork, and asks only that both wheels touch the ground.
    """
    assert bike.fork_length is not None
    assert bike.bracket_height is not None
    assert bike.chainstay is not None
    up_the_axis = cmath.exp(1j * math.radians(180.0 - bike.head_angle_deg))
    ahead_of_axis = -1j * up_the_axis
    rear = 1j * bike.rear_diameter / 2
    front = bike.wheelbase + 1j * bike.front_diameter / 2
    crown = front - bike.fork_offset * ahead_of_axis + bike.fork_length * up_the_axis
    rise = bike.bracket_height - bike.rear_diameter / 2
    bracket = rear + math.sqrt(bike.chainstay**2 - rise**2) + 1j * rise
    new_front = crown - new["fork_length"] * up_the_axis + new["fork_offset"] * ahead_of_axis

    def off_the_ground(unknown: list[float]) -> list[float]:
        turned = [point * cmath.exp(1j * unknown[0]) + 1j * unknown[1] for point in (rear, new_front)]
        return [turned[0].imag - new["rear_diameter"] / 2, turned[1].imag - new["front_diameter"] / 2]

    found = root(off_the_ground, [0.0, 0.0], tol=1e-13)
    assert max(abs(miss) for miss in off_the_ground(found.x)) < 1e-8
    turn = cmath.exp(1j * found.x[0])
    axis = up_the_axis * turn
    axle = new_front * turn + 1j * found.x[1]
    on_axis = axle - new["fork_offset"] * ahead_of_axis * turn
    foot = on_axis - axis * (on_axis.imag / axis.imag)
    crown_from_bracket = (crown - bracket) * turn
    return {
        "head_angle_deg": 180.0 - math.degrees(cmath.phase(axis)),
        "wheelbase": axle.real - (rear * turn).real,
        "trail": foot.real - axle.real,
        "bracket_height": (bracket * turn).imag + found.x[1],
        "stack": crown_from_bracket.imag,
        "reach": crown_from_bracket.real,
    }


@settings(max_examples=60, deadline=None)
@given(bikes(), NEW_PARTS)
def test_against_a_root_finder(bike: Bike, new: dict[str, float]) -> None:
    after = changed(bike, **new)
    points = stack_and_reach(after)
    assert points is not None
    found = {
        "head_angle_deg": after.head_angle_deg,
        "wheelbase": after.wheelbase,
        "trail": stance(after).trail_mm,
        "bracket_height": after.bracket_height,
        "stack": points[0],
        "reach": points[1],
    }
    assert found == pytest.approx(by_root_finder(bike, new), abs=1e-6)


@given(bikes())
def test_no_change_gives_no_change(bike: Bike) -> None:
    assert_alike(changed(bike), bike, within=1e-9)


@given(bikes(), NEW_PARTS)
def test_undoing_a_change_gives_the_original(bike: Bike, new: dict[str, float]) -> None:
    old = {field: getattr(bike, field) for field in new}
    assert_alike(changed(changed(bike, **new), **old), bike)


@given(bikes(), NEW_PARTS)
def test_one_change_after_the_other_is_both_at_once(bike: Bike, new: dict[str, float]) -> None:
    fork = changed(bike, fork_length=new["fork_length"], fork_offset=new["fork_offset"])
    wheels = changed(fork, front_diameter=new["front_diameter"], rear_diameter=new["rear_diameter"])
    assert_alike(changed(wheels, crank_length=new["crank_length"]), changed(bike, **new))


@given(bikes(), NEW_PARTS)
def test_the_frame_turns_as_one(bike: Bike, new: dict[str, float]) -> None:
    after = changed(bike, **new)
    assert after.seat_angle_deg is not None
    assert bike.seat_angle_deg is not None
    steeper = after.head_angle_deg - bike.head_angle_deg
    assert after.seat_angle_deg - bike.seat_angle_deg == pytest.approx(steeper, abs=1e-9)
    before_top, after_top = stack_and_reach(bike, 165.0), stack_and_reach(after, 165.0)
    assert before_top is not None
    assert after_top is not None
    assert math.hypot(*after_top) == pytest.approx(math.hypot(*before_top), abs=1e-7)
    # D: the bracket and the point are of one frame, so the line between them turns by the same angle.
    turned = math.degrees(math.atan2(*after_top) - math.atan2(*before_top))
    assert turned == pytest.approx(-steeper, abs=1e-7)


@given(bikes(), NEW_PARTS, st.floats(0.85, 1.15))
def test_a_bike_twice_the_size_turns_as_far(bike: Bike, new: dict[str, float], scale: float) -> None:
    def scaled(one: Bike) -> Bike:
        lengths = {field: value * scale for field, value in asdict(one).items() if not field.endswith("_deg")}
        return replace(one, **lengths)

    assert_alike(
        changed(scaled(bike), **{field: value * scale for field, value in new.items()}), scaled(changed(bike, **new))
    )


def test_worked_by_hand() -> None:
    """D: fork 391 -> 412, offset 47 -> 39, front wheel 664 -> 640 on the errand bike, by desk calculator.

    sin 71.3 = 0.947210, cos 71.3 = 0.320613. Front axle from the rear one: 1037 + 21 x 0.320613 - 8 x 0.947210 =
    1036.15519 ahead; -8.5 - 21 x 0.947210 - 8 x 0.320613 = -30.95632 above. It has to stand at -20.5:
    span 1036.61752, turn atan(30.95632 / 1036.15519) - asin(20.5 / 1036.61752) = 1.711268 - 1.133147 = 0.578121,
    degrees, front up. Bracket 63.5 below and 428.3185 ahead: 340.5 - 63.5 cos + 428.3185 sin = 281.3249.
    """
    after = changed(ERRAND, fork_length=412.0, fork_offset=39.0, front_diameter=640.0)
    assert after.head_angle_deg == pytest.approx(71.3 - 0.578121, abs=1e-6)
    assert after.seat_angle_deg == pytest.approx(72.6 - 0.578121, abs=1e-6)
    assert after.wheelbase == pytest.approx(1036.41479, abs=1e-5)
    assert after.bracket_height == pytest.approx(281.3249, abs=5e-5)


def test_signs() -> None:
    longer = changed(ERRAND, fork_length=411.0)
    assert longer.head_angle_deg < ERRAND.head_angle_deg
    assert longer.wheelbase > ERRAND.wheelbase
    assert stance(longer).trail_mm > stance(ERRAND).trail_mm
    smaller_front = changed(ERRAND, front_diameter=626.0)
    assert smaller_front.head_angle_deg > ERRAND.head_angle_deg
    assert stance(smaller_front).trail_mm < stance(ERRAND).trail_mm
    smaller_rear = changed(ERRAND, rear_diameter=643.0)
    assert smaller_rear.head_angle_deg < ERRAND.head_angle_deg
    assert smaller_rear.bracket_height is not None
    assert smaller_rear.bracket_height < 277.0


def test_smaller_wheels_at_both_ends_need_no_chainstay() -> None:
    bare = Bike(head_angle_deg=71.3, wheelbase=1037.0, fork_offset=47.0, front_diameter=664.0, rear_diameter=681.0,
                bracket_height=277.0)  # fmt: skip
    after = changed(bare, front_diameter=626.0, rear_diameter=643.0)
    assert after.head_angle_deg == pytest.approx(71.3, abs=1e-12)
    assert after.bracket_height == pytest.approx(277.0 - 19.0, abs=1e-9)
    assert changed(bare, front_diameter=626.0).bracket_height is None


def test_stance_of_the_errand_bike() -> None:
    """D: each by its own plain arithmetic."""
    found = stance(ERRAND)
    assert (found.head_angle_deg, found.seat_angle_deg, found.wheelbase_mm) == (71.3, 72.6, 1037.0)  # as put in
    assert found.bracket_height_mm == 277.0
    assert found.trail_mm == pytest.approx(332.0 / math.tan(math.radians(71.3)) - 47.0 / math.sin(math.radians(71.3)))
    assert found.pedal_height_mm == pytest.approx(104.5)
    assert found.bracket_drop_mm == pytest.approx(63.5)
    # crown: 332 + 391 x 0.947210 - 47 x 0.320613 = 687.2903
    assert found.crown_height_mm == pytest.approx(687.290, abs=1e-3)
    # bracket 428.3185 ahead of the rear axle: hypot(608.6815, 55) - 172.5 - 332 = 106.661
    assert found.toe_room_mm == pytest.approx(106.661, abs=1e-3)


def test_stack_and_reach_by_hand() -> None:
    """D: 165 above the crown is 556 from the foot of the offset, sin 71.3 = 0.947210, cos 71.3 = 0.320613.

    Above the ground 332 - 47 x 0.320613 + 556 x 0.947210 = 843.5800; ahead of the rear axle 1037 - 47 x 0.947210 -
    556 x 0.320613 = 814.2203. The bracket: 277 above the ground, 428.3185 ahead.
    """
    assert stack_and_reach(ERRAND, 165.0) == pytest.approx((566.5800, 385.9018), abs=1e-3)


def test_what_is_unknown_stays_unknown() -> None:
    bare = Bike(head_angle_deg=72.0, wheelbase=1015.0, fork_offset=45.0, front_diameter=672.0, rear_diameter=670.0)
    after = changed(bare, front_diameter=650.0)
    assert after.head_angle_deg > 72.0
    assert (after.seat_angle_deg, after.bracket_height, after.crank_length, after.fork_length) == (None,) * 4
    found = stance(after)
    unknown = (found.pedal_height_mm, found.bracket_drop_mm, found.crown_height_mm, found.toe_room_mm)
    assert unknown == (None,) * 4
    assert stack_and_reach(after) is None
    assert stack_and_reach(replace(ERRAND, chainstay=None)) is None
    assert stack_and_reach(replace(ERRAND, fork_length=None)) is None
    assert stack_and_reach(replace(ERRAND, bracket_height=None)) is None
    for field in ("bracket_height", "chainstay", "crank_length"):
        assert stance(replace(ERRAND, **{field: None})).toe_room_mm is None


def test_trail_is_negative_with_a_long_offset() -> None:
    assert trail(75.0, 120.0, 336.0) == pytest.approx((336.0 * 0.2588190451 - 120.0) / 0.9659258263, abs=1e-6)


@given(st.floats(40.0, 150.0), st.floats(120.0, 220.0), st.floats(0.0, 60.0))
def test_lean_against_a_root_finder(height: float, reach: float, tyre_width: float) -> None:
    radius = tyre_width / 2

    def pedal_above_ground(lean: float) -> float:
        pedal = height * math.cos(lean) - reach * math.sin(lean)
        return pedal - (radius * math.cos(lean) - radius)

    expected = math.degrees(brentq(pedal_above_ground, 0.0, 1.5, xtol=1e-13))
    assert lean_angle_deg(height, reach, tyre_width) == pytest.approx(expected, abs=1e-8)


def test_lean_of_a_pedal_in_the_ground() -> None:
    assert lean_angle_deg(0.0, 170.0, 38.0) == pytest.approx(0.0, abs=1e-12)
    assert lean_angle_deg(-6.0, 170.0, 38.0) < 0


def test_brake_reach_in_and_out_of_range() -> None:
    assert reach_misfit(44.0, (39.0, 49.0)) == 0
    assert reach_misfit(52.5, (39.0, 49.0)) == pytest.approx(3.5)
    assert reach_misfit(36.0, (39.0, 49.0)) == pytest.approx(-3.0)
    assert reach_misfit(44.0, (41.0, 41.0)) == pytest.approx(3.0)  # arms that cannot be set
    assert reach_misfit(0.7, (0.39, 0.49)) == pytest.approx(0.21)  # no unit is built in: this brake in decimetres


def test_reach_that_serves_both_rims() -> None:
    assert reach_now_that_serves(4.0, (39.0, 49.0)) == pytest.approx((39.0, 45.0))
    assert reach_now_that_serves(-4.0, (39.0, 49.0)) == pytest.approx((43.0, 49.0))
    assert reach_now_that_serves(brake_reach_change(622.0, 584.0), (39.0, 49.0)) is None


@given(st.floats(-15.0, 15.0), st.floats(39.0, 49.0))
def test_both_reach_functions_agree(change: float, now: float) -> None:
    serves = reach_now_that_serves(change, (39.0, 49.0))
    fits = abs(reach_misfit(now + change, (39.0, 49.0))) < 1e-9
    inside = serves is not None and serves[0] - 1e-9 <= now <= serves[1] + 1e-9
    assert fits == inside


def test_gap_loses_half_of_what_the_tyre_gains() -> None:
    assert gap_change(32.0, 38.0) == pytest.approx(-3.0)
    assert gap_change(180.0, 160.0) == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("field", "value", "key"),
    [
        ("head_angle_deg", 108.7, "head_angle"),
        ("seat_angle_deg", math.nan, "seat_angle"),
        ("wheelbase", 103.7, "wheelbase"),
        ("wheelbase", 660.0, "wheelbase"),
        ("bracket_height", math.inf, "bracket_height"),
        ("crank_length", 17.25, "crank_length"),
        ("fork_length", 39.1, "fork_length"),
        ("fork_offset", 391.0, "fork_offset"),
        ("front_diameter", -664.0, "wheel_diameter.front"),
        ("rear_diameter", 68.1, "wheel_diameter.rear"),
        ("chainstay", 43.3, "chainstay"),
    ],
)
def test_what_is_no_bicycle_is_refused(field: str, value: float, key: str) -> None:
    with pytest.raises(InputError, match="found") as caught:
        replace(ERRAND, **{field: value})
    assert caught.value.key == key


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"seat_angle_deg": 107.4}, "seat_angle: found 107.4 degrees; a bicycle's is from 45 to 100 degrees"),
        ({"fork_length": 39.1}, "fork_length: found 39.1 mm; a bicycle's is from 100 to 1000 mm"),
    ],
)
def test_what_is_no_bicycle_is_said_in_its_own_unit(change: dict[str, float], said: str) -> None:
    with pytest.raises(InputError, match=said):
        replace(ERRAND, **change)


def test_wheels_that_touch_are_refused() -> None:
    # D: half of 664 and 681 is 672.5, and wheels that touch do not turn
    with pytest.raises(InputError, match="would overlap") as caught:
        replace(ERRAND, wheelbase=672.5)
    assert caught.value.key == "wheelbase"
    assert replace(ERRAND, wheelbase=672.6).wheelbase == 672.6


def test_a_chainstay_that_cannot_reach_is_refused() -> None:
    for chainstay in (185.0, 190.0):  # 190: the bracket straight below the axle, in the wheel
        with pytest.raises(InputError, match="190 mm off the rear axle") as caught:
            replace(ERRAND, bracket_height=150.5, chainstay=chainstay)
        assert caught.value.key == "chainstay"


@pytest.mark.parametrize(
    ("new", "key"),
    [
        ({"fork_length": 39.1}, "new.fork_length"),
        ({"front_diameter": math.nan}, "new.wheel_diameter.front"),
        ({"fork_length": 100.0, "front_diameter": 450.0}, "new.head_angle"),
        ({"fork_length": 1000.0, "front_diameter": 900.0}, "new.head_angle"),
        ({"rear_diameter": 1000.0, "front_diameter": 1000.0}, "new.wheelbase"),
    ],
)
def test_new_parts_that_make_no_bicycle_are_refused(new: dict[str, float], key: str) -> None:
    with pytest.raises(InputError, match="found") as caught:
        changed(replace(ERRAND, wheelbase=990.0, head_angle_deg=70.0), **new)
    assert caught.value.key == key


def test_a_fork_folded_under_the_bike_is_refused() -> None:
    slack = Bike(head_angle_deg=46.0, wheelbase=600.0, fork_offset=40.0, front_diameter=300.0, rear_diameter=300.0,
                 fork_length=1000.0)  # fmt: skip
    with pytest.raises(InputError, match="under the rear one") as caught:
        changed(slack, fork_length=120.0)
    assert caught.value.key == "new"


def test_a_new_fork_needs_the_old_one() -> None:
    with pytest.raises(InputError, match=r"found none, but new.fork_length = 412 mm; .*axle to crown") as caught:
        changed(replace(ERRAND, fork_length=None), fork_length=412.0)
    assert caught.value.key == "fork_length"


@pytest.mark.parametrize("brake_reach", [(49.0, 39.0), (0.0, 49.0), (39.0, math.inf), (math.nan, 49.0)])
def test_a_brake_reach_that_is_no_range_is_refused(brake_reach: tuple[float, float]) -> None:
    with pytest.raises(InputError, match="shortest and the longest") as caught:
        reach_misfit(44.0, brake_reach)
    assert caught.value.key == "brake_reach"


@pytest.mark.parametrize(("reach", "tyre_width"), [(18.0, 38.0), (19.0, 38.0), (math.nan, 38.0), (-170.0, 0.0)])
def test_a_pedal_inside_the_tyre_is_refused(reach: float, tyre_width: float) -> None:
    with pytest.raises(InputError, match="more than half the tyre") as caught:
        lean_angle_deg(100.0, reach, tyre_width)
    assert caught.value.key == "pedal_reach"


def test_a_change_of_just_the_whole_range_serves_at_one_setting() -> None:
    assert reach_now_that_serves(10.0, (39.0, 49.0)) == pytest.approx((39.0, 39.0))
