"""Spacers against the trade's own conversions and an independent derivation.

Labels: P published, D derived independently of this code, C common practice (number of agreeing sources).
The derivation lays the hub out along a line from the left locknut face and measures everything afresh.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.making.builds import with_keys
from wheelcalc import Flange, Hub, Rim, Wheel, answers, lacing
from wheelcalc.bike.spacers import HubInFrame, balances, judged

HUB = Hub(Flange(18, 44.6, 32.7), Flange(18, 48.1, 20.3, 2.3), 120.3)
WHEEL = Wheel(Rim(36, 601.7, hole_offset=-1.3), HUB, lacing.crossed(36, {"left": 3, "right": 2}))


@pytest.mark.parametrize(("left", "right"), [(3.5, 2.5), (0.0, 6.0), (-2.5, 4.0), (7.25, -1.0)])
def test_a_hub_laid_out_along_a_line(left: float, right: float) -> None:
    """D: every plane as a coordinate from the outer left face, spacers inserted, middles taken anew."""
    old_middle = 120.3 / 2
    planes = {"left": old_middle - 32.7, "right": old_middle + 20.3, "cogs": 103.9, "rotor": 15.2}
    with_spacers = {name: left + place for name, place in planes.items()}
    middle = (left + 120.3 + right) / 2
    plan = judged(np.array([[left, right]]), HubInFrame(missing=5.95, offsets=(32.7, 20.3), chainline_error=2.3))
    assert plan.offset_left[0] == pytest.approx(middle - with_spacers["left"], abs=1e-9)
    assert plan.offset_right[0] == pytest.approx(with_spacers["right"] - middle, abs=1e-9)
    assert plan.cog_shift[0] == pytest.approx((with_spacers["cogs"] - middle) - (103.9 - old_middle), abs=1e-9)
    assert plan.rotor_shift[0] == pytest.approx((middle - with_spacers["rotor"]) - (old_middle - 15.2), abs=1e-9)
    whole = left + 120.3 + right
    assert plan.cog_to_hanger[0] == pytest.approx((whole - with_spacers["cogs"]) - (120.3 - 103.9), abs=1e-9)
    assert plan.rotor_to_calliper[0] == pytest.approx(with_spacers["rotor"] - 15.2, abs=1e-9)
    # The rim was midway between the old faces; it has to come midway between the new ones.
    assert plan.rim_shift[0] == pytest.approx(middle - (left + old_middle), abs=1e-9)
    assert plan.chainline_error[0] == pytest.approx(2.3 - plan.cog_shift[0], abs=1e-9)
    assert plan.width_left_over[0] == pytest.approx(120.3 + 5.95 - whole, abs=1e-9)


def test_tension_ratio_by_the_balance_of_moments() -> None:
    """D: moments about a diameter in the rim's plane vanish wheel by wheel, spokes taken one by one in space."""
    for left, right in [(3.5, 2.5), (0.0, 6.0), (4.0, -1.0)]:
        moved = Wheel(WHEEL.rim, HUB.with_spacers(left, right), WHEEL.lacing)
        ratio, longer_left, longer_right = balances(WHEEL, np.array([(left - right) / 2]))
        tension = np.where(moved.lacing.is_right, 1.0, ratio[0])
        pull = tension[:, np.newaxis] * (moved.hub_points - moved.rim_points)
        pull /= np.linalg.norm(moved.hub_points - moved.rim_points, axis=1)[:, np.newaxis]
        assert pull[:, 0].sum() == pytest.approx(0.0, abs=1e-9)
        for mask, longer in ((~moved.lacing.is_right, longer_left), (moved.lacing.is_right, longer_right)):
            change = np.linalg.norm((moved.hub_points - moved.rim_points)[mask], axis=1).mean()
            change -= np.linalg.norm((WHEEL.hub_points - WHEEL.rim_points)[mask], axis=1).mean()
            assert longer[0] == pytest.approx(change, abs=1e-9)


def test_a_flange_past_the_middle_has_no_ratio() -> None:
    ratio, _, _ = balances(WHEEL, np.array([-25.0, 0.0]))
    assert math.isnan(ratio[0])
    assert ratio[1] > 0


def test_126_and_130() -> None:
    """P (S1), C(4): 130 is 126 and 2 a side."""
    answer = answers.fit({"frame": {"dropout_spacing": 130}, "hub": {"over_locknut": 126}})
    assert answer.verdict == "fits with spacers"
    assert {"left_mm": 2.0, "right_mm": 2.0} in [
        {name: plan[name] for name in ("left_mm", "right_mm")} for plan in answer.as_json()["plans"]
    ]


def test_100_to_110_by_one_cap() -> None:
    """P (distributor): one cap 10 longer on the side away from the rotor, rim moved by 5, the rotor sits right."""
    plan = judged(np.array([[0.0, 10.0]]), HubInFrame(missing=10.0))
    assert abs(plan.rim_shift[0]) == pytest.approx(5.0, abs=1e-12)
    assert plan.rotor_to_calliper[0] == 0.0
    assert plan.width_left_over[0] == 0.0


def test_142_to_148_by_3_a_side() -> None:
    """P (makers), called wrong (C(1)): the rotor then needs a 3 spacer and the cogs stay 3 inboard."""
    plan = judged(np.array([[3.0, 3.0]]), HubInFrame(missing=6.0))
    assert plan.rotor_to_calliper[0] == pytest.approx(3.0, abs=1e-12)
    assert plan.cog_to_hanger[0] == pytest.approx(3.0, abs=1e-12)
    assert plan.rim_shift[0] == 0.0


@pytest.mark.parametrize(("faces", "floors"), [(135.0, 142.0), (150.0, 157.0), (141.0, 148.0)])
def test_through_ends_read_between_their_faces(faces: float, floors: float) -> None:
    """P (NB), C(3): 142 reads 135 between the inner faces, 157 reads 150; D: 148 reads 141."""
    tree = {
        "frame": {"dropout_spacing": faces, "dropout": "through", "recess_depth": 3.5, "axle_diameter": 12},
        "hub": {"over_locknut": floors, "axle": "through", "axle_diameter": 12},
    }
    answer = answers.fit(tree)
    assert answer.verdict == "fits"
    assert not answer.stops


def gaps(**keys: float) -> list[tuple[str, str]]:
    tree = with_keys(frame__dropout_spacing=131.3, **keys)
    return [(f.level, f.name) for f in answers.fit(tree).findings if f.name in ("tyre-near", "pad-near-tyre")]


def test_tyre_gap_of_the_us_rule() -> None:
    """P: 16 CFR 1512.11(b): not less than 1.6; EN 14781 4.10.2 (second hand): 4 for racing bicycles."""
    assert gaps(clearance__tyre_gap=1.59) == [("stop", "tyre-near")]
    assert gaps(clearance__tyre_gap=1.6) == [("caution", "tyre-near")]
    assert gaps(clearance__tyre_gap=3.9) == [("caution", "tyre-near")]
    assert gaps(clearance__tyre_gap=4.0) == []


def test_turned_over_a_hub_swaps_its_plans() -> None:
    """D: seen from the other side left is right, so a mirrored hub with mirrored spacers has the inverse ratio."""
    mirrored = Wheel(
        replace(WHEEL.rim, hole_offset=1.3, first_hole="left"),
        HUB.mirrored(),
        lacing.crossed(36, {"left": 2, "right": 3}, first_hole="left"),
    )
    moves = np.array([-3.0, 0.5, 2.25])
    ratio, left, right = balances(WHEEL, moves)
    back, left_back, right_back = balances(mirrored, -moves)
    assert back == pytest.approx(1 / ratio, rel=1e-9)
    assert left_back == pytest.approx(right, abs=1e-9)
    assert right_back == pytest.approx(left, abs=1e-9)
