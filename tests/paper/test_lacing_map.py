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
from wheelcalc.wheel.joining import Counts, Lacing, crossings_in_order, wrapped

SVG = "{http://www.w3.org/2000/svg}"


def wheel_of(pattern: Lacing, erd: float = 588.3) -> Wheel:
    left, right = (
        Flange(n, pcd, x, hole_diameter=1.2)
        for n, pcd, x in ((pattern.left_holes, 38.6, 34.4), (pattern.right_holes, 47.3, 18.9))
    )
    return Wheel(Rim(pattern.rim_holes, erd, first_hole=pattern.first_hole), Hub(left, right), pattern)


def spokes(root: ET.Element, view: str) -> dict[int, tuple[np.ndarray, ET.Element]]:
    (group,) = [each for each in root.iter(f"{SVG}g") if each.get("id") == view]
    found = [each for each in group.iter(f"{SVG}polyline") if each.get("data-rim-hole")]
    lines = [np.array([pair.split(",") for pair in each.attrib["points"].split()], float) for each in found]
    return {int(each.attrib["data-rim-hole"]): (line, each) for line, each in zip(lines, found, strict=True)}


def angle_deg(place: np.ndarray, mirror: int) -> float:
    """Clockwise from the top, or from there the other way round."""
    return float(np.degrees(np.arctan2(mirror * place[0], -place[1])))


def apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


def winding(line: np.ndarray) -> np.ndarray:
    """Angle along a line, without jumps [degrees]."""
    return np.degrees(np.unwrap(np.arctan2(line[:, 0], -line[:, 1])))


@given(patterns)
@settings(max_examples=25)
def test_every_spoke_runs_from_its_hub_hole_to_its_rim_hole(pattern: Lacing) -> None:
    wheel = wheel_of(pattern)
    root = ET.fromstring(lacing_map(wheel, "Test").svg())
    for view, mirror, side in (("from-right", 1, "right"), ("turned-over", -1, "left")):
        drawn = spokes(root, view)
        assert sorted(drawn) == pattern.rim_hole.tolist()
        for place, hole in enumerate(pattern.rim_hole.tolist()):
            line, element = drawn[hole]
            assert apart_deg(angle_deg(line[0], mirror), pattern.hub_angle_deg[place]) < 1e-3
            assert apart_deg(angle_deg(line[-1], mirror), pattern.rim_angle_deg[place]) < 1e-3
            assert np.hypot(*line[-1]) == pytest.approx(150, abs=1e-3)
            assert element.get("data-hub-hole") == pattern.hub_labels[place]
            own = pattern.sides[place] == side
            assert (element.get("stroke-dasharray") is not None) == (own and bool(pattern.head_in[place]))


@given(patterns)
@settings(max_examples=25)
def test_as_many_spokes_cross_as_do_in_the_wheel(pattern: Lacing) -> None:
    """Two lines of the picture cross as often as the angle between them changes its sign on the way out (D)."""
    root = ET.fromstring(lacing_map(wheel_of(pattern), "Test").svg())
    drawn = spokes(root, "from-right")
    turns = np.array([winding(drawn[hole][0]) for hole in pattern.rim_hole.tolist()])
    for side in ("left", "right"):
        own = pattern.on(side)
        gap = turns[own][:, None] - turns[own][None] + np.array([-360, 0, 360])[:, None, None, None]
        counted = (gap[..., :-1] * gap[..., 1:] < -1e-9).sum(axis=(0, 2, 3))
        whole = crossings_in_order(
            pattern.is_right, pattern.rim_angle_deg, wrapped(pattern.hub_angle_deg - pattern.rim_angle_deg)
        )
        assert_allclose(counted, whole[own])


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
        at_hubs = (hole <= 16) + (hole <= 18)
        assert texts.count(str(hole)) == 2 + at_hubs
    for label in pattern.hub_labels:
        assert texts.count(label) == 1  # on the spoke, in the view of its side
    assert {"valve", "forward"} <= set(texts)


def test_opening_is_said() -> None:
    wheel = wheel_of(lacing.crossed(32, 3))
    said = f"Free at the valve, 50 mm below the rim: {facts.valve_opening(wheel):.0f} mm."
    assert said in [label.text for label in lacing_map(wheel, "T").labels]


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
