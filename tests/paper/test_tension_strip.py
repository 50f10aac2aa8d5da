"""The strip: well-formed, black on white, every line where its numbers are and named."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from tests.making.builds import with_keys
from wheelcalc import answers
from wheelcalc.paper.tension_strip import tension_strip

SVG = "{http://www.w3.org/2000/svg}"
FACTS = {"material": "aluminium", "mass": 497, "width": 23.6, "depth": 18.7}
LOAD = {"rider": "83 kg", "bike": "14.6 kg"}


def drawn(**keys: object) -> ElementTree.Element:
    return ElementTree.fromstring(tension_strip(answers.tension(with_keys(**keys))).svg())


def words(root: ElementTree.Element) -> list[str]:
    return [str(each.text) for each in root.iter(f"{SVG}text")]


def test_every_line_is_named() -> None:
    found = words(drawn(rim__section=FACTS, load=LOAD))
    for label in ("right, unloaded", "left, unloaded", "right, rider on", "left, rider on", "floor 400 N"):
        assert label in found
    assert "limit 1265 N (rim maker)" in found
    assert found.count("valve") == 2
    assert any(each.startswith("Rider on: 526 N at rim hole ") for each in found)
    assert {str(hole) for hole in range(1, 33)} <= set(found)


def test_without_a_load_there_is_only_the_unloaded_wheel() -> None:
    assert not any("rider" in each for each in words(drawn()))


def test_a_title_with_markup_is_only_text() -> None:
    assert any("<b>&" in each for each in words(drawn(title="<b>& co")))


def test_black_on_white_and_told_apart_by_style() -> None:
    root = drawn(rim__section=FACTS, load=LOAD)
    colours = {each.get(name) for each in root.iter() for name in ("fill", "stroke")} - {None}
    assert colours <= {"black", "white", "none"}
    lines = [each for each in root.iter(f"{SVG}polyline") if each.get("stroke-width") == "1.6"]
    assert len(lines) == 8  # and each once more where it is explained
    assert len({each.get("stroke-dasharray") for each in lines}) == 4


def test_points_are_where_their_tensions_are() -> None:
    """The 32 spokes' circles: equal tension, equal place; in proportion from 0 N on; a row each."""
    answer = answers.tension(with_keys())
    root = drawn()
    circles = [(float(each.get("cx", 0)), float(each.get("cy", 0))) for each in root.iter(f"{SVG}circle")][2:]
    assert len(circles) == 32
    zero = next(float(each.get("x", 0)) for each in root.iter(f"{SVG}text") if each.text == "0")
    places = sorted({round(x - zero, 1) for x, _ in circles})
    assert places[0] / places[1] == pytest.approx(answer.ratio, rel=1e-3)
    assert len({round(y, 1) for _, y in circles}) == 32


@pytest.mark.parametrize("holes", [20, 32, 48])
@pytest.mark.parametrize("keys", [{}, {"rim__section": FACTS, "load": LOAD}, {"title": "A long title " * 15}])
def test_no_two_texts_lie_on_each_other_or_leave_the_sheet(holes: int, keys: dict[str, object]) -> None:
    sides = {"rim__holes": holes, "hub__left__holes": holes // 2, "hub__right__holes": holes // 2, "lacing__crosses": 2}
    drawing = tension_strip(answers.tension(with_keys(**sides, **keys)))
    assert drawing.overlapping() == []
    for label in drawing.labels:
        assert label.left >= 0
        assert label.right <= drawing.width
        assert label.top >= 0
        assert label.bottom <= drawing.height
