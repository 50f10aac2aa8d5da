"""The strip of what was heard: every spoke once, nothing on top of anything."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

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
    assert len(tree.findall(f".//{SVG}circle")) == heard
    assert drawing.overlapping() == []
    inside = [label for label in drawing.labels if label.left < 0 or label.right > drawing.width]
    assert inside == []
    words = " ".join(label.text for label in drawing.labels)
    assert "not calibrated" in words
    assert "right, mean" in words
