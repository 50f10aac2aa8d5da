"""The reader of the tables: where they lie, names, search, errors."""

from __future__ import annotations

import subprocess
import sys

import pytest

from wheelcalc.files import tables
from wheelcalc.wheel.errors import InputError


@pytest.mark.parametrize(
    ("asked", "meant"),
    [
        ("chainlines", "chainlines"),
        ("chainline", "chainlines"),
        ("chain", "chains"),  # the singular goes before the beginning of another name
        ("Rim sizes", "rim_sizes"),
        ("rim-s", "rim_sizes"),
        ("tyre", "tyre_fits"),
        (" width ", "widths"),
    ],
)
def test_a_name_may_be_short(asked, meant):
    assert tables.full_name(asked) == meant


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("chianlines", 'the nearest is "chainlines"'),
        ("t", "threads, torques, trueness"),
        ("zzz", "there are: "),
        ("", "there are: "),
        ("sources", "there is no"),
        ("../pyproject", "there is no"),
        ("x\ny" * 100_000, "there is no"),
    ],
)
def test_an_unknown_name_is_said_in_one_short_line(asked, says):
    with pytest.raises(InputError) as caught:
        tables.load(asked)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 600


def test_find_wants_every_word_in_any_case():
    found = tables.find("chainlines", "DISC road")
    assert [row["name"] for row in found] == ["road double disc A", "road double disc B", "road double wide disc"]
    assert tables.find("chainlines", "disc nothing-like-it") == []
    assert tables.find("chainlines", "") == tables.load("chainlines")


def test_find_sees_numbers_as_they_are_printed():
    assert [row["width"] for row in tables.find("widths", "157 through")] == [150, 157]
    assert [row["count"] for row in tables.find("cogs", "3.5-3.7")] == [12]


def test_row_takes_text_and_numbers():
    assert tables.row("chainlines", "name", " Road Double ")["chainline"] == 43.5
    assert tables.row("gauges", "diameter", 1.8)["gauge"] == 15
    assert tables.row("gauges", "diameter", 2.0)["gauge"] == 14
    assert tables.row("gauge", "french", 15)["gauge"] == 13


def test_row_that_is_not_there_names_the_nearest():
    with pytest.raises(InputError, match='the nearest is "road double"'):
        tables.row("chainlines", "name", "road duoble")
    with pytest.raises(InputError, match="there are: 12, 13"):
        tables.row("gauges", "gauge", 99)


def test_what_a_caller_changes_stays_his():
    tables.load("gauges")[0]["gauge"] = 0
    tables.limits()["low_chance"] = 0
    tables.sources().clear()
    assert tables.load("gauges")[0]["gauge"] == 12
    assert tables.limits()["low_chance"] == 0.8
    assert tables.sources()


def test_limits_are_floats():
    assert all(type(value) is float for value in tables.limits().values())


@pytest.mark.parametrize(
    ("source", "ids"),
    [
        ("U 1512.11(b)", ["U"]),
        ("ISO 5775", ["ISO 5775"]),
        ("S1; trade tables", ["S1", "trade tables"]),
        ("MH p. 384;arithmetic", ["MH", "arithmetic"]),
    ],
)
def test_cited(source, ids):
    assert tables.cited(source) == ids


@pytest.mark.parametrize("source", ["", "Umbrella", "S1; somebody", "S1,S2"])
def test_a_source_that_is_not_listed_is_refused(source):
    with pytest.raises(InputError, match="no id of reference/sources"):
        tables.cited(source)


@pytest.mark.parametrize(
    ("value", "text"),
    [([47.5, 50], "47.5-50"), (0.4536, "0.4536"), (7.0, "7"), (622, "622"), ("slot", "slot"), ([4, 4.5], "4-4.5")],
)
def test_shown(value, text):
    assert tables.shown(value) == text


def test_the_installed_folder_goes_before_the_one_beside_the_package(tmp_path, monkeypatch):
    package = tmp_path / "wheelcalc"
    (package / "files").mkdir(parents=True)
    (tmp_path / "reference").mkdir()
    monkeypatch.setattr(tables, "__file__", str(package / "files" / "tables.py"))
    assert tables.folder() == tmp_path / "reference"
    (package / "reference").mkdir()
    assert tables.folder() == package / "reference"


def test_reading_a_table_loads_no_heavy_module():
    code = (
        "import sys; from wheelcalc.files import tables; tables.limits(); tables.row('cogs', 'count', 9)\n"
        "print(sorted({'numpy', 'pint', 'tabulate', 'click', 'difflib'} & sys.modules.keys()))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
