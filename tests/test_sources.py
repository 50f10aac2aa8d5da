"""Every number in the code says where it comes from: a label (P, D, C, M, R) or a reason, beside it or above it.

Counted: numbers in the rooms that compute and read. Left out, with the reason: the short lists below.
"""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "wheelcalc"
# Counting, halves, sides, places in a list, right angles and turns, the parts of a whole.
PLAIN = {0, 1, 2, 3, 4, 5, 6, 0.5, 90, 100, 180, 360}
# What places letters and lines on a page or screen and touches no answer.
LAYOUT = ("cli", "page", "paper")
# A comment that begins so speaks for every number of its file.
SPEAKS_FOR_ALL = re.compile(r"^# (Numbers here|Ranges and defaults): ", re.MULTILINE)
LABEL = re.compile(r"\b[PDCMR]\b(?=[ :,();.]|$)|\bours\b")
CONSTANT = re.compile(r"[A-Z_0-9, ]+ = |    [a-z_]+: [^=]+ = ")  # of a module, or a field with its default
REASON = 4  # words: fewer are a unit


def _is_power_of_ten(value: float) -> bool:
    """Unit factors, bounds that only refuse nonsense, and round-off guards."""
    return value > 0 and f"{value:e}".startswith("1.000000e")


def _comments(text: str) -> dict[int, str]:
    tokens = tokenize.generate_tokens(io.StringIO(text).readline)
    return {token.start[0]: token.string.lstrip("# ") for token in tokens if token.type == tokenize.COMMENT}


def _says_why(comment: str) -> bool:
    return bool(LABEL.search(comment)) or len(comment.split()) >= REASON


def unsourced(path: Path) -> Iterator[str]:
    """The lines of a file that hold a number without a source."""
    text = path.read_text(encoding="utf-8")
    if SPEAKS_FOR_ALL.search(text):
        return
    tree, comments, lines = ast.parse(text), _comments(text), text.splitlines()
    above = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or type(node.value) not in (int, float):
            continue
        if node.value in PLAIN or _is_power_of_ten(node.value):
            continue
        statement, docstrings, place = None, "", False
        inner: ast.AST = node
        while inner in above:
            outer = above[inner]
            if statement is None:
                place = place or _is_place_or_format(outer, inner)
                statement = outer if isinstance(outer, ast.stmt) else None
            if isinstance(outer, ast.FunctionDef | ast.ClassDef):
                docstrings += " " + (ast.get_docstring(outer) or "")
            inner = outer
        assert statement is not None
        said = " ".join(_said(statement, node, comments, lines))
        if not (place or _says_why(said) or LABEL.search(docstrings)):
            yield f"{path.relative_to(PACKAGE)}:{node.lineno}: {node.value}: {lines[node.lineno - 1].strip()}"


def _is_place_or_format(outer: ast.AST, inner: ast.AST) -> bool:
    """A place in a list, digits of a rounding or a format, the default of a key (keys.py has it, labelled)."""
    if isinstance(outer, ast.keyword):
        return outer.arg == "cutoff"  # how like two words are before one is suggested
    if isinstance(outer, ast.Subscript):
        return outer.slice is inner
    if isinstance(outer, ast.Call):
        name = outer.func.attr if isinstance(outer.func, ast.Attribute) else getattr(outer.func, "id", "")
        return name in ("round", "range", "reshape", "lru_cache", "to_bytes", "value")
    return isinstance(outer, ast.FormattedValue)


def _said(statement: ast.stmt, node: ast.Constant, comments: dict[int, str], lines: list[str]) -> Iterator[str]:
    compound = isinstance(statement, ast.If | ast.For | ast.While | ast.With | ast.FunctionDef | ast.ClassDef)
    last = node.lineno if compound else statement.end_lineno or node.lineno
    yield from (comments[number] for number in range(statement.lineno, last + 1) if number in comments)
    number = statement.lineno - 1
    while CONSTANT.match(lines[statement.lineno - 1]) and CONSTANT.match(lines[number - 1]):
        number -= 1  # a block of constants below one comment
    while number in comments and lines[number - 1].lstrip().startswith("#"):
        yield comments[number]
        number -= 1


FILES = [path for path in sorted(PACKAGE.rglob("*.py")) if path.parts[len(PACKAGE.parts)] not in LAYOUT]


def test_every_number_says_where_it_comes_from() -> None:
    assert [line for path in FILES for line in unsourced(path)] == []


def test_the_walk_finds_a_bare_number(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(globals(), "PACKAGE", tmp_path)
    sample = tmp_path / "sample.py"
    sample.write_text(
        "BARE = 17.3\nUNIT = 17.4  # mm\nSAID = 17.5  # M: some handbook\n# C: both of these\nA = 17.6\nB = 17.7\n"
        "OTHER = 17.8  # as many as fit on one page\n\n\ndef f(x):\n    if x > 18.1:\n        return x  # P: not of the line above\n"
        "    return round(x, 18) + [x][0] + 2 * x + 1e-9\n"
    )
    assert [line.split(": ")[1] for line in unsourced(sample)] == ["17.3", "17.4", "18.1"]
    assert len(FILES) > 80


ROOMS = ("wheel", "measuring", "tension", "spokes", "bike", "salvage", "truing")
COMPUTES = re.compile(r"^(import (numpy|math)|from math)\b", re.MULTILINE)


def test_the_page_of_theory_names_every_module_that_computes() -> None:
    theory = (PACKAGE.parent / "reference" / "theory.md").read_text(encoding="utf-8")
    computing = [
        path.name
        for room in ROOMS
        for path in (PACKAGE / room).glob("*.py")
        if COMPUTES.search(path.read_text("utf-8"))
    ]
    assert len(computing) > 40
    assert [name for name in computing if not re.search(rf"\b{re.escape(name)}\b", theory)] == []
