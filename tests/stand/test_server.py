"""The page's server, spoken to as a browser and as somebody who has no business there."""

from __future__ import annotations

import http.client
import json
from pathlib import Path
from typing import Any

import pytest

from tests.making.stands import TOKEN, file_of
from wheelcalc import answers
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session
from wheelcalc.wheel.errors import InputError


def ask(
    server: Server, path: str, body: Any = None, method: str = "", raw: bytes | None = None, **headers: str
) -> tuple[int, Any]:
    connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=30)
    sent = raw if raw is not None else None if body is None else json.dumps(body).encode()
    heads = {"X-Token": TOKEN, **{name.replace("_", "-"): value for name, value in headers.items()}}
    connection.request(method or ("GET" if sent is None else "POST"), path, sent, heads)
    answer = connection.getresponse()
    data = answer.read()
    connection.close()
    kind = answer.getheader("Content-Type", "")
    assert "script-src 'self'" in answer.getheader("Content-Security-Policy", "")
    return answer.status, json.loads(data) if kind.startswith("application/json") else data.decode()


def put(server: Server, hole: int, column: str, value: Any, number: int = 1) -> tuple[int, Any]:
    return ask(server, "/read", {"pass": number, "rim_hole": hole, "column": column, "value": value})


def test_the_page_is_small_and_brings_everything_itself(served: Server) -> None:
    parts = [ask(served, path)[1] for path in ("/", "/page.js", "/page.css")]
    assert sum(map(len, parts)) < 100_000
    assert not any("http://" in part.replace("http://www.w3.org", "") or "https://" in part for part in parts)


def test_each_number_is_on_disk_at_once_and_true_reads_the_log(served: Server) -> None:
    assert put(served, 3, "lateral_mm", -0.35)[0] == 200
    log = served.session.log.path
    assert log.read_text(encoding="utf-8").splitlines()[-1] == "1,3,-0.35,,,"
    put(served, 3, "lateral_mm", 0.15)  # read again: the later one counts
    for hole in range(1, 33):
        if hole != 3:
            put(served, hole, "lateral_mm", round(0.01 * (hole % 5), 2))
        put(served, hole, "tension_N", 900 if hole % 2 else 500)
    status, advised = ask(served, "/advise", {})
    assert status == 200
    by_command = answers.true(file_of(), log).as_json()
    assert sorted((each["rim_hole"], each["turns"]) for each in advised["turns"]) == sorted(
        (each["rim_hole"], each["turns"]) for each in by_command["turns"]
    )
    assert advised["strip"].startswith("<svg")
    put(served, 4, "turned", 0.25)
    state = ask(served, "/state")[1]
    assert state["passes"][0]["lateral_mm"]["3"] == 0.15
    assert state["passes"][0]["turned"] == {"4": 0.25}
    assert state["sides"][:2] == ["right", "left"]


def test_a_broken_spoke_from_here_too(served: Server) -> None:
    status, found = ask(served, "/broken", {"rim_hole": 14})
    assert status == 200
    assert "<script" not in found["html"]
    assert ask(served, "/broken", {"rim_hole": 77})[0] == 422


@pytest.mark.parametrize(
    ("path", "body", "headers", "status"),
    [
        ("/state", None, {"X_Token": "guessed"}, 403),
        ("/state", None, {"Host": "elsewhere.example:80"}, 403),
        ("/", None, {"Host": "elsewhere.example:80"}, 403),
        ("/read", {}, {"X_Token": ""}, 403),
        ("/advise", {}, {"Origin": "http://elsewhere.example"}, 403),
        ("/read", {}, {}, 422),
        ("/../../etc/passwd", None, {}, 404),
        ("/log.csv", None, {}, 404),
        ("/nothing", {}, {}, 404),
    ],
)
def test_nobody_else_gets_in(served: Server, path: str, body: Any, headers: dict[str, str], status: int) -> None:
    assert ask(served, path, body, **headers)[0] == status
    assert ask(served, "/state")[0] == 200


@pytest.mark.parametrize("raw", [b"{", b"[1]", b"\xff\xfe", b"[" * 5000, b"null"])
def test_garbage_is_refused(served: Server, raw: bytes) -> None:
    assert ask(served, "/read", raw=raw)[0] == 400
    assert ask(served, "/state")[0] == 200


def test_a_body_too_large_is_refused_unread(served: Server) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", served.server_port, timeout=30)
    connection.putrequest("POST", "/read")
    connection.putheader("X-Token", TOKEN)
    connection.putheader("Content-Length", str(50_000_000))
    connection.endheaders()
    assert connection.getresponse().status == 413
    connection.close()
    assert ask(served, "/state")[0] == 200


@pytest.mark.parametrize(
    ("hole", "column", "value"),
    [
        (0, "lateral_mm", 1),
        (33, "lateral_mm", 1),
        (3, "lateral_mm", 900),
        (3, "title", 1),
        (3, "tension_N", -5),
        (3, "lateral_mm", "x"),
    ],
)
def test_what_cannot_be_is_not_saved(served: Server, hole: int, column: str, value: Any) -> None:
    before = served.session.log.path.read_bytes()
    assert put(served, hole, column, value)[0] == 422
    assert served.session.log.path.read_bytes() == before


def test_a_log_goes_on_where_it_was(served: Server) -> None:
    put(served, 5, "radial_mm", 0.2)
    path = served.session.log.path
    with path.open("a", encoding="utf-8") as file:
        file.write("1,6,0.")  # as a crash leaves it
    again = Session(file_of(), path)
    assert again.log.cut_off == "1,6,0."
    assert again.state()["passes"][0]["radial_mm"] == {"5": 0.2}


def test_the_log_of_another_wheel_is_refused(served: Server) -> None:
    put(served, 5, "radial_mm", 0.2)
    before = served.session.log.path.read_bytes()
    with pytest.raises(InputError, match="found the wheel"):
        Session(file_of(rim__erd=560.3), served.session.log.path)
    assert served.session.log.path.read_bytes() == before


@pytest.mark.parametrize("text", ["a list of parts\nrims, 3", "# wheel: another, 28 holes, 3-2-1\n1,2,3", "no end"])
def test_a_file_that_is_no_log_of_this_wheel_is_refused_unharmed(text: str, tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"notes\.txt"):
        Session(file_of(), path)
    assert path.read_text(encoding="utf-8") == text


def test_a_whole_line_that_only_lacks_its_end_is_kept(served: Server) -> None:
    put(served, 5, "radial_mm", 0.2)
    path = served.session.log.path
    with path.open("a", encoding="utf-8") as file:
        file.write("1,6,0.25,,,")  # as an editor saves it
    again = Session(file_of(), path)
    assert again.log.cut_off == ""
    assert again.state()["passes"][0]["lateral_mm"] == {"6": 0.25}
    assert path.read_bytes().endswith(b"1,6,0.25,,,\n")


def test_a_title_is_no_markup(tmp_path: Path) -> None:
    session = Session(file_of(title="<img src=x onerror=alert(1)>"), tmp_path / "log.csv")
    assert "<img" not in session.broken({"rim_hole": 4})["html"]
