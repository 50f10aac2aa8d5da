"""How many small wrongs in the formulas the tests notice. Needs mutmut (the extra `mutants`); takes an hour or more.

    .venv/bin/python -m tests.benchmarks.mutants /tmp/mutants            # all names below
    .venv/bin/python -m tests.benchmarks.mutants /tmp/mutants tone fit   # only these
    .venv/bin/python -m tests.benchmarks.mutants /tmp/mutants tone --sample 120 --seed 2    # so many of them, drawn
    .venv/bin/python -m tests.benchmarks.mutants /tmp/mutants --table    # the table of what is known so far

The table: name, all mutants, those run, those noticed, of these by the time that they took, the share noticed, and
where only some were run between what the share of all lies (Wilson's interval, 19 in 20).

Works in a copy. Words are left out (a sentence is not a formula); properties are counted as any method: the copy
writes them as functions, which the tool can mutate. So is `cache` taken off there, since the tool leaves a
decorated function alone.
"""

from __future__ import annotations

import argparse
import ast
import json
import math
import os
import random
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
# Name: what is changed, and the tests that must notice: those of its own room, not those of what stands on it.
MODULES = {
    "lacing": ("wheel/lacing wheel/facts wheel/uneven", "wheel published/test_spoke_crossings_derived.py"),
    "wheel": (
        "wheel/wheel",
        "wheel/test_wheel.py published/test_spoke_geometry_derived.py published/test_side_balance.py",
    ),
    "lengths": (
        "spokes/lengths",
        "spokes published/test_spoke_geometry_derived.py published/test_jcgm_100_propagation.py",
    ),
    "ordering": ("spokes/ordering", "spokes"),
    "fit": ("bike/ends bike/width bike/spacers bike/clearances", "bike published/test_spacers_derived.py"),
    "chainline": ("bike/chainline", "bike/test_chainline.py published/test_chainline_practice.py"),
    "stance": ("bike/geometry", "bike/test_geometry.py published/test_frame_geometry.py"),
    "tension": (
        "tension/balance tension/targets tension/load",
        "tension/test_balance.py tension/test_targets.py tension/test_load.py published/test_side_balance.py "
        "published/test_spoke_geometry_derived.py",
    ),
    "structure": (
        "tension/structure tension/arc tension/prestress tension/ring_blocks tension/buckling tension/adjust",
        "tension/test_structure.py tension/test_structure_other_solvers.py tension/test_ring_blocks.py published",
    ),
    "truing": (
        "truing/turns truing/bounded truing/task truing/model truing/broken",
        "truing/test_turns.py truing/test_bounded.py truing/test_broken.py truing/test_task.py truing/test_model.py "
        "truing/test_passes.py",
    ),
    # Without the tests that try many wheels: they take long for each mutant, and formulas have their own.
    "evidence": ("truing/evidence", "truing/test_causes.py truing/test_evidence.py"),
    "learning": ("truing/learning truing/doubtful", "truing/test_learning.py truing/test_doubtful.py"),
    "slips": ("truing/slips", "truing/test_slip_odds.py"),
    "verdict": ("truing/verdict truing/forecast", "truing/test_forecast.py"),
    "tone": (
        "tension/tone",
        "tension/test_tone.py published/test_spoke_pitch_derived.py published/test_piano_wire.py "
        "published/test_fletcher_1964.py published/test_allen_1987.py published/test_vm53_string.py",
    ),
    "giving": (
        "wheel/give tension/loosening tension/remedies",
        "wheel/test_give.py tension/test_loosening.py tension/test_remedies.py published/test_ford_2018_wheels.py",
    ),
    "section": (
        "tension/section tension/calibration",
        "tension/test_section.py tension/test_calibration.py published/test_ford_2018_rims.py "
        "published/test_ford_2018_bent_rims.py",
    ),
    "deflection": ("tension/deflection", "tension/test_deflection.py published/test_deflection_gauge_derived.py"),
    # Without the tests that hear whole recordings: 17 s for a mutant that lives, of which the quick ones leave few.
    "tapped": (
        "measuring/tapped measuring/mode_fit measuring/rim_modes measuring/ringing measuring/spectra",
        "measuring/test_ringing_rules.py measuring/test_ringing_sums.py measuring/test_modes_weighed.py "
        "published/test_ford_2018_rims.py",
    ),
    "witness": (
        "salvage/witness salvage/trade salvage/slips salvage/catalogue",
        "salvage/test_slip_formulas.py measuring/test_statistics.py",
    ),
    "jar": ("salvage/jar", "salvage/test_jar.py"),
    "batch": ("batch", "batch"),
    "measuring": ("measuring/methods measuring/statistics", "measuring published/test_abramowitz_stegun_26.py"),
}
WORDS = ("operator_string", "operator_symmetric_string_methods_swap", "operator_unsymmetrical_string_methods_swap")
PROPERTIES = ("property", "cached_property")
# A table that is made once, at import, before the tool can change anything: in the copy it is made at each use.
AT_IMPORT = (
    "METHODS = _methods()",
    'METHODS = type("Each", (), {"__iter__": lambda self: iter(_methods()), "__len__": lambda self: len(_methods()), '
    '"__contains__": lambda self, method: method in _methods()})()',
)
# The tool forks from a process that has run all tests once: what was kept there must not stand in for what a mutant does.
FORGET = """

def pytest_sessionstart() -> None:
    import sys
    from pathlib import Path

    for name, module in list(sys.modules.items()):
        if name.startswith("wheelcalc"):
            for value in vars(module).values():
                getattr(value, "cache_clear", int)()
        elif str(getattr(module, "__file__", "")).startswith(str(Path(__file__).parent)) and "conftest" not in name:
            del sys.modules[name]
"""
ALIVE = (0, 5, 33)  # codes of the tool: the tests passed, or there were none
BY_TIME = (36, 24, -24, 152, 255)  # codes of the tool: the tests took too long


def plain(text: str) -> str:
    """The same module with its properties written as functions, which the tool mutates."""
    text = text.replace(*AT_IMPORT).replace("\n@cache\n", "\n")
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


def copied(place: Path, name: str) -> None:
    """The checkout as it stands, with the tool's settings for one of the names above."""
    shutil.rmtree(place, ignore_errors=True)
    for folder in ("wheelcalc", "reference", "examples", "tests"):
        shutil.copytree(ROOT / folder, place / folder, ignore=shutil.ignore_patterns("__pycache__"))
    with (place / "tests/conftest.py").open("a", encoding="utf-8") as conftest:
        conftest.write(FORGET)
    paths, tests = MODULES[name]
    for path in paths.split():
        module = place / "wheelcalc" / f"{path}.py"
        module.write_text(plain(module.read_text(encoding="utf-8")), encoding="utf-8")
    settings = {
        "source_paths": ["wheelcalc"],
        "only_mutate": [f"wheelcalc/{path}.py" for path in paths.split()],
        "also_copy": ["reference", "examples"],
        "pytest_add_cli_args_test_selection": [f"tests/{test}" for test in tests.split()],
        "pytest_add_cli_args": ["-n", "0", "-p", "no:cacheprovider"],
        "timeout_constant": 5.0,
        "timeout_multiplier": 10.0,
    }
    lines = [f"{key} = {json.dumps(value)}" for key, value in settings.items()]
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    (place / "pyproject.toml").write_text(project + "\n[tool.mutmut]\n" + "\n".join(lines) + "\n", encoding="utf-8")


def mutate(jobs: int, sample: int | None, seed: int) -> None:
    """Run the tool in the current folder, without the mutations of words; of a sample alone where one is asked for."""
    from mutmut import __main__ as tool
    from mutmut.mutation import mutators
    from mutmut.runners.harness import PytestRunner
    from mutmut.state import state

    mutators.mutation_operators[:] = [pair for pair in mutators.mutation_operators if pair[1].__name__ not in WORDS]
    every, run_tests = tool.collect_source_file_mutation_data, PytestRunner.run_tests

    def drawn(**options: Any) -> Any:
        mutants, files = every(**options)
        mutants.sort(key=lambda each: each[1])
        return random.Random(seed).sample(mutants, min(sample or len(mutants), len(mutants))), files

    def fastest_first(self: Any, *, mutant_name: str | None, tests: Any) -> int:
        ordered = sorted(tests, key=lambda each: (state().duration_by_test.get(each, 0.0), each))
        return run_tests(self, mutant_name=mutant_name, tests=ordered)

    tool.collect_source_file_mutation_data, PytestRunner.run_tests = drawn, fastest_first
    tool.cli(["run", "--max-children", str(jobs)])


def between(count: int, of: int) -> tuple[float, float]:
    """Wilson's interval of a share, 19 in 20: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209 (M)."""
    z, p = 1.96, count / of
    middle, half = p + z**2 / (2 * of), z * math.sqrt(p * (1 - p) / of + (z / (2 * of)) ** 2)
    return (middle - half) / (1 + z**2 / of), (middle + half) / (1 + z**2 / of)


def table(place: Path) -> None:
    """Per name: how many mutants there are, were run, were noticed, by time alone; the share; and which were not noticed."""
    lived: list[str] = []
    for name in MODULES:
        files = (place / name / "mutants/wheelcalc").rglob("*.py.meta")
        codes = {key: code for file in files for key, code in json.loads(file.read_text())["exit_code_by_key"].items()}
        known = {key: code for key, code in codes.items() if code is not None}
        if not known:
            continue
        alive = [key for key, code in known.items() if code in ALIVE]
        lived += alive
        count, late = len(known) - len(alive), sum(code in BY_TIME for code in known.values())
        line = f"{name:12}{len(codes):7}{len(known):7}{count:7}{late:7}{100 * count / len(known):7.1f} %"
        low, high = between(count, len(known))
        print(line + (f" {100 * low:7.1f} to {100 * high:.1f} %" if len(known) < len(codes) else ""))
    (place / "alive.txt").write_text("\n".join(lived) + "\n")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("place", type=Path)
    parser.add_argument("names", nargs="*", choices=[*MODULES, []], metavar="NAME")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--sample", type=int, metavar="N")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--table", action="store_true")
    parser.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    place = options.place.resolve()
    if options.here:
        mutate(options.jobs, options.sample, options.seed)
        return
    for name in [] if options.table else options.names or MODULES:
        copied(place / name, name)
        command = [sys.executable, str(Path(__file__)), str(place), "--here", "--jobs", str(options.jobs)]
        command += [f"--seed={options.seed}", *([f"--sample={options.sample}"] if options.sample else [])]
        subprocess.run(command, cwd=place / name, check=False)
    table(place)


if __name__ == "__main__":
    main()
