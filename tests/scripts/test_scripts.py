"""Five scripts as a user writes them: each runs as it stands, and what it finds is held against something else."""

from __future__ import annotations

import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.making import errand_session
from wheelcalc import answers

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SCRIPTS = sorted(path for path in HERE.glob("*.py") if path.name != Path(__file__).name)
TYPED = """
from typing import Any
import pint
from wheelcalc import InputError, answers, batch, lacing, pictures

units: Any = pint.UnitRegistry()
length: float = answers.order("b.toml", {"rim.erd": units.Quantity(602.4, "mm")}).lines[0].length
stop: bool = answers.true("b.toml", lateral=[0.1] * 36).stops
names: list[str] = list(answers.lengths("b.toml").rows()[0])
svg: str = pictures.picture(answers.tension("b.toml")).svg()
sheet: str = answers.sheet("b.toml").html
middle: float = float(batch.Wheels(erd=602.4, holes=32, pcd=45, offset=20).lengths["left"].mean())
count: int = len(lacing.crossed(32, 3))
wrong: int = answers.order("b.toml").title
"""


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.chdir(ROOT)
    return lambda name: runpy.run_path(str(HERE / name), run_name="__main__")


def test_crosses_move_the_lengths(run: Any, capsys: pytest.CaptureFixture[str]) -> None:
    rows = run("crosses.py")["rows"]
    assert len(rows) == len(capsys.readouterr().out.splitlines()) == 5
    left = [row[1] for row in rows]
    assert left == sorted(left)
    assert rows[3][1] == pytest.approx(answers.lengths("examples/errand-rear.toml").sides["left"].cut)  # the file has 3


def test_a_thousand_hubs_are_ranked_by_what_the_rim_asks(run: Any) -> None:
    names = run("thousand_hubs.py")
    rows = names["rows"]
    assert len(rows) == 5
    hub, best = names["hubs"](), int(rows[0]["hub"])
    assert min(row["chance"] for row in rows) > 0.95
    assert rows[0]["left_spacer"] + rows[0]["right_spacer"] == pytest.approx(130.0 - hub["over_locknut"][best])
    assert [row["evenness"] for row in rows] == sorted((row["evenness"] for row in rows), reverse=True)


def test_the_plot_is_drawn(run: Any) -> None:
    picture = run("ratio_plot.py")["picture"]
    assert picture.count('id="line2d_') > 3
    assert "viewBox" in picture


def test_the_rig_trues_a_wheel_that_it_does_not_know(run: Any, capsys: pytest.CaptureFixture[str]) -> None:
    case, rng = errand_session.hit()
    before = np.ptp(case.real.lateral)

    class Simulated:
        turned = 0

        def read(self) -> dict[str, np.ndarray]:
            return dict(zip(("lateral", "radial", "tension"), case.read(rng), strict=True))

        def turn(self, turns: np.ndarray) -> None:
            self.turned += 1
            case.turn(turns, rng)

    stand = Simulated()
    passes = run("rig.py")["trued"](stand)
    assert 1 <= stand.turned == len(passes) - 1 <= 5
    assert np.ptp(case.real.lateral) < min(0.4, before / 3)  # 0.3 asked for, and the noise of reading
    assert "turns, " in capsys.readouterr().out


def test_an_own_pattern_is_a_wheel(run: Any) -> None:
    names = run("own_pattern.py")
    wheel = names["mine"]
    assert len(wheel.lengths) == 24
    assert (np.abs(wheel.lacing.lean) == 1).all()
    assert len(set(zip(wheel.lacing.sides, wheel.lacing.hub_hole.tolist(), strict=True))) == 24
    assert names["picture"].startswith("<svg ")


def test_scripts_are_strictly_typed_for_who_has_only_the_package(tmp_path: Path) -> None:
    """py.typed is there: mypy knows what answers hold, and refuses what is wrong."""
    own = tmp_path / "own.py"
    own.write_text(TYPED, encoding="utf-8")
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "mypy",
            "--strict",
            "--config-file=",
            "--cache-dir",
            str(ROOT / ".mypy_cache"),
            own,
            *SCRIPTS,
        ],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    found = [line for line in done.stdout.splitlines() if ": error:" in line]
    assert len(found) == 1, done.stdout + done.stderr
    assert "own.py:14: error: Incompatible types" in found[0]
