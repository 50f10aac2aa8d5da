"""The map as SVG: XML, lines that end at the anchor points, labels that do not touch, turned over as a mirror."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from numpy.testing import assert_allclose

from tests.making.lacing_builds import patterns
from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.lacing_map import lacing_map
from wheelcalc.wheel import facts
from wheelcalc.wheel.joining import Counts, Lacing

SVG = "{http://www.w3.org/2000/svg}"


def wheel_of(pattern: Lacing, erd: float = 588.3) -> Wheel:
    left, right = (
        Flange(n, pcd, x, hole_diameter=1.2)
        for n, pcd, x in ((pattern.left_holes, 38.6, 34.4), (pattern.right_holes, 47.3, 18.9))
    )
    return Wheel(Rim(pattern.rim_holes, erd, first_hole=pattern.first_hole), Hub(left, right), pattern)


def spokes(root: ET.Element, view: str) -> dict[int, tuple[np.ndarray, ET.Element]]:
    (group,) = [each for each in root.iter(f"{SVG}g") if each.get("id") == view]
    found = [each for each in group.iter(f"{SVG}line") if each.get("data-rim-hole")]
    ends = [np.array([float(each.attrib[name]) for name in ("x1", "y1", "x2", "y2")]) for each in found]
    return {int(each.attrib["data-rim-hole"]): (end, each) for end, each in zip(ends, found, strict=True)}


@given(patterns)
@settings(max_examples=25)
def test_every_spoke_ends_at_its_anchor_points(pattern: Lacing) -> None:
    wheel = wheel_of(pattern)
    root = ET.fromstring(lacing_map(wheel, "Test").svg())
    for view, mirror in (("from-right", 1), ("turned-over", -1)):
        drawn = spokes(root, view)
        assert sorted(drawn) == pattern.rim_hole.tolist()
        for place, hole in enumerate(pattern.rim_hole.tolist()):
            (_, y0, z0), (_, y1, z1) = wheel.hub_points[place], wheel.rim_points[place]
            assert_allclose(drawn[hole][0], [mirror * y0, -z0, mirror * y1, -z1], atol=1e-4)
            line = drawn[hole][1]
            assert line.get("data-hub-hole") == pattern.hub_labels[place]
            assert (line.get("stroke-dasharray") is not None) == bool(pattern.head_in[place])


def test_the_mark_of_an_empty_hole_is_explained_only_where_there_is_one() -> None:
    explained = "stays without a spoke"
    assert explained not in lacing_map(wheel_of(lacing.crossed(36, 3)), "Test").svg()
    assert explained in lacing_map(wheel_of(lacing.uneven_counts(Counts(32, 18, 18), 3)), "Test").svg()
    assert explained in lacing_map(wheel_of(lacing.uneven_counts(Counts(36, 16, 16), 3)), "Test").svg()


@pytest.mark.parametrize("holes", [20, 24, 28, 32, 36, 40, 48])
@pytest.mark.parametrize("erd", [330.0, 490.0, 602.0])
def test_no_two_labels_touch(holes: int, erd: float) -> None:
    drawing = lacing_map(wheel_of(lacing.crossed(holes, 2), erd), "Errand bike, rear")
    assert len(drawing.labels) > 3 * holes
    assert not drawing.overlapping()


@given(patterns)
@settings(max_examples=25)
def test_no_two_labels_touch_in_any_pattern(pattern: Lacing) -> None:
    assert not lacing_map(wheel_of(pattern), "Test").overlapping()


def test_labels_lie_on_the_sheet_and_every_hole_is_numbered() -> None:
    pattern = lacing.uneven_counts(Counts(36, 16, 18), {"left": 2, "right": 3})
    drawing = lacing_map(wheel_of(pattern), "Errand bike")
    texts = [label.text for label in drawing.labels]
    for label in drawing.labels:
        assert 0 <= label.left < label.right <= drawing.width
        assert 0 <= label.top < label.bottom <= drawing.height
    for hole in range(1, 37):
        shown = f"({hole})" if hole in pattern.empty_rim_holes else str(hole)
        assert texts.count(shown) >= 2
    for label in pattern.hub_labels:
        assert texts.count(label) == 3  # on the spoke in both views, and on the flange
    assert {"valve", "forward"} <= set(texts)


def test_opening_is_drawn_where_it_is_measured() -> None:
    wheel = wheel_of(lacing.crossed(32, 3))
    root = ET.fromstring(lacing_map(wheel, "Test").svg())
    (group,) = [each for each in root.iter(f"{SVG}g") if each.get("id") == "from-right"]
    (line,) = [each for each in group.iter(f"{SVG}line") if each.get("data-opening")]
    width = abs(float(line.attrib["x1"]) - float(line.attrib["x2"])) - 2.0
    assert width == pytest.approx(facts.valve_opening(wheel), abs=1e-3)
    assert f"{facts.valve_opening(wheel):.0f} mm" in [label.text for label in lacing_map(wheel, "T").labels]


def test_black_on_white_only_and_shows_itself() -> None:
    drawing = lacing_map(wheel_of(lacing.crossed(28, 2)), "Test")
    colours = set(re.findall(r'(?:stroke|fill)="([a-z#0-9]+)"', drawing.svg()))
    assert colours <= {"black", "white", "none"}
    assert drawing._repr_svg_() == drawing.svg()


def test_label_boxes_find_an_overlap() -> None:
    drawing = Drawing(100, 100, "Test")
    drawing.text((20, 20), "36", 10)
    with drawing.at(10, 10):
        drawing.text((12, 12), "35", 10)
        drawing.text((60, 60), "34", 10)
    assert [{one.text, other.text} for one, other in drawing.overlapping()] == [{"36", "35"}]
