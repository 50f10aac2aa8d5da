"""The bench page as a file: what it holds, that nothing in it can run but its own script, ticks kept by a browser."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import pytest

from tests.making.errand_session import BUILD, READINGS
from wheelcalc import answers
from wheelcalc.paper.sheet.bench_sheet import sheet
from wheelcalc.wheel.errors import InputError

HOSTILE = "</script></title><script>alert(1)</script><img src=x onerror=alert(1)> & \\u003c"
XHTML = "{http://www.w3.org/1999/xhtml}"
CHROMIUM = shutil.which("chromium")


def html_of(tmp_path: Path, *more: str) -> str:
    from wheelcalc.cli.main import run

    target = tmp_path / "bench.html"
    assert run(["true", str(BUILD), str(READINGS), "-o", str(target), "--force", *more]) == 0
    return target.read_text(encoding="utf-8")


def root_of(html: str) -> Element:
    root: Element = html5lib.HTMLParser(strict=True).parse(html)
    return root


def scripts(root: Element) -> tuple[Element, Element]:
    data, script = root.iter(f"{XHTML}script")  # two, no more
    return data, script


def test_true_and_sheet_write_the_same_file(tmp_path: Path) -> None:
    html = html_of(tmp_path)
    assert sheet(BUILD, only="bench", readings=READINGS).html.strip() == html.strip()
    held = json.loads(scripts(root_of(html))[0].text or "")
    turns = answers.true(BUILD, READINGS).as_json()["turns"]
    assert len(turns) > 9
    assert {each["rim_hole"]: each["turns"] for each in held["advise"]["turns"]} == {
        each["rim_hole"]: each["turns"] for each in turns
    }
    assert held["state"]["passes"][0]["lateral_mm"]["9"] == 0.39  # R, of the file of readings
    assert "1/8 turn too far and back" in held["advise"]["how"]  # R, of the windup that `true` prints
    assert held["state"]["brought"][0]["nipples"] is None  # the file says nothing of turns
    assert len(html) < 100_000


def test_no_text_of_the_build_is_markup(tmp_path: Path) -> None:
    html = html_of(tmp_path, "--set", f"title={json.dumps(HOSTILE)}")
    root = root_of(html)
    data, script = scripts(root)
    assert json.loads(data.text or "")["state"]["title"] == HOSTILE
    assert "alert" not in (script.text or "")
    assert not any("onerror" in each.attrib for each in root.iter())
    assert next(root.iter(f"{XHTML}title")).text == f"{HOSTILE}: at the stand"


def test_only_its_own_script_and_styles_may_run(tmp_path: Path) -> None:
    root = root_of(html_of(tmp_path))
    policy = next(each.get("content", "") for each in root.iter(f"{XHTML}meta") if each.get("http-equiv"))
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    for name, found in (("script-src", [scripts(root)[1]]), ("style-src", list(root.iter(f"{XHTML}style")))):
        sums = {
            f"'sha256-{base64.b64encode(hashlib.sha256((each.text or '').encode()).digest()).decode()}'"
            for each in found
        }
        assert set(rules[name].split()) == sums
    assert not re.search(r"https?://(?!www\.w3\.org/)", html_of(tmp_path))


def test_what_the_sheet_cannot_make_of_it() -> None:
    with pytest.raises(InputError, match="nothing to tick without readings"):
        sheet(BUILD, only="bench")
    with pytest.raises(InputError, match="write it alone"):
        sheet(BUILD, only=["bench", "order"], readings=READINGS)


@pytest.fixture
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("no chromium on the path")
    with playwright.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield opened
        opened.close()


@pytest.mark.xdist_group("browser")
@pytest.mark.filterwarnings("ignore")
def test_ticks_are_kept_by_the_browser(browser: Any, tmp_path: Path) -> None:
    html_of(tmp_path, "--set", f"title={json.dumps(HOSTILE)}")
    said: list[str] = []
    page = browser.new_page(viewport={"width": 320, "height": 700})
    page.set_default_timeout(60_000)
    for event in ("console", "pageerror", "dialog"):
        page.on(event, lambda what: said.append(str(getattr(what, "text", what))))
    page.goto((tmp_path / "bench.html").as_uri())
    boxes = page.locator(".tick input")
    boxes.first.wait_for()
    for place in (0, 3):
        boxes.nth(place).check()
    boxes.nth(3).uncheck()
    page.reload()
    boxes.first.wait_for()
    assert [boxes.nth(place).is_checked() for place in range(4)] == [True, False, False, False]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.locator("#title").text_content() == HOSTILE
    page.get_by_role("button", name="Back").click()
    page.get_by_role("button", name="The readings").click()
    page.get_by_role("cell", name="0.39").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_text("The whole answer").click()
    page.get_by_text("Safety: wear eye protection").wait_for()
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.querySelector('.page .verdict')).fontWeight") == "700"
    # Other readings of the same pass ask for other turns: their boxes are not ticked by these.
    html_of(tmp_path, "--set", f"title={json.dumps(HOSTILE)}", "--set", "truing.most_per_pass=0.25")
    page.goto((tmp_path / "bench.html").as_uri())
    boxes.first.wait_for()
    assert boxes.count() > 9
    assert page.locator(".tick input:checked").count() == 0
    assert said == []
