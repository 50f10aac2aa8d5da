"""Start the page's server and say where it is."""

from __future__ import annotations

import secrets
import socket
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

from wheelcalc.files.buildfile import read_build
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session
from wheelcalc.wheel.errors import InputError

HERE = "127.0.0.1"
TRIES = 20  # ports, ours: enough to find a free one


def serve(
    buildfile: str,
    overrides: Sequence[str],
    log: str | None,
    port: int,
    *,
    opened: bool,
    phone: bool,
    say: Callable[[str], None],
    show: Callable[[str], None],
) -> None:
    """Serve the page until Ctrl-C.

    Parameters
    ----------
    buildfile, overrides : of the wheel
    log : path of the log; None: beside the current folder, by the build file's name
    port : where to serve; the next free one where it is taken
    opened : open a browser here
    phone : listen to the local network as well
    say : prints a line
    show : shows the phone's address once more, for it to read off the screen

    Raises
    ------
    InputError
        If the build or the log cannot be used, or no port is free.
    """
    if buildfile == "-":
        raise InputError("BUILDFILE", "found - for standard input; name the file, the page needs it as long as it runs")
    path = Path(log or f"{Path(buildfile).stem}-log.csv")
    session = Session(read_build(buildfile, overrides), path)
    if session.log.cut_off:
        say(
            f'The last line of {path} was cut short ("{session.log.cut_off[:80]}") and is left out; the lines before it stand.'
        )
    hosts = [HERE, "localhost", *([_own_address()] if phone else [])]
    token = secrets.token_urlsafe(16)
    try:
        with _server(session, "" if phone else HERE, hosts, port, token, say) as server:
            for line in _where(server.server_port, hosts, token, path, phone=phone):
                say(line)
            if phone:
                show(_address(hosts[-1], server.server_port, token))
            if opened:
                address = _address(HERE, server.server_port, token)
                # A browser of a terminal only gives way when it is closed.
                threading.Thread(target=in_browser, args=(address, say), daemon=True).start()
            server.serve_forever(poll_interval=0.2)
    except KeyboardInterrupt:
        say(f"Ended. Everything is in {path}.")
    finally:
        session.log.close()


def in_browser(address: str, say: Callable[[str], None]) -> None:
    """Open a browser, or say that there is none."""
    import webbrowser  # noqa: PLC0415 - only where it is asked for

    try:
        opened = webbrowser.open(address)
    except (webbrowser.Error, OSError):
        opened = False
    if not opened:
        say("No browser was found here; open the address above yourself.")


def _server(
    session: Session, address: str, hosts: list[str], port: int, token: str, say: Callable[[str], None]
) -> Server:
    for tried in range(port, min(port + TRIES, 65536)):
        try:
            server = Server((address, tried), hosts, token, session)
        except OSError:
            continue
        if tried != port:
            say(f"Port {port} is taken; {tried} it is.")
        return server
    raise InputError("--port", f"found {port}, and the {TRIES - 1} after it are taken too; name another")


def _where(port: int, hosts: list[str], token: str, path: Path, *, phone: bool) -> list[str]:
    lines = [f"The page:  {_address(HERE, port, token)}"]
    if phone:
        lines.append(f"By phone:  {_address(hosts[-1], port, token)}")
        lines.append(
            "Whoever has that address and is in the same network can see and fill in the page; nobody else can."
        )
    return [*lines, f"Every number is kept in {path} as it is typed.", "Ctrl-C ends it."]


def _address(host: str, port: int, token: str) -> str:
    return f"http://{host}:{port}/?t={token}"


def _own_address() -> str:
    """Return this machine's address in the local network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # P: RFC 5737, an address that nobody has
            return str(probe.getsockname()[0])
        except OSError:
            return HERE
