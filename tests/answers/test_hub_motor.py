"""A motor's hub is so large that radial spokes and one cross serve: judged by what they do, not by a rule."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from wheelcalc import answers
from wheelcalc.joined.turning import torques
from wheelcalc.measuring.assemble import wheel as assembled
from wheelcalc.tension import load

MOTOR: dict[str, Any] = {
    "rim": {"holes": 36, "erd": 531, "erd_to": "spoke end", "walls": "double", "bead_seat_diameter": 559},
    "hub": {
        "over_locknut": 135,
        "drive": "motor",
        "brake_arm_anchored": True,
        "left": {"holes": 18, "pcd": 212, "locknut_to_flange": 40, "hole_diameter": 2.6},
        "right": {"holes": 18, "pcd": 212, "locknut_to_flange": 48, "hole_diameter": 2.6},
    },
    "load": {"rider": "95 kg", "bike": "28 kg"},
}


def with_(lacing: dict[str, Any], **hub: Any) -> dict[str, Any]:
    return {**MOTOR, "lacing": lacing, "hub": {**MOTOR["hub"], **hub}}


@pytest.mark.parametrize("lacing", [{"pattern": "radial"}, {"crosses": 1}])
@pytest.mark.parametrize("command", [answers.order, answers.lace, answers.tension, answers.lengths])
def test_no_stop_for_what_the_trade_builds(lacing: dict[str, Any], command: Any) -> None:
    assert [each.text for each in command(with_(lacing)).findings if each.level == "stop"] == []


def test_radial_spokes_are_judged_by_wind_up() -> None:
    """D: 60 N m on sum of T R r / L (1 + ...) of 36 spokes; with the hub of a common wheel ten times further."""
    large = {each.name: each for each in answers.lace(with_({"pattern": "radial"})).findings}["radial-turns-hub"]
    assert large.level == "caution"
    assert "60 N m wind it up" in large.text
    assert "most hub makers forbid" in large.text
    small = {"holes": 18, "pcd": 45.3}
    tree = with_(
        {"pattern": "radial"}, left={**MOTOR["hub"]["left"], **small}, right={**MOTOR["hub"]["right"], **small}
    )
    assert {each.name: each.level for each in answers.lace(tree).findings}["radial-turns-hub"] == "stop"


def test_the_limits_are_settings() -> None:
    tree = {**with_({"pattern": "radial"}), "limits": {"wind_up": 0.2, "motor_torque": 41}}
    found = {each.name: each for each in answers.lace(tree).findings}["radial-turns-hub"]
    assert found.level == "stop"
    assert "41 N m" in found.text
    assert "more than 0.2 degrees" in found.remedy


@pytest.mark.parametrize(
    ("drive", "torque"),
    # D: 95 kg x 9.80665 x 0.17 m; 60 N m; half of 123 kg x 9.80665 at 279.5 + 30 mm
    [("cassette", [158.38]), ("motor", [60.0]), ("coaster", [158.38, 186.66]), ("none", [])],
)
def test_greatest_torques(drive: str, torque: list[float]) -> None:
    build = answers.base.opened(with_({"crosses": 1}, drive=drive)).build
    assert [each.torque / 1000 for each in torques(build)] == pytest.approx(torque, abs=0.01)


def test_a_radial_spoke_tears_at_the_metal_outside_its_hole() -> None:
    """D: 1000 N in two strips of (58 - 45 - 2.6) / 2 = 5.2 by 3.1 mm."""
    assert load.flange_stress(1000.0, 45.0, 2.6, 58.0, 3.1) == pytest.approx(1000 / (2 * 5.2 * 3.1))


def test_wind_up_of_radial_spokes_by_tension_alone() -> None:
    """D: sum of T R r / L for radial spokes."""
    build = answers.base.opened(with_({"pattern": "radial"})).build
    wheel = assembled(build)
    tensions = np.where(wheel.lacing.is_right, 930.0, 710.0)
    by_hand = (tensions * 265.5 * 106 / wheel.spans).sum()
    assert load.rigid_windup_stiffness(wheel, tensions) == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize(("drive", "what"), [("motor", "motor"), ("coaster", "coaster brake")])
def test_motor_and_coaster_get_their_arm(drive: str, what: str) -> None:
    tree = {"frame": {"dropout_spacing": 135}, "hub": {"over_locknut": 135, "drive": drive}}
    asked = [each.what for each in answers.fit(tree).not_checked]
    assert f"whether the arm of the {what} has an anchor on the frame" in asked
    tree["hub"]["brake_arm_anchored"] = False
    assert {each.name: each.level for each in answers.fit(tree).findings}["arm-not-anchored"] == "stop"
