"""The examples in the docstrings of the public names say what really comes out."""

from __future__ import annotations

import doctest
import sys
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize(
    "name", ["wheelcalc.wheel.parts", "wheelcalc.wheel.wheel", "wheelcalc.wheel.lacing", "wheelcalc.answers.order"]
)
def test_examples(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    import_module(name)
    found = doctest.testmod(sys.modules[name])
    assert found.attempted >= 3
    assert found.failed == 0
