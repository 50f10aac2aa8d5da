"""The text follows the terminal: its width, and colour only where it is wanted."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLE = str(Path(__file__).parents[2] / "examples" / "errand-rear.toml")
RUN = [sys.executable, "-c", "from wheelcalc.cli.main import main; main()"]
TIMEOUT = 60


def on_a_terminal(*arguments: str, **environment: str) -> str:
    """What a command prints on a pseudo-terminal."""
    own, other = pty.openpty()
    base = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "COLUMNS", "LINES")}
    child = subprocess.Popen(
        [*RUN, *arguments], stdout=other, stderr=subprocess.DEVNULL, env={**base, "TERM": "xterm", **environment}
    )
    os.close(other)
    shown = b""
    while True:
        try:
            piece = os.read(own, 65536)
        except OSError:
            break
        if not piece:
            break
        shown += piece
    os.close(own)
    assert child.wait(TIMEOUT) == 0
    return shown.decode().replace("\r\n", "\n")


def test_colour_on_a_terminal() -> None:
    assert "\x1b[1m" in on_a_terminal("order", EXAMPLE)


@pytest.mark.parametrize(
    ("arguments", "environment"), [([], {"NO_COLOR": "1"}), (["--no-color"], {}), ([], {"TERM": "dumb"})]
)
def test_no_colour_where_it_is_not_wanted(arguments: list[str], environment: dict[str, str]) -> None:
    assert "\x1b" not in on_a_terminal("order", EXAMPLE, *arguments, **environment)


def test_an_empty_no_color_asks_for_nothing() -> None:
    assert "\x1b[1m" in on_a_terminal("order", EXAMPLE, NO_COLOR="")


@pytest.mark.parametrize(("columns", "widest"), [("30", 40), ("40", 40), ("63", 63), ("100", 100), ("250", 100)])
def test_the_width_is_the_terminals(columns: str, widest: int) -> None:
    lines = on_a_terminal("order", EXAMPLE, "--no-color", COLUMNS=columns).splitlines()
    assert max(map(len, lines)) <= widest
    assert max(map(len, lines)) > widest - 12


def test_a_pipe_is_80_wide_and_plain() -> None:
    environment = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    done = subprocess.run([*RUN, "order", EXAMPLE], capture_output=True, text=True, check=True, env=environment)
    assert "\x1b" not in done.stdout
    assert 70 < max(map(len, done.stdout.splitlines())) <= 80
