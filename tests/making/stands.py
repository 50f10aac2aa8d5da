"""The page's server with a build of the tests, and the token that lets in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.making.builds import with_keys
from wheelcalc.files.buildfile import build_of
from wheelcalc.stand.session import Session

TOKEN = "a-token-of-the-test"
FACTS = {"material": "aluminium", "mass": 497, "width": 23.6, "depth": 18.7}


def file_of(**keys: Any) -> Any:
    return build_of(with_keys(**{"rim__section": FACTS, **keys}), "stand")


@contextmanager
def at_the_stand(log: Path, **keys: Any) -> Iterator[Session]:
    """A session, its log let go at the end."""
    session = Session(file_of(**keys), log)
    try:
        yield session
    finally:
        session.log.close()
