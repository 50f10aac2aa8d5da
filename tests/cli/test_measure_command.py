"""wheelcalc measure: its words, its JSON, and how to take a reading."""

import json
import re
from pathlib import Path

import pytest

from wheelcalc.cli.main import run
from wheelcalc.files import how
from wheelcalc.files.keys import keys

SHED = str(Path(__file__).parents[2] / "examples" / "errand-rear-salvage.toml")


def test_text(capsys):
    assert run(["measure", SHED]) == 0
    text = capsys.readouterr().out
    assert re.search(r"rim\.erd +602\.9 +0\.9 +yes", text)
    assert "rim.erd: the weighted mean of 3 ways; they agree within their errors." in text
    assert max(map(len, text.splitlines())) <= 80


def test_how_without_a_key_says_which_there_are(capsys):
    assert run(["measure", "--how"]) == 2
    assert run(["measure", SHED, "--how"]) == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 2
    assert all("--how: needs a key; it can explain: rim.erd, hub.pcd" in line for line in said)


def test_json(capsys):
    assert run(["measure", SHED, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["schema"] == "wheelcalc/measure/1"
    rows = {row["name"]: row for row in answer["dimensions"]}
    assert {"rim.erd", "hub.left.pcd", "hub.right.locknut_to_flange", "frame.dropout_spacing"} <= set(rows)
    assert all({"name", "value_mm", "sigma_mm", "from"} <= set(row) and row["sigma_mm"] > 0 for row in rows.values())
    # D: (42.3 + 47.3)/2 by edges and 42.1/sin(7 x 10 degrees) by chord, errors 0.354 and 0.532
    assert rows["hub.left.pcd"]["value_mm"] == pytest.approx(
        (44.8 / 0.125 + 44.8018 / 0.28312) / (1 / 0.125 + 1 / 0.28312), abs=1e-3
    )


def test_csv(tmp_path, capsys):
    target = tmp_path / "dimensions.csv"
    assert run(["measure", SHED, "-o", str(target)]) == 0
    assert target.read_text().startswith("name,value_mm,sigma_mm,from,used\nhub.over_locknut,130.1,")


@pytest.mark.parametrize("topic", how.topics())
def test_how_fits_a_page_and_shows_keys_that_exist(topic, capsys):
    assert run(["measure", "--how", topic]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    assert text.isascii()
    section = ""
    for line in how.how(topic).write.splitlines():
        if line.startswith("["):
            section = line.strip("[]")
        elif "=" in line:
            path = f"{section}.{line.partition(' =')[0]}"
            assert path in keys() or any(key.startswith(f"{path}.") for key in keys()), path


def test_every_reading_has_its_how():
    assert [key for key in keys() if key.startswith("readings.") and not how.topic(key)] == []


@pytest.mark.parametrize(
    ("key", "topic"),
    [
        ("rim", "rim.erd"),
        ("hub.right.pcd", "hub.pcd"),
        ("readings.hub.left.known_spoke.length", "straight heads"),
        ("nipple.seat_to_end", "nipple"),
        ("nipple.slot_depth", "nipple"),
        ("rim.section.depth", None),
        ("rim.hole_diameter", None),
        ("geometry.new.fork_offset", None),
    ],
)
def test_a_key_is_explained_by_its_own_topic(key, topic):
    assert how.topic(key) == topic


def test_a_key_without_a_method_is_explained_in_a_sentence(capsys):
    bare = [key for key in keys() if how.topic(key) is None and not key.startswith("limits.")]
    assert len(bare) > 100

    def explained(key):
        status, text = run(["measure", "--how", key]), capsys.readouterr().out
        return status == 0 and text.startswith(key) and " ".join(keys()[key].how[1:].split()) in " ".join(text.split())

    assert [key for key in bare if not explained(key)] == []


def test_cost_is_that_of_the_methods(capsys):
    assert run(["measure", "--how", "readings.rim.two_spokes", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    # D: a length counted twice and a gap once, rule 0.5: sqrt(1 + 0.25); tape 1/pi, depth twice
    assert answer["cost"][0]["sigma_rule_mm"] == pytest.approx(1.118, abs=1e-3)
    assert answer["cost"][1]["sigma_rule_mm"] == pytest.approx(1.049, abs=1e-3)
    # D: a tape is good to 1 mm: sqrt(4 + 1)
    assert answer["cost"][0]["sigma_tape_mm"] == pytest.approx(2.236, abs=1e-3)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["measure"], "--how KEY"),
        (["measure", "--how", "saddle"], "there is no method"),
        (["measure", SHED, "--set", "readings.rim.two_spokes.gap=-270"], "readings.rim.two_spokes.gap"),
    ],
)
def test_bad_input_is_one_line(arguments, words, capsys):
    assert run(arguments) == 2
    out = capsys.readouterr()
    assert out.out == ""
    assert out.err.startswith("Error: ")
    assert words in out.err
    assert out.err.count("\n") == 1
