"""Properties of the spokes in space: mirror, rotation, scaling, limits, and plain vector geometry."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from numpy.testing import assert_allclose

from tests.making.strategies import wheels
from wheelcalc import Flange, Hub, InputError, Rim, Wheel, Wire, lacing
from wheelcalc.spokes.lengths import cut_lengths
from wheelcalc.tension import targets
from wheelcalc.wheel.lacing_findings import head_gap

HUB = Hub(Flange(16, 41.9, 35.9), Flange(16, 47.3, 19.6))


@given(wheels())
def test_spans_are_the_distances_between_the_points(wheel: Wheel) -> None:
    assert_allclose(np.linalg.norm(wheel.hub_points - wheel.rim_points, axis=1), wheel.spans, rtol=1e-12)


@given(wheels())
def test_direction_cosines_square_to_one(wheel: Wheel) -> None:
    hub = np.where(wheel.lacing.is_right, wheel.hub.right.pcd, wheel.hub.left.pcd) / 2
    along = hub * np.sin(np.radians(wheel.lacing.angle_deg)) / wheel.spans
    assert_allclose(wheel.sideways**2 + wheel.inward**2 + along**2, 1.0, rtol=1e-12)


@given(wheels())
def test_nipple_tilt_is_the_angle_between_spoke_and_radius(wheel: Wheel) -> None:
    spoke, radius = (wheel.hub_points - wheel.rim_points)[:, 1:], -wheel.rim_points[:, 1:]
    across = np.abs(spoke[:, 0] * radius[:, 1] - spoke[:, 1] * radius[:, 0])
    tilt = np.degrees(np.arctan2(across, (spoke * radius).sum(axis=1)))
    assert_allclose(wheel.nipple_tilts_deg, tilt, rtol=1e-9, atol=1e-9)


@given(wheels())
def test_mirror_swaps_the_sides_and_keeps_the_lengths(wheel: Wheel) -> None:
    """A wheel seen in a mirror: same lengths; trailing stays trailing, since it rolls the same way."""
    rim, crosses = wheel.rim, {}
    for side in ("left", "right"):
        crosses[side] = int(wheel.lacing.crosses[~wheel.lacing.on(side)][0])
    pattern = lacing.crossed(rim.holes, crosses, rim.turned_round().first_hole, wheel.hub.phase)
    mirrored = Wheel(rim.turned_round(), wheel.hub.mirrored(), pattern)
    assert_allclose(mirrored.lengths, wheel.lengths, rtol=1e-12)
    assert_allclose(mirrored.sideways, wheel.sideways, rtol=1e-9, atol=1e-12)
    assert (mirrored.lacing.lean == wheel.lacing.lean).all()


@given(wheels())
def test_scaling_all_lengths_scales_the_spans(wheel: Wheel) -> None:
    k = 1.37
    rim = replace(
        wheel.rim, erd=k * wheel.rim.erd, hole_offset=k * wheel.rim.hole_offset, hole_stagger=k * wheel.rim.hole_stagger
    )
    flanges = [
        replace(f, pcd=k * f.pcd, offset=k * f.offset, hole_diameter=k * f.hole_diameter)
        for f in (wheel.hub.left, wheel.hub.right)
    ]
    big = Wheel(rim, replace(wheel.hub, left=flanges[0], right=flanges[1]), wheel.lacing)
    assert_allclose(big.lengths, k * wheel.lengths, rtol=1e-12)
    assert_allclose(big.bracing_angles_deg, wheel.bracing_angles_deg, rtol=1e-9)


@given(wheels())
def test_a_larger_rim_wants_longer_spokes(wheel: Wheel) -> None:
    larger = replace(wheel, rim=replace(wheel.rim, erd=wheel.rim.erd + 0.7))
    gain = larger.lengths - wheel.lengths
    assert (gain > 0).all()
    assert (gain < 0.35 + 1e-9).all()


@given(wheels())
def test_more_tension_wants_shorter_spokes(wheel: Wheel) -> None:
    loose, tight = (cut_lengths(wheel, np.full(len(wheel.lacing), t), 0.0) for t in (310.0, 970.0))
    ideal = replace(wheel, end_give=0)
    slacker, tighter = (cut_lengths(ideal, np.full(len(wheel.lacing), t), 0.0) for t in (310.0, 970.0))
    assert_allclose(wheel.lengths - tighter, (wheel.lengths - slacker) * 970 / 310, rtol=1e-9)
    # D: what the ends give comes on top, less for each newton the tighter they are
    more, most = slacker - loose, tighter - tight
    assert (0 < more).all()
    assert (more < most).all()
    assert (most < more * 970 / 310).all()


@given(wheels())
def test_balanced_sides_leave_no_sideways_pull(wheel: Wheel) -> None:
    pull = targets.sideways_pull(wheel)
    if min(pull.values()) <= 0.01:
        assert targets.ratio_left_to_right(wheel) is None or min(pull.values()) > 0
        return
    tensions = targets.per_spoke(wheel, targets.by_side(wheel, 1013.0))
    assert (tensions * wheel.sideways * wheel.sign).sum() == pytest.approx(0.0, abs=1e-6)
    assert tensions.max() == pytest.approx(1013.0)


def test_equal_flanges_give_equal_sides() -> None:
    flange = Flange(18, 44.7, 33.3)
    wheel = Wheel(Rim(36, 601.3), Hub(flange, flange), lacing.crossed(36, 3))
    assert_allclose(wheel.lengths, wheel.lengths[0], rtol=1e-12)
    assert targets.ratio_left_to_right(wheel) == pytest.approx(1.0)


def test_radial_is_the_limit_of_no_crosses() -> None:
    for pattern in (lacing.radial(32), lacing.crossed(32, 0)):
        wheel = Wheel(Rim(32, 593.7), HUB, pattern)
        # D: in the plane the difference of the radii, across it the offset
        right = np.hypot(593.7 / 2 - 47.3 / 2, 19.6) - 1.25
        assert_allclose(wheel.lengths[wheel.lacing.is_right], right, rtol=1e-12)


def test_a_spacer_moved_is_a_flange_moved() -> None:
    moved = HUB.with_spacers(left=3.0, right=0.5)
    # D: the centre goes (3 - 0.5)/2 = 1.25 to the left
    assert moved.left.offset == pytest.approx(35.9 - 1.25)
    assert moved.right.offset == pytest.approx(19.6 + 1.25)
    assert moved.with_spacers(-3.0, -0.5) == HUB


def test_heads_all_on_one_face_move_the_spokes_beside_the_flange() -> None:
    hub = Hub(replace(HUB.left, thickness=3.4), replace(HUB.right, thickness=3.1))
    wires = {"left": Wire(2.3, 1.8, 2.0), "right": Wire()}
    wheel = Wheel(Rim(32, 593.7), hub, lacing.crossed(32, 3, heads_in={"left": "all", "right": "none"}), wires)
    left, right = ~wheel.lacing.is_right, wheel.lacing.is_right
    # D: (thickness + wire)/2 away from the heads: left heads in, spokes outward; right heads out, spokes inward
    assert_allclose(wheel.hub_points[left, 0], -(35.9 + (3.4 + 2.3) / 2))
    assert_allclose(wheel.hub_points[right, 0], 19.6 - (3.1 + 2.0) / 2)
    assert_allclose(wheel.offsets[left], 35.9 + 2.85)


@pytest.mark.parametrize(
    ("change", "heads_in"),
    [
        ({"thickness": 3.4}, "alternate"),  # half the spokes each side of the flange: its middle on average
        ({"thickness": None}, "all"),
        ({"thickness": 3.4, "spoke_head": "straight"}, "all"),  # they leave along the flange's middle
    ],
)
def test_spokes_that_leave_by_the_middle_of_their_flange(change: dict[str, object], heads_in: str) -> None:
    hub = Hub(replace(HUB.left, **change), replace(HUB.right, **change))
    wheel = Wheel(Rim(32, 593.7), hub, lacing.crossed(32, 3, heads_in=heads_in))
    assert_allclose(wheel.hub_points[:, 0], np.where(wheel.lacing.is_right, 19.6, -35.9), rtol=1e-12)


def test_stretch_of_different_wire_left_and_right() -> None:
    wires = {"left": Wire(2.3, 1.8, 2.0, butts=(17.0, 22.0)), "right": Wire(1.9, 1.9, 1.9)}
    wheel = Wheel(Rim(32, 593.7), HUB, lacing.crossed(32, {"left": 2, "right": 3}), wires)
    left, right = ~wheel.lacing.is_right, wheel.lacing.is_right
    # D (Hooke): L / (E A) of the segments one after the other, E 200 GPa
    along = 17 / 2.3**2 + (wheel.spans[left] - 39) / 1.8**2 + 22 / 2.0**2
    assert_allclose(wheel.flexibilities[left], along / (200_000 * np.pi / 4), rtol=1e-8)
    assert_allclose(wheel.flexibilities[right], wheel.spans[right] / (200_000 * np.pi / 4 * 1.9**2), rtol=1e-8)


def test_straight_heads_take_no_hole_off() -> None:
    straight = replace(HUB, right=replace(HUB.right, spoke_head="straight"))
    wheel = Wheel(Rim(32, 593.7), straight, lacing.crossed(32, 3))
    right = wheel.lacing.is_right
    assert_allclose(wheel.lengths[right], wheel.spans[right])
    assert_allclose(wheel.lengths[~right], wheel.spans[~right] - 1.25)


def test_hole_offset_stagger_and_shift_of_the_rim() -> None:
    wheel = Wheel(Rim(32, 593.7, hole_offset=2.7, hole_stagger=1.3), HUB, lacing.crossed(32, 3), rim_shift=-0.8)
    right = wheel.lacing.is_right
    # D: the right holes at -0.8 + 2.7 + 1.3 = 3.2, the left ones at -0.8 + 2.7 - 1.3 = 0.6
    assert_allclose(wheel.offsets[right], 19.6 - 3.2)
    assert_allclose(wheel.offsets[~right], 35.9 + 0.6)


def test_next_head_distance() -> None:
    """D: the next hole is a chord 2 r sin(180/n) away; the spoke leaves at its tilt plus 360 k/n from radial."""
    wheel = Wheel(Rim(36, 601.3), Hub(Flange(18, 44.7, 35.0), Flange(18, 44.7, 35.0)), lacing.crossed(36, 4))
    chord = 44.7 * np.sin(np.radians(10))
    leaves = 80 + wheel.nipple_tilts_deg[0]
    assert head_gap(wheel, "right") == pytest.approx(chord * np.sin(np.radians(100 - leaves)), abs=1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"rim": Rim(36, 600)}, "rim.holes: found 36, but the lacing is for 32"),
        ({"rim": Rim(32, 600, first_hole="left")}, "rim.first_hole: found 'left', but the lacing begins on the right"),
        ({"hub": Hub(Flange(18, 44, 35), HUB.right)}, "hub.left.holes: found 18, but the lacing is for 16"),
    ],
)
def test_parts_that_do_not_belong_together(change: dict[str, object], message: str) -> None:
    parts: dict[str, object] = {"rim": Rim(32, 593.7), "hub": HUB, "lacing": lacing.crossed(32, 3)}
    with pytest.raises(InputError, match=message):
        Wheel(**(parts | change))


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Flange(16, 10.0, 30.0, 2.5), "do not fit on that circle"),
        (lambda: Flange(2, 44.0, 30.0), "3 spoke holes or more"),
        (lambda: Flange(16, float("nan"), 30.0), "pcd: found nan"),
        (lambda: Rim(4, 600.0), "6 spoke holes or more"),
        (lambda: Rim(32, -600.0), "erd: found -600"),
        (lambda: Wire(9.0), "between 0.5 and 5 mm"),
        (lambda: Flange(16, 44.0, 30.0, spoke_head="bent"), "elbow, straight"),
    ],
)
def test_impossible_parts(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()


def test_a_wheel_shows_its_spokes_in_a_notebook() -> None:
    wheel = Wheel(Rim(32, 593.7), HUB, lacing.crossed(32, 3))
    shown = wheel._repr_html_()
    assert shown.count("<tr>") == 33
    plain = shown.replace(' style="text-align: right"', "").replace(' style="text-align: left"', "")
    assert "<tr><th>rim hole</th><th>side</th><th>hub hole</th><th>crosses</th><th>length mm</th>" in plain
    assert plain.count("<td>") == 32 * 6
    # D: rim hole 2 serves the left flange
    assert (
        f"<td>2</td><td>left</td><td>{wheel.lacing.hub_labels[1]}</td><td>3</td><td>{wheel.lengths[1]:.2f}</td>"
        in plain
    )
    assert shown.count('<td style="text-align: right">') == 32 * 4  # numbers, but not side and hub hole
