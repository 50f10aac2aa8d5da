"""The page driven as a person does, in a real browser; skipped where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

from tests.making.stands import TOKEN
from wheelcalc.stand.server import Server

CHROMIUM = shutil.which("chromium")
playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on the path"),
    pytest.mark.xdist_group("browser"),
    pytest.mark.filterwarnings("ignore"),
]


@pytest.fixture
def page(served: Server) -> Iterator[Any]:
    with playwright.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        opened = browser.new_page(viewport={"width": 360, "height": 740})
        opened.set_default_timeout(30_000)
        opened.goto(f"http://127.0.0.1:{served.server_port}/?t={TOKEN}")
        yield opened
        browser.close()


def test_a_pass_by_keyboard_alone(page: Any, served: Server) -> None:
    """Readings typed and sent by Enter, a reload in the middle, then the turns, one ticked: all of it is in the log."""
    page.get_by_role("button", name="Read sideways").click()
    for hole in range(1, 17):
        page.get_by_label("sideways").fill(f"{0.02 * (hole % 4):.2f}")
        page.keyboard.press("Enter")
        page.get_by_role("heading", name=f"Rim hole {hole + 1},").wait_for()
    page.reload()
    page.get_by_role("button", name="Read sideways, mm (16 of 32)".replace(", mm", "")).click()
    assert page.get_by_role("heading", name="Rim hole 17,").is_visible()
    for hole in range(17, 33):
        page.get_by_label("sideways").fill("0,9" if hole == 20 else "-0.01")
        page.keyboard.press("Enter")
        page.wait_for_function(
            "hole => !document.querySelector('h2').textContent.startsWith(`Rim hole ${hole},`)", arg=hole
        )
    page.get_by_role("button", name="Which nipples to turn").click()
    page.locator("img").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    logged = served.session.log.passes()[0]
    assert len(logged.of("lateral_mm")) == 32
    assert logged.of("lateral_mm")[20] == 0.9
    tick = page.locator(".tick input").first
    if tick.count():
        tick.check()
        page.locator(".tick.ticked").wait_for()
        assert len(served.session.log.passes()[0].of("turned")) == 1


def test_a_wrong_token_is_told_so(served: Server, page: Any) -> None:
    page.goto(f"http://127.0.0.1:{served.server_port}/?t=guessed")
    page.get_by_role("heading", name="Not let in").wait_for()


def test_a_broken_spoke_on_the_page(page: Any) -> None:
    page.get_by_role("button", name="A spoke has broken").click()
    page.get_by_label("Rim hole of the broken spoke").fill("14")
    page.keyboard.press("Enter")
    page.get_by_text("hole 14").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
