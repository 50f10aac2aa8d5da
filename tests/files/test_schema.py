"""The schemas: of the build file from its keys, of the answers from the answers; shipped, valid, and no laxer than the reader."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.making.builds import with_keys
from tests.tools import answer_schemas
from wheelcalc.cli.main import run
from wheelcalc.files.buildfile import build_of
from wheelcalc.files.draft import Draft
from wheelcalc.files.keys import keys
from wheelcalc.files.schema import OF_FILES, of_answers
from wheelcalc.wheel.errors import InputError

EXAMPLES = answer_schemas.ROOT / "examples"
BUILD = "errand-rear.toml"
CALLS = [
    ["lengths", BUILD], ["lengths", "errand-uneven.toml"],
    ["order", BUILD], ["order", "trailer-two-to-one.toml"], ["order", BUILD, "--set", "stock.lengths=[240, 400]"],
    ["lace", BUILD, "--seen", "1-R4, 2-L9"], ["lace", "errand-uneven.toml"],
    ["fit", BUILD], ["fit", "donor-hub.toml"], ["fit", "smaller-wheels.toml"],
    ["tension", BUILD], ["tension", "trailer-two-to-one.toml"],
    ["measure", "errand-rear-salvage.toml"], ["measure", "--how", "rim.erd"], ["measure", "--how", "tap"],
    ["salvage"], ["salvage", "errand-rear-salvage.toml"], ["salvage", "errand-rear-fitted.toml"],
    ["salvage", "donor-hub.toml", "--parts", "shed.toml"],
    ["true", BUILD, "errand-rear-readings.csv", "errand-rear-readings-after.csv"], ["true", BUILD, "--broken", "14"],
    ["pluck", BUILD, "errand-rear-right.wav", "--side", "right", "--before", "errand-rear-plucked-new.csv"],
    ["pluck", BUILD, "errand-rear-right.wav", "--side", "left"],
    ["tap", BUILD, "--radial", "errand-rim-inward.wav", "--lateral", "errand-rim-sideways.wav"],
    ["check", BUILD], ["check", "shed.toml"],
    ["compare", BUILD, "errand-rear-fitted.toml", "errand-uneven.toml"],
    ["sheet", BUILD, "--only", "order,salvage"], ["sheet", BUILD],
    ["tables", "keys"], ["tables", "chainlines"],
]  # fmt: skip


@cache
def checker(name: str) -> Any:
    shipped = json.loads((answer_schemas.FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(shipped)
    return jsonschema.Draft202012Validator(shipped)


@pytest.mark.parametrize("name", OF_FILES)
def test_the_shipped_schema_of_a_file_is_that_of_its_keys(name: str) -> None:
    shipped = json.loads((answer_schemas.FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    assert shipped == json.loads(json.dumps(OF_FILES[name]())), "python -m tests.tools.answer_schemas writes it anew"


def test_a_drawer_keeps_to_its_own() -> None:
    with (EXAMPLES / "shed.toml").open("rb") as file:
        shed = tomllib.load(file)
    assert [error.message for error in checker("drawer").iter_errors(shed)] == []
    for wrong in ({"rims": [{"erd": 600}]}, {"rims": [{"name": "black", "spokes": 3}]}, {"forks": []}):
        assert not checker("drawer").is_valid(wrong)


BUILDS = [path for path in sorted(EXAMPLES.glob("*.toml")) if path.stem != "shed"]


@pytest.mark.parametrize("path", BUILDS, ids=lambda path: path.stem)
def test_every_example_keeps_to_it(path: Any) -> None:
    with path.open("rb") as file:
        assert [error.message for error in checker("build-file").iter_errors(tomllib.load(file))] == []


@pytest.mark.parametrize("call", CALLS, ids=" ".join)
def test_what_is_printed_keeps_to_its_schema(call: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    words = [str(EXAMPLES / word) if (EXAMPLES / word).is_file() else word for word in call]
    assert run([*words, "--json"]) in (0, 1)
    printed = json.loads(capsys.readouterr().out)
    answer_schemas.hold(printed)
    assert answer_schemas.name_of(printed) == ("how" if "--how" in call else call[0])


def places(name: str, schema: dict[str, Any], place: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every key of a schema of an answer, and what it says of it."""
    below = dict(schema.get("properties", {}))
    below |= {"*": schema["additionalProperties"]} if "additionalProperties" in schema else {}
    for key, each in below.items():
        yield (*place, key), each["description"]
        yield from places(name, each, (*place, key))
    if "items" in schema:
        yield from places(name, schema["items"], place)


@pytest.mark.parametrize("name", of_answers())
def test_every_key_of_an_answer_says_what_it_means(name: str) -> None:
    found = dict(places(name, checker(name).schema))
    assert len(found) > 10
    for place, said in found.items():
        assert said == answer_schemas.described(name, place)["description"], answer_schemas.RENEW


def test_no_meaning_is_of_a_key_that_is_nowhere() -> None:
    told = {(name, key) for name, keys in answer_schemas.meanings().items() if name != "csv" for key in keys}
    used = {
        answer_schemas.meaning(name, place) for name in of_answers() for place, _ in places(name, checker(name).schema)
    }
    assert told - used == {("true", "turned_backwards.pass")}  # in no test's answer was a nipple turned the wrong way


def test_an_answer_with_a_key_of_no_meaning_is_refused_by_the_tests() -> None:
    head = {"schema": "wheelcalc/lengths/1", "build": "", "findings": [], "assumptions": []}
    with pytest.raises(AssertionError, match=r"meanings\.toml"):
        answer_schemas.hold({**head, "sides": {}, "spokes": [], "error_budget": [], "colour": "red"})


def wrong_files() -> list[tuple[str, Any]]:
    """Every key with a value of the wrong kind or far beyond its range."""
    out: list[tuple[str, Any]] = []
    for name, key in keys().items():
        if key.kind in ("length", "force", "angle", "number", "count") and key.high is not None:
            out.append((name, key.high * 3 + 1))
        if key.kind == "flag":
            out.append((name, "yes"))
        if key.choices:
            out.append((name, "no such word"))
        if key.kind == "mass":
            out.append((name, "85 parsec"))
    return out


def tree_of(name: str, value: Any) -> dict[str, Any]:
    tree: Any = value
    for part in reversed(name.split(".")):
        tree = {part: tree}
    return dict(tree)


def test_what_the_reader_refuses_is_no_valid_file() -> None:
    wrong = wrong_files()
    assert len(wrong) > 100
    for name, value in wrong:
        tree = tree_of(name, value)
        with pytest.raises(InputError):
            build_of(tree, "wrong")
        assert not checker("build-file").is_valid(tree), (name, value)


@pytest.mark.parametrize(
    "keys",
    [
        {"rim__erd": "23 3/4 in"},
        {"rim__erd": "602.4 +- 0.5 mm"},
        {"rim__hole_offset": "2.5 mm left"},
        {"rim__erd": [602.1, "602.5 mm"]},
        {"tension__target": "1000 +- 300 N"},
        {"hub__left__pcd": '1 3/4"'},
        {"spokes__wire": {"left": "2.0", "right": "2.0/1.8/2.0"}},
        {"load__rider": "85 kg"},
        {"stock__on_hand": {"288": 20, "290": 18}},
    ],
)
def test_what_the_reader_takes_is_valid(keys: dict[str, Any]) -> None:
    tree = with_keys(**keys)
    build_of(tree, "right")
    assert [error.message for error in checker("build-file").iter_errors(tree)] == []


@pytest.mark.parametrize("words", [["schema"], ["schema", "drawer"], ["schema", "order"]])
def test_tables_schema_prints_them(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["tables", *words]) == 0
    name = words[1] if len(words) > 1 else "build-file"
    assert json.loads(capsys.readouterr().out) == checker(name).schema


def test_an_unknown_command_has_no_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["tables", "schema", "nothing"]) == 2
    assert "write one of build-file, drawer, check, compare" in capsys.readouterr().err


def test_every_file_names_the_schema_by_which_an_editor_completes_it(tmp_path: Path) -> None:
    for path in EXAMPLES.glob("*.toml"):
        said = path.read_text(encoding="utf-8").partition("\n")[0].removeprefix("#:schema ")
        assert (
            path.parent / said
        ).resolve() == answer_schemas.FOLDER / f"{'drawer' if path.stem == 'shed' else 'build-file'}.json"
    begun = tmp_path / "wheel.toml"
    draft = Draft(begun)
    draft.take(draft.answered("rim.holes", "36"))
    draft.save()
    name = begun.read_text(encoding="utf-8").partition("\n")[0].removeprefix("#:schema ")
    assert run(["tables", "schema", "-o", str(tmp_path / name)]) == 0
    assert json.loads((tmp_path / name).read_text(encoding="utf-8")) == checker("build-file").schema
