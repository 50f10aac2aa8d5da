"""Sound files of every kind that is read, made here byte by byte, and those that are refused."""

from __future__ import annotations

import contextlib
import struct
import wave
from pathlib import Path

import numpy as np
import pytest

from wheelcalc.files.wav import read_wav
from wheelcalc.wheel.errors import InputError

GUID_TAIL = bytes.fromhex("000000001000800000aa00389b71")
RATE = 11025
T = np.arange(3000) / RATE
WAVE = 0.61 * np.sin(2 * np.pi * 331 * T) * np.exp(-9 * T)


def packed(values: np.ndarray, bits: int, floats: bool = False) -> bytes:
    if floats:
        return values.astype(f"<f{bits // 8}").tobytes()
    if bits == 8:
        return (np.round(values * 127) + 128).astype(np.uint8).tobytes()
    whole = np.round(values * (2 ** (bits - 1) - 1)).astype(np.int64)
    return b"".join(int(each).to_bytes(bits // 8, "little", signed=True) for each in whole)


def wav(data: bytes, *, tag=1, channels=1, rate=RATE, bits=16, extensible=False, before=b"", claimed=None) -> bytes:
    block = channels * bits // 8
    form = struct.pack("<HHIIHH", 0xFFFE if extensible else tag, channels, rate, rate * block, block, bits)
    if extensible:
        form += struct.pack("<HHIH", 22, bits, 0, tag) + GUID_TAIL
    body = b"WAVE" + before + b"fmt " + struct.pack("<I", len(form)) + form
    body += b"data" + struct.pack("<I", len(data) if claimed is None else claimed) + data
    return b"RIFF" + struct.pack("<I", len(body)) + body


def read(tmp_path: Path, data: bytes):
    path = tmp_path / "sound.wav"
    path.write_bytes(data)
    return read_wav(path)


@pytest.mark.parametrize("extensible", [False, True])
@pytest.mark.parametrize(
    ("bits", "floats"), [(8, False), (16, False), (24, False), (32, False), (32, True), (64, True)]
)
def test_every_kind_gives_the_same_sound(tmp_path: Path, bits: int, floats: bool, extensible: bool) -> None:
    data = wav(packed(WAVE, bits, floats), tag=3 if floats else 1, bits=bits, extensible=extensible)
    sound = read(tmp_path, data)
    assert sound.rate == RATE
    assert sound.seconds == pytest.approx(3000 / RATE)
    # Half a step of the coarsest kind, and a full one for the unequal ends of its scale.
    np.testing.assert_allclose(sound.samples, WAVE, atol=1.5 / 2 ** (bits - 1) if not floats else 1e-7)


def test_as_the_standard_library_writes_it(tmp_path: Path) -> None:
    path = tmp_path / "plain.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(packed(WAVE, 16))
    np.testing.assert_allclose(read_wav(path).samples, WAVE, atol=1e-4)


def test_the_louder_channel_is_taken(tmp_path: Path) -> None:
    both = np.column_stack([0.02 * np.cos(T * 700), WAVE]).ravel()
    np.testing.assert_allclose(read(tmp_path, wav(packed(both, 16), channels=2)).samples, WAVE, atol=1e-4)


def test_other_chunks_and_a_recorder_that_was_cut_off(tmp_path: Path) -> None:
    note = b"LIST" + struct.pack("<I", 5) + b"notes\0"
    data = wav(packed(WAVE, 16) + b"\x01", before=note, claimed=0xFFFFFFFF)
    np.testing.assert_allclose(read(tmp_path, data).samples, WAVE, atol=1e-4)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"hello, this is text", "not a WAV"),
        (b"ID3\x04 and so on", "an MP3 file"),
        (b"\0\0\0\x20ftypM4A and so on", "an M4A or MP4 file"),
        (b"RIFF\0\0\0\0WAVE", "holds no format"),
        (wav(b""), "holds no sound"),
        (wav(packed(WAVE, 16), tag=2, bits=4), "compressed \\(ADPCM\\)"),
        (wav(packed(WAVE, 16), tag=0x55), "compressed \\(MP3\\)"),
        (wav(packed(WAVE, 16), tag=6, bits=8, extensible=True), "compressed \\(A-law\\)"),
        (wav(packed(WAVE, 16), bits=12), "12 bits"),
        (wav(packed(WAVE, 16), rate=4000), "4000 samples a second"),
        (wav(packed(WAVE, 16), channels=0), "damaged"),
        (wav(packed(0 * WAVE, 16)), "silent"),
        (wav(packed(WAVE * np.nan, 32, floats=True), tag=3, bits=32), "no numbers"),
        (wav(packed(np.clip(3 * np.sin(2 * np.pi * 331 * T), -0.8, 0.8), 16)), "clipped"),
    ],
)
def test_refused_in_one_sentence(tmp_path: Path, data: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        read(tmp_path, data)
    assert str(caught.value).startswith(str(tmp_path / "sound.wav"))
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("bits", [8, 16])
def test_a_loud_sine_is_not_clipped(tmp_path: Path, bits: int) -> None:
    sine = np.sin(2 * np.pi * 331 * np.arange(RATE) / RATE)
    assert read(tmp_path, wav(packed(sine, bits), bits=bits)).samples.max() > 0.99


def test_no_such_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_wav(tmp_path / "none.wav")
    with pytest.raises(InputError, match="folder"):
        read_wav(tmp_path)


@pytest.mark.parametrize("cut", range(0, 60, 3))
def test_a_file_cut_anywhere_is_read_or_refused(tmp_path: Path, cut: int) -> None:
    whole = wav(packed(WAVE[:20], 24), bits=24, extensible=True)
    with contextlib.suppress(InputError):
        assert read(tmp_path, whole[:cut]).samples.size > 0
