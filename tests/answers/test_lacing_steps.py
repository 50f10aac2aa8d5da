"""The order to lace in, followed by a machine that knows only the printed text, against the table."""

from __future__ import annotations

import re

import numpy as np
from hypothesis import given, settings

from tests.making.lacing_builds import patterns
from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.answers.lacing.steps import numbering, steps
from wheelcalc.wheel.joining import LETTER, Counts, Lacing

EVERY = {"the next": 1, "every second": 2, "every third": 3, "every fourth": 4, "every fifth": 5, "every sixth": 6}
PAIR = re.compile(r"(\d+)-([RL])(\d+)")


def wheel_of(pattern: Lacing) -> Wheel:
    left, right = (
        Flange(n, 46.0, x, hole_diameter=1.0) for n, x in ((pattern.left_holes, 34), (pattern.right_holes, 19))
    )
    return Wheel(Rim(pattern.rim_holes, 590.0, first_hole=pattern.first_hole), Hub(left, right), pattern)


def told(pattern: Lacing, interlaced: bool = True) -> list[tuple[str, list[int], str, str]]:
    found = steps(wheel_of(pattern), {"left": interlaced, "right": interlaced})
    return [(step.title, step.rim_holes, step.text, step.checkpoint) for step in found]


@given(patterns)
@settings(max_examples=60)
def test_each_rim_hole_is_in_exactly_one_step(pattern: Lacing) -> None:
    holes = [hole for _, rim_holes, _, _ in told(pattern) for hole in rim_holes]
    assert sorted(holes) == pattern.rim_hole.tolist()


@given(patterns)
@settings(max_examples=60)
def test_the_pairs_told_are_those_of_the_table(pattern: Lacing) -> None:
    table = dict(zip(pattern.rim_hole.tolist(), pattern.hub_labels, strict=True))
    laced = {int(rim): letter + hub for _, _, text, _ in told(pattern) for rim, letter, hub in PAIR.findall(text)}
    assert laced == table


@given(patterns)
@settings(max_examples=60)
def test_counting_on_by_the_steps_told_gives_the_table(pattern: Lacing) -> None:
    """First spoke and 'every fourth rim hole, every second hub hole', counted on with nothing else."""
    table = dict(zip(pattern.rim_hole.tolist(), pattern.hub_labels, strict=True))
    for _, rim_holes, text, _ in told(pattern):
        first = re.search(r"First ([RL])(\d+) to rim hole (\d+)", text)
        assert first is not None
        side = {letter: name for name, letter in LETTER.items()}[first[1]]
        match = re.search(r"then ([\w ]+?) rim hole and ([\w ]+?) (?:left|right) hub hole, both forward", text)
        if match is None:
            continue
        rim_step, hub_step = (EVERY.get(word) or int(re.sub(r"\D", "", word)) for word in match.groups())
        for number in range(len(rim_holes)):
            rim = (int(first[3]) - 1 + number * rim_step) % pattern.rim_holes + 1
            hub = (int(first[2]) - 1 + number * hub_step) % pattern.holes_of(side) + 1
            assert table[rim] == f"{first[1]}{hub}"


@given(patterns)
@settings(max_examples=60)
def test_free_holes_told_are_those_that_stay_free(pattern: Lacing) -> None:
    _, rim_holes, _, checkpoint = told(pattern)[0]
    if len(rim_holes) == 1:
        assert "neighbours" not in checkpoint
        return
    free = re.search(r"Between neighbours (\d+) rim holes?", checkpoint)
    assert free is not None
    gaps = (np.diff(rim_holes, append=rim_holes[0]) - 1) % pattern.rim_holes
    assert int(free[1]) in gaps


@given(patterns)
@settings(max_examples=60)
def test_titles_name_flange_direction_heads_and_count(pattern: Lacing) -> None:
    for title, rim_holes, _, _ in told(pattern):
        match = re.fullmatch(r"(Left|Right) flange, (\w+), heads (in|out): (\d+) spokes?", title)
        assert match is not None
        assert int(match[4]) == len(rim_holes)
        for hole in rim_holes:
            place = int(np.flatnonzero(pattern.rim_hole == hole)[0])
            assert pattern.sides[place] == match[1].lower()
            assert pattern.directions[place] == match[2]
            assert pattern.heads[place] == match[3]


@given(patterns)
@settings(max_examples=40)
def test_the_valve_region_told_is_what_is_in(pattern: Lacing) -> None:
    table = dict(zip(pattern.rim_hole.tolist(), pattern.hub_labels, strict=True))
    done: set[int] = set()
    for _, rim_holes, _, checkpoint in told(pattern):
        done |= set(rim_holes)
        region = checkpoint.split(".")[0]
        for hole in (pattern.rim_holes - 1, pattern.rim_holes, 1, 2):
            shown = re.search(rf"(?<!\d){hole} (empty|stays empty|[RL]\d+)", region)
            assert shown is not None
            if hole not in table:
                assert shown[1] == "stays empty"
            else:
                assert shown[1] == (table[hole] if hole in done else "empty")


def test_the_hub_is_turned_once_and_the_right_way() -> None:
    forward = [text for _, _, text, _ in told(lacing.crossed(36, 3, heads_in="leading"))]
    assert [("turn the hub forward" in text) for text in forward] == [False, False, True, False]
    backward = [text for _, _, text, _ in told(lacing.crossed(36, 3, heads_in="trailing"))]
    assert [("turn the hub backward" in text) for text in backward] == [False, False, True, False]
    assert not any("turn the hub" in text for _, _, text, _ in told(lacing.radial(36)))


def test_heads_out_go_in_before_heads_in() -> None:
    for heads in ("leading", "trailing"):
        titles = [title for title, *_ in told(lacing.crossed(32, {"left": 2, "right": 3}, heads_in=heads))]
        assert ["out" in title for title in titles] == [True, True, False, False]
        assert [title.split()[0] for title in titles] == ["Right", "Left", "Right", "Left"]


def test_crossing_count_and_weaving_are_told() -> None:
    texts = told(lacing.crossed(36, 3))
    assert (
        "passes 3 spokes of its own flange: outside of all but the last, then tuck it inside of the last" in texts[2][2]
    )
    assert "it passes 3 of its own flange" in texts[2][3]
    assert "2 or 4 instead" in texts[2][3]
    assert "outside of them all" in told(lacing.crossed(36, 3), interlaced=False)[2][2]


def test_neighbours_that_must_not_cross_are_told_and_which_way_out_they_are() -> None:
    check = told(lacing.crossed(36, 3))[1][3]
    assert (
        "rim hole 2 and rim hole 1 run side by side and do not cross. If they do, this group is one hub hole too far back"
        in check
    )
    left_first = told(lacing.crossed(36, 3, first_hole="left"))[1][3]
    assert "rim hole 2 and rim hole 1 run side by side" in left_first


def test_numbering_tells_where_the_other_flange_begins() -> None:
    assert "L1 is the next left hole forward of it" in numbering(lacing.crossed(36, 3))[2]
    assert "R1 is the next right hole forward of it" in numbering(lacing.crossed(36, 3, first_hole="left"))[2]
    assert "L1 is the left hole straight across from it" in numbering(lacing.crossed(36, 3, phase="aligned"))[2]
    assert (
        "L1 is the next left hole forward of R2" in numbering(lacing.two_to_one(24, {"left": 0, "right": 2}, "RRL"))[2]
    )


def test_a_slant_is_told_by_the_end_that_it_is_seen_at() -> None:
    # A trailing spoke leaves the hub backward, so that its hub end stands forward of its rim hole.
    check = told(lacing.crossed(36, 3))[3][3]
    assert (
        "35 R15 (hub end behind), 36 L15 (hub end behind), VALVE, 1 R4 (hub end ahead), 2 L4 (hub end ahead)" in check
    )


def test_hole_one_is_any_hole_only_where_all_holes_of_its_flange_stand_alike_to_the_other() -> None:
    # D: 16 right holes to 8 left ones: only behind every second right hole stands a left one before the next.
    few_left = {"left": 1, "right": 3}
    hub = numbering(lacing.two_to_one(24, few_left, "RLR"))[2]
    assert "R1 is a right hole, but not just any: a left hole must stand half way from it to R2" in hub
    hub = numbering(lacing.two_to_one(24, few_left, "RRL"))[2]
    assert "R1 is a right hole, but not just any: a left hole must stand half way from R2 to R3" in hub
    hub = numbering(lacing.two_to_one(24, few_left, "RLR", phase="aligned"))[2]
    assert "not just any: a left hole must stand straight across from it" in hub
    # D: from each of the 8 left holes the 16 right ones look the same.
    assert "L1 is any left hole" in numbering(lacing.two_to_one(24, few_left, "LRR"))[2]
    assert "R1 is any right hole" in numbering(lacing.crossed(36, 3))[2]
    # D: pitches of 30 and 20 degrees, half of the smaller apart: 10 of 30.
    hub = numbering(lacing.uneven_counts(Counts(24, 18, 12), 2))[2]
    assert "a left hole must stand 33 % of the way from it to R2" in hub


@given(patterns)
@settings(max_examples=60)
def test_hole_one_is_any_hole_where_a_turn_by_one_hole_brings_the_other_flange_onto_itself(pattern: Lacing) -> None:
    first = pattern.first_hole
    second = "left" if first == "right" else "right"
    one, other = (360 / pattern.holes_of(side) for side in (first, second))
    off = one % other
    comes_onto_itself = min(off, other - off) < 1e-6
    assert (f"{LETTER[first]}1 is any {first} hole" in numbering(pattern)[2]) == comes_onto_itself


def test_the_label_lies_where_the_valve_will_stand() -> None:
    assert "between R18 and R1" in numbering(lacing.crossed(36, 3))[3]
    # D: aligned, hole R1 stands half-way between rim holes 1 and 2, a half pitch ahead of the valve.
    assert "between R18 and R1" in numbering(lacing.crossed(36, 3, phase="aligned"))[3]


def test_jumped_hub_holes_are_told() -> None:
    _, _, text, check = told(lacing.uneven_counts(Counts(32, 18, 18), 3))[0]
    assert "then every fourth rim hole forward and hub holes by this list" in text
    assert "1 right hub hole (2 between R8 and R11, 2 between R17 and R2)" in check
