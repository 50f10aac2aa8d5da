"""What phones record: by a decoder on the path, else the command is said."""

from __future__ import annotations

import shutil
import stat
import subprocess
from pathlib import Path

import numpy as np
import pytest

from tests.making.pluck_synthesis import write_wav
from wheelcalc.files.wav import read_wav
from wheelcalc.wheel.errors import InputError


def stand_in(folder: Path, script: str) -> None:
    """A decoder of that name that does what the script says."""
    program = folder / "ffmpeg"
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)


def recorded(folder: Path) -> Path:
    path = folder / "plucks.m4a"
    path.write_bytes(b"\0\0\0 ftypM4A and more")
    return path


def test_without_a_decoder_the_command_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(InputError, match=r'is an M4A or MP4 file.*ffmpeg -i "plucks.m4a" "plucks.wav"'):
        read_wav(recorded(tmp_path))


def test_with_one_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sound = 0.5 * np.sin(np.arange(1200) ** 1.1 / 7) * np.linspace(1, 0.2, 1200)
    write_wav(tmp_path / "out.wav", sound, 8000)
    stand_in(tmp_path, f'/bin/cat "{tmp_path / "out.wav"}"')
    monkeypatch.setenv("PATH", str(tmp_path))
    heard = read_wav(recorded(tmp_path))
    assert heard.rate == 8000
    np.testing.assert_allclose(heard.samples[:3], sound[:3], atol=1e-4)


def test_a_file_that_it_cannot_read_is_refused_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(tmp_path, "echo broken >&2; exit 1")
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(InputError, match="ffmpeg cannot read") as caught:
        read_wav(recorded(tmp_path))
    assert "\n" not in str(caught.value)


@pytest.mark.skipif(not shutil.which("ffmpeg"), reason="ffmpeg is not on the path")
@pytest.mark.parametrize(
    ("suffix", "coder"), [("m4a", "aac"), ("mp3", "libmp3lame"), ("ogg", "libvorbis"), ("flac", "flac")]
)
def test_what_phones_record_keeps_its_pitch(tmp_path: Path, suffix: str, coder: str) -> None:
    rate, hz = 44_100, 391.7
    t = np.arange(rate) / rate
    write_wav(tmp_path / "plucks.wav", 0.4 * np.sin(2 * np.pi * hz * t) * np.exp(-t / 0.5), rate)
    coded = tmp_path / f"plucks.{suffix}"
    call = ["ffmpeg", "-v", "error", "-i", str(tmp_path / "plucks.wav"), "-c:a", coder, "-b:a", "48k", str(coded)]
    subprocess.run(call, check=True)
    heard = read_wav(coded)
    assert heard.seconds == pytest.approx(1.0, abs=0.1)
    power = np.abs(np.fft.rfft(heard.samples, 8 * rate)) ** 2
    assert np.argmax(power) * heard.rate / (8 * rate) == pytest.approx(hz, abs=0.5)
