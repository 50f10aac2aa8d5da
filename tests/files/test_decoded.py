"""What phones record: by a decoder on the path, else the command is said."""

from __future__ import annotations

import shutil
import stat
import subprocess
from pathlib import Path

import numpy as np
import pytest

from tests.making import errand_plucks
from tests.making.pluck_synthesis import write_wav
from wheelcalc import answers
from wheelcalc.answers.plucking.content import Round
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


def coded(folder: Path, suffix: str, coder: str, loud: float) -> Path:
    """The first half of the example's recording, so many times as loud as can be, as a phone would code it."""
    plain = read_wav(errand_plucks.RECORDING)
    half = plain.samples[: plain.samples.size // 2]
    write_wav(folder / "loud.wav", np.clip(loud * half / np.abs(half).max(), -1, 1), int(plain.rate))
    out = folder / f"loud.{suffix}"
    subprocess.run(
        ["ffmpeg", "-v", "error", "-i", folder / "loud.wav", "-c:a", coder, "-ar", "44100", "-b:a", "64k", out],
        check=True,
    )
    return out


def surely_heard(path: Path) -> list[float]:
    """Errors of the surely heard pitches of the round, as shares; those of a pair are its mean's."""
    ridden = errand_plucks.wheels()[2]
    true = {hole: spoke.pitch for hole, spoke in errand_plucks.spokes(ridden.tensions).items()}
    rows = answers.pluck(errand_plucks.BUILD, path, round_=Round(side="right")).as_json()["plucks"]
    return [
        row["pitch_hz"] / true[row["rim_hole"]] - 1
        for row in rows
        if row["confidence"] > 0.95 and row["assigned"] > 0.95
    ]


@pytest.mark.skipif(not shutil.which("ffmpeg"), reason="ffmpeg is not on the path")
@pytest.mark.parametrize(
    ("suffix", "coder", "loud"), [("m4a", "aac", 1.6), ("mp3", "libmp3lame", 1.6), ("ogg", "libvorbis", 0.9)]
)
def test_clipped_plucks_are_heard_and_a_cut_file_is_read_or_refused(
    tmp_path: Path, suffix: str, coder: str, loud: float
) -> None:
    whole = coded(tmp_path, suffix, coder, loud)
    errors = surely_heard(whole)
    assert len(errors) >= 6
    np.testing.assert_allclose(errors, 0, atol=0.01)
    cut = tmp_path / f"cut.{suffix}"
    cut.write_bytes(whole.read_bytes()[: int(0.7 * whole.stat().st_size)])
    if suffix == "m4a":  # its table of contents stands at the end
        with pytest.raises(InputError, match="ffmpeg cannot read") as caught:
            read_wav(cut)
        assert "\n" not in str(caught.value)
        return
    rest = surely_heard(cut)
    assert 3 <= len(rest) <= len(errors)
    np.testing.assert_allclose(rest, 0, atol=0.01)
