"""The command as a process: its address, a port that is taken, a kill in the middle, two on one log."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.request
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.making.errand_session import BUILD
from wheelcalc.stand import serving

RUN = [sys.executable, "-m", "wheelcalc", "stand", str(BUILD)]


@contextmanager
def running(folder: Path, *more: str) -> Iterator[tuple[Any, str, str]]:
    """The process, what it said until it serves, and its address."""
    process = subprocess.Popen(
        [*RUN, *more], cwd=folder, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=dict(os.environ)
    )
    assert process.stdout is not None
    said: list[str] = []
    for line in process.stdout:
        said.append(line)
        if line.startswith("Ctrl-C"):
            break
    address = next((line.split()[-1] for line in said if line.startswith("The page:")), "")
    try:
        yield process, "".join(said), address
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()


def asked(address: str, path: str, body: Any = None) -> Any:
    base, token = address.split("/?t=")
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(f"{base}/{path}", data, {"X-Token": token})
    with urllib.request.urlopen(request, timeout=120) as answer:
        return json.load(answer)


@contextmanager
def taken() -> Iterator[int]:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def test_killed_in_the_middle_it_goes_on_and_a_second_one_is_told(tmp_path: Path) -> None:
    with taken() as port, running(tmp_path, "--port", str(port)) as (process, said, address):
        assert f"Port {port} is taken; " in said
        assert f":{port}/" not in address
        for hole in range(1, 6):
            asked(address, "read", {"pass": 1, "rim_hole": hole, "column": "radial_mm", "value": f"0.{hole}"})
        second = subprocess.run(RUN, cwd=tmp_path, text=True, capture_output=True, check=False)
        assert (second.returncode, second.stdout) == (2, "")
        assert second.stderr.startswith("Error: --log: errand-rear-log.csv is in use by another stand")
        assert second.stderr.count("\n") == 1
        process.send_signal(signal.SIGKILL)
        process.wait(120)
    with running(tmp_path) as (process, said, address):
        state = asked(address, "state")
        assert state["passes"][0]["radial_mm"] == {"1": 0.1, "2": 0.2, "3": 0.3, "4": 0.4, "5": 0.5}
        process.send_signal(signal.SIGINT)
        assert "Ended. Everything is in errand-rear-log.csv." in process.communicate(timeout=120)[0]
        assert process.returncode == 0


@pytest.mark.parametrize("opens", [False, webbrowser.Error("none")])
def test_without_a_browser_the_address_is_what_is_left(opens: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def open_(_: str) -> bool:
        if isinstance(opens, Exception):
            raise opens
        return bool(opens)

    said: list[str] = []
    monkeypatch.setattr(webbrowser, "open", open_)
    serving.in_browser("http://127.0.0.1:1/", said.append)
    assert said == ["No browser was found here; open the address above yourself."]
