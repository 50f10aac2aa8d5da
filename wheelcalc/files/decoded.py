"""What phones record (m4a, mp3, ogg, flac, ...) as WAV, by ffmpeg where it is on the path; it is not needed for WAV."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

from wheelcalc.wheel.errors import InputError

DECODER = "ffmpeg"
MOST_SECONDS = 60.0  # ours: minutes of sound take a second or two


def decoded(path: Path, kind: str) -> bytes:
    """The sound of a file as WAV with one channel for each that it has.

    Parameters
    ----------
    path : of the file
    kind : what it seems to be, for messages

    Raises
    ------
    InputError
        If the decoder is not on the path, or cannot read the file.
    """
    program = shutil.which(DECODER)
    if program is None:
        raise InputError(
            "",
            f"is {kind} file, not a plain WAV; with ffmpeg installed it is read as it is, or make a WAV of it: "
            f'ffmpeg -i "{path.name}" "{path.stem}.wav"',
        )
    # A file whose name begins with a dash is none of the decoder's options.
    call = [
        program,
        "-v",
        "error",
        "-nostdin",
        "-i",
        str(path.absolute()),
        "-vn",
        "-c:a",
        "pcm_s16le",
        "-f",
        "wav",
        "-",
    ]
    try:
        done = subprocess.run(call, capture_output=True, check=False, timeout=MOST_SECONDS)
    except (OSError, subprocess.TimeoutExpired):
        done = None
    if done is None or done.returncode or not done.stdout:
        raise InputError("", f"is {kind} file that ffmpeg cannot read; play it, and record again if it is broken")
    return done.stdout
