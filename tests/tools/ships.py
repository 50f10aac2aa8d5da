"""Builds wheel and source archive, installs the wheel alone, and runs every command far from the checkout. By hand:

    .venv/bin/python -m tests.tools.ships [python3.11 python3.13 ...]

On every Python named (this one by default) with the newest versions of what it stands on; on the first also with the
lowest that pyproject.toml allows.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
import zipfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FLANGES = " ".join(
    f"--hub-{side}-holes 18 --hub-{side}-pcd 45 --hub-{side}-locknut-to-flange 33" for side in ("left", "right")
)
START = f"start new.toml --rim-holes 36 --rim-erd 602 --rim-erd-to spoke_end --hub-over-locknut 130 {FLANGES} --lacing-crosses 3"
CALLS = (
    *(
        START,
        "order new.toml",
        "measure --how rim.erd",
        "measure errand-rear-salvage.toml",
    ),
    *(
        "salvage errand-rear-salvage.toml",
        "fit errand-rear.toml",
        "fit smaller-wheels.toml",
        "lengths errand-rear.toml --working",
    ),
    *(
        "lengths trailer-two-to-one.toml --json",
        "order errand-rear.toml",
        "order errand-uneven.toml",
        "lace errand-rear.toml -o map.svg",
    ),
    *(
        "tension errand-rear.toml --structure",
        "tension errand-rear.toml -o strip.svg",
        "true errand-rear.toml errand-rear-readings.csv",
    ),
    *(
        "true errand-rear.toml --broken 14",
        "pluck errand-rear.toml errand-rear-right.wav --side right",
        "tap errand-rear.toml --radial errand-rim-inward.wav --lateral errand-rim-sideways.wav",
        "sheet errand-rear.toml -o sheet.html",
    ),
    *(
        "check errand-rear.toml",
        "stand --help",
        "compare errand-rear.toml errand-rear-fitted.toml",
        "tables",
        "tables keys",
        "tables rim_sizes --json",
    ),
)


def run(*command: str | Path, cwd: Path | None = None) -> str:
    environment = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run(
        list(map(str, command)), capture_output=True, text=True, check=False, cwd=cwd, env=environment
    )
    if done.returncode:
        raise SystemExit(f"{' '.join(map(str, command))}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
    return done.stdout


def built(folder: Path) -> Path:
    """The wheel; the source archive must give the same one."""
    tools = folder / "tools"
    run(sys.executable, "-m", "venv", tools)
    run(tools / "bin/python", "-m", "pip", "install", "-q", "hatchling")
    copy = folder / "copy"
    shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".*", "dist", "__pycache__"))
    run(tools / "bin/python", "-m", "hatchling", "build", "-d", folder / "dist", cwd=copy)
    (wheel,), (archive,) = (folder / "dist").glob("*.whl"), (folder / "dist").glob("*.tar.gz")
    run(
        tools / "bin/python",
        "-m",
        "pip",
        "wheel",
        "-q",
        "--no-deps",
        "--no-build-isolation",
        "-w",
        folder / "again",
        archive,
    )
    (again,) = (folder / "again").glob("*.whl")
    assert names(again) == names(wheel)
    assert any(name.startswith("wheelcalc/reference/") for name in names(wheel))
    assert not any(name.startswith(("tests/", "examples/")) for name in names(wheel))
    print(
        f"wheel {wheel.stat().st_size / 1000:.0f} kB, source archive {archive.stat().st_size / 1000:.0f} kB, the same files"
    )
    return wheel


def names(wheel: Path) -> list[str]:
    return sorted(zipfile.ZipFile(wheel).namelist())


def lowest() -> list[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [re.sub(r">=", "==", each) for each in project["dependencies"]]


def try_out(python: str, wheel: Path, pins: Sequence[str], folder: Path) -> None:
    """Install into a fresh environment and run every call from another folder."""
    place = Path(tempfile.mkdtemp(dir=folder))
    run(python, "-m", "venv", place / "env")
    run(place / "env/bin/python", "-m", "pip", "install", "-q", wheel, *pins)
    desk = place / "desk"
    shutil.copytree(ROOT / "examples", desk)
    where = run(place / "env/bin/python", "-c", "import wheelcalc; print(wheelcalc.__file__)", cwd=desk)
    assert Path(where.strip()).is_relative_to(place / "env"), where
    stopped = 0
    for call in CALLS:
        command = [
            str(place / "env/bin/python"),
            "-W",
            "error",
            "-m",
            "wheelcalc",
            *(word.replace("spoke_end", "spoke end") for word in call.split()),
        ]
        done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=desk)
        if done.returncode not in (0, 1) or not re.fullmatch(r"|Written: .*", done.stderr, re.DOTALL):
            raise SystemExit(f"{call}: status {done.returncode}\n{done.stderr}")
        stopped += done.returncode
    versions = run(place / "env/bin/python", "-m", "pip", "freeze").split()
    shown = [each for each in versions if each.lower().startswith(("numpy", "pint", "click", "tabulate"))]
    version = run(place / "env/bin/python", "-V").strip()
    print(f"{version}, {', '.join(shown)}: {len(CALLS)} calls, {stopped} with a stop finding")


def main() -> None:
    pythons = sys.argv[1:] or [sys.executable]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        wheel = built(folder)
        for python in pythons:
            try_out(python, wheel, (), folder)
        try_out(pythons[0], wheel, lowest(), folder)


if __name__ == "__main__":
    main()
