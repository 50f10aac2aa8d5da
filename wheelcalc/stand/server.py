"""The page's server: one person, one wheel. Nobody else gets in: host, token and origin are looked at, sizes are limited."""

from __future__ import annotations

import hmac
import json
import os
import threading
from collections.abc import Callable
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, parse_qsl, urlsplit

from wheelcalc.paper import bench
from wheelcalc.stand.session import OutdatedError, Session
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

LARGEST_JSON = 20_000  # bytes, ours: a number with its place has eighty
LARGEST_SOUND = 60_000_000  # bytes, ours: five minutes at 48 kHz and 16 bit are 29 million
LONGEST_LENGTH = 11  # digits, ours: more are no size
PATIENCE = 20.0  # s, C: a sender who says nothing is let go
PAGE = {
    "/": (bench.markup, "text/html"),
    "/page.js": (bench.script, "text/javascript"),
    "/page.css": (bench.look, "text/css"),
    "/microphone.js": (bench.microphone, "text/javascript"),
}
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data: blob:; form-action 'none'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


class Server(ThreadingHTTPServer):
    """Serves one session.

    Parameters
    ----------
    place : address and port to listen at
    hosts : names under which the page may be asked for, with the port
    token : what every request for data must show
    session : the wheel at the stand
    """

    daemon_threads = True
    allow_reuse_address = os.name != "nt"  # there it would take a port that another program has

    def __init__(self, place: tuple[str, int], hosts: list[str], token: str, session: Session) -> None:
        super().__init__(place, Handler)
        self.hosts = [f"{host}:{self.server_port}" for host in hosts]
        self.token, self.session = token, session
        self.turn = threading.Lock()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Let a connection that broke off go without a word."""


class Handler(BaseHTTPRequestHandler):
    """Answers one request."""

    server: Server
    timeout = PATIENCE
    protocol_version = "HTTP/1.1"
    server_version = "wheelcalc"
    sys_version = ""

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing: the terminal belongs to the person at the stand."""

    def do_GET(self) -> None:
        """Give the page, or where the work stands."""
        self._guarded(self._get)

    def do_POST(self) -> None:
        """Take a number or a recording, or compute."""
        self._guarded(self._post)

    def _guarded(self, job: Callable[[], None]) -> None:
        """Tell the page whatever fails, in one line; the server stays up."""
        try:
            job()
        except OSError:  # of the connection: nobody is there to be told
            self.close_connection = True
        except Exception as error:
            self._failed(error)

    def _failed(self, error: Exception) -> None:
        what = printable(f"{type(error).__name__}: {error}", LONGEST_ECHO)
        self._refuse(
            HTTPStatus.INTERNAL_SERVER_ERROR, f"The program failed at this ({what}). What was saved is in the log."
        )

    def _get(self) -> None:
        path = urlsplit(self.path).path
        if not self._from_here():
            self._refuse(HTTPStatus.FORBIDDEN, "not this address")
        elif path in PAGE:
            text, kind = PAGE[path]
            self._send(HTTPStatus.OK, text().encode(), kind)
        elif path == "/state" and self._may():
            self._answer(self.server.session.state)
        else:
            self._refuse(
                HTTPStatus.FORBIDDEN if path == "/state" else HTTPStatus.NOT_FOUND, "no such page, or no token"
            )

    def _post(self) -> None:
        path = urlsplit(self.path).path
        session = self.server.session
        jobs = {
            "/read": session.put,
            "/advise": session.advise,
            "/strip": session.strip,
            "/end": session.end,
            "/go-on": session.go_on,
            "/broken": session.broken,
        }
        if not self._from_here() or not self._may():
            self._refuse(HTTPStatus.FORBIDDEN, "not from this page, or no token")
        elif path == "/hear":
            sound = self._body(LARGEST_SOUND)
            if sound is not None:
                self._answer(lambda: session.heard(sound, dict(parse_qsl(urlsplit(self.path).query))))
        elif path in jobs:
            asked = self._asked()
            if asked is not None:
                self._answer(lambda: jobs[path](asked))
        else:
            self._refuse(HTTPStatus.NOT_FOUND, "no such page")

    def _from_here(self) -> bool:
        """Whether the request names this server, and no other site sent it."""
        host, origin = self.headers.get("Host", ""), self.headers.get("Origin")
        return host in self.server.hosts and (origin is None or origin == f"http://{host}")

    def _may(self) -> bool:
        shown = self.headers.get("X-Token") or parse_qs(urlsplit(self.path).query).get("t", [""])[0]
        return hmac.compare_digest(shown.encode(), self.server.token.encode())

    def _asked(self) -> dict[str, Any] | None:
        body = self._body(LARGEST_JSON)
        if body is None:
            return None
        try:
            asked = json.loads(body or b"{}")
        except (ValueError, RecursionError):
            asked = None
        if not isinstance(asked, dict):
            self._refuse(HTTPStatus.BAD_REQUEST, "that is no JSON object")
            return None
        return asked

    def _body(self, most: int) -> bytes | None:
        length = self.headers.get("Content-Length", "")
        if not (length.isascii() and length.isdigit() and len(length) <= LONGEST_LENGTH) or int(length) > most:
            self.close_connection = True
            self._refuse(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"send at most {most} bytes, and say how many")
            return None
        return self.rfile.read(int(length))

    def _answer(self, compute: Any) -> None:
        try:
            with self.server.turn:
                answered = compute()
            body = json.dumps(answered, allow_nan=False).encode()
        except OutdatedError as error:
            self._refuse(HTTPStatus.CONFLICT, error.text)
        except InputError as error:
            self._refuse(HTTPStatus.UNPROCESSABLE_ENTITY, str(error))
        except OSError as error:  # of a disk; the connection was not spoken to yet
            self._failed(error)
        else:
            self._send(HTTPStatus.OK, body, "application/json")

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:  # noqa: ARG002
        """Say what the library refuses, a method or a line that is no HTTP, as everything else is said."""
        self.close_connection = True
        self._refuse(HTTPStatus(code), message or HTTPStatus(code).phrase)

    def _refuse(self, status: HTTPStatus, why: str) -> None:
        self.close_connection = True  # its body may not have been read
        self._send(status, json.dumps({"error": why}).encode(), "application/json")

    def _send(self, status: HTTPStatus, body: bytes, kind: str) -> None:
        self.send_response(status)
        self.send_header("Content-Type", f"{kind}; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        if self.close_connection:
            self.send_header("Connection", "close")
        for name, value in HEADERS.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)
