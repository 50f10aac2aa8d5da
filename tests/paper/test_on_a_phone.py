"""Every picture that a command writes, and the bench sheet, on a screen 390 pixels wide, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.making.builds import with_keys
from tests.tools import documents
from tests.tools.chromium import CHROMIUM, TEXTS_OF_PICTURES, browser
from wheelcalc import answers, pictures
from wheelcalc.cli.main import run

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium"),
    pytest.mark.xdist_group("browser"),
    pytest.mark.filterwarnings("ignore"),
]
pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

SCREEN = 390
LEAST = 11.0  # pixels of a letter's height
TOUCH = 1.5  # pixels that two boxes may share: the lines of a text are a little apart inside them
ELSEWHERE = "DejaVu Sans"  # wider than what the pictures ask for

COMMANDS = ["lace", "tension", "true", "true --broken", "pluck", "tap"]
LOAD = {"rider": "83 kg", "bike": "14.6 kg"}
SECTION = {"material": "aluminium", "mass": 497, "width": 23.6, "depth": 18.7}
FULL = {"rim__section": SECTION, "load": LOAD}
BUILDS = {
    "16": {"rim__holes": 16, "hub__left__holes": 8, "hub__right__holes": 8, "lacing__crosses": 1},
    "20 radial": {"rim__holes": 20, "hub__left__holes": 10, "hub__right__holes": 10, "lacing__pattern": "radial"},
    "48, long name": {
        "title": f"<b>{'W' * 150}",
        "rim__holes": 48,
        "hub__left__holes": 24,
        "hub__right__holes": 24,
        **FULL,
    },
    "uneven": {"rim__holes": 36, "hub__left__holes": 16, "hub__right__holes": 18, "lacing__pattern": "uneven counts"},
    "two to one": {
        "rim__holes": 36,
        "hub__left__holes": 12,
        "hub__right__holes": 24,
        "lacing__pattern": "two to one",
        "lacing__crosses": {"left": 0, "right": 3},
    },
}


@pytest.fixture(scope="module")
def page() -> Iterator[Any]:
    with browser() as opened:
        yield opened.new_page(viewport={"width": SCREEN, "height": 800})


def texts(page: Any, font: str = "") -> list[dict[str, Any]]:
    if font:
        page.add_style_tag(content=f'* {{ font-family: "{font}" !important; }}')
    found: list[dict[str, Any]] = page.evaluate(TEXTS_OF_PICTURES)
    return found


def overlaps(one: dict[str, Any], other: dict[str, Any]) -> bool:
    wide = min(one["right"], other["right"]) - max(one["left"], other["left"])
    # A box is as high as a line; between the letters of two lines there is room where boxes share a fifth of it.
    high = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
    return wide > TOUCH and high > 0.3 * one["size"]


def check(found: list[dict[str, Any]]) -> None:
    small = [(each["words"], round(each["size"], 2)) for each in found if each["size"] < LEAST]
    assert not small
    assert not [each["words"] for each in found if not each["inside"] and not each["turned"]]
    level = [each for each in found if not each["turned"]]
    pairs = ((one, other) for i, one in enumerate(level) for other in level[i + 1 :])
    assert not [(a["words"], b["words"]) for a, b in pairs if a["picture"] == b["picture"] and overlaps(a, b)]


def shown(page: Any, svg: str) -> None:
    page.set_content(f'<meta name="viewport" content="width=device-width"><body style="margin: 0">{svg}')


def test_no_command_with_a_picture_is_forgotten() -> None:
    assert {name.split()[0] for name in COMMANDS} == {"lace", *pictures.DRAWN_BY}


@pytest.mark.parametrize("name", COMMANDS)
def test_what_a_command_draws(name: str, page: Any, tmp_path: Path) -> None:
    call = documents.CSV_FILES[name].split()
    words = [str(documents.ROOT / word) if (documents.ROOT / word).is_file() else word for word in call]
    path = tmp_path / "out.svg"
    assert run([*words, "-o", str(path)]) in (0, 1)
    for font in ("", ELSEWHERE):
        shown(page, path.read_text(encoding="utf-8"))
        found = texts(page, font)
        assert len(found) > 20
        check(found)


@pytest.mark.parametrize("name", BUILDS)
def test_other_wheels(name: str, page: Any) -> None:
    build = with_keys(**BUILDS[name])
    drawn = [pictures.picture(answers.lace(build)), pictures.picture(answers.tension(build))]
    if "rim" in build and "section" in build["rim"]:
        drawn.append(pictures.picture(answers.broken(build, [5])))
    shown(page, "".join(each.svg() for each in drawn))
    found = texts(page)
    assert len(found) > 3 * 16
    check(found)


@pytest.mark.parametrize("name", ["errand-rear", "errand-rear-salvage", "donor-hub"])
def test_the_bench_sheet(name: str, page: Any, tmp_path: Path) -> None:
    path = tmp_path / "sheet.html"
    path.write_text(answers.sheet(documents.ROOT / "examples" / f"{name}.toml").html, encoding="utf-8")
    page.goto(path.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") == SCREEN
    found = texts(page)
    assert len(found) > 280
    check(found)


def test_what_would_not_do_is_found(page: Any) -> None:
    text = '<text x="{}" y="{}" font-size="{}">{}</text>'
    parts = [text.format(x, y, size, words) for x, y, size, words in ((9, 30, 8, "small"), (9, 60, 20, "below"))]
    parts += [text.format(*each) for each in ((20, 66, 20, "above"), (380, 90, 12, "cut off"))]
    shown(page, f'<svg viewBox="0 0 400 100">{"".join(parts)}</svg>')
    found = {each["words"]: each for each in texts(page)}
    assert found["small"]["size"] < LEAST < found["below"]["size"]
    assert overlaps(found["below"], found["above"])
    assert not found["cut off"]["inside"]
