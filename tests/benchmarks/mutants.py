"""How many small wrongs in the formulas the tests notice. Needs mutmut (the extra `mutants`); takes an hour or more.

    .venv/bin/python tests/benchmarks/mutants.py /tmp/mutants            # all modules below
    .venv/bin/python tests/benchmarks/mutants.py /tmp/mutants tone arc   # only these
    .venv/bin/python tests/benchmarks/mutants.py /tmp/mutants --table    # the table of what is known so far

Works in a copy. Words are left out (a sentence is not a formula); properties are counted as any method: the copy
writes them as functions, which the tool can mutate.
"""

from __future__ import annotations

import argparse
import ast
import collections
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MODULES = {
    "lacing": ("wheel/lacing", "wheel/facts", "wheel/uneven"),
    "wheel": ("wheel/wheel",),
    "lengths": ("spokes/lengths",),
    "ordering": ("spokes/ordering",),
    "fit": ("bike/fit", "bike/width", "bike/spacers", "bike/clearances"),
    "chainline": ("bike/chainline",),
    "stance": ("bike/geometry",),
    "tension": ("tension/balance", "tension/targets", "tension/load"),
    "structure": (
        "tension/structure",
        "tension/arc",
        "tension/prestress",
        "tension/ring_blocks",
        "tension/buckling",
        "tension/adjust",
    ),
    "truing": ("truing/turns", "truing/estimate", "truing/bounded", "truing/task", "truing/model", "truing/broken"),
    "tone": ("tension/tone",),
    "measuring": ("measuring/methods", "measuring/statistics"),
}
TESTS = ("wheel", "spokes", "bike", "tension", "truing", "measuring", "published", "answers", "salvage")
WORDS = ("operator_string", "operator_symmetric_string_methods_swap", "operator_unsymmetrical_string_methods_swap")
PROPERTIES = ("property", "cached_property")
DEAD = ("killed", "timeout", "segfault")


def plain(text: str) -> str:
    """The same module with its properties written as functions, which the tool mutates."""
    lines = text.splitlines()
    found = [
        (node, node.decorator_list[0].id)
        for cls in ast.walk(ast.parse(text))
        if isinstance(cls, ast.ClassDef)
        for node in cls.body
        if isinstance(node, ast.FunctionDef) and len(node.decorator_list) == 1
        if isinstance(node.decorator_list[0], ast.Name) and node.decorator_list[0].id in PROPERTIES
    ]
    for node, kind in sorted(found, key=lambda pair: -pair[0].lineno):
        indent = " " * node.col_offset
        lines[node.lineno - 1] = lines[node.lineno - 1].replace(f"def {node.name}(", f"def of_{node.name}(", 1)
        lines.insert(node.end_lineno or 0, f"{indent}{node.name} = {kind}(of_{node.name})")
        del lines[node.decorator_list[0].lineno - 1]
    return "\n".join(lines) + "\n"


def copied(place: Path, modules: list[str]) -> None:
    """The checkout as it stands, with the tool's settings."""
    for name in ("wheelcalc", "reference", "examples", "tests", "mutants"):
        shutil.rmtree(place / name, ignore_errors=True)
    for name in ("wheelcalc", "reference", "examples", "tests"):
        shutil.copytree(ROOT / name, place / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, place)
    paths = [f"wheelcalc/{path}.py" for paths in MODULES.values() for path in paths]
    for path in paths:
        (place / path).write_text(plain((place / path).read_text(encoding="utf-8")), encoding="utf-8")
    settings = {
        "source_paths": ["wheelcalc"],
        "only_mutate": [f"wheelcalc/{path}.py" for name in modules for path in MODULES[name]],
        "also_copy": ["reference", "examples", "README.md", "DEVELOPERS.md"],
        "pytest_add_cli_args_test_selection": [f"tests/{name}" for name in TESTS],
        "pytest_add_cli_args": ["-p", "no:cacheprovider"],
    }
    lines = [f"{name} = {json.dumps(value)}" for name, value in settings.items()]
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    (place / "pyproject.toml").write_text(project + "\n[tool.mutmut]\n" + "\n".join(lines) + "\n", encoding="utf-8")


def mutate(jobs: int) -> None:
    """Run the tool in the current folder, without the mutations of words."""
    from mutmut.mutation import mutators

    mutators.mutation_operators[:] = [pair for pair in mutators.mutation_operators if pair[1].__name__ not in WORDS]
    from mutmut.__main__ import cli

    cli(["run", "--max-children", str(jobs)])


def table(place: Path) -> None:
    """Per module: how many mutants, how many the tests noticed."""
    for name, paths in MODULES.items():
        count: collections.Counter[str] = collections.Counter()
        for path in paths:
            file = place / "mutants/wheelcalc" / f"{path}.py.meta"
            if file.exists():
                count.update(map(verdict, json.loads(file.read_text())["exit_code_by_key"].values()))
        known = sum(count.values()) - count["unknown"]
        dead = sum(count[each] for each in DEAD)
        print(f"{name:12}{known:7}{dead:7}{100 * dead / known if known else 0:7.1f} %   {dict(count)}")


def verdict(code: int | None) -> str:
    from mutmut.__main__ import status_by_exit_code

    return "unknown" if code is None else str(status_by_exit_code[code])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("place", type=Path)
    parser.add_argument("modules", nargs="*", choices=[*MODULES, []], metavar="MODULE")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--table", action="store_true")
    parser.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    place = options.place.resolve()
    if options.here:
        mutate(options.jobs)
        return
    if not options.table:
        place.mkdir(exist_ok=True)
        copied(place, options.modules or list(MODULES))
        command = [sys.executable, str(Path(__file__)), str(place), "--here", "--jobs", str(options.jobs)]
        subprocess.run(command, cwd=place, check=False)
    os.chdir(place)
    table(place)


if __name__ == "__main__":
    main()
