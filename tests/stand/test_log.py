"""The log of the stand: it only grows, one server at a time writes it, and `true` reads it as it is."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from wheelcalc.files.readings import read_passes
from wheelcalc.stand.log import HEADER, Log
from wheelcalc.wheel.errors import InputError

HEAD, MARK, HOLES = "# wheel: shed, 20 holes, ab12", "ab12", 20


@contextmanager
def opened(path: Path, head: str = HEAD, mark: str = MARK) -> Iterator[Log]:
    log = Log(path, head, mark, HOLES)
    yield log
    log.close()


def test_a_pass_ends_by_a_word_and_not_by_a_turn(tmp_path: Path) -> None:
    """A reading typed again after the first nipple was turned still belongs to the pass that is turned."""
    path = tmp_path / "log.csv"
    with opened(path) as log:
        log.put(3, "lateral_mm", 0.75)
        log.put(4, "turned", 0.25)
        assert log.current() == 1
        log.put(3, "lateral_mm", 0.15)
        log.end()
        assert log.current() == 2
        log.put(3, "lateral_mm", 0.05)
    assert path.read_text(encoding="utf-8").splitlines() == [
        HEAD,
        HEADER,
        "1,3,0.75,,,,",
        "1,4,,,,,0.25",
        "1,3,0.15,,,,",
        "# pass 1: turned",
        "2,3,0.05,,,,",
    ]
    first, second = read_passes(path, HOLES, MARK)
    assert (first.of("lateral_mm"), first.of("turned")) == ({3: 0.15}, {4: 0.25})
    assert second.of("lateral_mm") == {3: 0.05}
    with opened(path) as again:
        assert again.current() == 2


def test_an_end_said_by_mistake_is_taken_back_as_long_as_nothing_was_read_after_it(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    with opened(path) as log:
        with pytest.raises(InputError, match="no pass before"):
            log.go_on()
        log.put(3, "lateral_mm", 0.75)
        log.end()
        log.go_on()
        assert log.current() == 1
        log.put(5, "turned", -0.5)
        log.end()
        log.put(3, "lateral_mm", 0.2)
        with pytest.raises(InputError, match="pass 2 has readings"):
            log.go_on()
        assert log.current() == 2
    assert read_passes(path, HOLES, MARK)[0].of("turned") == {5: -0.5}


def test_a_pass_without_readings_does_not_end(tmp_path: Path) -> None:
    with opened(tmp_path / "log.csv") as log:
        with pytest.raises(InputError, match="pass 1 has no readings"):
            log.end()
        log.put(3, "lateral_mm", 0.75)
        log.end()
        with pytest.raises(InputError, match="pass 2 has no readings"):
            log.end()


def test_a_log_of_more_passes_than_it_may_hold(tmp_path: Path) -> None:
    with opened(tmp_path / "log.csv") as log:
        for _ in range(98):
            log.put(3, "lateral_mm", 0.75)
            log.end()
        log.put(3, "lateral_mm", 0.75)
        with pytest.raises(InputError, match="99 passes"):
            log.end()


def test_two_at_once_are_kept_apart(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    with opened(path) as log:
        log.put(3, "lateral_mm", 0.75)
        before = path.read_bytes()
        with pytest.raises(InputError, match="is in use"):
            Log(path, HEAD, MARK, HOLES)
        words = f"from pathlib import Path; from wheelcalc.stand.log import Log; Log(Path({str(path)!r}), {HEAD!r}, {MARK!r}, {HOLES})"
        other = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=False)
        assert "is in use" in other.stderr
        assert path.read_bytes() == before
    with opened(path) as free:
        assert free.current() == 1


@pytest.mark.parametrize("cut", range(1, len(f"{HEAD}\n{HEADER}\n")))
def test_a_log_cut_in_its_first_two_lines_is_begun_again(cut: int, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(f"{HEAD}\n{HEADER}\n"[:cut], encoding="utf-8")
    with opened(path) as log:
        log.put(3, "lateral_mm", 0.75)
    assert path.read_text(encoding="utf-8") == f"{HEAD}\n{HEADER}\n1,3,0.75,,,,\n"


@pytest.mark.parametrize(
    "text",
    [
        "rim_hole,radial_mm\n3,0.1\n4,0.2",
        "rim_hole,radial_mm\n3,0.1\n4,0.2\n",
        "3,,0.1\n4,,0.2\n",
        "pass,rim_hole,lateral_mm,radial_mm,tension_N,turned\n1,3,,0.1,,\n1,4,,0.2,,\n",
    ],
)
def test_any_file_of_readings_goes_on_as_a_log(text: str, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    with opened(path) as log:
        assert log.current() == 1
        assert path.read_text(encoding="utf-8").rstrip() == text.rstrip()
        log.put(5, "lateral_mm", -0.3)
        log.put(6, "pitch_hz", 352.5)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[: len(text.splitlines())] == text.splitlines()
    assert lines[-3:] == [HEADER, "1,5,-0.3,,,,", "1,6,,,,352.5,"]
    (read,) = read_passes(path, HOLES)
    assert read.of("radial_mm") == {3: 0.1, 4: 0.2}
    assert read.of("lateral_mm") == {5: -0.3}


@pytest.mark.parametrize("text", ["rim_hole;radial_mm\n3;0,1\n4;0,2\n", "rim_hole\tradial_mm\n3\t0,1\n"])
def test_readings_that_cannot_go_on_are_refused_unharmed(text: str, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="commas between the cells"):
        Log(path, HEAD, MARK, HOLES)
    assert path.read_text(encoding="utf-8") == text


def test_a_log_taken_away_is_said_and_nothing_is_written_elsewhere(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    with opened(path) as log:
        log.put(3, "lateral_mm", 0.75)
        path.rename(tmp_path / "moved.csv")
        with pytest.raises(InputError, match=r"log\.csv is gone"):
            log.put(4, "lateral_mm", 0.5)
        (tmp_path / "moved.csv").rename(path)
        log.put(4, "lateral_mm", 0.5)
    assert read_passes(path, HOLES)[0].of("lateral_mm") == {3: 0.75, 4: 0.5}


def test_a_log_that_an_editor_saved_anew_is_written_on(tmp_path: Path) -> None:
    """An editor puts another file in its place: numbers go to that one, not to the one that has no name any more."""
    path = tmp_path / "log.csv"
    with opened(path) as log:
        log.put(3, "lateral_mm", 0.75)
        other = tmp_path / "other"
        other.write_text(path.read_text(encoding="utf-8").replace("0.75", "0.7"), encoding="utf-8")
        os.replace(other, path)
        log.put(4, "lateral_mm", 0.5)
        with pytest.raises(InputError, match="is in use"):
            Log(path, HEAD, MARK, HOLES)
    assert read_passes(path, HOLES)[0].of("lateral_mm") == {3: 0.7, 4: 0.5}


def test_a_full_disk_leaves_no_half_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "log.csv"
    with opened(path) as log:
        log.put(3, "lateral_mm", 0.75)
        before = path.read_bytes()
        with monkeypatch.context() as patched:

            def full(_: int) -> None:
                raise OSError(28, "No space left on device")

            patched.setattr(os, "fsync", full)
            with pytest.raises(InputError, match="No space left"):
                log.put(4, "lateral_mm", 0.5)
        assert path.read_bytes() == before
        log.put(4, "lateral_mm", 0.5)
    assert read_passes(path, HOLES)[0].of("lateral_mm") == {3: 0.75, 4: 0.5}


@pytest.mark.parametrize("cut", [b"1,4,0.", b"# pass 1: tur", b"\0\0\0\0"])
def test_a_last_line_cut_by_a_crash_is_left_out_and_said(cut: bytes, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    with opened(path) as log:
        log.put(3, "lateral_mm", 0.75)
    whole = path.read_bytes()
    path.write_bytes(whole + cut)
    with opened(path) as again:
        assert again.cut_off == cut.decode()
        assert again.current() == 1
    assert path.read_bytes() == whole


def test_a_folder_is_no_log(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be"):
        Log(tmp_path, HEAD, MARK, HOLES)
