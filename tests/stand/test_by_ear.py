"""Spokes by ear on the page: recordings of several kinds through a file field, a microphone, and what is refused."""

from __future__ import annotations

import re
import shutil
import subprocess
from base64 import b64encode
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.making.pluck_synthesis import write_wav
from tests.making.stands import TOKEN, serving
from tests.stand.test_server import ask
from wheelcalc import answers
from wheelcalc.answers.plucking.content import Round
from wheelcalc.files.buildfile import read_build
from wheelcalc.files.wav import read_wav
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session

EXAMPLES = Path(__file__).parents[2] / "examples"
BUILD, RECORDING = EXAMPLES / "errand-rear.toml", EXAMPLES / "errand-rear-right.wav"
CHROMIUM = shutil.which("chromium")
FIRST = [1, 3, 5, 7]  # rim holes of the spokes on its first seconds
# A microphone that plays a recording by the clock of who listens: on a busy machine it is late, and nothing of it is lost.
MICROPHONE = """async (recording) => {
    const bytes = Uint8Array.from(atob(recording), (sign) => sign.charCodeAt(0));
    const buffer = await new OfflineAudioContext(1, 1, 48000).decodeAudioData(bytes.buffer);
    navigator.mediaDevices.getUserMedia = async () => ({ getTracks: () => [] });
    AudioContext.prototype.createMediaStreamSource = function () {
        const source = new AudioBufferSourceNode(this, { buffer });
        source.start();
        return source;
    };
}"""
in_a_browser = [
    pytest.mark.xdist_group("browser"),
    pytest.mark.filterwarnings("ignore"),
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on the path"),
]


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Server]:
    with serving(Session(read_build(BUILD), tmp_path / "log.csv")) as server:
        yield server


@pytest.fixture(scope="module")
def beginning(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first plucks of the recording, then quiet."""
    return cut(tmp_path_factory.mktemp("sound") / "beginning.wav", 0.0, 3.75)


def cut(path: Path, start: float, end: float | None) -> Path:
    """A part of the recording and a second of quiet."""
    sound = read_wav(RECORDING)
    rate = int(sound.rate)
    quiet = 1e-4 * np.random.default_rng(5).normal(size=rate)
    write_wav(path, np.concatenate([sound.samples[int(start * rate) : end and int(end * rate)], quiet]), rate)
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
    part = cut(tmp_path / "two.wav", 1.95, 3.75)
    status, found = ask(served, "/hear?side=right&only=5,7", raw=part.read_bytes())
    assert status == 200
    whole = answers.pluck(BUILD, RECORDING, round_=Round(1, "right")).as_json()["plucks"]
    pitch = {each["rim_hole"]: each["pitch_hz"] for each in whole}
    assert {each["rim_hole"]: each["sure"] for each in found["spokes"]} == {5: True, 7: True}
    assert all(each["pitch_hz"] == pytest.approx(pitch[each["rim_hole"]], rel=0.004) for each in found["spokes"])


@pytest.mark.parametrize("query", ["side=top", "start=x", "start=99", "only=3,,x", "only=77", f"start={'9' * 5000}"])
def test_a_round_that_cannot_be(served: Server, query: str, beginning: Path) -> None:
    assert ask(served, f"/hear?{query}", raw=beginning.read_bytes())[0] == 422


@pytest.mark.parametrize("sound", [b"", b"no sound", b"OggS", b"RIFF\0\0\0\0WAVEfmt "])
def test_what_is_no_recording(served: Server, sound: bytes) -> None:
    assert ask(served, "/hear", raw=sound)[0] == 422


@pytest.fixture(scope="module")
def browser(beginning: Path) -> Iterator[Any]:
    """Chromium, whose microphone hears the recording's beginning once."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    heard = f"--use-file-for-fake-audio-capture={beginning}%noloop"
    args = ["--no-sandbox", "--disable-gpu", "--use-fake-device-for-media-stream", heard]
    with playwright.sync_playwright() as started:
        found = started.chromium.launch(executable_path=CHROMIUM, args=args)
        yield found
        found.close()


@pytest.fixture
def page(browser: Any, served: Server) -> Iterator[Any]:
    """The screen of the ear, for the right side."""
    context = browser.new_context(viewport={"width": 360, "height": 740})
    found = context.new_page()
    found.set_default_timeout(60_000)  # on a busy machine the ear takes its time
    found.goto(f"http://127.0.0.1:{served.server_port}/?t={TOKEN}")
    found.get_by_role("button", name="Tensions by ear").click()
    found.get_by_label("Side").select_option("right")
    yield found
    context.close()


def logged(served: Server) -> list[int]:
    return sorted(served.session.log.passes()[1].of("pitch_hz"))


class TestInABrowser:
    pytestmark = in_a_browser

    def test_recordings_through_the_file_field(
        self, page: Any, served: Server, beginning: Path, tmp_path: Path
    ) -> None:
        """What is none, a part of the round as telephones record it, and the rest of it once more."""
        field = page.get_by_label("A recording")
        field.set_input_files(files=[{"name": "notes.m4a", "mimeType": "audio/mp4", "buffer": b"no sound at all"}])
        page.get_by_text("cannot read that recording").wait_for()
        part = beginning
        if shutil.which("ffmpeg"):
            part = tmp_path / "part.m4a"
            subprocess.run(["ffmpeg", "-v", "error", "-i", beginning, part], check=True)
        field.set_input_files(part)
        page.get_by_text("Pluck again, in this order: 9, 11, 13").wait_for()
        field.set_input_files(cut(tmp_path / "rest.wav", 3.75, None))
        page.get_by_text("Every spoke was heard").wait_for()
        page.get_by_role("button", name="Keep the 18 sure ones").click()
        page.get_by_role("heading", name="Pass 1").wait_for()
        assert logged(served) == list(range(1, 36, 2))

    def test_the_microphone_is_heard_as_it_sounds(self, page: Any, served: Server, beginning: Path) -> None:
        page.evaluate(MICROPHONE, b64encode(beginning.read_bytes()).decode())
        page.get_by_role("button", name="Listen now").click()
        page.get_by_text("Heard 4 of 18").wait_for()
        page.get_by_role("button", name="Stop listening").click()
        page.get_by_role("button", name="Keep the 4 sure ones").click()
        page.get_by_role("heading", name="Pass 1").wait_for()
        assert logged(served) == FIRST

    def test_a_real_microphone_sends_its_sound(self, page: Any) -> None:
        """How much of it is heard in time depends on the machine."""
        page.context.grant_permissions(["microphone"])
        page.get_by_role("button", name="Listen now").click()
        page.get_by_text(re.compile(r"Heard \d+ of 18|^\d+ s: ")).wait_for()
        page.get_by_role("button", name="Stop listening").click()
        page.get_by_role("button", name="Listen now").wait_for()

    def test_a_microphone_that_is_not_allowed(self, page: Any) -> None:
        page.get_by_role("button", name="Listen now").click()
        page.get_by_text("may not use the microphone").wait_for()

    def test_no_microphone(self, page: Any) -> None:
        none = "() => Promise.reject(new DOMException('', 'NotFoundError'))"  # as Chromium says without one
        page.evaluate(f"() => {{ navigator.mediaDevices.getUserMedia = {none}; }}")
        page.get_by_role("button", name="Listen now").click()
        page.get_by_text("No microphone was found").wait_for()
