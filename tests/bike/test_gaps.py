"""Gaps that protect a rider, one check at a time: mm, side, key and remedy; exactly at the limit nothing is wrong."""

from __future__ import annotations

from typing import Any

import pytest

from tests.making.builds import changed_from
from wheelcalc.bike import clearances
from wheelcalc.bike.ends import Unchecked
from wheelcalc.bike.width import Spacing
from wheelcalc.build.whole import Build
from wheelcalc.wheel.findings import Finding

NONE = Spacing(0.0, 0.0)
CHAIN = 6.6
# Limits as the build file has them by default (P and C there), gaps that are all sound.
SOUND: dict[str, Any] = {
    "position": "rear",
    "frame.spacing_to": "faces",
    "frame.dropout": "slot",
    "frame.brake": "disc",
    "hub.drive": "cassette",
    "hub.rotor_face": 15.5,
    "frame.rotor_to_dropout": 15.1,
    "cogs.count": 7,
    "cogs.locknut_to_smallest": 6.1,
    "cogs.largest_to_spokes": 3.4,
    "clearance.rotor_gap": 2.6,
    "clearance.tyre_gap": 6.2,
    "clearance.pad_gap": 2.1,
    "limits.chain_to_dropout_stop": 1.0,
    "limits.cog_to_spokes_stop": 1.0,
    "limits.cog_to_spokes_caution": 3.0,
    "limits.rotor_gap_stop": 1.0,
    "limits.rotor_gap_caution": 2.0,
    "limits.rotor_place_caution": 1.0,
    "limits.tyre_gap_stop": 1.6,
    "limits.tyre_gap_caution": 4.0,
    "limits.pad_to_tyre_stop": 1.0,
}


def known(**changed: Any) -> Build:
    """The sound gaps with some keys changed; two underscores stand for the dot, None takes a key out."""
    return changed_from(SOUND, **changed)


def finding(found: Any) -> Finding:
    [each] = found
    assert isinstance(each, Finding)
    return each


def unchecked(found: Any) -> Unchecked:
    [each] = found
    assert isinstance(each, Unchecked)
    return each


@pytest.mark.parametrize(
    ("drive", "count", "shifted"),
    [
        ("cassette", 2, True),
        ("freewheel", 7, True),
        (None, 5, True),
        ("cassette", 1, False),
        ("cassette", None, True),  # not counted: what the drive is made for
        ("freewheel", None, True),
        (None, None, False),
        ("internal gear", 2, False),
        ("fixed", 1, False),
    ],
)
def test_several_cogs_are_shifted_by_a_derailleur(drive: str | None, count: int | None, shifted: bool) -> None:
    assert known(hub__drive=drive, cogs__count=count).has_derailleur is shifted


# Chain and right end


@pytest.mark.parametrize(
    ("changed", "chain", "gap", "how"),
    [
        # D: 6.1 less half of 6.6; less the recess that the hub's end sits in
        ({}, CHAIN, 2.8, "the smallest cog's 6.1 mm less half a chain of 6.6 mm"),
        ({"frame__recess_depth": 2.2}, CHAIN, 0.6, "less half a chain of 6.6 mm and the recess of 2.2 mm"),
        ({"cogs__chain_to_dropout": 1.9}, CHAIN, 1.9, "measured without the spacers"),
        ({"cogs__chain_to_dropout": 1.9, "cogs__locknut_to_smallest": None}, None, 1.9, "measured without the spacers"),
    ],
)
def test_chain_gap(changed: dict[str, Any], chain: float | None, gap: float, how: str) -> None:
    found = clearances.chain_gap(known(**changed), chain)
    assert found is not None
    assert found[0] == pytest.approx(gap, abs=1e-9)
    assert found[1].endswith(how)


FLOORS = {"frame__spacing_to": "recess floors", "frame__dropout": "through"}


@pytest.mark.parametrize(
    ("changed", "chain", "keys"),
    [
        ({"cogs__locknut_to_smallest": None}, CHAIN, ("cogs.locknut_to_smallest",)),
        ({"cogs__count": None}, None, ("cogs.count",)),
        ({}, None, ("cogs.chain_to_dropout",)),
        (FLOORS, CHAIN, ("frame.recess_depth",)),
    ],
)
def test_a_chain_gap_that_is_not_known(changed: dict[str, Any], chain: float | None, keys: tuple[str, ...]) -> None:
    assert clearances.chain_gap(known(**changed), chain) is None
    found = unchecked(clearances.chain_to_dropout(known(**changed), NONE, chain))
    assert "cogs.chain_to_dropout itself" in found.what
    assert found.keys == keys


@pytest.mark.parametrize(
    ("right", "text", "add"),
    [
        # D: 3.6 less 3.3 and the spacer; 1.0 is the least
        (0.0, "run 0.3 mm from the right dropout or stay (the smallest cog's 3.6 mm less half a chain of 6.6 mm); 1 mm",
         "Add 0.7 mm or more of spacer on the right"),
        (0.5, "run 0.8 mm from the right dropout or stay (the smallest cog's 3.6 mm less half a chain of 6.6 mm, +0.5 mm spacer); 1",
         "Add 0.2 mm or more"),
        (-0.7, "cut 0.4 mm into the right dropout or stay (the smallest cog's 3.6 mm less half a chain of 6.6 mm, -0.7 mm spacer)",
         "Add 1.4 mm or more"),
    ],
)  # fmt: skip
def test_a_chain_that_would_jam(right: float, text: str, add: str) -> None:
    near = finding(clearances.chain_to_dropout(known(cogs__locknut_to_smallest=3.6), Spacing(4.0, right), CHAIN))
    assert (near.level, near.name) == ("stop", "chain-near-dropout")
    assert text in near.text
    assert near.remedy.startswith(add)


def test_where_no_chain_can_jam() -> None:
    near = {"cogs__locknut_to_smallest": 3.6}
    for changed in ({"position": "front"}, {"hub__drive": "none"}):
        assert list(clearances.chain_to_dropout(known(**near, **changed), NONE, CHAIN)) == []
    # At the limit: 4.3 less 3.3
    assert list(clearances.chain_to_dropout(known(cogs__locknut_to_smallest=4.3), NONE, CHAIN)) == []
    assert len(list(clearances.chain_to_dropout(known(cogs__locknut_to_smallest=4.25), NONE, CHAIN))) == 1


# Cogs and spokes


@pytest.mark.parametrize(
    ("gap", "level", "said"),
    [(0.9, "stop", "would go into them"), (2.9, "caution", "little room"), (1.0, "caution", "little room")],
)
def test_cogs_near_the_spokes(gap: float, level: str, said: str) -> None:
    near, screws = clearances.cogs_to_spokes(known(cogs__largest_to_spokes=gap))
    assert isinstance(near, Finding)
    assert (near.level, near.name) == (level, "cog-near-spokes")
    assert f"{gap:g} mm from the spokes" in near.text
    assert said in near.text
    assert isinstance(screws, Finding)
    assert (screws.level, screws.name) == ("note", "limit-screws")
    assert "stops no longer hold" in screws.text
    assert "past the low stop lies the wheel" in screws.remedy


def test_cogs_with_room_or_none_to_shift() -> None:
    for gap in (3.0, 3.4):
        assert [each.name for each in clearances.cogs_to_spokes(known(cogs__largest_to_spokes=gap))] == ["limit-screws"]
    missing, screws = clearances.cogs_to_spokes(known(cogs__largest_to_spokes=None))
    assert missing.keys == ("cogs.largest_to_spokes",)
    assert screws.name == "limit-screws"
    uncounted = clearances.cogs_to_spokes(known(cogs__count=None, cogs__largest_to_spokes=0.9))
    assert next(iter(uncounted)).name == "cog-near-spokes"
    for changed in ({"position": "front"}, {"hub__drive": "fixed"}, {"cogs__count": 1}):
        assert list(clearances.cogs_to_spokes(known(**changed, cogs__largest_to_spokes=0.9))) == []


# Rotor


@pytest.mark.parametrize(
    ("gap", "left", "level", "said"),
    [
        # D: only what is taken off on the left brings the fork nearer
        (2.6, -0.7, "caution", "1.9 mm left"),
        (2.6, -1.9, "stop", "0.7 mm left"),
        (0.8, 0.9, "stop", "0.8 mm left"),
        (2.0, 0.0, None, ""),
        (1.0, 0.0, "caution", "1.0 mm left"),
    ],
)
def test_room_round_the_rotor(gap: float, left: float, level: str | None, said: str) -> None:
    found = list(clearances.rotor_gap(known(clearance__rotor_gap=gap), Spacing(left, 3.0)))
    assert [each.level for each in found] == ([level] if level else [])
    assert all(each.name == "rotor-near" and said in each.text and "smaller rotor" in each.remedy for each in found)


def test_room_round_the_rotor_that_is_not_known_or_not_wanted() -> None:
    found = unchecked(clearances.rotor_gap(known(clearance__rotor_gap=None), NONE))
    assert "rotor" in found.what
    assert found.keys == ("clearance.rotor_gap",)
    assert list(clearances.rotor_gap(known(frame__brake="rim", clearance__rotor_gap=0.2), NONE)) == []


@pytest.mark.parametrize(
    ("changed", "left", "said", "remedy"),
    [
        # D: face less recess less place wanted, and the spacer on the left
        ({}, 1.3, "1.7 mm further in", "Shim the rotor out or move the spacer from the left to the right"),
        ({"frame__recess_depth": 2.2}, 0.0, "1.8 mm further out", "Shim the calliper, or add a spacer left"),
        ({"limits__rotor_place_caution": 0.5}, 0.3, "0.7 mm further in", "Shim the rotor out"),
        ({"hub__rotor": True}, -1.6, "1.2 mm further out", "Shim the calliper"),
    ],
)
def test_a_rotor_out_of_its_place(changed: dict[str, Any], left: float, said: str, remedy: str) -> None:
    misplaced = finding(clearances.rotor_place(known(**changed), Spacing(left, 5.0)))
    assert (misplaced.level, misplaced.name) == ("caution", "rotor-misplaced")
    assert said in misplaced.text
    assert remedy in misplaced.remedy


def test_a_rotor_at_the_limit_or_none() -> None:
    assert list(clearances.rotor_place(known(hub__rotor_face=15.75, frame__rotor_to_dropout=14.75), NONE)) == []
    for changed in ({"frame__brake": "rim"}, {"hub__rotor": False}):
        assert list(clearances.rotor_place(known(**changed), Spacing(9.0, 0.0))) == []
        assert clearances.rotor_inward(known(**changed)) is None


@pytest.mark.parametrize(
    ("changed", "keys"),
    [
        ({"hub__rotor_face": None}, ("hub.rotor_face",)),
        ({"frame__rotor_to_dropout": None}, ("frame.rotor_to_dropout",)),
        ({"hub__rotor_face": None, "frame__rotor_to_dropout": None}, ("hub.rotor_face", "frame.rotor_to_dropout")),
        (FLOORS, ("frame.recess_depth",)),
    ],
)
def test_a_rotor_s_place_that_is_not_known(changed: dict[str, Any], keys: tuple[str, ...]) -> None:
    found = unchecked(clearances.rotor_place(known(**changed), NONE))
    assert "calliper wants it" in found.what
    assert found.keys == keys


# Tyre and pads


@pytest.mark.parametrize(
    ("gap", "sprung", "level", "said"),
    [
        (1.5, False, "stop", "The tyre has 1.5 mm to frame or fork: under 1.6 mm (16 CFR 1512.11(b))"),
        (3.9, False, "caution", "The tyre has 3.9 mm to frame or fork: under 4 mm (EN 14781 for racing bicycles)"),
        (1.5, True, "stop", "1.5 mm to frame or fork with the fork fully compressed: under 1.6 mm (16 CFR"),
        (3.9, True, "caution", "3.9 mm to frame or fork with the fork fully compressed: under 4 mm (EN"),
    ],
)
def test_a_tight_tyre(gap: float, sprung: bool, level: str, said: str) -> None:
    near = finding(clearances.tyre_gap(known(clearance__tyre_gap=gap, clearance__suspension=sprung or None)))
    assert (near.level, near.name) == (level, "tyre-near")
    assert near.text.startswith(said) or (sprung and said in near.text)
    assert "narrower tyre" in near.remedy


def test_a_sprung_fork_with_room_is_measured_compressed() -> None:
    assert list(clearances.tyre_gap(known())) == []
    note = finding(clearances.tyre_gap(known(clearance__suspension=True)))
    assert (note.level, note.name) == ("note", "gap-when-compressed")


def test_a_pad_at_the_limit_and_below() -> None:
    rim = {"frame__brake": "rim"}
    assert list(clearances.pad_gap(known(**rim, clearance__pad_gap=1.0))) == []
    near = finding(clearances.pad_gap(known(**rim, clearance__pad_gap=0.9)))
    assert (near.level, near.name) == ("stop", "pad-near-tyre")
    assert "0.9 mm from the tyre (under 1 mm)" in near.text
    assert unchecked(clearances.pad_gap(known(**rim, clearance__pad_gap=None))).keys == ("clearance.pad_gap",)
    assert list(clearances.pad_gap(known(clearance__pad_gap=0.2))) == []
