"""The examples in docstrings say what really comes out."""

from __future__ import annotations

import doctest
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def test_examples(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    with_examples = [path for path in (ROOT / "wheelcalc").rglob("*.py") if ">>>" in path.read_text(encoding="utf-8")]
    names = [".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for path in with_examples]
    found = {name: doctest.testmod(import_module(name)) for name in names}
    assert sum(tried.attempted for tried in found.values()) >= 12
    assert {name: tried.failed for name, tried in found.items() if tried.failed} == {}
