"""Spokes as they sit against the plan: what they really are, how many holes out, which to move."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.making.lacing_builds import patterns
from wheelcalc.wheel import lacing
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import LETTER, Counts, Lacing
from wheelcalc.wheel.seen import Diagnosis, diagnose, read_seen

PLAN = lacing.crossed(36, 3)  # 1-R4, 2-L4, 3-R17, 4-L17, 5-R6, 6-L6, 7-R1, 8-L1 ...


def seen(text: str, plan: Lacing = PLAN) -> Diagnosis:
    return diagnose(read_seen(text, plan), plan)


def as_text(plan: Lacing, places: list[int], rim_moved: int = 0, hub_moved: int = 0) -> str:
    parts = []
    for place in places:
        side = plan.sides[place]
        rim = (int(plan.rim_hole[place]) - 1 + rim_moved) % plan.rim_holes + 1
        hub = (int(plan.hub_hole[place]) - 1 + hub_moved) % plan.holes_of(side) + 1
        parts.append(f"{rim}-{LETTER[side]}{hub}")
    return ", ".join(parts)


@given(patterns, st.data())
def test_the_plan_itself_is_in_order(plan: Lacing, data: st.DataObject) -> None:
    places = data.draw(st.lists(st.integers(0, len(plan) - 1), min_size=1, unique=True))
    found = seen(as_text(plan, places), plan)
    assert not found.to_move
    assert found.rim_turned == 0
    assert set(found.hub_turned.values()) == {0}


@pytest.mark.parametrize("holes", [1, 5, 17])
def test_numbers_that_begin_elsewhere_are_no_mistake(holes: int) -> None:
    found = seen(as_text(PLAN, list(range(8)), hub_moved=holes))
    assert not found.to_move
    assert found.hub_turned == {"left": (holes + 9) % 18 - 9, "right": (holes + 9) % 18 - 9}


@pytest.mark.parametrize("moved", [2, -2, 1, -1])
def test_a_lacing_moved_along_the_rim_is_told_from_a_wrong_one(moved: int) -> None:
    found = seen(as_text(PLAN, list(range(8)), rim_moved=moved))
    assert not found.to_move
    assert found.rim_turned == moved


def test_one_spoke_a_hole_out() -> None:
    found = seen("1-R4, 2-L4, 3-R17, 5-R8, 7-R1")
    (wrong,) = found.to_move
    assert (str(wrong.seen), wrong.planned, wrong.holes_out) == ("5-R8", "R6", 2)


def test_a_group_out_is_another_cross() -> None:
    """Leading spokes two holes forward of the plan pass 2 of their flange: each two holes are one cross (D)."""
    found = seen("1-R4, 5-R6, 3-R1, 7-R3, 2-L4")
    assert [(str(each.seen), each.holes_out, each.crosses, each.lean) for each in found.to_move] == [
        ("3-R1", 2, 2, -1),
        ("7-R3", 2, 2, -1),
    ]
    back = seen("1-R4, 5-R6, 3-R15, 7-R17, 2-L4")
    assert {each.crosses for each in back.to_move} == {4}


def test_both_directions_out_by_one_are_a_two_cross_wheel() -> None:
    """The plan for 2 crosses, typed on the plan for 3: 1-R3 and 3-R18, whatever is typed first."""
    two = lacing.crossed(36, 2)
    found = seen(as_text(two, [0, 2]))
    assert [(each.planned, each.holes_out, each.crosses) for each in found.verdicts] == [("R4", -1, 2), ("R17", 1, 2)]


def test_the_wrong_flange_is_named() -> None:
    found = seen("1-R4, 5-R6, 2-R5")
    (wrong,) = found.to_move
    assert wrong.wrong_flange
    assert wrong.planned == "L4"


def test_hub_hole_under_its_rim_hole_is_radial() -> None:
    (only,) = seen("5-3").verdicts
    assert (only.crosses, only.lean, only.holes_out) == (0, 0, -3)


@pytest.mark.parametrize("text", ["1-4", "1-R4", "1-r4", "1:4", " 1 - R4 ", "1-4,", "1-4;5-6", "1-R4 5-R6", "1-4\n5-6"])
def test_ways_to_type(text: str) -> None:
    assert not seen(text).to_move


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "found no spoke; write rim hole-hub hole"),
        (" , ", "found no spoke"),
        ("one-four", 'found "one-four"; write'),
        ("1-4-5", 'found "1-4-5"'),
        ("1-X4", 'found "1-X4"'),
        ("0-4", "rim hole 0; the rim has holes 1 to 36"),
        ("37-4", "rim hole 37; the rim has holes 1 to 36"),
        ("1-19", "hub hole R19; it goes up to 18"),
        ("1-R0", "hub hole R0"),
        ("1-4,1-5", "rim hole 1 twice"),
        ("1-R4,5-R4", "hub hole R4 twice"),
        ("1-4,5-6,\x00", "found"),
        ("9" * 5000, "found"),
    ],
)
def test_text_that_cannot_be_read(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_seen(text, PLAN)


def test_an_empty_rim_hole_wants_its_flange_named() -> None:
    plan = lacing.uneven_counts(Counts(36, 16, 16), 3)
    with pytest.raises(InputError, match="leaves rim hole 5 empty; say which flange"):
        read_seen("5-4", plan)
    (wrong,) = seen("5-R4", plan).to_move
    assert wrong.planned == "empty"


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InputError):
        assert read_seen(text, PLAN)
