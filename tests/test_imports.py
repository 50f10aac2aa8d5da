"""What a child interpreter has imported after a command: the start stays as light as click itself."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.making.builds import PLAIN, as_toml

EXAMPLE = Path(__file__).parents[1] / "examples" / "errand-rear.toml"
HEAVY = {"numpy", "pint", "tabulate", "importlib.metadata"}


def modules_after(*arguments: str) -> set[str]:
    code = (
        "import sys, io, json, contextlib\n"
        "from wheelcalc.cli.main import run\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n"
        f"    status = run({list(arguments)!r})\n"
        "print(json.dumps([status, sorted(sys.modules)]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    status, names = json.loads(done.stdout)
    assert status == 0
    return set(names)


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], [], ["order", "--help"], ["lengths", "--help"]])
def test_help_and_version_import_only_click(arguments: list[str]) -> None:
    loaded = modules_after(*arguments)
    assert not loaded & HEAVY
    assert not any(name.startswith(("wheelcalc.answers", "wheelcalc.files")) for name in loaded)


def test_bare_numbers_do_not_load_pint(tmp_path: Path) -> None:
    path = tmp_path / "plain.toml"
    path.write_text(as_toml(PLAIN))
    loaded = modules_after("lengths", str(path))
    assert "numpy" in loaded
    assert "pint" not in loaded
    assert not any(name.startswith("wheelcalc.tension.structure") for name in loaded)


# What a metric build may load beside the libraries that it needs anyway: little parts of the standard library, and numpy.typing.
BESIDES = {"tomllib", "signal", "encodings", "gc", "locale", "numpy"}


def test_a_metric_build_loads_the_libraries_it_needs_and_little_else() -> None:
    """Module names, not seconds: pint, its cache and what it stands on stay away."""
    code = "import json, sys, io, contextlib, click, numpy, tabulate; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    beside = modules_after("order", str(EXAMPLE)) - set(json.loads(done.stdout))
    whose = {name.split(".")[0].removeprefix("_") for name in beside}
    assert whose - {"wheelcalc"} <= BESIDES, beside


def test_the_library_itself_is_light() -> None:
    code = "import sys, wheelcalc; print(sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "numpy" not in done.stdout
    assert "click" not in done.stdout
