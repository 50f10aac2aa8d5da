"""The strip of what was heard: every spoke once, nothing on top of anything."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np

from wheelcalc import answers
from wheelcalc.answers.plucking.content import Round
from wheelcalc.paper.drawing import Drawing, Label
from wheelcalc.paper.pluck_sound import LOUD, SECONDS, STEP, sound_rows
from wheelcalc.paper.pluck_strip import pluck_strip
from wheelcalc.paper.strip import MARGIN, SIZE, WIDTH

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
    # The first is explained, those of the sound follow.
    circles = [float(each.get("cx", 0)) for each in tree.findall(f".//{SVG}circle")][
        1 : heard + 1
    ]  # the first is explained, those of the sound follow
    assert len(circles) == heard
    texts = list(tree.iter(f"{SVG}text"))[::-1]  # of one word the first counts: the scale stands above the sound
    marks = {each.text: float(each.get("x", 0)) for each in texts if each.get("text-anchor") == "middle"}
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


def large(drawing: Drawing) -> list[Label]:
    """The numbers of rim holes: larger than those of the seconds."""
    return [label for label in drawing.labels if label.bottom - label.top > 0.96 * SIZE]


def test_the_sound_below_it_shows_what_was_heard_where() -> None:
    answer = answers.pluck(
        EXAMPLES / "errand-rear.toml", EXAMPLES / "errand-rear-right.wav", round_=Round(side="right")
    )
    drawing = Drawing(WIDTH, 1.0, "sound")
    end = sound_rows(drawing, answer, 0.0)
    assert drawing.overlapping() == []
    assert max(label.bottom for label in drawing.labels) < end
    numbers = {label.text.rstrip("?"): label for label in large(drawing)}
    heard = [each for each in answer.heard if each.pluck.likely and each.spoke is not None]
    assert len(heard) >= 17
    for each in heard:
        label = numbers[str(answer.wheel.lacing.rim_hole[each.spoke])]
        x = MARGIN + (each.pluck.at % SECONDS) / SECONDS * (WIDTH - 2 * MARGIN)
        assert label.left - 1 <= x <= label.right + 1
    # The outline is loudest where the loudest sample is, 50 dB lower at nothing.
    tree = ET.fromstring(drawing.svg())
    first = tree.findall(f".//{SVG}polyline")[0].get("points", "").split()
    base, *heights = (float(point.split(",")[1]) for point in first[:-1])
    assert len(heights) == int((WIDTH - 2 * MARGIN) / STEP)
    assert all(0 <= base - each <= LOUD + 1e-6 for each in heights)


def test_a_pluck_that_was_not_heard_stands_without_a_number() -> None:
    answer = answers.pluck(
        EXAMPLES / "errand-rear.toml", EXAMPLES / "errand-rear-right.wav", round_=Round(side="right")
    )
    hidden = replace(answer.heard[4].pluck, there=0.2)
    heard = [*answer.heard[:4], replace(answer.heard[4], pluck=hidden), *answer.heard[5:]]
    whole, lacks = Drawing(WIDTH, 1.0, "sound"), Drawing(WIDTH, 1.0, "sound")
    sound_rows(whole, answer, 0.0)
    sound_rows(lacks, replace(answer, heard=heard), 0.0)
    assert {label.text for label in large(whole)} - {label.text for label in large(lacks)} == {"9"}
