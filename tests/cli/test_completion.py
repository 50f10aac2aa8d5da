"""Completion in the shell: commands, options, files, and the words of this job."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import BashComplete

from wheelcalc.cli.main import COMMANDS, job
from wheelcalc.files import tables

ROOT = Path(__file__).parents[2]


def completed(monkeypatch: pytest.MonkeyPatch, *words: str) -> list[tuple[str, str]]:
    monkeypatch.setenv("COMP_WORDS", " ".join(["wheelcalc", *words]))
    monkeypatch.setenv("COMP_CWORD", str(len(words)))
    found = BashComplete(job, {}, "wheelcalc", "_WHEELCALC_COMPLETE").complete()
    return [(line.split(",", 1)[0], line.split(",", 1)[1]) for line in found.splitlines()]


def plain(monkeypatch: pytest.MonkeyPatch, *words: str) -> list[str]:
    return [word for kind, word in completed(monkeypatch, *words) if kind == "plain"]


def test_commands_and_options(monkeypatch: pytest.MonkeyPatch) -> None:
    assert completed(monkeypatch, "sal") == [("plain", "salvage")]
    assert ("plain", "--how") in completed(monkeypatch, "measure", "--")


@pytest.mark.parametrize("command", sorted(set(COMMANDS) - {"tables"}))
def test_a_build_file_is_completed_as_a_file(command: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert completed(monkeypatch, command, "examples/err") == [("file", "examples/err")]


@pytest.mark.parametrize(
    "words",
    [
        ("compare", "old.toml", "ne"),
        ("true", "wheel.toml", "rea"),
        ("pluck", "wheel.toml", "rec"),
        ("pluck", "wheel.toml", "rec.wav", "--before", "ear"),
        ("stand", "wheel.toml", "--log", "lo"),
        ("order", "wheel.toml", "-o", "out"),
        ("order", "wheel.toml", "--parts", "she"),
    ],
)
def test_other_files_too(words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    assert completed(monkeypatch, *words) == [("file", words[-1])]


@pytest.mark.parametrize("command", ["order", "stand", "fit"])
def test_set_completes_the_keys_of_the_build_file(command: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert plain(monkeypatch, command, "wheel.toml", "--set", "rim.er") == ["rim.erd=", "rim.erd_to="]


def test_behind_a_key_come_its_words(monkeypatch: pytest.MonkeyPatch) -> None:
    assert plain(monkeypatch, "order", "wheel.toml", "--set", "nipple.material=") == [
        "nipple.material=brass",
        "nipple.material=aluminium",
    ]
    assert plain(monkeypatch, "fit", "wheel.toml", "--set", "hub.rotor=t") == ["hub.rotor=true"]
    assert plain(monkeypatch, "fit", "wheel.toml", "--set", "no.such.key=") == []


def test_parts_of_a_drawer_by_name(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(
        '[[rims]]\nname = "black36"\n[[rims]]\nname = "grey"\n[[hubs]]\nname = "blue"\n'
    )
    drawer = str(tmp_path / "mine.toml")
    assert plain(monkeypatch, "order", "wheel.toml", "--parts", drawer, "--set", "rim.part=b") == ["rim.part=black36"]
    assert plain(monkeypatch, "start", "wheel.toml", "--parts", drawer, "--rim-part", "") == ["black36", "grey"]
    assert plain(monkeypatch, "start", "wheel.toml", "--parts", drawer, "--keep", "h") == ["hub=", "hub=blue"]


@pytest.mark.parametrize("text", ["[[rims]\n", "[[rims]]\nholes = 3\n", "\x00"])
def test_a_drawer_that_cannot_be_read_has_no_part(text: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(text)
    for name in ("mine.toml", "not-there.toml", "."):
        words = ("order", "wheel.toml", "--parts", str(tmp_path / name), "--set", "rim.part=")
        assert plain(monkeypatch, *words) == []


def test_an_answer_of_start_is_completed(monkeypatch: pytest.MonkeyPatch) -> None:
    assert plain(monkeypatch, "start", "wheel.toml", "--hub-axle", "th") == ["through"]


def test_tables_and_readings_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    assert set(plain(monkeypatch, "tables", "")) == {*tables.names(), "keys", "schema"}
    assert plain(monkeypatch, "tables", "schema", "ord") == ["order"]
    assert plain(monkeypatch, "tables", "chains", "ord") == []
    assert "rim.erd" in plain(monkeypatch, "measure", "--how", "rim.")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_script_and_its_words(shell: str) -> None:
    def told(step: str, **more: str) -> str:
        environment = {**os.environ, "_WHEELCALC_COMPLETE": f"{shell}_{step}", **more}
        found = subprocess.run(
            [sys.executable, "-c", _CALL], env=environment, capture_output=True, text=True, check=False, timeout=60
        )
        assert found.stderr == "[]\n"  # no numpy, pint or tabulate
        return found.stdout

    if shell != "bash":  # click asks the bash that is installed for its version
        assert "_WHEELCALC_COMPLETE" in told("source")
    current = {"COMP_CWORD": "lacing.cr"} if shell == "fish" else {"COMP_CWORD": "4"}
    said = told("complete", COMP_WORDS="wheelcalc order wheel.toml --set lacing.cr", **current)
    assert "lacing.crosses=" in said


_CALL = """
import atexit, sys
heavy = lambda: [name for name in ("numpy", "pint", "tabulate") if name in sys.modules]
atexit.register(lambda: print(heavy(), file=sys.stderr))
from wheelcalc.cli.main import job
job(prog_name="wheelcalc")
"""


def test_readme_says_how_to_turn_it_on() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for shell in ("bash", "zsh", "fish"):
        assert f"_WHEELCALC_COMPLETE={shell}_source wheelcalc" in readme, shell
