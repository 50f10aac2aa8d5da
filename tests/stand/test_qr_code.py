"""The phone's address as a QR code in the terminal, with its library and without."""

from __future__ import annotations

import io
import sys

import pytest

from tests.making.stands import TOKEN
from wheelcalc.cli.qr import MISSING, QUIET, qr_lines
from wheelcalc.cli.stand import show

ADDRESS = f"http://192.0.2.17:8737/?t={TOKEN}"
MODULES = {"█": (0, 0), "▀": (0, 1), "▄": (1, 0), " ": (1, 1)}  # upper and lower half, 1 dark


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> io.TextIOWrapper:
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    monkeypatch.setattr(sys, "stdout", out)
    return out


def test_the_code_is_the_address(terminal: io.TextIOWrapper) -> None:
    segno = pytest.importorskip("segno", reason="segno is not installed")
    rows = [
        list(half)
        for line in qr_lines(ADDRESS, colour=False)
        for half in zip(*(MODULES[sign] for sign in line), strict=True)
    ]
    expected = [list(row) for row in segno.make(ADDRESS, micro=False, error="l").matrix_iter(border=QUIET)]
    assert rows[: len(expected)] == [[int(bool(module)) for module in row] for row in expected]
    assert len(expected) < 40  # columns of the narrowest terminal


def test_its_colours_do_not_depend_on_the_terminal(terminal: io.TextIOWrapper) -> None:
    pytest.importorskip("segno", reason="segno is not installed")
    lines = list(qr_lines(ADDRESS, colour=True))
    assert all(line.startswith("\033[97;40m") and line.endswith("\033[0m") for line in lines)


def test_without_the_library_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "segno", None)
    assert list(qr_lines(ADDRESS, colour=True)) == [MISSING]


def test_a_terminal_without_its_signs(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("segno", reason="segno is not installed")
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(io.BytesIO(), encoding="latin-1"))
    assert list(qr_lines(ADDRESS, colour=False)) == []


def test_no_code_where_nobody_looks(terminal: io.TextIOWrapper) -> None:
    show(ADDRESS)
    assert terminal.buffer.getvalue() == b""  # type: ignore[attr-defined]
