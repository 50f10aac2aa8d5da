"""Schemas of the commands' answers: which keys there are, of which type, is read off answers; what each means, off meanings.toml.

    python -m tests.tools.answer_schemas                    writes reference/schema anew, from every answer of the tests (minutes)
    python -m tests.tools.answer_schemas tests/cli/test_x.py   widens it by the answers of some tests

While tests run, every answer is held against them (tests/conftest.py), strictly: a key without a meaning is a fault.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache, reduce
from pathlib import Path
from typing import Any

import jsonschema

from wheelcalc.files.schema import DRAFT, OF_FILES

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "reference" / "schema"
RENEW = (
    "`python -m tests.tools.answer_schemas THIS_TEST_FILE` widens reference/schema by what it answers; "
    "a new key wants its meaning in reference/schema/meanings.toml first"
)
RECORD = (
    "WHEELCALC_SHAPES"  # folder into which the answers' shapes are written instead of being held against the schemas
)
NAMES = {
    bool: "boolean",
    int: "number",
    float: "number",
    str: "string",
    type(None): "null",
    list: "array",
    dict: "object",
}
UNITS = {
    "_N_per_mm": "N/mm", "_Nmm_per_rad": "N mm/rad", "_Nm2": "N m2", "_Nmm": "N mm", "_mm": "mm", "_mm_after": "mm", "_N": "N",
    "_N_after": "N", "_hz": "Hz", "_deg": "degrees", "_percent": "%", "_s": "s", "_turns": "turns",
}  # fmt: skip
Shape = dict[str, Any]


@cache
def meanings() -> dict[str, dict[str, Any]]:
    """What each key means, by command and end of its place."""
    with (FOLDER / "meanings.toml").open("rb") as file:
        return tomllib.load(file)


def meaning(command: str, place: tuple[str, ...]) -> tuple[str, str]:
    """Command (or "all") and name under which meanings.toml says what a key means.

    Raises
    ------
    KeyError
        If it does not say it.
    """
    for own in (command, "all"):
        for name in (f".{'.'.join(place)}", *(".".join(place[start:]) for start in range(len(place)))):
            if name in meanings().get(own, {}):
                return own, name
    raise KeyError(f"{command}: {'.'.join(place)}")


def described(command: str, place: tuple[str, ...]) -> dict[str, Any]:
    """Return a key's description with its unit, and the words that it can be."""
    own, name = meaning(command, place)
    entry = meanings()[own][name]
    told = {"is": entry} if isinstance(entry, str) else entry
    unit = next((unit for ending, unit in UNITS.items() if place[-1].endswith(ending)), "")
    words = {"enum": told["words"]} if "words" in told else {}
    return {"description": f"{told['is']}{f' [{unit}]' if unit else ''}", **words}


def is_data(command: str, place: tuple[str, ...]) -> bool:
    """Whether the keys below a place are data, such as a rim hole."""
    names = [".".join([*place[start:], "*"]) for start in range(len(place))]
    return any(name in meanings().get(command, {}) for name in names)


def shape(value: Any) -> Shape:
    """Return which types a value and what lies in it have."""
    out: Shape = {"type": [NAMES[type(value)]]}
    if isinstance(value, dict):
        out |= {"properties": {name: shape(each) for name, each in value.items()}, "required": list(value)}
    if isinstance(value, list) and value:
        out["items"] = reduce(joined, map(shape, value))
    return out


def joined(one: Shape, other: Shape) -> Shape:
    """Return the shape that both keep to."""
    out: Shape = {"type": sorted({*one["type"], *other["type"]})}
    if items := [each["items"] for each in (one, other) if "items" in each]:
        out["items"] = reduce(joined, items)
    both = [each for each in (one, other) if "properties" in each]
    if both:
        first, last = both[0], both[-1]
        out["properties"] = {**first["properties"], **last["properties"]} | {
            name: joined(each, last["properties"][name])
            for name, each in first["properties"].items()
            if name in last["properties"]
        }
        out["required"] = [name for name in first["required"] if name in last["required"]]
    return out


def finished(found: Shape, command: str, place: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return a shape as a schema, with what each key means."""
    out: dict[str, Any] = described(command, place) if place else {}
    types = found["type"]
    out["type"] = types[0] if len(types) == 1 else types
    if "enum" in out and "null" in types:
        out["enum"] = [*out["enum"], None]
    below = found.get("properties", {})
    if below and is_data(command, place):
        out["additionalProperties"] = finished(reduce(joined, below.values()), command, (*place, "*"))
    elif below:
        out["properties"] = {name: finished(each, command, (*place, name)) for name, each in below.items()}
        out["required"] = found["required"]
    if "items" in found:
        items = finished(found["items"], command, place)
        out["items"] = {name: value for name, value in items.items() if name != "description"}
    return out


def shape_of(schema: Mapping[str, Any]) -> Shape:
    """Return the shape that a schema was made from."""
    types = schema["type"]
    out: Shape = {"type": [types] if isinstance(types, str) else types}
    if "items" in schema:
        out["items"] = shape_of(schema["items"])
    if "properties" in schema:
        below = {name: shape_of(each) for name, each in schema["properties"].items()}
        out |= {"properties": below, "required": schema["required"]}
    if "additionalProperties" in schema:
        out |= {"properties": {"*": shape_of(schema["additionalProperties"])}, "required": []}
    return out


def strict(schema: Mapping[str, Any]) -> dict[str, Any]:
    """Return a schema that takes no key that it does not name, as the tests hold answers against it."""
    out = dict(schema)
    if "properties" in out:
        out["properties"] = {name: strict(each) for name, each in out["properties"].items()}
        out["additionalProperties"] = False
    if "items" in out:
        out["items"] = strict(out["items"])
    return out


def shipped(name: str) -> dict[str, Any]:
    """Return a schema as it ships."""
    return dict(json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8")))


@cache
def checker(name: str) -> Any:
    """Return what holds an answer against its schema, strictly."""
    return jsonschema.Draft202012Validator(strict(shipped(name)))


def hold(answer: Mapping[str, Any]) -> None:
    """Refuse an answer that is not as its schema says."""
    wrong = [f"{each.json_path}: {each.message[:200]}" for each in checker(name_of(answer)).iter_errors(answer)]
    assert wrong == [], RENEW


def name_of(answer: Mapping[str, Any]) -> str:
    """Return the name of an answer's schema."""
    return str(answer["schema"]).split("/")[1]


class Recorder:
    """Joins the shapes of a process's answers, for `main`."""

    def __init__(self) -> None:
        self.shapes: dict[str, Shape] = {}

    def hold(self, answer: Mapping[str, Any]) -> None:
        """Take one answer in."""
        found, name = shape(dict(answer)), name_of(answer)
        self.shapes[name] = joined(self.shapes[name], found) if name in self.shapes else found

    def write(self) -> None:
        """Write all of them for `main`."""
        path = Path(os.environ[RECORD]) / f"{os.getpid()}.json"
        path.write_text(json.dumps(self.shapes), encoding="utf-8")


def recorded(tests: Iterable[str]) -> dict[str, Shape]:
    """Run tests and return the shapes of their answers by name."""
    with tempfile.TemporaryDirectory() as folder:
        words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *tests]
        subprocess.run(words, env={**os.environ, RECORD: folder}, cwd=ROOT, check=False)
        every = [json.loads(path.read_text(encoding="utf-8")) for path in sorted(Path(folder).glob("*.json"))]
    names = sorted({name for each in every for name in each})
    return {name: reduce(joined, (each[name] for each in every if name in each)) for name in names}


def of_answer(name: str, found: Shape) -> dict[str, Any]:
    """Return the schema of an answer."""
    said = "measure --how NAME" if name == "how" else name
    return {"$schema": DRAFT, "title": f"What `wheelcalc {said} --json` prints", **finished(found, name)}


def write(name: str, schema: Mapping[str, Any]) -> None:
    """Write one schema where it ships."""
    (FOLDER / f"{name}.json").write_text(json.dumps(schema, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def main() -> None:
    """Write the schemas of files from their keys, those of answers from the tests named, or from all tests."""
    for name, make in OF_FILES.items():
        write(name, make())
    tests = sys.argv[1:]
    for name, found in recorded(tests).items():
        there = tests and (FOLDER / f"{name}.json").exists()
        write(name, of_answer(name, joined(shape_of(shipped(name)), found) if there else found))


if __name__ == "__main__":
    main()
