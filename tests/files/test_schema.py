"""The schemas: of the build file from its keys, of the answers from the answers; shipped, valid, and no laxer than the reader."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from typing import Any

import jsonschema
import pytest

from tests.making.builds import with_keys
from tests.tools import answer_schemas
from wheelcalc.cli.main import run
from wheelcalc.files.buildfile import build_of
from wheelcalc.files.keys import keys
from wheelcalc.files.schema import OF_FILES
from wheelcalc.wheel.errors import InputError


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
    with (answer_schemas.EXAMPLES / "shed.toml").open("rb") as file:
        shed = tomllib.load(file)
    assert [error.message for error in checker("drawer").iter_errors(shed)] == []
    for wrong in ({"rims": [{"erd": 600}]}, {"rims": [{"name": "black", "spokes": 3}]}, {"forks": []}):
        assert not checker("drawer").is_valid(wrong)


BUILDS = [path for path in sorted(answer_schemas.EXAMPLES.glob("*.toml")) if path.stem != "shed"]


@pytest.mark.parametrize("path", BUILDS, ids=lambda path: path.stem)
def test_every_example_keeps_to_it(path: Any) -> None:
    with path.open("rb") as file:
        assert [error.message for error in checker("build-file").iter_errors(tomllib.load(file))] == []


@pytest.mark.parametrize("command", answer_schemas.CALLS)
def test_every_answer_keeps_to_its_schema(command: str) -> None:
    for answer in answer_schemas.answers(command):
        assert [error.message for error in checker(command).iter_errors(answer)] == []


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
