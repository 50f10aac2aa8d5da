"""The examples in docstrings say what really comes out, and the parameters that they explain are there."""

from __future__ import annotations

import ast
import doctest
import re
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PARAMETERS = re.compile(r"Parameters\n-+\n(.*?)(?=\n\n[A-Z][a-z]+\n---|\Z)", re.DOTALL)
NAMES = re.compile(r"^(\S[^:\n]*) : ", re.MULTILINE)


def test_examples(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    with_examples = [path for path in (ROOT / "wheelcalc").rglob("*.py") if ">>>" in path.read_text(encoding="utf-8")]
    names = [".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for path in with_examples]
    found = {name: doctest.testmod(import_module(name)) for name in names}
    assert sum(tried.attempted for tried in found.values()) >= 12
    assert {name: tried.failed for name, tried in found.items() if tried.failed} == {}


def explained(node: ast.FunctionDef | ast.ClassDef) -> list[str]:
    """Names under the Parameters of a docstring."""
    section = PARAMETERS.search(ast.get_docstring(node) or "")
    rows = NAMES.findall(section[1]) if section else []
    return [name.strip().lstrip("*") for row in rows for name in row.split(",")]


def taken(node: ast.FunctionDef | ast.ClassDef) -> set[str]:
    """Arguments of a function; fields of a class, and what makes it."""
    if isinstance(node, ast.FunctionDef):
        every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs, node.args.vararg, node.args.kwarg]
        return {each.arg for each in every if each}
    fields = {
        each.target.id for each in node.body if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name)
    }
    made = [each for each in node.body if isinstance(each, ast.FunctionDef) and each.name in ("__init__", "__new__")]
    return fields.union(*(taken(each) for each in made))


def test_parameters_explained_are_there() -> None:
    """A name that was changed in the code is changed in its docstring."""
    wrong = []
    for path in (ROOT / "wheelcalc").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                gone = set(explained(node)) - taken(node)
                wrong += [f"{path.name}:{node.lineno} {node.name}: {name}" for name in sorted(gone)]
    assert wrong == []
