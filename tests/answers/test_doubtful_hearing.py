"""From a recording to turns where it is doubtful which spoke each pluck was: sound, CSV, `true`."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from tests.making import errand_plucks
from tests.making.pluck_synthesis import Pluck, Scene, recording, write_wav
from wheelcalc import answers
from wheelcalc.answers.plucking.content import Round
from wheelcalc.cli.true import command

# Plucked but not heard, without a gap: on an even wheel nothing tells which spoke it was, and all after it may be out by one.
UNHEARD = 17
ALL = range(1, 37)


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Lines of the readings file that `pluck` writes of an even wheel with one pluck missing."""
    rng = np.random.default_rng(4)
    spokes = errand_plucks.spokes(930.0 * (1 + 0.01 * rng.normal(size=36)))
    sounds, at = [], 0.45
    for hole, spoke in spokes.items():
        if hole != UNHEARD:
            how = Pluck(rng.uniform(0.35, 0.55), rng.uniform(0.16, 0.26), rng.uniform(0.2, 0.4), 0.0, 0.1, 0.2)
            sounds.append((spoke, how, at, rng.uniform(0.6, 1.0)))
            at += rng.uniform(0.75, 1.0)
    scene = Scene(errand_plucks.RATE, snr_db=22, room_seconds=0.3, room_share=0.15, telephone_hz=200, clicks=0, taps=0)
    sound = tmp_path_factory.mktemp("sound") / "right.wav"
    write_wav(sound, recording(sounds, scene, at + 0.2, rng), errand_plucks.RATE)
    return answers.pluck(errand_plucks.BUILD, sound, round_=Round(side="right")).readings_csv().splitlines()


def sure_of(lines: list[str]) -> list[float]:
    return [float(row["assigned"]) for row in csv.DictReader(lines[1:])]


def file_of(
    lines: list[str],
    assigned: Callable[[int, float], float] = lambda hole, sure: sure,
    *,
    places: bool = True,
    pitches: bool = True,
) -> str:
    """The readings file, with lateral and radial typed into it."""
    rows = {int(row["rim_hole"]): row for row in csv.DictReader(lines[1:])}
    out = lines[:2]
    for hole in ALL:
        angle = 2 * np.pi * (hole - 0.5) / 36
        cells = [f"{0.6 * np.cos(2 * angle):.2f}", f"{0.4 * np.sin(3 * angle):.2f}"] if places else ["", ""]
        row = rows.get(hole) if pitches else None
        if row:
            cells += [row["pitch_hz"], row["tension_sigma_N"], f"{assigned(hole, float(row['assigned'])):.3f}"]
        out.append(",".join([str(hole), *cells, *([] if row else ["", "", ""])]))
    return "\n".join(out) + "\n"


def called(tmp_path: Path, text: str, *options: str) -> Result:
    readings = tmp_path / "readings.csv"
    readings.write_text(text)
    return CliRunner().invoke(command, [str(errand_plucks.BUILD), str(readings), *options], standalone_mode=False)


def answer(tmp_path: Path, text: str) -> dict[str, Any]:
    done = called(tmp_path, text, "--json")
    assert done.exception is None, done.exception
    out: dict[str, Any] = json.loads(done.stdout)
    return out


def said(found: dict[str, Any], name: str) -> dict[str, str]:
    return next(each for each in found["findings"] if each["name"] == name)


def names(found: dict[str, Any]) -> set[str]:
    return {each["name"] for each in found["findings"]}


def test_the_recording_is_doubtful_throughout(heard: list[str]) -> None:
    sure = np.array(sure_of(heard))
    assert sure.size >= 15
    assert np.mean(sure < 0.9) > 0.5
    assert np.all(sure > 0.3)


@pytest.mark.parametrize("factor", [1.0, 0.5], ids=["as heard", "all under a half"])
def test_a_wheel_of_doubtful_plucks_is_not_turned_by_them(tmp_path: Path, heard: list[str], factor: float) -> None:
    found = answer(tmp_path, file_of(heard, lambda _, sure: factor * sure))
    without = answer(tmp_path, file_of(heard, pitches=False))
    assert found["turns"] == without["turns"]
    assert found["turns"]
    assert found["after"]["tension_spread_percent"] == {"left": None, "right": None}
    assert not found["done"]
    finding = said(found, "hearing-doubtful")
    assert finding["level"] == "caution"
    assert "doubtful on the right" in finding["text"]
    assert "cannot know which spokes are loose" in finding["text"]
    first = next(
        hole
        for hole, sure in zip((h for h in ALL[::2] if h != UNHEARD), sure_of(heard), strict=False)
        if factor * sure < 0.9
    )
    assert f"Pluck again from rim hole {first} on" in finding["remedy"]
    assert {"tension-not-read", "pitch-uncalibrated"}.isdisjoint(names(found))
    assert "tension-not-read" in names(without)


def test_the_same_plucks_surely_placed_count(tmp_path: Path, heard: list[str]) -> None:
    found = answer(tmp_path, file_of(heard, lambda _, sure: 0.99))
    assert "hearing-doubtful" not in names(found)
    assert found["after"]["tension_spread_percent"]["right"] is not None
    assert found["turns"] != answer(tmp_path, file_of(heard, pitches=False))["turns"]


def test_one_doubtful_pluck_is_left_out_alone_and_said(tmp_path: Path, heard: list[str]) -> None:
    found = answer(tmp_path, file_of(heard, lambda hole, _: 0.4 if hole in (5, 21) else 0.99))
    assert "rim holes 5, 21" in said(found, "pluck-doubtful")["text"]
    assert found["after"]["tension_spread_percent"]["right"] is not None


def test_doubtful_plucks_and_nothing_else_are_refused_in_one_line(tmp_path: Path, heard: list[str]) -> None:
    done = called(tmp_path, file_of(heard, lambda _, sure: 0.4 * sure, places=False))
    text = str(done.exception)
    assert "doubtful, and nothing else was read; pluck again from rim hole 1 on" in text
    assert "\n" not in text
