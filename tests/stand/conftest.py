"""The page served to the tests of this folder."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.making.stands import TOKEN, file_of
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Server]:
    session = Session(file_of(), tmp_path / "log.csv")
    server = Server(("127.0.0.1", 0), ["127.0.0.1", "localhost"], TOKEN, session)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    session.log.close()
    thread.join(5)
