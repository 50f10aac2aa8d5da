"""The bench sheet printed by a browser: pages, running titles, nothing cut, and lengths true in the vectors."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.making.builds import with_keys
from tests.tools.chromium import CHROMIUM, browser
from wheelcalc import answers
from wheelcalc.paper.sheet.bench_sheet import SECTIONS, sheet

POPPLER = [shutil.which(name) for name in ("pdfinfo", "pdftotext", "pdftocairo")]
pytestmark = [
    pytest.mark.skipif(not (CHROMIUM and all(POPPLER)), reason="needs Chromium and poppler"),
    pytest.mark.filterwarnings("ignore"),
]
pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

EXAMPLE = Path(__file__).parents[2] / "examples" / "errand-rear.toml"
MM = 25.4 / 72  # of a point
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
TRUE = 0.05  # mm over the whole length: a quarter of what is promised, the rest is the printer's
EDGE = 4.0  # mm of paper round everything that is printed

LONG = "W" * 150
BUILDS = {
    "example": EXAMPLE,
    "old wheel": EXAMPLE.with_name("errand-rear-salvage.toml"),
    "used rim": with_keys(
        position="front",
        rim__section={"material": "aluminium", "mass": "520 g", "width": 24, "depth": 19},
        old_rim={"diameters": [632.1, 634.0, 631.8], "flat_gap": 1.9, "cracks": False},
    ),
    "large": with_keys(
        title=f"<b>{LONG}",
        rim__holes=48,
        hub__left={"holes": 24, "pcd": 112.3, "locknut_to_flange": 31.2},
        hub__right={"holes": 24, "pcd": 62.7, "locknut_to_flange": 46.1},
        frame={"dropout_spacing": 136.4, "material": "steel", "dropout": "slot"},
    ),
}


def poppler(name: str, *arguments: str) -> str:
    return subprocess.run([name, *arguments], check=True, capture_output=True, text=True, timeout=300).stdout


class Printed:
    """A sheet printed: its pages as words with their boxes, and as lines [mm]."""

    def __init__(self, page: Any, build: object, paper: str, folder: Path, only: tuple[str, ...] = ()) -> None:
        self.paper, self.folder, self.pdf = paper, folder, folder / "sheet.pdf"
        self.html = sheet(build, paper=paper, only=only).html
        page.set_content(self.html)
        page.pdf(path=self.pdf, prefer_css_page_size=True)
        boxes = poppler("pdftotext", "-bbox-layout", str(self.pdf), "-")
        self.pages = [
            [
                (word[4], *(float(each) * MM for each in word[:4]))
                for word in re.findall(r'<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)</word>', page)
            ]
            for page in boxes.split("<page ")[1:]
        ]
        self._paths: dict[int, list[NDArray[np.float64]]] = {}

    def text(self, page: int) -> str:
        return " ".join(word[0] for word in self.pages[page])

    def body(self, page: int) -> list[tuple[str, float, float, float, float]]:
        """Words between the running titles."""
        height = SIZES[self.paper][1]
        return [word for word in self.pages[page] if 15 < word[4] < height - 9]

    def having(self, words: str) -> int:
        return next(number for number in range(len(self.pages)) if words in self.text(number))

    def paths(self, page: int) -> list[NDArray[np.float64]]:
        """Stroked paths made of straight pieces, their points [mm]."""
        if page not in self._paths:
            self._paths[page] = self._drawn(page)
        return self._paths[page]

    def _drawn(self, page: int) -> list[NDArray[np.float64]]:
        svg = self.folder / f"{page}.svg"
        poppler("pdftocairo", "-svg", "-f", str(page + 1), "-l", str(page + 1), str(self.pdf), str(svg))
        out = []
        for each in ElementTree.parse(svg).iter("{http://www.w3.org/2000/svg}path"):
            described = each.get("style", "") + each.get("stroke", "")
            place, matrix = each.get("d", ""), each.get("transform")
            if "C" in place or place.count("M") != 1 or matrix is None or "stroke:none" in described:
                continue
            points = np.array([float(number) for number in re.findall(r"-?[0-9.]+", place)]).reshape(-1, 2)
            a, b, c, d, e, f = (float(number) for number in re.findall(r"-?[0-9.]+", matrix))
            out.append((points @ np.array([[a, b], [c, d]]) + [e, f]) * MM)
        return out

    def lengths(self, page: int) -> NDArray[np.float64]:
        """Lengths of all straight pieces of a page, longest first [mm]."""
        pieces = [np.linalg.norm(np.diff(points, axis=0), axis=1) for points in self.paths(page) if len(points) > 1]
        return np.sort(np.concatenate(pieces))[::-1]


@pytest.fixture(scope="module")
def page() -> Iterator[Any]:
    with browser() as opened:
        yield opened.new_page()


@pytest.fixture(scope="module", params=[(name, paper) for name in BUILDS for paper in SIZES], ids=" ".join)
def printed(request: pytest.FixtureRequest, page: Any, tmp_path_factory: pytest.TempPathFactory) -> Printed:
    name, paper = request.param
    return Printed(page, BUILDS[name], paper, tmp_path_factory.mktemp("printed"))


@pytest.fixture(scope="module")
def example(printed: Printed) -> Printed:
    if "Errand bike" not in printed.text(0) or "from the shed" in printed.text(0):
        pytest.skip("of the example only")
    return printed


def near(lengths: NDArray[np.float64], wanted: float) -> bool:
    return bool((np.abs(lengths - wanted) < TRUE).any())


# Pages


def test_the_paper_and_the_number_of_pages(printed: Printed) -> None:
    info = poppler("pdfinfo", str(printed.pdf))
    found = [float(each) * MM for each in re.findall(r"Page size:\s+([0-9.]+) x ([0-9.]+)", info)[0]]
    assert found == pytest.approx(SIZES[printed.paper], abs=0.3)
    assert len(printed.pages) <= (8 if "Errand bike, rear" in printed.text(0) and "shed" not in printed.text(0) else 16)


def test_every_page_bears_its_title_and_its_number(printed: Printed) -> None:
    count = len(printed.pages)
    titles = {part.title for part in SECTIONS.values()}
    for number in range(count):
        text = printed.text(number)
        assert f"page {number + 1} of {count}" in text
        top = " ".join(word[0] for word in printed.pages[number] if word[4] < 15)
        assert any(title in top for title in titles), top


def test_measuring_takes_one_page(printed: Printed) -> None:
    tops = [" ".join(word[0] for word in page if word[4] < 15) for page in printed.pages]
    assert sum("Measuring" in top for top in tops) == 1


def test_nothing_is_cut(printed: Printed) -> None:
    width, height = SIZES[printed.paper]
    for number, page in enumerate(printed.pages):
        for text, left, top, right, bottom in page:
            assert left > EDGE, (number, text)
            assert right < width - EDGE, (number, text)
            assert top > EDGE - 1, (number, text)
            assert bottom < height - EDGE, (number, text)
        for points in printed.paths(number):
            assert points[:, 0].min() > EDGE
            assert points[:, 0].max() < width - EDGE
            assert points[:, 1].max() < height - EDGE


def test_no_page_holds_a_mere_rest_and_no_heading_stands_at_its_foot(printed: Printed) -> None:
    headings = {re.sub("<.*?>", "", each).strip() for each in re.findall(r"<h3.*?>(.*?)</h3>", printed.html)}
    assert len(headings) > 10
    for number in range(len(printed.pages)):
        body = printed.body(number)
        lowest = max(word[4] for word in body)
        assert lowest > 40, f"page {number + 1} is nearly empty"
        last = " ".join(word[0] for word in body if word[4] > lowest - 2)
        assert last not in headings, f"page {number + 1} ends with a heading: {last}"


def test_lines_of_text_do_not_lie_on_each_other(printed: Printed) -> None:
    """Words of the text (not of pictures) whose boxes share more than a sliver."""
    for number in range(len(printed.pages)):
        words = [word for word in printed.body(number) if len(word[0]) > 3]  # halos repeat words
        for i, (text, left, top, right, bottom) in enumerate(words):
            for other, left_2, top_2, right_2, bottom_2 in words[i + 1 :]:
                wide = min(right, right_2) - max(left, left_2)
                high = min(bottom, bottom_2) - max(top, top_2)
                assert text == other or wide < 0.5 or high < 1.2, (number + 1, text, other)


def test_the_example_keeps_to_eight_pages_in_a_wider_font(page: Any, tmp_path: Path) -> None:
    html = sheet(EXAMPLE, paper="A4").html
    asked = '"Liberation Sans", Arial, Helvetica'
    assert asked in html
    page.set_content(html.replace(asked, '"DejaVu Sans"').replace("Helvetica, Arial", "DejaVu Sans"))
    page.pdf(path=tmp_path / "sheet.pdf", prefer_css_page_size=True)
    count = re.search(r"Pages:\s+([0-9]+)", poppler("pdfinfo", str(tmp_path / "sheet.pdf")))
    assert count is not None
    assert int(count[1]) <= 8


# True to scale


def test_check_bars_are_100_mm(printed: Printed) -> None:
    bars = [number for number in range(len(printed.pages)) if "Lay a steel rule on the bar" in printed.text(number)]
    assert len(bars) >= 2
    for number in bars:
        ticks = [
            points for points in printed.paths(number) if len(points) == 2 and abs(np.ptp(points[:, 1]) - 6.5) < 0.01
        ]
        places = sorted(points[0, 0] for points in ticks if abs(np.ptp(points[:, 0])) < 0.01)
        assert any(abs(b - a - 100) < TRUE for a in places for b in places), number


def test_the_ruler_is_true_all_along(printed: Printed) -> None:
    page = printed.having("Spoke ruler")
    paths = printed.paths(page)
    frame = max(paths, key=lambda points: np.linalg.norm(np.diff(points, axis=0), axis=1).max())
    sides = np.linalg.norm(np.diff(frame, axis=0), axis=1)
    assert sides.max() == pytest.approx(301.5, abs=TRUE)
    along = (frame[1] - frame[0]) / sides[0]
    origin = frame[0]
    ticks = [
        points
        for points in paths
        if len(points) == 2
        and abs((points[1] - points[0]) @ along) < 0.01
        and np.linalg.norm(points[1] - points[0]) < 7
    ]
    places = np.sort(
        [
            (points[0] - origin) @ along
            for points in ticks
            if abs(along[0] * (points[0] - origin)[1] - along[1] * (points[0] - origin)[0]) < 0.3
        ]
    )
    assert len(places) == 300
    np.testing.assert_allclose(places, np.arange(1, 301), rtol=0, atol=TRUE)


def test_the_marks_on_the_ruler_are_the_lengths_to_buy(example: Printed) -> None:
    page = example.having("Spoke ruler")
    text = example.text(page)
    for side, found in answers.lengths(EXAMPLE).sides.items():
        assert f"This wheel, {side}: {found.cut:.1f} mm to buy." in text


def test_the_feet_of_the_dish_gauge_are_of_the_height_they_say(printed: Printed) -> None:
    page = printed.having("Dish gauge: two feet")
    said = [float(each) for each in re.findall(r"([0-9.]+) mm", printed.text(page)) if 30 < float(each) < 115]
    height = next(each for each in said if said.count(each) > 1)  # on both feet
    lengths = printed.lengths(page)
    assert (np.abs(lengths - height) < TRUE).sum() >= 2
    ticks = [points for points in printed.paths(page) if len(points) == 2 and 4 < abs(np.ptp(points[:, 0])) < 9.5]
    level = [points for points in ticks if abs(np.ptp(points[:, 1])) < 0.01]
    starts = [round(points[:, 0].min(), 1) for points in level]
    tongue = max(set(starts), key=starts.count)  # the protractor has two level ticks of its own
    heights = np.sort([points[0, 1] for points, x in zip(level, starts, strict=True) if x == tongue])[::-1]
    assert len(heights) == height + 11
    np.testing.assert_allclose(heights[0] - heights, np.arange(len(heights)), rtol=0, atol=TRUE)


def test_the_circle_of_holes_has_its_diameter(example: Printed) -> None:
    lengths = example.lengths(example.having("Hole-circle gauge"))
    assert near(lengths, 44.7)
    assert near(lengths, 45.1)


def test_the_protractor_is_right(printed: Printed) -> None:
    page = printed.having("Protractor for the crossing")
    base = next(points for points in printed.paths(page) if len(points) == 2 and abs(np.ptp(points[:, 0]) - 120) < TRUE)
    middle = base.mean(axis=0)
    ticks = [
        points for points in printed.paths(page) if len(points) == 2 and np.linalg.norm(np.diff(points, axis=0)) < 8.1
    ]
    outer = [max(points, key=lambda each: np.linalg.norm(each - middle)) - middle for points in ticks]
    degrees = sorted(abs(np.degrees(np.arctan2(-y, x))) for x, y in outer if abs(np.hypot(x, y) - 60) < TRUE)
    assert len(degrees) == 181
    np.testing.assert_allclose(degrees, np.arange(181), rtol=0, atol=0.05)


def test_the_axle_is_drawn_one_to_one(page: Any, tmp_path: Path) -> None:
    """The dimension lines of frame and hub are arrows from their middle, a half each."""
    fitted = Printed(page, EXAMPLE, "A4", tmp_path, ("fit",))
    lengths = fitted.lengths(fitted.having("drawn 1 : 1"))
    assert near(lengths, 130.4 / 2)
    assert near(lengths, 130.0 / 2)
