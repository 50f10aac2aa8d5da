"""The page served to the tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.making.stands import file_of, serving
from wheelcalc.stand.server import Server
from wheelcalc.stand.session import Session


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Server]:
    with serving(Session(file_of(), tmp_path / "log.csv")) as server:
        yield server
