"""Every screen of the bench page, and every file of HTML that is written: axe-core finds nothing to mend, dark and light; on the
narrowest phone nothing is wider than it, and what is touched is 44 px or more.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.making.errand_session import BUILD, EXAMPLES, READINGS
from tests.making.stands import TOKEN
from wheelcalc import answers
from wheelcalc.page.html import document
from wheelcalc.paper.sheet.bench_sheet import sheet
from wheelcalc.stand.server import Server

CHROMIUM = shutil.which("chromium")
playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed")
pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on the path"),
    pytest.mark.xdist_group("browser"),
    pytest.mark.filterwarnings("ignore"),
]


LEAST_TARGET = 44  # px, P: W3C, Web Content Accessibility Guidelines 2.2, 2.5.5
TOUCHED = "button, select, summary, label.tick, input:not([type=checkbox])"
TARGETS = f"[...document.querySelectorAll('{TOUCHED}')].filter(each => each.offsetParent)"


@pytest.fixture(scope="module")
def page() -> Iterator[Any]:
    with playwright.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        found = browser.new_page(viewport={"width": 320, "height": 568})
        found.set_default_timeout(60_000)
        yield found
        browser.close()


def wrong(page: Any, *, dark: bool = True, without: str = "") -> list[str]:
    """What is to be mended, in the colours of the day and of the night."""
    out = []
    options = {"resultTypes": ["violations"], "rules": {without: {"enabled": False}} if without else {}}
    for scheme in ("light", "dark") if dark else ("light",):
        page.emulate_media(color_scheme=scheme)
        if scheme == "dark":  # the colours alone are others
            options = {"resultTypes": ["violations"], "runOnly": ["color-contrast"]}
        for each in axe.Axe().run(page, options=options).response["violations"]:
            out += [f"{scheme}: {each['id']}: {node['target']} {node['html'][:120]}" for node in each["nodes"][:3]]
    return out


def awkward(page: Any) -> list[str]:
    """What a thumb misses, and what a narrow screen cuts off."""
    small = page.evaluate(f"{TARGETS}.map(each => [each.outerHTML.slice(0, 90), each.getBoundingClientRect()])")
    out = [f"small: {name}" for name, box in small if min(box["width"], box["height"]) < LEAST_TARGET]
    wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
    return [*out, *(["wider than the screen"] if wide else [])]


def button(page: Any, name: str) -> None:
    page.get_by_role("button", name=name).first.click()


def test_every_screen_of_the_stand(page: Any, served: Server) -> None:
    holes = np.arange(1, 33)
    log = served.session.log
    for column, values in (
        ("lateral_mm", 0.5 * np.cos(0.4 * holes) + 0.03 * (holes % 3)),
        ("radial_mm", 0.2 * np.cos(0.6 * holes)),
        ("tension_N", np.where(holes % 2, 905, 512) + 11 * (holes % 5)),
    ):
        for hole, value in enumerate(values, 1):
            log.put(hole, column, round(float(value), 2))
    log.put(9, "lateral_mm", 4.4)
    found: dict[str, list[str]] = {}
    page.goto(f"http://127.0.0.1:{served.server_port}/?t={TOKEN}")
    page.get_by_role("heading", name="Pass 1").wait_for()
    found["home"] = wrong(page) + awkward(page)
    button(page, "Read sideways")
    page.get_by_role("heading", name="Rim hole").wait_for()
    found["reading"] = wrong(page) + awkward(page)
    page.get_by_label("sideways").fill("3.9")
    page.keyboard.press("Enter")
    page.get_by_text("looks wrong").first.wait_for()
    found["doubted"] = wrong(page) + awkward(page)
    button(page, "Stop here")
    button(page, "Which nipples to turn")
    page.locator("img").wait_for()
    page.locator(".tick input").first.check()
    page.locator(".tick.ticked").wait_for()
    found["turns"] = wrong(page) + awkward(page)
    button(page, "Turned: next pass")
    page.get_by_text("What is not ticked").wait_for()
    found["not all ticked"] = wrong(page) + awkward(page)
    button(page, "All were turned")
    page.get_by_role("heading", name="Pass 2").wait_for()
    found["second pass"] = wrong(page) + awkward(page)
    button(page, "A spoke has broken")
    page.get_by_label("Rim hole of the broken spoke").fill("14")
    page.keyboard.press("Enter")
    page.get_by_text("hole 14").first.wait_for()
    found["broken"] = wrong(page) + awkward(page)
    button(page, "Back")
    button(page, "Tensions by ear")
    page.get_by_label("A recording").set_input_files(EXAMPLES / "errand-rear-right.wav")
    page.get_by_role("table").wait_for()
    found["by ear"] = wrong(page) + awkward(page)
    page.goto(f"http://127.0.0.1:{served.server_port}/?t=guessed")
    page.get_by_role("heading", name="Not let in").wait_for()
    found["not let in"] = wrong(page) + awkward(page)
    assert [each for each in found.items() if each[1]] == []


def test_the_bench_page_as_a_file(page: Any, tmp_path: Path) -> None:
    target, found = tmp_path / "bench.html", {}
    target.write_text(sheet(BUILD, only="bench", readings=READINGS).html, encoding="utf-8")
    page.goto(target.as_uri())
    page.locator(".tick input").first.check()
    page.get_by_text("The whole answer").click()
    found["turns"] = wrong(page) + awkward(page)
    button(page, "Back")
    found["home"] = wrong(page) + awkward(page)
    button(page, "The readings")
    found["readings"] = wrong(page) + awkward(page)
    assert [each for each in found.items() if each[1]] == []


def test_other_files(page: Any, tmp_path: Path) -> None:
    salvage = EXAMPLES / "errand-rear-salvage.toml"
    files = {  # the answers share one writer: those with tables, steps, figures, formulas
        "sheet": sheet(salvage, record=True, readings=READINGS).html,
        "order": document(answers.order(BUILD).page(working=True)),
        "lace": document(answers.lace(BUILD).page()),
        "salvage": document(answers.salvage(salvage).page()),
        "broken": document(answers.broken(BUILD, [14]).page()),
    }
    found = {}
    for name, html in files.items():
        (tmp_path / "page.html").write_text(html, encoding="utf-8")
        page.goto((tmp_path / "page.html").as_uri())
        # The sheet is for paper; what scrolls on a narrow screen, browsers let a keyboard reach by themselves.
        found[name] = wrong(page, dark=False, without="scrollable-region-focusable" if name == "sheet" else "")
    assert [each for each in found.items() if each[1]] == []
