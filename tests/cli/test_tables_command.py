"""`wheelcalc tables`: what it prints."""

from __future__ import annotations

import csv
import json

import pytest
from click.testing import CliRunner

from wheelcalc.answers.reference import tables as answer
from wheelcalc.cli import main
from wheelcalc.cli.main import COMMANDS
from wheelcalc.cli.tables import command
from wheelcalc.files import tables
from wheelcalc.files.keys import keys, lists
from wheelcalc.wheel.errors import InputError


def run(*words: str) -> str:
    result = CliRunner().invoke(command, list(words), catch_exceptions=False)
    assert result.exit_code == 0
    return result.output


def test_without_a_name_it_lists_every_table_on_a_line():
    lines = run().splitlines()
    for name in tables.names():
        assert [line for line in lines if line.startswith(f"{name} ")], name


@pytest.mark.parametrize("name", tables.names())
def test_a_table_fits_80_columns_of_plain_text_and_loses_nothing(name):
    text = run(name)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.isascii()
    packed = "".join(text.split())
    for row in tables.load(name):
        for key, value in row.items():
            if key not in ("agree", "default", "eyelets"):
                words = tables.shown(value).split()
                assert all(word in packed for word in words), (key, value)


def test_find_keeps_rows_with_all_words():
    text = run("chainline", "--find", "road disc")
    assert "road double disc A" in text
    assert "43.5 + 2.5; older cranks 43.5" in text
    assert "P LZ" in text
    assert "track" not in text


def test_find_without_a_name_looks_through_all_tables():
    found = json.loads(run("--find", "142", "--json"))
    assert {"widths", "chainlines", "rotors"} <= {table["name"] for table in found["tables"]}
    assert all("142" in json.dumps(row) for table in found["tables"] for row in table["rows"])


def test_nothing_found_is_a_note():
    assert run("--find", "qwertyuiop").startswith("Nothing found.\n\nNote     No row of any table holds")
    assert run("--find", "qwertyuiop", "--sources").count("Note ") == 1
    (finding,) = answer("cogs", "qwertyuiop").findings
    assert (finding.level, finding.name) == ("note", "nothing-found")


def test_json_holds_rows_and_the_sources_that_they_cite():
    found = json.loads(run("gauge", "--json"))
    assert found["schema"] == "wheelcalc/tables/1"
    assert (found["findings"], found["assumptions"]) == ([], [])
    (table,) = found["tables"]
    assert table["name"] == "gauges"
    assert table["rows"] == tables.load("gauges")
    assert [source["id"] for source in found["sources"]] == ["S6"]


def test_sources_of_one_table_and_of_all():
    assert "S. Brown: glossary, Gauge" in run("gauges", "--sources")
    assert "S. Brown: glossary, Gauge" not in run("torques", "--sources")
    everything = run("--sources")
    assert "16 CFR 1512" in everything
    assert "from memory" in everything
    assert max(len(line) for line in everything.splitlines()) <= 80


def test_an_unknown_name_is_an_input_error():
    with pytest.raises(InputError, match='the nearest is "chainlines"'):
        run("chianlines")


def test_the_answer_shows_itself_in_a_notebook():
    assert '<td class="number">13</td>' in answer("gauges")._repr_html_()


def test_words_under_a_row_reach_across_its_columns_on_paper(tmp_path):
    run("widths", "-o", str(tmp_path / "widths.html"))
    html = (tmp_path / "widths.html").read_text()
    assert (
        '<tr><td colspan="7">folding; respace only with the maker\'s axle parts</td></tr>'.replace("'", "&#x27;")
        in html
    )
    assert "<title>Hub widths and the ends" in html


def test_csv_has_every_row_and_a_column_for_every_key(tmp_path):
    run("--find", "142", "-o", str(tmp_path / "rows.csv"))
    with (tmp_path / "rows.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    found = [row for name in tables.names() for row in tables.find(name, "142")]
    assert len(rows) == len(found)
    wide = next(row for row in rows if row["table"] == "widths" and row["width"] == "142")
    assert (wide["inner_faces"], wide["label"], wide["source"]) == ("135", "P", "NB")


def test_every_key_stands_on_a_line_of_its_own_with_its_whole_name():
    lines = run("keys").splitlines()
    every = [*keys(), *(f"{section}.{name}" for section, each in lists().items() for name in each)]
    (rule,) = (place for place, line in enumerate(lines) if line.startswith("---"))
    listed = [line.split()[0] for line in lines[rule + 1 :] if line and not line.startswith(" ")]
    assert listed[: len(every)] == every
    assert max(map(len, lines)) <= 80


def test_few_keys_are_explained():
    text = run("keys", "--find", "bead_seat")
    assert "rim.bead_seat_diameter" in text
    assert "second number of the tyre's size mark" in text
    assert run("keys", "--find", "qwertyuiop").startswith("Nothing found.\n\nNote     No row of")


@pytest.mark.parametrize("command", sorted(set(COMMANDS) - {"tables"}))
def test_every_command_says_where_the_keys_stand(command, capsys):
    assert main.run([command, "--help"]) == 0
    assert "wheelcalc tables keys" in capsys.readouterr().out
