"""The page driven as a person does, in a real browser; skipped where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.making.stands import TOKEN, serving, small_wheel_out_of_true
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session

CHROMIUM = shutil.which("chromium")
SLOW = 60_000  # ms, on a machine that has other work
playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on the path"),
    pytest.mark.xdist_group("browser"),
    pytest.mark.filterwarnings("ignore"),
]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with playwright.sync_playwright() as started:
        found = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield found
        found.close()


@pytest.fixture
def phone(browser: Any) -> Iterator[Any]:
    """A phone of 360 px."""
    with window(browser, 360) as context:
        yield context


@pytest.fixture
def page(phone: Any, served: Server) -> Any:
    """The page on a phone, of a wheel of which nothing was read yet; what is to be read before goes before `opened`."""
    return opened(phone, served)


@contextmanager
def window(browser: Any, width: int) -> Iterator[Any]:
    """A browser so many px wide; what the page's script throws fails the test."""
    context, thrown = browser.new_context(viewport={"width": width, "height": 740}), list[str]()

    def keep(error: Any) -> None:
        thrown.append(str(error.error))

    context.on("weberror", keep)
    yield context
    context.close()
    assert thrown == []


def opened(context: Any, server: Server) -> Any:
    """The page as it stands once it knows what was read."""
    found = context.new_page()
    found.set_default_timeout(SLOW)
    found.goto(f"http://127.0.0.1:{server.server_port}/?t={TOKEN}")
    found.get_by_role("heading", name="Pass").wait_for()
    return found


def fits(page: Any) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth"))


def typed(page: Any, column: str, values: Mapping[int, str]) -> None:
    """A column typed hole by hole from the screen that asks for its first hole, by keyboard alone."""
    for hole, value in values.items():
        page.get_by_role("heading", name=f"Rim hole {hole},").wait_for()
        page.get_by_label(column).fill(value)
        page.keyboard.press("Enter")


def read_before(server: Server, column: str, values: Any) -> None:
    for hole, value in enumerate(values, 1):
        server.session.log.put(hole, column, float(value))


def out_of_true(server: Server) -> None:
    """A pass read already: a wheel that wants turns."""
    holes = np.arange(1, 33)
    read_before(server, "lateral_mm", np.round(0.5 * np.cos(0.4 * holes) + 0.03 * (holes % 3), 2))
    read_before(server, "radial_mm", np.round(0.2 * np.cos(0.6 * holes), 2))
    read_before(server, "tension_N", np.where(holes % 2, 905, 512) + 11 * (holes % 5))


def test_readings_by_keyboard_alone_and_a_reload_in_the_middle(page: Any, served: Server) -> None:
    page.get_by_role("button", name="Read sideways").press("Enter")
    typed(page, "sideways", {hole: f"{0.02 * (hole % 4):.2f}" for hole in range(1, 9)})
    page.get_by_role("heading", name="Rim hole 9,").wait_for()
    page.reload()
    page.get_by_role("button", name="Read sideways (8 of 32)").press("Enter")
    typed(page, "sideways", dict.fromkeys(range(9, 33), "-0,01"))
    page.get_by_role("button", name="Read sideways (32 of 32)").wait_for()
    logged = served.session.log.passes()[1].of("lateral_mm")
    assert (len(logged), logged[5], logged[20]) == (32, 0.02, -0.01)


def test_turns_are_ticked_and_unticked_and_the_pass_ends_by_a_word(phone: Any, served: Server) -> None:
    out_of_true(served)
    page = opened(phone, served)
    page.get_by_role("button", name="Which nipples to turn").click()
    page.locator("img").wait_for()
    assert fits(page)
    ticks = page.locator(".tick input")
    many = ticks.count()
    assert many > 3
    for i in (0, 1):
        ticks.nth(i).press("Space")
        page.locator(".tick.ticked").nth(i).wait_for()
    ticks.nth(1).press("Space")
    page.locator(".tick.ticked").nth(1).wait_for(state="detached")
    page.reload()
    page.get_by_role("button", name="Which nipples to turn").click()
    page.locator("img").wait_for()
    assert [page.locator(".tick input").nth(i).is_checked() for i in range(3)] == [True, False, False]
    page.get_by_role("button", name="Turned: next pass").click()
    page.get_by_role("heading", name=f"1 of {many} are ticked").wait_for()
    page.get_by_role("button", name="Only the ticked ones").click()
    page.get_by_role("heading", name="Pass 2").wait_for()
    assert sum(turns != 0 for turns in served.session.log.passes()[1].of("turned").values()) == 1
    page.get_by_role("button", name="Not turned yet: back to pass 1").click()
    page.locator("img").wait_for()
    assert page.locator(".tick input").nth(0).is_checked()
    page.get_by_role("button", name="Turned: next pass").click()
    page.get_by_role("button", name="All were turned as listed").click()
    page.get_by_role("heading", name="Pass 2").wait_for()
    assert sum(turns != 0 for turns in served.session.log.passes()[1].of("turned").values()) == many


def test_a_reading_that_looks_wrong_is_asked_again_at_once(phone: Any, served: Server) -> None:
    read_before(served, "lateral_mm", [round(0.4 * np.cos(0.4 * hole), 2) for hole in range(1, 9)])
    page = opened(phone, served)
    page.get_by_role("button", name="Read sideways (8 of 32)").click()
    typed(page, "sideways", {9: "-2.9"})
    page.get_by_text("-2.90 mm looks wrong").wait_for()
    for sign in ("0", ".", "2", "8", "Delete", "9", "+/-"):  # over what was typed before
        page.get_by_role("button", name=sign, exact=True).click()
    assert page.get_by_label("sideways").input_value() == "-0.29"
    page.get_by_role("button", name="Save, next hole").click()
    page.get_by_role("heading", name="Rim hole 10,").wait_for()
    typed(page, "sideways", {10: "2.4"})
    page.get_by_text("2.40 mm looks wrong").wait_for()
    assert fits(page)
    page.get_by_role("button", name="It is right as typed").click()
    typed(page, "sideways", {11: "0.02"})  # it is not asked about twice
    page.get_by_role("heading", name="Rim hole 12,").wait_for()
    assert served.session.log.passes()[1].of("lateral_mm")[10] == 2.4


def test_a_tension_that_looks_wrong_is_read_again_from_the_turns(phone: Any, served: Server) -> None:
    out_of_true(served)
    served.session.log.put(7, "tension_N", 260.0)
    page = opened(phone, served)
    page.get_by_role("button", name="Which nipples to turn").click()
    page.get_by_role("button", name="Read hole 7 again").click()
    typed(page, "tension, N", {7: "921"})
    page.locator("img").wait_for()
    assert page.get_by_role("button", name="Read hole 7 again").count() == 0


def test_notes_are_typed_as_a_tuner_shows_them(page: Any, served: Server) -> None:
    page.get_by_role("button", name="Read note").click()
    typed(page, "note", {1: "F#4 -12", 2: "345"})
    page.get_by_role("heading", name="Rim hole 3,").wait_for()
    heard = served.session.log.passes()[1].of("pitch_hz")
    assert heard[1] == pytest.approx(367.4, abs=0.1)  # D: 440 * 2 ** (-3.12 / 12)
    assert heard[2] == 345
    typed(page, "note", {3: "H4"})
    page.get_by_text('found "H4"; write the number alone, in Hz').wait_for()


# Each number goes in as from a key board and is sent by the form, the next one when the next hole is asked for.
FAST = """async (values) => {
  for (const [hole, value] of values) {
    const began = Date.now();
    while (!document.querySelector("h2").textContent.startsWith(`Rim hole ${hole},`)) {
      if (Date.now() - began > 60000) throw new Error(`hole ${hole} is not asked for: ${document.body.innerText}`);
      await new Promise((go) => setTimeout(go, 3));
    }
    document.querySelector("input").value = value;
    document.querySelector("form").requestSubmit();
  }
}"""


@pytest.mark.parametrize(("width", "seed"), [(360, 1), (1280, 4)])
def test_three_passes_to_done(browser: Any, tmp_path: Path, width: int, seed: int) -> None:
    """A simulated wheel read, turned as the page says and read again, all through the page, until it is done."""
    file, case = small_wheel_out_of_true(seed)
    rng = np.random.default_rng(seed + 100)
    assert max(case.figures()[:2]) > 0.45
    with serving(Session(file, tmp_path / "log.csv")) as server, window(browser, width) as context:
        page = opened(context, server)
        for number in (1, 2, 3):
            page.get_by_role("heading", name=f"Pass {number}").wait_for()
            for words, values, digits in zip(
                ("sideways", "up and down", "tension"), case.read(rng), (2, 2, 0), strict=True
            ):
                page.get_by_role("button", name=f"Read {words} (0 of 16)").click()
                page.evaluate(FAST, [(hole, f"{value:.{digits}f}") for hole, value in enumerate(values.tolist(), 1)])
                page.get_by_role("button", name=f"Read {words} (16 of 16)").wait_for()
                assert fits(page)
            page.get_by_role("button", name="Which nipples to turn").click()
            page.locator("img").first.wait_for()
            assert fits(page)
            if number < 3:
                turns = np.zeros(16)
                for tick in page.locator(".tick").all():
                    tick.click()
                page.get_by_role("button", name="Turned: next pass").click()
                page.get_by_role("heading", name=f"Pass {number + 1}").wait_for()
                for hole, value in server.session.log.passes()[number].of("turned").items():
                    turns[hole - 1] = value
                assert np.count_nonzero(turns) > 3
                case.turn(turns, rng)
        page.get_by_role("heading", name="Done: the wheel is as true and even as you asked.").wait_for()
        page.get_by_role("heading", name="Before the first ride").wait_for()
        page.get_by_label("Bearings: no play, no drag.").check()
        page.get_by_text("The strip of the pass before").click()
        page.get_by_alt_text("The strip of pass 2").wait_for()
        assert fits(page)
    lateral, radial, *_ = case.figures()
    assert max(lateral, radial) < 0.3


def test_two_windows(phone: Any, served: Server) -> None:
    """Both write into one log; the one that was left behind is shown the pass that the other went on to."""
    out_of_true(served)
    page, other = opened(phone, served), opened(phone, served)
    page.get_by_role("button", name="Read sideways (32 of 32)").click()
    page.get_by_role("heading", name="Rim hole 1,").wait_for()
    other.get_by_role("button", name="Read sideways (32 of 32)").click()
    typed(other, "sideways", {1: "0.47"})
    typed(page, "sideways", {1: "0.49"})
    page.get_by_role("heading", name="Rim hole 2,").wait_for()
    assert served.session.log.passes()[1].of("lateral_mm")[1] == 0.49
    served.session.end({"pass": 1, "turned": "none"})
    typed(page, "sideways", {2: "0.11"})
    page.get_by_role("heading", name="Pass 2").wait_for()
    page.get_by_text("this window showed pass 1, but the wheel is at pass 2; nothing was saved").wait_for()
    assert sorted(served.session.log.passes()) == [1]


class Held:
    """Answers to one path, held back until they are let go: a slow network that a test commands."""

    def __init__(self, page: Any, path: str) -> None:
        self._page, self._waiting, self._through = page, list[Any](), False
        page.route(f"**/{path}", self._take)

    def _take(self, route: Any) -> None:
        if self._through:
            route.continue_()
        else:
            self._waiting.append(route)

    def let_go(self) -> None:
        self._through = True
        for each in self._waiting:
            each.continue_()


def asked(page: Any, path: str, act: Callable[[], None]) -> None:
    """Do something, and see that the page asks for a path."""
    with page.expect_request(f"**/{path}"):
        act()


def test_what_is_typed_while_a_number_is_being_saved_is_of_the_next_hole(page: Any, served: Server) -> None:
    page.get_by_role("button", name="Read sideways").click()
    page.get_by_label("sideways").fill("0.04")
    held = Held(page, "read")
    asked(page, "read", lambda: page.keyboard.press("Enter"))
    page.keyboard.press("Enter")  # once more, out of impatience
    page.keyboard.type("-0.")
    held.let_go()
    page.get_by_role("heading", name="Rim hole 2,").wait_for()
    page.keyboard.type("1")
    assert page.get_by_label("sideways").input_value() == "-0.1"
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Rim hole 3,").wait_for()
    assert served.session.log.passes()[1].of("lateral_mm") == {1: 0.04, 2: -0.1}
    assert served.session.log.path.read_text().count("0.04") == 1


def test_an_answer_that_comes_late_changes_no_screen(page: Any, served: Server) -> None:
    page.get_by_role("button", name="Read sideways").click()
    page.get_by_label("sideways").fill("0.47")
    held = Held(page, "read")
    asked(page, "read", lambda: page.keyboard.press("Enter"))
    page.get_by_role("button", name="Skip").click()
    page.get_by_role("heading", name="Rim hole 2,").wait_for()
    page.get_by_role("button", name="Skip").click()
    page.get_by_label("sideways").fill("0.1")
    with page.expect_response("**/read"):
        held.let_go()
    page.get_by_role("heading", name="Rim hole 3,").wait_for()
    page.keyboard.press("End")
    page.keyboard.type("9")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Rim hole 4,").wait_for()
    assert served.session.log.passes()[1].of("lateral_mm") == {1: 0.47, 3: 0.19}


def test_a_number_that_was_not_saved_is_told_on_a_later_screen_too(page: Any, served: Server) -> None:
    page.get_by_role("button", name="Read sideways").click()
    page.get_by_label("sideways").fill("0.4.7")
    held = Held(page, "read")
    asked(page, "read", lambda: page.keyboard.press("Enter"))
    page.get_by_role("button", name="Skip").click()
    held.let_go()
    page.get_by_text("Rim hole 1, not saved: ").wait_for()
    page.get_by_role("heading", name="Rim hole 2,").wait_for()
    page.get_by_role("button", name="Back one").click()
    page.get_by_label("sideways").fill("0.4.7")
    page.keyboard.press("Enter")
    page.get_by_text('found "0.4.7"').wait_for()
    assert page.get_by_label("sideways").input_value() == "0.4.7"
    assert served.session.log.passes() == {}


def test_a_key_under_the_finger_stays_until_it_is_lifted(page: Any) -> None:
    page.get_by_role("button", name="Read sideways").click()
    page.get_by_label("sideways").fill("0.47")
    held = Held(page, "read")
    asked(page, "read", lambda: page.keyboard.press("Enter"))
    page.get_by_role("button", name="8", exact=True).hover()
    page.mouse.down()
    with page.expect_response("**/read"):
        held.let_go()
    page.mouse.up()
    page.get_by_role("heading", name="Rim hole 2,").wait_for()
    assert page.get_by_label("sideways").input_value() == "8"


def test_a_second_tap_ends_no_second_pass(phone: Any, served: Server) -> None:
    out_of_true(served)
    page = opened(phone, served)
    page.get_by_role("button", name="Which nipples to turn").click()
    page.get_by_role("button", name="Turned: next pass").click()
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url))
    held = Held(page, "end")
    all_turned = page.get_by_role("button", name="All were turned as listed")
    asked(page, "end", all_turned.click)
    all_turned.click()
    held.let_go()
    page.get_by_role("heading", name="Pass 2").wait_for()
    asked(page, "state", page.get_by_role("button", name="Which nipples to turn").click)
    assert sum(url.endswith("/end") for url in sent) == 1


def test_a_wrong_token_is_told_so(served: Server, page: Any) -> None:
    page.goto(f"http://127.0.0.1:{served.server_port}/?t=guessed")
    page.get_by_role("heading", name="Not let in").wait_for()


def test_a_broken_spoke_on_the_page(page: Any) -> None:
    page.get_by_role("button", name="A spoke has broken").click()
    page.get_by_label("Rim hole of the broken spoke").fill("14")
    page.keyboard.press("Enter")
    page.get_by_text("hole 14").first.wait_for()
    assert fits(page)
