"""Sound files: WAV with whole numbers of 8, 16, 24 or 32 bits or floats of 32 or 64, extensible headers too.

The header is unpacked by hand: the standard library's reader refuses extensible headers, which are common in 24-bit
files, and floats.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.files.bytes import bytes_of
from wheelcalc.files.decoded import decoded
from wheelcalc.wheel.errors import InputError

# Numbers here: P (M), places and tags of the RIFF format, Microsoft, Multimedia Data Standards Update (1994), and RFC 2361, unless another
# source stands beside one.
PCM, FLOAT, EXTENSIBLE = 1, 3, 0xFFFE
TAGS = {2: "ADPCM", 6: "A-law", 7: "mu-law", 0x11: "IMA ADPCM", 0x31: "GSM", 0x50: "MPEG", 0x55: "MP3", 0xFF: "AAC"}
# P (M): the last 14 bytes of the extensible header's format, behind the tag itself.
FORMAT_TAIL = bytes.fromhex("000000001000800000aa00389b71")
OTHERS = {
    b"ID3": "an MP3",
    b"\xff\xfb": "an MP3",
    b"fLaC": "a FLAC",
    b"OggS": "an Ogg",
    b"FORM": "an AIFF",
    b"caff": "a CAF",
    b"#!AMR": "an AMR",
}
# Ours: so many seconds hold the plucks of one side several times over, and so many samples (three minutes at 44100 a
# second) are heard within 500 MB; loudness is 1 at most, tens where a program wrote
# floats without scaling them; a recorder writes a dozen chunks.
LONGEST_SECONDS, MOST_SAMPLES, LOUDEST, MOST_CHUNKS = 300, 8e6, 1e9, 10_000
LOWEST_RATE, HIGHEST_RATE = 8000, 96000
LARGEST_FILE = 400_000_000  # bytes; ours: ten minutes of the largest kind
CONVERT = "save it as an uncompressed WAV (PCM, 16 bit, 44100 Hz)"
# C, choices: clipped where more samples than fill so many seconds lie within half a per cent of the largest, and
# several times as many as in the next band of the same breadth of phase (a sine has equal shares in both, D).
CLIPPED_SECONDS, CLIPPED_TIMES = 0.01, 3.0
TOP, NEXT = 0.995, 0.980


@dataclass(frozen=True, eq=False)
class Sound:
    """What a microphone heard: samples, -1 to 1, of the louder channel; and how many there are a second [Hz]."""

    samples: Floats
    rate: float

    @property
    def seconds(self) -> float:
        """How long it is [s]."""
        return self.samples.size / self.rate


@dataclass(frozen=True)
class _Format:
    tag: int
    channels: int
    rate: int
    bits: int


def read_wav(path: str | Path) -> Sound:
    """Read a sound file.

    Parameters
    ----------
    path : of the file

    Raises
    ------
    InputError
        If it cannot be read, is no WAV and ffmpeg cannot make one of it, is empty, damaged or clipped.
    """
    try:
        data = _checked_bytes(path)
        kind = _compressed(data)
        return _sound(decoded(Path(path), kind) if kind else data)
    except InputError as error:
        raise error.in_file(str(path)) from None


def sound_of(data: bytes) -> Sound:
    """Read a WAV that is already here.

    Raises
    ------
    InputError
        If it is none, or is empty, damaged or clipped.
    """
    try:
        return _sound(data)
    except InputError as error:
        raise error.in_file("recording") from None


def _checked_bytes(path: str | Path) -> bytes:
    data = bytes_of(path, LARGEST_FILE, "a recording in WAV")
    if not data:
        raise InputError("", f"is empty; record again and {CONVERT}")
    if len(data) > LARGEST_FILE:
        raise InputError("", "is larger than 400 MB; cut it to the plucks of one wheel")
    return data


def _sound(data: bytes) -> Sound:
    _check_kind(data)
    chunks = _chunks(memoryview(data))
    if b"fmt " not in chunks or b"data" not in chunks:
        lacking = "no format" if b"fmt " not in chunks else "no sound"
        raise InputError("", f"is a damaged WAV: it holds {lacking}; record again and {CONVERT}")
    form = _format(bytes(chunks[b"fmt "]))
    _check_length(len(chunks[b"data"]), form)
    channels = _numbers(chunks[b"data"], form).reshape(-1, form.channels).T
    if channels.shape[1] == 0:
        raise InputError("", f"holds no sound; record again and {CONVERT}")
    if not (np.abs(channels) <= LOUDEST).all():  # also where one is no number
        raise InputError("", f"holds samples that are no numbers; {CONVERT}")
    louder = channels[np.argmax(np.std(channels, axis=1))]
    _check_clipping(louder, form.rate)
    return Sound(np.ascontiguousarray(louder), float(form.rate))


def _check_length(size: int, form: _Format) -> None:
    """Refuse, before a number is unpacked, what would take too much memory."""
    seconds = size * 8 / (form.bits * form.channels * form.rate)
    most = min(LONGEST_SECONDS, MOST_SAMPLES / (form.rate * max(1.0, form.channels / 2)))
    if seconds > most:
        text = (
            f"lasts {seconds:.0f} s, and {most:.0f} s of this kind are read at once; cut it to the plucks of one side"
        )
        raise InputError("", f"{text}, or save it in mono with 44100 samples a second")


def _compressed(data: bytes) -> str:
    """What a file of another kind seems to be; empty where it is a WAV or nothing known."""
    kind = next((name for start, name in OTHERS.items() if data.startswith(start)), "")
    return "an M4A or MP4" if data[4:8] == b"ftyp" else kind


def _check_kind(data: bytes) -> None:
    """Refuse what is not a WAV, saying what it seems to be."""
    if data[:4] == b"RIFF" and data[8:12] == b"WAVE":
        return
    kind = "an unusual WAV (RF64 or RIFX)" if data[:4] in (b"RF64", b"RIFX") else _compressed(data)
    raise InputError("", f"is {kind} file, not a plain WAV; {CONVERT}" if kind else f"is not a WAV file; {CONVERT}")


def _chunks(data: memoryview) -> dict[bytes, memoryview]:
    """First chunk of each name wanted; one that claims more than there is (a recorder cut off) ends with the file."""
    chunks: dict[bytes, memoryview] = {}
    place, left = 12, MOST_CHUNKS
    while place + 8 <= len(data) and len(chunks) < 2 and left:
        name, size = struct.unpack_from("<4sI", data, place)
        if name in (b"fmt ", b"data"):
            chunks.setdefault(name, data[place + 8 : place + 8 + size])
        place, left = place + 8 + size + size % 2, left - 1
    return chunks


def _format(chunk: bytes) -> _Format:
    """What the format chunk says, refused if this reader has no use for it."""
    if len(chunk) < 16:
        raise InputError("", f"is a damaged WAV: its format is cut off; record again and {CONVERT}")
    tag, channels, rate, _, block, bits = struct.unpack_from("<HHIIHH", chunk)
    if tag == EXTENSIBLE and len(chunk) >= 40 and chunk[26:40] == FORMAT_TAIL:
        tag = struct.unpack_from("<H", chunk, 24)[0]
    if tag not in (PCM, FLOAT):
        raise InputError("", f"is compressed ({TAGS.get(tag, f'format {tag}')}); {CONVERT}")
    if bits not in ((8, 16, 24, 32) if tag == PCM else (32, 64)):
        raise InputError("", f"has samples of {bits} bits; {CONVERT}")
    if not 1 <= channels <= 16 or block != channels * bits // 8:
        raise InputError("", f"is a damaged WAV ({channels} channels, {block} bytes each time); {CONVERT}")
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise InputError("", f"has {rate} samples a second; sensible is {LOWEST_RATE} to {HIGHEST_RATE}, so {CONVERT}")
    return _Format(tag, channels, rate, bits)


def _numbers(data: memoryview, form: _Format) -> Floats:
    """Samples, -1 to 1; a frame that was cut off at the end is left out."""
    width = form.bits // 8
    data = data[: len(data) - len(data) % (width * form.channels)]
    if form.tag == FLOAT:
        return np.frombuffer(data, f"<f{width}").astype(np.float64)
    if form.bits == 8:
        return (np.frombuffer(data, np.uint8).astype(np.float64) - 128) / 128
    if form.bits == 24:
        wide = np.zeros((len(data) // 3, 4), np.uint8)
        wide[:, 1:] = np.frombuffer(data, np.uint8).reshape(-1, 3)
        return wide.view("<i4")[:, 0] / 2.0**31
    return np.frombuffer(data, f"<i{width}") / 2.0 ** (form.bits - 1)


def _check_clipping(samples: Floats, rate: float) -> None:
    """Refuse a recording whose peaks were cut off: its partials are not those of the spoke."""
    size = np.abs(samples)
    largest = float(size.max())
    if largest == 0:
        raise InputError("", "is silent; check which microphone was recorded")
    top = int(np.count_nonzero(size >= TOP * largest))
    following = int(np.count_nonzero(size >= NEXT * largest)) - top
    if top > CLIPPED_SECONDS * rate and top > CLIPPED_TIMES * following:
        raise InputError("", "is clipped: its peaks are cut off; record again from further away or at a lower level")
