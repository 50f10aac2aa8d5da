"""Random requests to the page's server: each is answered, none with a failure inside, and the log stays readable."""

from __future__ import annotations

import http.client
import json
import random
import socket
from typing import Any

import pytest

from tests.making.stands import TOKEN
from tests.tools.fuzz_values import STRANGE
from wheelcalc.files.readings import read_passes
from wheelcalc.stand.server import Server

PATHS = (
    "/read",
    "/advise",
    "/strip",
    "/end",
    "/go-on",
    "/broken",
    "/hear",
    "/state",
    "/",
    "/page.js",
    "/log.csv",
    "//[",
    "/read?t=x",
)
KEYS = ("pass", "rim_hole", "column", "value", "turned", "passes")
COLUMNS = ("lateral_mm", "radial_mm", "tension_N", "pitch_hz", "turned", "pass")
SENSIBLE: dict[str, tuple[Any, ...]] = {
    "pass": (1, 1, 1, 2),
    "rim_hole": tuple(range(1, 34)),
    "column": COLUMNS,
    "value": ("0.1", -0.2, "905", "F#4", "1/4", 0),
    "turned": ("ticked", "all", "none"),
    "passes": (1, 2),
}
ANSWERED = {200, 400, 403, 404, 409, 413, 422, 501}


def body(rng: random.Random) -> bytes:
    if rng.random() < 0.2:
        return rng.choice(
            [b"", b"{", b"[]", b"null", b"\xff\xfe", b"RIFF" + rng.randbytes(60), b"[" * 3000, rng.randbytes(90)]
        )
    asked = {key: rng.choice(STRANGE if rng.random() < 0.3 else SENSIBLE[key]) for key in KEYS if rng.random() < 0.85}
    return json.dumps(asked, default=str).encode("utf-8", "surrogatepass")


def test_three_hundred_random_requests(served: Server) -> None:
    rng = random.Random(4711)
    told = set()
    for _ in range(300):
        path, method = rng.choice(PATHS), rng.choice(["POST", "POST", "POST", "GET", "PUT"])
        heads = {"X-Token": rng.choice([TOKEN] * 9 + ["guessed", ""])}
        if rng.random() < 0.1:
            heads["Origin"] = rng.choice(["null", "http://elsewhere.example", ""])
        if rng.random() < 0.1:
            heads["Content-Length"] = rng.choice(["-1", "x", "9" * 30, "50000000"])
        connection = http.client.HTTPConnection("127.0.0.1", served.server_port, timeout=120)
        sent = None if method == "GET" else body(rng)
        connection.request(method, path, sent, heads)
        answer = connection.getresponse()
        said = answer.read()
        connection.close()
        assert answer.status in ANSWERED, (method, path, sent, said)
        told.add(answer.status)
    assert told >= {200, 400, 403, 404, 409, 413, 422, 501}
    read_passes(served.session.log.path, 32)


@pytest.mark.parametrize(
    "sent",
    [
        b"\r\n\r\n",
        b"GET\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01",
        b"GET / HTTP/9.9\r\n\r\n",
        b"POST /read HTTP/1.1\r\n\r\n",
    ],
)
def test_what_is_no_request_harms_nothing(served: Server, sent: bytes) -> None:
    with socket.create_connection(("127.0.0.1", served.server_port), timeout=120) as connection:
        connection.sendall(sent)
        connection.shutdown(socket.SHUT_WR)
        connection.recv(65536)
    connection = http.client.HTTPConnection("127.0.0.1", served.server_port, timeout=120)
    connection.request("GET", "/state", headers={"X-Token": TOKEN})
    assert connection.getresponse().status == 200
    connection.close()
