"""Completion in the shell: commands, options, and the files that stand there."""

from __future__ import annotations

import pytest
from click.shell_completion import BashComplete

from wheelcalc.cli.main import COMMANDS, job


def completed(monkeypatch: pytest.MonkeyPatch, *words: str) -> list[tuple[str, str]]:
    monkeypatch.setenv("COMP_WORDS", " ".join(["wheelcalc", *words]))
    monkeypatch.setenv("COMP_CWORD", str(len(words)))
    found = BashComplete(job, {}, "wheelcalc", "_WHEELCALC_COMPLETE").complete()
    return [(line.split(",", 1)[0], line.split(",", 1)[1]) for line in found.splitlines()]


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
        ("order", "wheel.toml", "-o", "out"),
    ],
)
def test_other_files_too(words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    assert completed(monkeypatch, *words) == [("file", words[-1])]
