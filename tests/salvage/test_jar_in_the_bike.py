"""Wheels of a jar held against frame or fork: brake, bead seat, room for the tyre."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wheelcalc import answers


def bike(**clearance) -> dict:
    """A bike whose own rim has a bead seat of 622, with one other rim of 590 and one of 630, and spokes for all."""
    flange = {"holes": 18, "pcd": 45, "hole_diameter": 2.5}
    own = {"holes": 36, "erd": "598 mm", "erd_to": "spoke end"}
    lots = {str(length): 36 for length in range(268, 306)}
    return {
        "rim": {**own, "bead_seat_diameter": 622, "brake_track": True},
        "hub": {
            "over_locknut": 130,
            "left": {**flange, "locknut_to_flange": 31},
            "right": {**flange, "locknut_to_flange": 44},
        },
        "lacing": {"crosses": 3},
        "frame": {"dropout_spacing": 130, "brake": "rim"},
        "clearance": clearance,
        "jar": {
            "spokes": [{"wire": "2.0", "on_hand": lots, "taken_from": "new"}],
            "rims": [
                {**own, "name": "small", "erd": "566 mm", "bead_seat_diameter": 590, "brake_track": True},
                {**own, "name": "large", "erd": "606 mm", "bead_seat_diameter": 630, "brake_track": True},
                {**own, "name": "blank", "bead_seat_diameter": 622, "brake_track": False},
            ],
        },
    }


def against(tree: dict) -> dict[str, dict[str, str]]:
    """Of each rim what speaks against its three-cross wheel: name -> level."""
    builds = answers.salvage(tree).as_json()["builds"]
    own = [each for each in builds if not each["short_of"] and each["crosses"] == {"left": 3, "right": 3}]
    return {each["rim"]: {one["name"]: one["level"] for one in each["findings"]} for each in own}


@pytest.mark.parametrize(
    ("now", "small", "large"),
    [(41, "stop", "stop"), (44, "stop", None), (32 + 1, None, "stop")],  # D: 590 is 16 mm further away, 630 is 4 nearer
)
def test_a_brake_reaches_other_rims_or_stops_them(now, small, large) -> None:
    found = against(bike(brake_reach=[39, 49], reach_now=now))
    assert found["small"].get("brake-reach") == small
    assert found["large"].get("brake-reach") == large
    assert "brake-reach" not in found["this rim"]


def test_an_unknown_reach_is_said() -> None:
    found = against(bike())
    assert found["small"]["brake-reach-unchecked"] == found["large"]["brake-reach-unchecked"] == "caution"
    assert "brake-reach-unchecked" not in found["this rim"]


def test_each_rim_answers_for_its_own_brake_track() -> None:
    tree = bike(brake_reach=[39, 49], reach_now=44)
    found = against(tree)
    assert found["blank"]["no-brake-track"] == "stop"
    assert "no-brake-track" not in found["this rim"]
    tree["rim"]["brake_track"] = False
    found = against(tree)
    assert found["this rim"]["no-brake-track"] == "stop"
    assert "no-brake-track" not in found["large"]


def test_a_larger_rim_needs_room_for_its_tyre() -> None:
    # D: 8 mm more diameter, 4 mm less gap; P: 16 CFR 1512.11(b) asks 1.6 mm, EN 14781 4 mm.
    for gap, level in ((5, "stop"), (7, "caution"), (9, None)):
        found = against(bike(tyre_gap=gap, brake_reach=[39, 49], reach_now=44))
        assert found["large"].get("tyre-near") == level
        assert "tyre-near" not in found["small"]
    assert against(bike())["large"]["tyre-unchecked"] == "caution"


def test_wheels_that_something_stops_come_last_and_the_verdict_does_not_praise_them() -> None:
    tree = bike(brake_reach=[39, 49], reach_now=44)
    stops = [
        any(one["level"] == "stop" for one in each["findings"])
        for each in answers.salvage(tree).as_json()["builds"]
        if not each["short_of"]
    ]
    assert stops == sorted(stops)
    tree["rim"]["brake_track"] = False
    del tree["jar"]["rims"][:2]
    assert "no wheel without a stop" in str(answers.salvage(tree)).splitlines()[0]


def test_hubs_that_lack_the_same_stand_in_one_line_and_mixed_wire_is_said() -> None:
    tree = bike()
    tree["jar"]["spokes"] = [
        {"wire": "2.0", "on_hand": {"290": 36, "288": 12}, "taken_from": "new"},
        {"wire": "1.8", "on_hand": {"289": 18}, "taken_from": "new"},
    ]
    tree["jar"]["hubs"] = [{"name": "twin", **{key: tree["hub"][key] for key in ("over_locknut", "left", "right")}}]
    text = " ".join(str(replace(answers.salvage(tree), whole=True)).split())
    assert text.count("on this hub or twin") >= 1
    lots = {str(length): 17 for length in range(268, 306)}
    tree["jar"]["spokes"] = [{"wire": wire, "on_hand": lots, "taken_from": "new"} for wire in ("2.0", "1.8")]
    text = " ".join(str(answers.salvage(tree)).split())
    assert "Wire: " in text
    assert "In the frame: " in text
    assert "this hub: fits" in text
