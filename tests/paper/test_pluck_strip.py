"""The strip of what was heard: every spoke once, nothing on top of anything."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np

from wheelcalc import answers
from wheelcalc.answers.plucking.content import Round
from wheelcalc.paper.pluck_strip import pluck_strip

EXAMPLES = Path(__file__).parents[2] / "examples"
SVG = "{http://www.w3.org/2000/svg}"


def test_a_point_for_every_spoke_heard_and_no_labels_on_each_other() -> None:
    answer = answers.pluck(
        EXAMPLES / "errand-rear.toml", EXAMPLES / "errand-rear-right.wav", round_=Round(side="right")
    )
    drawing = pluck_strip(answer)
    tree = ET.fromstring(drawing.svg())
    heard = sum(force == force for force in answer.tension.tolist())
    assert heard >= 17
    circles = [float(each.get("cx", 0)) for each in tree.findall(f".//{SVG}circle")][1:]  # the first is explained
    assert len(circles) == heard
    marks = {t.text: float(t.get("x", 0)) for t in tree.iter(f"{SVG}text") if t.get("text-anchor") == "middle"}
    zero, five = marks["0"], marks["5"]
    away = 100 * (answer.tension / answer.sides["right"].tension - 1)
    np.testing.assert_allclose((np.array(circles) - zero) / (five - zero) * 5, away[np.isfinite(away)], atol=1e-3)
    assert drawing.overlapping() == []
    inside = [label for label in drawing.labels if label.left < 0 or label.right > drawing.width]
    assert inside == []
    words = " ".join(label.text for label in drawing.labels)
    assert "Not calibrated" in words
    assert f"mean: right {answer.sides['right'].tension:.0f} N" in words
    assert {"-10", "-5", "0", "5", "10"} <= {label.text for label in drawing.labels}
    assert sum(label.text == f"{answer.tension[0]:.0f} +-{1.96 * answer.own[0]:.0f}" for label in drawing.labels) >= 1
