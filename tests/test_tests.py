"""Tests hold what a person uses: no private name of the package, so that its inside can change."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

TESTS = Path(__file__).parent
ALLOWED = {"_replace"}  # of every named tuple, and public in spite of its name


def private_names(path: Path) -> Iterator[str]:
    """Names that begin with one underscore and are not the file's own."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    own = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef)}
    own |= {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store)}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("wheelcalc"):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.Attribute):
            names = [node.attr]
        else:
            continue
        for name in names:
            if name.startswith("_") and not name.startswith(("__", "_repr_")) and name not in own | ALLOWED:
                yield f"{path.relative_to(TESTS)}:{node.lineno}: {name}"


def test_no_test_holds_a_private_name() -> None:
    assert [found for path in sorted(TESTS.rglob("*.py")) for found in private_names(path)] == []
