"""Spokes by ear on the page: recordings of several kinds through a file field, a microphone, and what is refused."""

from __future__ import annotations

import shutil
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.making.pluck_synthesis import write_wav
from tests.making.stands import TOKEN
from tests.stand.test_server import ask
from wheelcalc import answers
from wheelcalc.answers.plucking.content import Round
from wheelcalc.files.buildfile import read_build
from wheelcalc.files.wav import Sound, read_wav
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session

EXAMPLES = Path(__file__).parents[2] / "examples"
BUILD, RECORDING = EXAMPLES / "errand-rear.toml", EXAMPLES / "errand-rear-right.wav"
CHROMIUM = shutil.which("chromium")
FIRST = [1, 3, 5, 7, 9]  # the right spokes' rim holes
in_a_browser = [
    pytest.mark.xdist_group("browser"),
    pytest.mark.filterwarnings("ignore"),
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on the path"),
]


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Server]:
    server = Server(("127.0.0.1", 0), ["127.0.0.1"], TOKEN, Session(read_build(BUILD), tmp_path / "log.csv"))
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    thread.join(5)


@pytest.fixture(scope="module")
def beginning(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first plucks of the recording, then quiet."""
    sound = read_wav(RECORDING)
    path = tmp_path_factory.mktemp("sound") / "beginning.wav"
    quiet = 1e-4 * np.random.default_rng(5).normal(size=int(3 * sound.rate))
    write_wav(path, np.concatenate([sound.samples[: int(4.8 * sound.rate)], quiet]), int(sound.rate))
    return path


def test_the_server_hears_what_pluck_hears(served: Server, beginning: Path) -> None:
    status, found = ask(served, "/hear?side=right&start=1", raw=beginning.read_bytes())
    assert status == 200
    expected = answers.pluck(BUILD, beginning, round_=Round(1, "right"))
    by_hole = dict(zip(expected.wheel.lacing.rim_hole.tolist(), expected.tension.tolist(), strict=True))
    heard = [each for each in found["spokes"] if each["tension_N"]]
    assert [each["rim_hole"] for each in heard if each["sure"]] == FIRST
    assert all(each["tension_N"] == pytest.approx(by_hole[each["rim_hole"]], rel=1e-6) for each in heard)
    assert len(found["spokes"]) == 18


def test_a_few_spokes_once_more(served: Server, tmp_path: Path) -> None:
    """Spokes 5 and 7 alone, out of the middle of the recording."""
    sound = read_wav(RECORDING)
    part = Sound(sound.samples[int(1.95 * sound.rate) : int(3.8 * sound.rate)], sound.rate)
    write_wav(tmp_path / "two.wav", part.samples, int(part.rate))
    status, found = ask(served, "/hear?side=right&only=5,7", raw=(tmp_path / "two.wav").read_bytes())
    assert status == 200
    whole = answers.pluck(BUILD, sound, round_=Round(1, "right")).as_json()["plucks"]
    pitch = {each["rim_hole"]: each["pitch_hz"] for each in whole}
    assert {each["rim_hole"]: each["sure"] for each in found["spokes"]} == {5: True, 7: True}
    assert all(each["pitch_hz"] == pytest.approx(pitch[each["rim_hole"]], rel=0.004) for each in found["spokes"])


@pytest.mark.parametrize("query", ["side=top", "start=x", "start=99", "only=3,,x", "only=77", f"start={'9' * 5000}"])
def test_a_round_that_cannot_be(served: Server, query: str, beginning: Path) -> None:
    assert ask(served, f"/hear?{query}", raw=beginning.read_bytes())[0] == 422


@pytest.mark.parametrize("sound", [b"", b"no sound", b"OggS", b"RIFF\0\0\0\0WAVEfmt "])
def test_what_is_no_recording(served: Server, sound: bytes) -> None:
    assert ask(served, "/hear", raw=sound)[0] == 422


@pytest.fixture
def browse() -> Iterator[Any]:
    """Starts Chromium with arguments."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as started:
        browsers = []

        def browse(*args: str) -> Any:
            plain = ["--no-sandbox", "--disable-gpu", *args]
            browsers.append(started.chromium.launch(executable_path=CHROMIUM, args=plain))
            page = browsers[-1].new_page(viewport={"width": 360, "height": 740})
            page.set_default_timeout(30_000)
            return page

        yield browse
        for each in browsers:
            each.close()


def by_ear(page: Any, served: Server, side: str = "right") -> None:
    page.goto(f"http://127.0.0.1:{served.server_port}/?t={TOKEN}")
    page.get_by_role("button", name="Tensions by ear").click()
    page.get_by_label("Side").select_option(side)


def logged(served: Server) -> dict[int, float]:
    passes = ask(served, "/state")[1]["passes"]
    return {int(hole): value for name in ("tension_N", "pitch_hz") for hole, value in passes[0].get(name, {}).items()}


class TestInABrowser:
    pytestmark = in_a_browser

    def test_a_recording_through_the_file_field(self, browse: Any, served: Server, beginning: Path) -> None:
        page = browse()
        by_ear(page, served)
        field = page.get_by_label("A recording")
        field.set_input_files(files=[{"name": "notes.m4a", "mimeType": "audio/mp4", "buffer": b"no sound at all"}])
        page.get_by_text("cannot read that recording").wait_for()
        kinds = [beginning]
        if shutil.which("ffmpeg"):  # as telephones record
            kinds = [beginning.with_suffix(suffix) for suffix in (".ogg", ".m4a")]
            for each in kinds:
                subprocess.run(["ffmpeg", "-y", "-v", "error", "-i", beginning, each], check=True)
        for each in kinds:
            page.get_by_label("Side").select_option("both")
            page.get_by_label("Side").select_option("right")
            field.set_input_files(each)
            page.get_by_text("Pluck again, in this order: 11, 13").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.get_by_role("button", name="Keep the 5 sure ones").click()
        page.get_by_role("heading", name="Pass 1").wait_for()
        assert sorted(logged(served)) == FIRST

    def test_the_microphone_is_heard_as_it_sounds(self, browse: Any, served: Server, beginning: Path) -> None:
        page = browse(
            "--use-fake-device-for-media-stream",
            "--use-fake-ui-for-media-stream",
            f"--use-file-for-fake-audio-capture={beginning}%noloop",
        )
        by_ear(page, served)
        page.get_by_role("button", name="Listen now").click()
        page.get_by_text("Heard 5 of 18").wait_for()
        page.get_by_role("button", name="Stop listening").click()
        page.get_by_role("button", name="Keep the 5 sure ones").click()
        page.get_by_role("heading", name="Pass 1").wait_for()
        assert sorted(logged(served)) == FIRST

    def test_a_microphone_that_is_not_allowed(self, browse: Any, served: Server) -> None:
        page = browse("--use-fake-device-for-media-stream", "--deny-permission-prompts")
        by_ear(page, served)
        page.get_by_role("button", name="Listen now").click()
        page.get_by_text("may not use the microphone").wait_for()

    def test_no_microphone(self, browse: Any, served: Server) -> None:
        page = browse()
        page.context.grant_permissions(["microphone"])
        by_ear(page, served)
        page.get_by_role("button", name="Listen now").click()
        page.get_by_text("No microphone was found").wait_for()
