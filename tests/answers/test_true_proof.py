"""`true` where the readings do not tell whether a sign is right: the first nipple is turned alone, and the gauge watched."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from wheelcalc import answers
from wheelcalc.page.text import to_text

EXAMPLES = Path(__file__).parents[2] / "examples"


def columns() -> dict[str, np.ndarray]:
    lines = (EXAMPLES / "errand-rear-readings.csv").read_text("utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    names = {"lateral": "lateral_mm", "radial": "radial_mm", "tension": "tension_N"}
    return {name: np.array([float(row[column] or "nan") for row in rows]) for name, column in names.items()}


@pytest.mark.parametrize("sign", [1, -1])
def test_without_tensions_the_first_nipple_tells_the_sign(sign: int) -> None:
    """D: a tighter left nipple pulls the rim to the left, whatever the readings say."""
    read = columns()
    answer = answers.true(EXAMPLES / "errand-rear.toml", lateral=sign * read["lateral"], radial=read["radial"])
    proof = answer.as_json()["proof"]
    turned = {row["rim_hole"]: row for row in answer.as_json()["turns"]}[proof["rim_hole"]]
    assert proof["turns"] == turned["turns"]
    way = (1 if turned["side"] == "right" else -1) * np.sign(proof["turns"])
    assert np.sign(proof["lateral_change_mm"]) == way
    assert abs(proof["lateral_change_mm"]) > 0.2
    (finding,) = [each for each in answer.findings if each.name == "sign-not-proven"]
    assert finding.level == "caution"
    text = " ".join(to_text(answer.page()).split())
    assert f"First hole {proof['rim_hole']} alone" in text
    assert f"lateral there must {'rise (the rim goes right)' if way > 0 else 'fall (the rim goes left)'}" in text


def test_where_the_sign_is_clear_no_proof_is_asked() -> None:
    answer = answers.true(EXAMPLES / "errand-rear.toml", **columns())
    assert answer.as_json()["proof"] is None
    assert "alone" not in to_text(answer.page())
