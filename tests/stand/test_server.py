"""The page's server, spoken to as a browser and as somebody who has no business there."""

from __future__ import annotations

import contextlib
import http.client
import json
import math
import threading
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.making.stands import TOKEN, at_the_stand, file_of
from wheelcalc import answers
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session
from wheelcalc.wheel.errors import InputError


def ask(
    server: Server, path: str, body: Any = None, method: str = "", raw: bytes | None = None, **headers: str
) -> tuple[int, Any]:
    connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=120)
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
    assert log.read_text(encoding="utf-8").splitlines()[-1] == "1,3,-0.35,,,,"
    put(served, 3, "lateral_mm", 0.15)  # read again: the later one counts
    for hole in range(1, 33):
        if hole != 3:
            served.session.log.put(hole, "lateral_mm", round(0.01 * (hole % 5), 2))
        served.session.log.put(hole, "tension_N", 900 if hole % 2 else 500)
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
    connection = http.client.HTTPConnection("127.0.0.1", served.server_port, timeout=120)
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
    served.session.log.close()
    with at_the_stand(path) as again:
        assert again.log.cut_off == "1,6,0."
        assert again.state()["passes"][0]["radial_mm"] == {"5": 0.2}


def test_the_log_of_another_wheel_is_refused(served: Server) -> None:
    put(served, 5, "radial_mm", 0.2)
    before = served.session.log.path.read_bytes()
    served.session.log.close()
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
        file.write("1,6,0.25,,,,")  # as an editor saves it
    served.session.log.close()
    with at_the_stand(path) as again:
        assert again.log.cut_off == ""
        assert again.state()["passes"][0]["lateral_mm"] == {"6": 0.25}
    assert path.read_bytes().endswith(b"1,6,0.25,,,,\n")


def test_a_title_is_no_markup(tmp_path: Path) -> None:
    with at_the_stand(tmp_path / "log.csv", title="<img src=x onerror=alert(1)>") as session:
        assert "<img" not in session.broken({"rim_hole": 4})["html"]


def first_pass(server: Server) -> None:
    """A whole pass read: a wheel a little out of true."""
    for hole in range(1, 33):
        server.session.log.put(hole, "lateral_mm", round(0.4 * math.cos(0.4 * hole) + 0.03 * (hole % 3), 2))
        server.session.log.put(hole, "tension_N", (905 if hole % 2 else 512) + 11 * (hole % 5))


def test_true_and_false_are_no_numbers(served: Server) -> None:
    before = served.session.log.path.read_bytes()
    for said in (
        {"pass": 1, "rim_hole": True, "column": "lateral_mm", "value": 0.1},
        {"pass": True, "rim_hole": 3, "column": "lateral_mm", "value": 0.1},
        {"pass": 1, "rim_hole": 3, "column": "lateral_mm", "value": True},
        {"pass": 1, "rim_hole": 3, "column": "lateral_mm", "value": None},
    ):
        assert ask(served, "/read", said)[0] == 422
    assert ask(served, "/broken", {"rim_hole": True})[0] == 422
    assert served.session.log.path.read_bytes() == before


@pytest.mark.parametrize(
    ("column", "said", "value"),
    [
        ("lateral_mm", " -0,35 ", -0.35),
        ("radial_mm", "+.2", 0.2),
        ("tension_N", "905", 905),
        ("turned", "-1 1/8", -1.125),
        ("pitch_hz", "371.5", 371.5),
        ("pitch_hz", "A4", 440),  # P: ISO 16:1975
        ("pitch_hz", "f#4", 369.994),  # D: 440 * 2 ** (-3 / 12)
        ("pitch_hz", "Gb4 +10", 372.138),  # D: ten cents above
    ],
)
def test_what_is_typed_is_read_by_the_program(served: Server, column: str, said: str, value: float) -> None:
    assert put(served, 3, column, said)[0] == 200
    assert served.session.log.passes()[1].of(column)[3] == pytest.approx(value, abs=5e-4)


@pytest.mark.parametrize(
    ("column", "said", "why"),
    [
        ("tension_N", "1,043", "can be 1043 or 1.043"),
        ("lateral_mm", "0.3 mm", "write the number alone, in mm"),
        ("lateral_mm", "35", None),
        ("lateral_mm", "350", "from -60 to 60 mm are believed"),
        ("pitch_hz", "H4", "write the number alone, in Hz"),
        ("pitch_hz", "7", "from 20 to 5000 Hz are believed"),
        ("turned", "11", "from -10 to 10 turns are believed"),
        ("lateral_mm", "", "write the number alone"),
        ("lateral_mm", "nan", "write the number alone"),
    ],
)
def test_what_cannot_be_meant_is_asked_again(served: Server, column: str, said: str, why: str | None) -> None:
    status, answer = put(served, 3, column, said)
    assert status == (200 if why is None else 422)
    assert why is None or why in answer["error"]


def test_a_reading_that_looks_wrong_is_asked_again_at_once(served: Server) -> None:
    """As typed, before the other columns are read: a decimal point slipped, a sign."""
    for hole in range(1, 12):
        status, answer = put(served, hole, "lateral_mm", f"{0.4 * math.cos(0.4 * hole):.2f}")
        assert (status, answer["doubted"]) == (200, [])
    _, answer = put(served, 12, "lateral_mm", "2.2")
    (doubted,) = answer["doubted"]
    assert (doubted["rim_hole"], doubted["column"]) == (12, "lateral_mm")
    assert "2.20 mm looks wrong" in doubted["words"]
    assert put(served, 12, "lateral_mm", "0.05")[1]["doubted"] == []
    for hole in range(1, 12):
        put(served, hole, "pitch_hz", 371 + hole % 3 if hole % 2 else 330)
    (doubted,) = put(served, 13, "pitch_hz", 185)[1]["doubted"]
    assert (doubted["rim_hole"], doubted["column"]) == (13, "pitch_hz")
    assert " N looks wrong" in doubted["words"]


def test_a_pass_ends_by_a_word(served: Server) -> None:
    first_pass(served)
    assert ask(served, "/end", {"pass": 1, "turned": "ticked"})[0] == 422  # nothing is ticked
    advised = ask(served, "/advise", {})[1]
    hole, turns = advised["turns"][0]["rim_hole"], advised["turns"][0]["turns"]
    put(served, hole, "turned", turns)
    put(served, hole, "turned", 0)
    put(served, hole, "turned", turns)
    assert put(served, 5, "lateral_mm", 0.11)[1]["passes"][0]["lateral_mm"]["5"] == 0.11  # mended after the first tick
    status, state = ask(served, "/end", {"pass": 1, "turned": "ticked"})
    assert (status, state["pass"], len(state["passes"])) == (200, 2, 2)
    assert put(served, 5, "lateral_mm", 0.02, number=2)[0] == 200
    first, second = answers.true(file_of(), served.session.log.path).passes
    assert first.turned is not None
    assert np.count_nonzero(first.turned) == 1
    assert second.lateral[4] == 0.02


@pytest.mark.parametrize("how", ["all", "none"])
def test_all_or_none_were_turned(served: Server, how: str) -> None:
    first_pass(served)
    advised = {each["rim_hole"]: each["turns"] for each in ask(served, "/advise", {})[1]["turns"]}
    put(served, next(iter(advised)), "turned", 0.875)
    assert ask(served, "/end", {"pass": 1, "turned": how})[1]["pass"] == 2
    turned = served.session.log.passes()[1].of("turned")
    assert {hole: turns for hole, turns in turned.items() if turns} == (advised if how == "all" else {})


def test_an_end_is_taken_back(served: Server) -> None:
    first_pass(served)
    ask(served, "/end", {"pass": 1, "turned": "none"})
    assert ask(served, "/go-on", {"pass": 2})[1]["pass"] == 1
    assert ask(served, "/go-on", {"pass": 1})[0] == 422


def test_a_window_left_behind_is_told_so_and_writes_nothing(served: Server) -> None:
    first_pass(served)
    ask(served, "/end", {"pass": 1, "turned": "none"})
    before = served.session.log.path.read_bytes()
    for path, body in (
        ("/read", {"pass": 1, "rim_hole": 3, "column": "lateral_mm", "value": 0.1}),
        ("/read", {"pass": 3, "rim_hole": 3, "column": "lateral_mm", "value": 0.1}),
        ("/end", {"pass": 1, "turned": "all"}),
        ("/go-on", {"pass": 1}),
    ):
        status, answer = ask(served, path, body)
        assert (status, "is at pass 2" in answer["error"]) == (409, True)
    assert served.session.log.path.read_bytes() == before


def test_advice_without_readings_says_what_to_do(served: Server) -> None:
    assert "pass 1 has no readings yet" in ask(served, "/advise", {})[1]["error"]


def test_strips_of_each_pass_are_different(served: Server) -> None:
    first_pass(served)
    ask(served, "/end", {"pass": 1, "turned": "all"})
    for hole in range(1, 33):
        served.session.log.put(hole, "lateral_mm", round(0.05 * math.cos(0.7 * hole), 2))
        served.session.log.put(hole, "tension_N", (905 if hole % 2 else 512) + 7 * (hole % 4))
    status, advised = ask(served, "/advise", {})
    assert status == 200, advised
    assert advised["earlier"] == 1
    earlier, now = (ask(served, "/strip", {"passes": count})[1]["strip"] for count in (1, 2))
    assert earlier != now == advised["strip"]
    assert ask(served, "/strip", {"passes": 3})[0] == 422


def test_what_fails_inside_is_said_and_the_server_stays_up(served: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: Any) -> Any:
        raise RuntimeError("of the\ntest")

    monkeypatch.setattr(served.session, "broken", broken)
    status, answer = ask(served, "/broken", {"rim_hole": 4})
    assert status == 500
    assert "RuntimeError" in answer["error"]
    assert "\n" not in answer["error"]
    assert ask(served, "//[", {})[0] in (404, 500)
    assert ask(served, "/state", method="DELETE")[0] == 501
    assert ask(served, "/state")[0] == 200


def test_a_refused_body_is_not_taken_for_the_next_request(served: Server) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", served.server_port, timeout=120)
    connection.request("POST", "/nothing", b"GET /state HTTP/1.1\r\n\r\n", {"X-Token": TOKEN})
    answer = connection.getresponse()
    assert (answer.status, answer.getheader("Connection")) == (404, "close")
    connection.close()


def test_the_turns_are_worked_out_once_and_before_they_are_asked_for(
    served: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the last reading of a pass; ticks do not change them, a reading does."""
    first_pass(served)
    asked_for, worked_out, true = [], threading.Event(), answers.true

    def counted(*given: Any) -> Any:
        asked_for.append(given)
        answer = true(*given)
        worked_out.set()
        return answer

    monkeypatch.setattr(answers, "true", counted)
    for hole in range(1, 33):
        served.session.log.put(hole, "radial_mm", round(0.1 * math.cos(0.6 * hole), 2))
    put(served, 5, "radial_mm", -0.1)
    assert worked_out.wait(120)
    hole = ask(served, "/advise", {})[1]["turns"][0]["rim_hole"]
    put(served, hole, "turned", 0.25)
    ask(served, "/advise", {})
    assert len(asked_for) == 1
    put(served, 5, "radial_mm", -0.08)
    ask(served, "/advise", {})
    assert len(asked_for) == 2


@pytest.mark.parametrize(("path", "status"), [("/read", 413), ("/hear?side=right", 422)])
def test_fifty_megabytes_are_refused_and_the_server_stays_up(served: Server, path: str, status: int) -> None:
    """As JSON unread, the connection closed while it is still being sent; as a recording read and found to be none."""
    connection = http.client.HTTPConnection("127.0.0.1", served.server_port, timeout=120)
    with contextlib.suppress(ConnectionError):
        connection.request("POST", path, b"x" * 50_000_000, {"X-Token": TOKEN})
    with contextlib.suppress(ConnectionError):
        assert connection.getresponse().status == status
    connection.close()
    assert ask(served, "/state")[0] == 200
