"""What the machine may do to a run: killed, disk full, nowhere to write, streams closed, other encodings, two at once."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tests.making.builds import as_toml, with_keys
from tests.tools.process import inside

RUN = [sys.executable, "-c", "from wheelcalc.cli.main import main; main()"]
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="speaks of Linux's devices and ids")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "wheel.toml").write_text(as_toml(with_keys()))
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("WHEELCALC_SHOW_FAULTS")
    return tmp_path


def wheelcalc(*arguments: str | bytes, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*RUN, *arguments], capture_output=True, text=True, check=False, **more)


def writing(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Where it is the file system that matters, not the process."""
    return inside(*arguments)


def shell(script: str) -> subprocess.CompletedProcess[str]:
    """A script for bash in which $W is the command."""
    environment = {**os.environ, "W": f"{sys.executable} -m wheelcalc"}
    return subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=False, env=environment)


def refused(done: subprocess.CompletedProcess[str], words: str) -> None:
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert done.stderr.startswith("Error: ")
    assert done.stderr.count("\n") == 1
    assert words in done.stderr
    assert "fault of wheelcalc" not in done.stderr


# --- writing --------------------------------------------------------------------------------------------------------


def test_killed_at_any_moment_leaves_the_old_file_or_the_whole_new_one(folder: Path) -> None:
    """The writer alone, over and over in one process, so that most kills fall into the writing."""
    target = folder / "out.txt"
    old, new = "old\n" * 50_000, "new\n" * 60_000
    code = (
        "from pathlib import Path; from wheelcalc.files.whole import write_whole\n"
        f"print('ready', flush=True)\nwhile True:\n"
        f"    for text in ('old\\n' * 50_000, 'new\\n' * 60_000): write_whole(Path({str(target)!r}), text)"
    )
    target.write_text(old)
    draw, seen = random.Random(9), set()
    for number in range(200):
        if number >= 12 and len(seen) == 2:  # on a busy machine the writer may be killed before it has written once
            break
        process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(draw.uniform(0, 0.02))
        process.send_signal(signal.SIGKILL)
        process.wait()
        process.stdout.close()
        assert target.read_text() in (old, new)
        seen.add(target.read_text())
    assert seen == {old, new}


def test_a_command_killed_at_any_moment_leaves_the_old_file_or_the_whole_new_one(folder: Path) -> None:
    whole = wheelcalc("order", "wheel.toml", "--json").stdout
    target, draw = folder / "order.json", random.Random(4)
    for _ in range(8):
        target.write_text("old")
        process = subprocess.Popen(
            [*RUN, "order", "wheel.toml", "-o", "order.json", "--force"], stderr=subprocess.DEVNULL
        )
        time.sleep(draw.uniform(0, 0.35))
        process.kill()
        process.wait()
        assert target.read_text() in ("old", whole)


@LINUX
def test_a_disk_that_is_full_keeps_the_old_file(folder: Path) -> None:
    (folder / "sheet.html").write_text("old")
    # Python itself does not notice that a compiled module was cut off, and every later start would break on it.
    done = shell("export PYTHONDONTWRITEBYTECODE=1; ulimit -f 2; $W sheet wheel.toml -o sheet.html --force")
    refused(done, "sheet.html")
    assert (folder / "sheet.html").read_text() == "old"
    assert sorted(os.listdir(folder)) == ["sheet.html", "wheel.toml"]


@LINUX
@pytest.mark.parametrize(
    "arguments", ["order wheel.toml", "order --help", "--version", "tables keys", "check wheel.toml --json"]
)
def test_standard_output_on_a_full_disk(arguments: str) -> None:
    refused(shell(f"$W {arguments} > /dev/full"), "No space left")


@LINUX
def test_standard_error_on_a_full_disk_or_closed_changes_no_status(folder: Path) -> None:
    assert shell("$W order wheel.toml -o a.txt 2>/dev/full").returncode == 0
    assert shell("$W order wheel.toml -o b.txt 2>&-").returncode == 0
    assert (folder / "a.txt").read_text() == (folder / "b.txt").read_text() != ""
    assert shell("$W order none.toml 2>/dev/full").returncode == 2
    assert shell("$W order none.toml 2>&-").returncode == 2


@LINUX
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_folder_that_may_only_be_read(folder: Path) -> None:
    (folder / "locked").mkdir(mode=0o555)
    refused(writing("order", "wheel.toml", "-o", "locked/order.txt"), "cannot be written")


@LINUX
@pytest.mark.parametrize("name", ["none/order.txt", "x" * 300 + ".txt", "loop.txt", "wheel.toml/order.txt"])
def test_places_that_cannot_be_written(name: str, folder: Path) -> None:
    (folder / "loop.txt").symlink_to("loop.txt")
    refused(writing("order", "wheel.toml", "-o", name, "--force"), "cannot be written")
    assert sorted(os.listdir(folder)) == ["loop.txt", "wheel.toml"]


@LINUX
def test_what_is_no_plain_file_is_not_replaced(folder: Path) -> None:
    os.mkfifo(folder / "pipe.txt")
    (folder / "folder.txt").mkdir()
    for name in ("pipe.txt", "folder.txt"):
        refused(writing("order", "wheel.toml", "-o", name, "--force"), name)
    assert (folder / "pipe.txt").is_fifo()


@LINUX
def test_links_as_output(folder: Path) -> None:
    (folder / "deep").mkdir()
    (folder / "one.txt").symlink_to("two.txt")
    (folder / "two.txt").symlink_to("deep/real.txt")
    assert writing("order", "wheel.toml", "-o", "one.txt").returncode == 0
    assert (folder / "one.txt").is_symlink()
    assert (folder / "two.txt").is_symlink()
    assert (folder / "deep" / "real.txt").read_text() == writing("order", "wheel.toml").stdout
    (folder / "nowhere.txt").symlink_to("none/real.txt")
    refused(writing("order", "wheel.toml", "-o", "nowhere.txt"), "cannot be written")


def test_relative_paths_count_from_where_one_stands(folder: Path) -> None:
    (folder / "deep").mkdir()
    assert wheelcalc("order", "../wheel.toml", "-o", "../deep/../order.txt", cwd=folder / "deep").returncode == 0
    assert (folder / "order.txt").exists()


@LINUX
def test_the_folder_one_stands_in_is_gone(folder: Path) -> None:
    script = f"mkdir gone && cd gone && rmdir ../gone && $W order {folder}/wheel.toml"
    assert shell(script).returncode == 0
    refused(shell(f"{script} -o order.txt"), "cannot be written")


def test_two_runs_at_once_leave_one_whole_file(folder: Path) -> None:
    commands = [
        [*RUN, "order", "wheel.toml", "-o", "order.json", "--force", "--set", f"title={title}"] for title in "ab"
    ]
    for _ in range(3):
        running = [subprocess.Popen(command, stderr=subprocess.DEVNULL) for command in commands]
        assert [process.wait() for process in running] == [0, 0]
        assert json.loads((folder / "order.json").read_text())["build"] in ("a", "b")
    assert sorted(os.listdir(folder)) == ["order.json", "wheel.toml"]


# --- streams --------------------------------------------------------------------------------------------------------


@LINUX
@pytest.mark.parametrize("arguments", ["order wheel.toml", "tables keys", "--help", "sheet wheel.toml --json"])
def test_a_reader_that_has_seen_enough(arguments: str) -> None:
    done = shell(
        f"$W {arguments} | head -c 1 >/dev/null; echo ${{PIPESTATUS[0]}}; $W {arguments} | true; echo ${{PIPESTATUS[0]}}"
    )
    assert (done.stdout, done.stderr) == ("0\n0\n", "")


@LINUX
def test_standard_output_closed(folder: Path) -> None:
    refused(shell("$W order wheel.toml >&-"), "standard output is closed")
    assert shell("$W order wheel.toml -o order.txt >&-").returncode == 0
    assert (folder / "order.txt").exists()


@LINUX
@pytest.mark.parametrize("arguments", ["order -", "start", "start new.toml", "true wheel.toml -"])
def test_standard_input_closed_or_empty(arguments: str, folder: Path) -> None:
    for stdin in ("<&-", "</dev/null"):
        refused(shell(f"$W {arguments} {stdin}"), "")
    assert os.listdir(folder) == ["wheel.toml"]


# --- surroundings ---------------------------------------------------------------------------------------------------


def test_nothing_in_the_environment() -> None:
    bare = {name: os.environ[name] for name in ("SYSTEMROOT",) if name in os.environ}
    done = wheelcalc("order", "wheel.toml", env=bare, stdin=subprocess.DEVNULL)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == wheelcalc("order", "wheel.toml").stdout


ENCODINGS = pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "cp437", "cp850", "utf-16"])
TITLE = ("--set", 'title="R\u00e4d \u2192 \U0001f6b2 \u00d8"')


@ENCODINGS
@pytest.mark.parametrize("command", ["order", "tension", "lace", "check"])
def test_any_encoding(encoding: str, command: str) -> None:
    for more in ((), ("--json",)):
        done = inside(command, "wheel.toml", *TITLE, *more, encoding=encoding)
        assert done.returncode in (0, 1), done.stderr
        assert done.stdout.startswith("{") or "R" in done.stdout
        assert not more or json.loads(done.stdout)["build"].startswith("R")


@ENCODINGS
def test_any_encoding_of_the_terminal(encoding: str) -> None:
    environment = {**os.environ, "PYTHONIOENCODING": encoding, "LC_ALL": "C"}
    done = subprocess.run([*RUN, "order", "wheel.toml", *TITLE], capture_output=True, check=False, env=environment)
    assert done.returncode == 0, done.stderr
    assert done.stdout.decode(encoding) == inside("order", "wheel.toml", *TITLE, encoding=encoding).stdout
    done = subprocess.run([*RUN, "order", "\u2192.toml"], capture_output=True, check=False, env=environment)
    assert done.returncode == 2
    # click takes ASCII for a mistake of the surroundings and writes UTF-8 there.
    assert done.stderr.decode("utf-8" if encoding == "ascii" else encoding).count("\n") == 1


def test_a_c_locale_without_any_help() -> None:
    environment = {**os.environ, "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}
    assert wheelcalc("order", "wheel.toml", env=environment).returncode == 0
    Path("umlaut.toml").write_text(Path("wheel.toml").read_text().replace("Test wheel", "R\u00e4d"), encoding="utf-8")
    assert wheelcalc("order", "umlaut.toml", env=environment).returncode == 0


@LINUX
@pytest.mark.parametrize("more", [(), ("--json",), ("-o", "out.txt"), ("-o", "out.json")])
def test_a_file_whose_name_is_no_text(more: tuple[str, ...], folder: Path) -> None:
    name = b"wheel\xff.toml"
    Path(os.fsdecode(name)).write_text(as_toml(with_keys(title=None)))
    assert wheelcalc("order", name, *more).returncode == 0
    refused(wheelcalc("order", name, "--set", "rim.erd=1"), "rim.erd")
