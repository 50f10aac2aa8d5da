"""README's commands are run as they stand, and what it shows of their output is what they print."""

from __future__ import annotations

import re
import shlex
import textwrap
from itertools import groupby
from pathlib import Path

import pytest

from tests.tools.process import inside

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SET_UP_AND_RUN = (
    "python3 -m venv .venv && .venv/bin/python -m pip install . && .venv/bin/wheelcalc order examples/errand-rear.toml"
)
SET_UP_AND_TEST = 'python3 -m venv .venv && .venv/bin/python -m pip install -e ".[test]" && .venv/bin/python -m pytest'


def sessions() -> list[tuple[str, list[str]]]:
    """Every `$ command` of the console blocks, with the lines shown below it."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", README, re.DOTALL):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *shown = part.rstrip("\n").split("\n")
            found.append((command, shown))
    return found


def run(command: str) -> str:
    name, *arguments = shlex.split(command)
    assert name == "wheelcalc"
    done = inside(*arguments, folder=ROOT)
    assert done.returncode in (0, 1), done.stderr
    assert "Error" not in done.stderr
    return done.stdout


def test_the_two_commands_stand_there() -> None:
    assert SET_UP_AND_RUN in README
    assert SET_UP_AND_TEST in README
    assert SET_UP_AND_TEST in (ROOT / ".ci" / "run").read_text()


def test_the_first_example_has_no_stop() -> None:
    assert "STOP" not in run("wheelcalc order examples/errand-rear.toml")


def test_there_is_a_walk_through() -> None:
    assert len(sessions()) >= 6


def test_the_library_s_lines_run(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = README[README.index("    from wheelcalc import") :].split("\n\n##")[0]
    monkeypatch.chdir(ROOT)
    names: dict[str, object] = {}
    exec(textwrap.dedent(lines), names)
    assert len(names["wheel"].lengths) == len(names["wheel"].bracing_angles_deg) == 32


@pytest.mark.parametrize(("command", "shown"), sessions(), ids=[command for command, _ in sessions()])
def test_shown_output(command: str, shown: list[str]) -> None:
    """Lines of three dots stand for anything; the rest is printed, in this order."""
    printed = run(command)
    at = 0
    for three_dots, lines in groupby(shown, lambda line: line == "..."):
        if three_dots:
            continue
        wanted = "\n".join(line.rstrip() for line in lines)
        at = printed.find(wanted, at)
        assert at >= 0, f"README shows for `{command}`:\n{wanted}\nprinted:\n{printed}"
        at += len(wanted)


@pytest.mark.parametrize("path", sorted((ROOT / "examples").iterdir()), ids=lambda path: path.name)
def test_every_example_is_named_by_a_test_or_by_readme(path: Path) -> None:
    texts = [README, *(test.read_text(encoding="utf-8") for test in (ROOT / "tests").rglob("*.py"))]
    assert any(path.name in text for text in texts)


@pytest.mark.parametrize(
    ("name", "command"),
    [
        ("errand-rear-map.svg", "lace examples/errand-rear.toml"),
        ("errand-rear-trueing.svg", "true examples/errand-rear.toml examples/errand-rear-readings.csv"),
    ],
)
def test_the_pictures_are_those_that_the_commands_draw(name: str, command: str, tmp_path: Path) -> None:
    """Words in their order, and how large it is; places may differ in the last digit from one processor to another."""
    assert f'<img src="examples/{name}"' in README
    drawn = tmp_path / name
    run(f"wheelcalc {command} -o {drawn}")
    words = [re.findall(r">([^<>\n]+)</text>", path.read_text()) for path in (drawn, ROOT / "examples" / name)]
    assert words[0] == words[1]
    assert len(words[0]) > 20
    sizes = [re.findall(r'viewBox="[^"]*"', path.read_text()) for path in (drawn, ROOT / "examples" / name)]
    assert sizes[0] == sizes[1]
    assert 'width="' not in drawn.read_text().split(">", 1)[0]
