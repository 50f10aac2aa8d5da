"""The contract's exit statuses and error lines, through the installed command."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path

import click
import pytest

from tests.making.builds import as_toml, with_keys
from tests.tools.process import inside
from wheelcalc.cli import main

COMMANDS = [name for name in main.COMMANDS if name != "tables"]


COMMAND = [sys.executable, "-c", "from wheelcalc.cli.main import main; main()"]


def wheelcalc(*arguments: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
    return inside(*arguments, stdin=stdin)


def as_process(*arguments: str, **more: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*COMMAND, *arguments], capture_output=True, text=True, check=False, **more)


@pytest.fixture
def build(tmp_path: Path) -> str:
    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys()))
    return str(path)


def refused(done: subprocess.CompletedProcess[str]) -> str:
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("Error: ")
    assert done.stderr.count("\n") == 1
    assert "Traceback" not in done.stderr
    return done.stderr


def test_computed_without_a_stop(build: str) -> None:
    done = as_process("order", build)
    assert (done.returncode, done.stderr) == (0, "")


def test_computed_with_a_stop(build: str) -> None:
    done = as_process("order", build, "--set", "nipple.for_wire=1.8")
    assert (done.returncode, done.stderr) == (1, "")
    assert "STOP" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["order"], "Missing argument 'BUILDFILE'"),
        (["order", "none.toml"], "none.toml: there is no such file"),
        (["order", "none.toml", "--sett", "a=b"], "--sett"),
        (["orderr", "none.toml"], 'there is no command "orderr"; did you mean "order"?\n'),
        (["Chekc", "none.toml"], 'did you mean "check"?'),
        (["wheel.toml"], "name one before the file: wheelcalc order wheel.toml"),
        (["bake", "none.toml"], "the commands are start, measure, salvage, fit"),
        (["order", "none.toml", "more.toml"], "more.toml"),
        (["order", "none.toml", "--set"], "--set"),
        (["--bogus"], "--bogus"),
    ],
)
def test_refused(arguments: list[str], words: str) -> None:
    assert words in refused(wheelcalc(*arguments))


@pytest.mark.parametrize("name", ["order.csv", "sheet.html"])
def test_a_stop_is_said_where_the_answer_goes_into_a_file(build: str, tmp_path: Path, name: str) -> None:
    command, target = name.partition(".")[0], str(tmp_path / name)
    done = wheelcalc(command, build, "--set", "nipple.for_wire=1.8", "-o", target)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith(f"Written: {target}\nSTOP     ")
    assert "1.8" in done.stderr
    assert "STOP" not in wheelcalc(command, build, "-o", target, "--force").stderr


@pytest.mark.parametrize(
    ("terminal", "patience", "said"), [(True, 0.01, True), (True, 60.0, False), (False, 0.01, False)]
)
def test_long_work_says_so_on_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], terminal: bool, patience: float, said: bool
) -> None:
    def work(*_: object, **__: object) -> None:
        """As long as it takes until that is said, however busy the machine is."""
        time.sleep(0.1)
        for each in threading.enumerate():
            if said and isinstance(each, threading.Timer):
                each.join(60)

    monkeypatch.setattr(main, "PATIENCE", patience)
    monkeypatch.setattr(main.job, "main", work)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: terminal)
    assert main.run(["true", "wheel.toml", "readings.csv"]) == 0
    assert capsys.readouterr().err == ("Still at work ...\n" if said else "")
    assert main.run(["start"]) == 0
    assert capsys.readouterr().err == ""


def test_from_standard_input(build: str) -> None:
    text = Path(build).read_text()
    assert wheelcalc("order", "-", stdin=text).stdout == wheelcalc("order", build).stdout
    assert "standard input: rim.ed" in refused(wheelcalc("order", "-", stdin="[rim]\ned = 3\n"))


def test_a_bare_wheelcalc_shows_the_steps() -> None:
    done = wheelcalc()
    assert done.returncode == 0
    assert all(f"  {name}" in done.stdout for name in main.COMMANDS)


@pytest.mark.parametrize("command", main.COMMANDS)
def test_every_command_helps_within_80_columns_and_shows_an_example(command: str) -> None:
    done = wheelcalc(command, "--help")
    assert done.returncode == 0
    assert f"wheelcalc {command}" in done.stdout.split("Of every step:")[0].split("Options:")[0]
    assert max(map(len, done.stdout.splitlines())) <= 80


@pytest.mark.parametrize("command", ["lengths", "order"])
def test_text_fits_80_columns_and_latin_1(build: str, command: str) -> None:
    text = wheelcalc(command, build, "--working", "--set", "hub.phase=aligned").stdout
    text.encode("latin-1")
    assert max(map(len, text.splitlines())) <= 80


def test_writes_whole_refuses_to_overwrite_and_keeps_links(build: str, tmp_path: Path) -> None:
    target = tmp_path / "order.json"
    done = wheelcalc("order", build, "-o", str(target))
    assert (done.returncode, done.stdout) == (0, "")
    assert json.loads(target.read_text())["schema"] == "wheelcalc/order/1"
    assert "--force" in refused(wheelcalc("order", build, "-o", str(target)))
    link = tmp_path / "link.txt"
    link.symlink_to(target.rename(tmp_path / "real.txt"))
    assert wheelcalc("order", build, "-o", str(link), "--force").returncode == 0
    assert link.is_symlink()
    assert "spokes to order" in (tmp_path / "real.txt").read_text()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_the_suffix_says_what_is_written(build: str, tmp_path: Path) -> None:
    assert ".txt, .json, .html, .csv" in refused(wheelcalc("lengths", build, "-o", str(tmp_path / "lengths.pdf")))
    wheelcalc("lengths", build, "-o", str(tmp_path / "lengths.csv"))
    rows = (tmp_path / "lengths.csv").read_text().splitlines()
    assert rows[0].startswith("rim_hole,side,hub_hole")
    assert len(rows) == 33


def test_a_folder_that_cannot_be_written(build: str, tmp_path: Path) -> None:
    assert "cannot be written" in refused(wheelcalc("order", build, "-o", str(tmp_path / "none" / "order.txt")))
    if os.geteuid() != 0:
        tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
        assert "cannot be written" in refused(wheelcalc("order", build, "-o", str(tmp_path / "order.txt")))


def test_nothing_is_written_when_the_input_is_refused(tmp_path: Path) -> None:
    refused(as_process("order", "-", "-o", str(tmp_path / "order.txt"), input="[rim]\n"))
    assert list(tmp_path.iterdir()) == []


def test_a_closed_pipe_is_no_error(build: str) -> None:
    code = f"{sys.executable} -c 'from wheelcalc.cli.main import main; main()' lengths {build} --json | head -1"
    done = subprocess.run(["bash", "-o", "pipefail", "-c", code], capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert done.returncode == 0


def test_a_plain_terminal_encoding_does_not_crash(build: str) -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    done = as_process("order", build, "--set", 'title="Rad \u00fc \u2192"', env=environment)
    assert done.returncode == 0


def test_a_fault_of_our_own_is_one_line_too(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_args: object, **_more: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(main.job, "main", fail)
    with pytest.raises(ZeroDivisionError):
        main.run([])
    monkeypatch.delenv(main.SHOW_FAULTS)
    assert main.run([]) == 2
    error = capsys.readouterr().err
    assert error.startswith("Error: a fault of wheelcalc itself")
    assert error.count("\n") == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_and_a_closed_output(build: str) -> None:
    command = f"{sys.executable} -c 'from wheelcalc.cli.main import main; main()' order {build}"
    full = subprocess.run(["bash", "-c", f"{command} > /dev/full"], capture_output=True, text=True, check=False)
    assert full.returncode == 2
    assert full.stderr.startswith("Error: the output cannot be written")
    assert full.stderr.count("\n") == 1
    closed = subprocess.run(["bash", "-c", f"{command} >&-"], capture_output=True, text=True, check=False)
    assert closed.returncode in (0, 2)
    assert "Traceback" not in closed.stderr


def test_an_abort_is_unusable_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def abort(*_args: object, **_more: object) -> None:
        raise click.Abort

    monkeypatch.setattr(main.job, "main", abort)
    assert main.run([]) == 2
    assert capsys.readouterr().err == "Error: stopped before the end; nothing was written\n"


def test_python_m_wheelcalc_is_the_command(build: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "wheelcalc", "order", build], capture_output=True, text=True, check=False
    )
    assert done.stdout == wheelcalc("order", build).stdout
    assert done.returncode == 0
