"""The tutorial's commands are run one after the other, and what it shows is how their output begins."""

from __future__ import annotations

from pathlib import Path

from tests.tools import sessions
from wheelcalc.cli.main import COMMANDS


def test_every_command_prints_what_the_tutorial_shows(tmp_path: Path) -> None:
    sessions.bench(tmp_path)
    found = sessions.blocks(sessions.TUTORIAL.read_text(encoding="utf-8"))
    assert len(found) >= 15
    assert sum(len(shown) for _, shown in found) >= 40
    for command, shown in found:
        lines = sessions.printed(command, tmp_path).splitlines()
        assert lines[: len(shown)] == shown, f"{command}: {sessions.RENEW}"
        assert "-o" in command or shown, command


def test_it_goes_the_whole_way() -> None:
    page = sessions.TUTORIAL.read_text(encoding="utf-8")
    for command in COMMANDS:
        assert f"wheelcalc {command}" in page, command
