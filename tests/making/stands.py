"""The page's server with a build of the tests, and the token that lets in."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from tests.making.builds import with_keys
from tests.making.random_wheels import Case, bends, simulated
from wheelcalc.files.buildfile import build_of
from wheelcalc.joined.section import section_of
from wheelcalc.measuring import assemble
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session

TOKEN = "a-token-of-the-test"
SMALL = {
    "rim__holes": 16,
    "rim__erd": 389.6,
    "hub__left__holes": 8,
    "hub__right__holes": 8,
    "lacing__crosses": 2,
    "tension__target": 900,
    "rim__section": {"material": "aluminium", "mass": 331, "width": 22.8, "depth": 16.4},
}
FACTS = {"material": "aluminium", "mass": 497, "width": 23.6, "depth": 18.7}


def file_of(**keys: Any) -> Any:
    return build_of(with_keys(**{"rim__section": FACTS, **keys}), "stand")


def small_wheel_out_of_true(seed: int) -> tuple[Any, Case]:
    """The build of a wheel of 16 spokes, quickly typed, and that wheel: spokes too long and too short, the rim slightly bent."""
    file = file_of(**SMALL)
    wheel, estimate = assemble.wheel(file.build), section_of(file.build)
    assert estimate is not None
    rng = np.random.default_rng(seed)
    real = simulated(wheel, estimate.section, 905.0, **bends(rng, wheel.rim.holes))
    return file, Case(wheel, estimate.section, real.turned(-0.22 * rng.normal(size=len(wheel.lacing))))


@contextmanager
def at_the_stand(log: Path, **keys: Any) -> Iterator[Session]:
    """A session, its log let go at the end."""
    session = Session(file_of(**keys), log)
    try:
        yield session
    finally:
        session.log.close()


@contextmanager
def serving(session: Session) -> Iterator[Server]:
    server = Server(("127.0.0.1", 0), ["127.0.0.1", "localhost"], TOKEN, session)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    session.log.close()
    thread.join(5)
