"""What `order` says first against its JSON, over 200 random builds: who reads one sentence is not misled."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.making.plausible_builds import plausible_build
from wheelcalc import answers
from wheelcalc.page.text import Screen, to_text

COUNT = 200
Said = tuple[dict[str, Any], str, dict[str, Any]]


@cache
def all_said() -> list[Said]:
    """Build, text as one line up to the first empty one, and JSON, of every random build."""
    rng = np.random.default_rng(20)
    out = []
    for _ in range(COUNT):
        tree = plausible_build(rng)
        answer = answers.order(tree)
        first, _, _ = str(answer).partition("\n\n")
        out.append((tree, " ".join(first.split()), answer.as_json()))
    return out


def stops(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return [each for each in answer["findings"] if each["level"] == "stop"]


def without_stop() -> Iterator[Said]:
    return (each for each in all_said() if not stops(each[2]))


def test_there_are_enough_of_both_kinds() -> None:
    assert COUNT * 0.4 < len(list(without_stop())) < COUNT * 0.9


def test_a_stop_and_only_a_stop_says_do_not_order() -> None:
    for tree, first, answer in all_said():
        stopped = bool(stops(answer))
        assert first.startswith("Do not order yet.") is stopped, (tree, first)
        assert answer["verdict"] == ("do not order" if stopped else "order"), tree
        assert stopped or re.match("Order these: |Take these from those on hand: ", first), (tree, first)


def test_stops_are_counted_and_follow_at_once() -> None:
    for tree, first, answer in all_said():
        found = stops(answer)
        counted = "No stop" if not found else f"{len(found)} stop{'s' if len(found) > 1 else ''}"
        assert re.search(rf"\. {counted}[.,]", first), (tree, first)
        for each in found:
            assert f"STOP {each['text']}" in first, (tree, first)
        assert found or "STOP" not in first


def test_what_is_to_be_ordered_is_what_the_json_buys() -> None:
    for tree, first, answer in without_stop():
        said = [(int(count), float(length)) for count, length in re.findall(r"([0-9]+) x ([0-9.]+) mm", first)]
        if first.startswith("Take"):  # nothing is bought: the lines say which of those on hand go where
            of_lines = [(each["count"] + each["spares"], each["length_mm"]) for each in answer["lines"]]
            assert answer["buy"] == []
            assert sorted(said) == sorted(of_lines), (tree, first)
            continue
        bought = [(each["count"] + each["spares"], each["length_mm"]) for each in answer["buy"]]
        if len(bought) < 4:
            assert said == bought, (tree, first)
        else:
            assert f"{sum(count for count, _ in bought)} spokes of {len(bought)} kinds" in first, (tree, first)
        assert sum(each["count"] for each in answer["buy"]) == tree["rim"]["holes"], tree


def test_every_rim_hole_has_its_spoke_and_every_end_lies_in_the_window() -> None:
    for tree, _, answer in without_stop():
        holes = sorted(hole for line in answer["lines"] for hole in line["rim_holes"])
        assert holes == list(range(1, tree["rim"]["holes"] + 1)), tree
        short = 2.0 if tree["nipple"]["material"] == "brass" else 0.5
        assert all(-short - 1e-6 <= line["end_position_mm"] <= 1 + 1e-6 for line in answer["lines"]), tree


def test_a_low_chance_is_never_passed_over() -> None:
    for tree, first, answer in without_stop():
        low = [line for line in answer["lines"] if line["chance_that_it_fits"] < 0.8]
        cautioned = [each for each in answer["findings"] if each["level"] == "caution"]
        assert not low or cautioned, (tree, first)
        assert not cautioned or "caution" in first, (tree, first)


@pytest.mark.parametrize("width", [40, 100])
def test_the_sentence_is_the_same_on_every_screen(width: int) -> None:
    rng = np.random.default_rng(21)
    for _ in range(8):
        answer = answers.order(plausible_build(rng))
        text = to_text(answer.page(), Screen(width))
        narrow = " ".join(text.split()).replace("STOP:", "STOP")
        assert narrow.startswith(" ".join(str(answer).partition("\n\n")[0].split()))
        assert max(map(len, text.splitlines())) <= width
