"""`wheelcalc pluck` from the outside: text, files, and what it refuses."""

from __future__ import annotations

import json
import re
import subprocess
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from tests.making.pluck_sessions import nothing
from tests.making.pluck_synthesis import write_wav
from tests.tools.process import inside
from wheelcalc.answers.plucking import compute

EXAMPLES = Path(__file__).parents[2] / "examples"
BUILD, RECORDING = str(EXAMPLES / "errand-rear.toml"), str(EXAMPLES / "errand-rear-right.wav")
BEFORE = str(EXAMPLES / "errand-rear-plucked-new.csv")


def pluck(*arguments: str) -> subprocess.CompletedProcess[str]:
    return inside("pluck", *arguments)


@pytest.fixture(autouse=True)
def _each_round_is_heard_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same question is answered once for all tests of this file; how the answer is shown and written is theirs."""
    monkeypatch.setattr(compute, "pluck", heard)


heard = cache(compute.pluck)


def refused(*arguments: str) -> str:
    done = pluck(*arguments)
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
    assert done.stderr.startswith("Error: ")
    return done.stderr


def test_the_text_says_first_what_to_do_and_fits_the_page() -> None:
    done = pluck(BUILD, RECORDING, "--side", "right", "--before", BEFORE)
    assert (done.returncode, done.stderr) == (0, "")
    done.stdout.encode("latin-1")
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("Not even yet: 4 of 18 spokes heard on the right")
    assert lines[4].startswith("- Right: 1")
    assert "a semitone is" in done.stdout
    assert "Not calibrated" in done.stdout
    assert "Since the earlier recording" in done.stdout
    assert "Rim hole 11 lost tension" in " ".join(done.stdout.split())


def test_working_has_the_numbers_in_it() -> None:
    plain = ["--set", "spokes.wire=2.0", "--set", "pluck.free_length=280"]
    shown = " ".join(pluck(BUILD, RECORDING, "--side", "right", *plain, "--working").stdout.split())
    # D: steel of 7.9 g/cm3, 2 mm thick: 24.82 g/m; a flexible string of it, T = m (2 L f)^2
    assert "right: 280.0 mm free from elbow to nipple (mm: 280.0 of 2), 24.8" in shown
    found = re.search(r"= (0\.024\d+) kg/m x \(2 x 0\.2800 m x ([0-9.]+) Hz\)\^2 = (\d+) N", shown)
    assert found is not None
    mass, pitch, force = (float(each) for each in found.groups())
    assert mass == pytest.approx(7900 * np.pi * 0.001**2, rel=0.01)
    assert force == pytest.approx(mass * (2 * 0.28 * pitch) ** 2, abs=1)
    assert "ends held 0.5 (0 free, 1 clamped):" in shown
    known = ["--set", 'pluck.known=[{ rim_hole = 1, tension = "980 N" }]']
    shown = " ".join(pluck(BUILD, RECORDING, "--side", "right", *known, "--working").stdout.split())
    assert "calibrated by rim hole 1, known to carry 980 N:" in shown
    assert "Working" not in pluck(BUILD, RECORDING, "--side", "right").stdout


def test_the_contracts_keys() -> None:
    answer = json.loads(pluck(BUILD, RECORDING, "--side", "right", "--json").stdout)
    assert answer["schema"] == "wheelcalc/pluck/1"
    assert answer["calibrated"] is False
    assert {"at_s", "pitch_hz", "confidence", "rim_hole", "tension_N", "tension_sigma_N", "assigned"} <= set(
        answer["plucks"][0]
    )


def test_what_it_writes(tmp_path: Path) -> None:
    for name, words in (
        (
            "out.csv",
            "# wheel: Errand bike, rear, 36 holes, 3759d63e\nrim_hole,lateral_mm,radial_mm,pitch_hz,tension_sigma_N,assigned\n",
        ),
        ("out.svg", "<svg"),
        ("out.json", "{"),
    ):
        path = tmp_path / name
        assert pluck(BUILD, RECORDING, "--side", "right", "-o", str(path)).returncode == 0
        assert path.read_text().startswith(words)
    assert ".csv, .svg" in refused(BUILD, RECORDING, "-o", str(tmp_path / "out.wav"))


@pytest.mark.parametrize(
    ("data", "words"),
    [(b"", "is empty"), (b"just text, no sound", "not a WAV"), (b"ID3\x03 and more", "an MP3 file")],
)
def test_files_that_are_no_recording(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "sound.wav"
    path.write_bytes(data)
    error = refused(BUILD, str(path))
    assert words in error
    assert str(path) in error


def test_recordings_that_cannot_be_used(tmp_path: Path) -> None:
    path = tmp_path / "sound.wav"
    write_wav(path, 0.5 * np.sin(np.arange(800)), 8000)
    assert "is 0.10 s long" in refused(BUILD, str(path))
    write_wav(path, np.clip(4 * np.sin(np.arange(16000) / 5), -1, 1), 8000)
    assert "clipped" in refused(BUILD, str(path))
    speech = nothing("speech", 3, 8000, 5.0)
    write_wav(path, 0.7 * speech / np.max(np.abs(speech)), 8000)
    assert "spokes" in refused(BUILD, str(path))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--skip", "a,b"], "--skip"),
        (["--from", "99"], "--from: found rim hole 99"),
        (["--side", "top"], "--side"),
        (["--side", "right", "--skip", "1,3,5,7,9,11,13,15,17,19,21"], "18 plucks for 7 spokes"),
        (["--before", "none.csv"], "none.csv: there is no such file"),
        (["--set", "pluck.known=[{rim_hole=1}]"], "pluck.known"),
        (["--set", 'pluck.known=[{rim_hole=40,tension="900 N"}]'], "rim hole 40"),
    ],
)
def test_options_that_cannot_be_used(arguments: list[str], words: str) -> None:
    assert words in refused(BUILD, RECORDING, *arguments)


def test_how_much_was_heard_is_told_on_a_terminal_only(monkeypatch) -> None:
    from wheelcalc.cli import pluck as command

    said: list[str] = []
    monkeypatch.setattr(command, "aside", said.append)
    monkeypatch.setattr(command.sys.stderr, "isatty", lambda: False, raising=False)
    assert command.progress() is None
    monkeypatch.setattr(command.sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(command, "EVERY", 0.0)
    tell = command.progress()
    tell(0.25)
    assert said == ["Heard so far: 25 % of the sounds"]


def test_a_tapped_rim_is_refused() -> None:
    rim = str(Path(RECORDING).parent / "errand-rim-inward.wav")
    done = pluck(BUILD, rim, "--side", "right")
    assert not done.stdout
    assert "surely ring" in done.stderr


def test_a_side_said_to_be_the_wheel_is_not_told() -> None:
    shown = pluck(BUILD, RECORDING).stdout
    assert re.match(r"Not told yet: of 36 spokes on the left and right [4-8] were heard; those are", shown)


def test_uneven_spokes_are_said_though_two_were_left_out() -> None:
    shown = pluck(BUILD, RECORDING, "--side", "right", "--skip", "9,11").stdout
    assert shown.startswith("Not even yet: 4 of 16 spokes heard on the right")
