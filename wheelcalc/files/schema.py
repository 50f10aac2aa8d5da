"""JSON Schema (2020-12) of the build file and of a drawer, made from their keys: an editor completes and checks a file by it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from wheelcalc.build.section import Key
from wheelcalc.files import tables
from wheelcalc.files.drawer import SECTIONS
from wheelcalc.files.keys import NAME, keys, lists
from wheelcalc.files.units import BASE_UNIT, UNITS
from wheelcalc.files.values import UNIT
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

DRAFT = "https://json-schema.org/draft/2020-12/schema"
NUMBER = r"[+-]?([0-9]+[ -]+)?([0-9]+/[0-9]+|[0-9]+[.]?[0-9]*|[.][0-9]+)([eE][+-]?[0-9]+)?"
ERROR = rf"( *(\+/?-|\u00b1) *{NUMBER})?"
Schema = dict[str, Any]


def build_file() -> Schema:
    """Return the schema of a build file: every key with its kind, range, words, default, and how to come by it."""
    tree: Schema = _section()
    for name, key in keys().items():
        _put(tree, name.split("."), _described(key))
    for name, each in lists().items():
        _put(tree, name.split("."), {"type": "array", "items": _entry(each)})
    return {"$schema": DRAFT, "title": "Build file of a bicycle wheel", "$defs": _texts(), **tree}


def drawer() -> Schema:
    """Return the schema of a drawer: lists of parts, each with a name and the keys of its section."""
    tree = _section()
    for listed, kind in SECTIONS.items():
        own = {
            name.removeprefix(f"{kind}."): key
            for name, key in keys().items()
            if name.startswith(f"{kind}.") and name != f"{kind}.part"
        }
        part = _entry({"name": NAME, **own} | (lists()["jar.spokes"] if kind == "spokes" else {}))
        tree["properties"][listed] = {"type": "array", "items": part | {"required": ["name"]}}
    for name in ("title", "measuring.tool"):
        _put(tree, name.split("."), _described(keys()[name]))
    return {"$schema": DRAFT, "title": "Drawer of own bicycle parts", "$defs": _texts(), **tree}


def of_answers() -> list[str]:
    """Return the names of the answers that have a schema: that of the command, or `how` of `measure --how`."""
    return sorted(path.stem for path in (tables.folder() / "schema").glob("*.json") if path.stem not in OF_FILES)


def named(name: str = "build-file") -> Schema:
    """Return the schema of the build file, of a drawer, or of what a command prints with --json, as shipped.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    if name in OF_FILES:
        return OF_FILES[name]()
    if name not in of_answers():
        known = ", ".join([*OF_FILES, *of_answers()])
        raise InputError("tables schema", f'found "{printable(name, LONGEST_ECHO)}"; write one of {known}')
    return dict(json.loads((tables.folder() / "schema" / f"{name}.json").read_text(encoding="utf-8")))


# What is written by hand -> how its schema is made.
OF_FILES = {"build-file": build_file, "drawer": drawer}


def _section() -> Schema:
    return {"type": "object", "additionalProperties": False, "properties": {}}


def _entry(each: Mapping[str, Key]) -> Schema:
    """Return the schema of one entry of a list of tables."""
    entry = _section()
    for inner, key in each.items():
        _put(entry, inner.split("."), _described(key))
    return entry


def _put(tree: Schema, path: list[str], schema: Schema) -> None:
    for name in path[:-1]:
        tree = tree["properties"].setdefault(name, _section())
    tree["properties"][path[-1]] = schema


def _described(key: Key) -> Schema:
    out: Schema = {"description": f"{key.how}{unit_of(key)}"} if key.how else {}
    if key.default is not None:
        out["default"] = _plain(key.default)
    value = of_key(key)
    if not key.per_side:
        return {**out, **value}
    sides = {"type": "object", "additionalProperties": False, "properties": {"left": value, "right": value}}
    return {**out, "anyOf": [value, sides]}


def unit_of(key: Key) -> str:
    """Return the unit of a bare number, in brackets; empty where it has none."""
    unit = UNIT.get("length" if key.kind in ("lengths", "stock", "pairs", "wire") else key.kind, "").strip()
    return f" [{unit}]" if unit and not key.with_unit else ""


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(name): each for name, each in value.items()}
    return list(value) if isinstance(value, tuple) else value


def of_key(key: Key) -> Schema:
    """Return the schema of one value of a key."""
    if key.kind in BASE_UNIT:
        return _measure(key)
    simple: Mapping[str, Schema] = {
        "number": {"anyOf": [_bounded(key, "number"), _text(rf"^ *{NUMBER}{ERROR} *$")]},
        "give": {"anyOf": [_bounded(key, "number"), {"type": "string"}]},
        "count": {"anyOf": [_bounded(key, "integer"), _text(r"^ *[0-9]+ *$")]},
        "flag": {"type": "boolean"},
        "text": {"enum": list(key.choices)}
        if key.choices
        else {"type": "string", "maxLength": 200},  # as the reader of values refuses, here and below
        "wire": {
            "anyOf": [{"type": "number", "minimum": 1.2, "maximum": 4}, {"type": "string"}]
        },  # as the reader of values refuses
        "stock": _stock(),
        "lengths": _one_or_more(_measure(key, "length")),
        "pairs": _pairs(),
    }
    return simple.get(key.kind, {"type": "array"})


def _bounded(key: Key, kind: str) -> Schema:
    out: Schema = {"type": kind}
    out |= {} if key.low is None else {"minimum": key.low}
    return out | ({} if key.high is None else {"maximum": key.high})


def _text(pattern: str) -> Schema:
    return {"type": "string", "pattern": pattern}


def _measure(key: Key, kind: str | None = None) -> Schema:
    """A number in the kind's own unit, a text with its unit and perhaps its error, or repeats of a reading."""
    text = {"$ref": f"#/$defs/{kind or key.kind}{'_on_a_side' if key.sided else ''}"}
    one: Schema = {"anyOf": [text] if key.with_unit else [_bounded(key, "number"), text]}
    return _one_or_more(one) if key.reading or key.raw else one


def _texts() -> Schema:
    """A number as text with its unit, by kind; of a sideways length also with its side."""
    out: Schema = {}
    for kind in BASE_UNIT:
        unit = f"( *({'|'.join(re.escape(unit) for unit in sorted(UNITS[kind], key=len, reverse=True))}))?"
        out[kind] = _text(rf"^ *{NUMBER}{unit}{ERROR}{unit} *$")
    out["length_on_a_side"] = _text(out["length"]["pattern"].replace(" *$", "( +(left|right))? *$"))
    return out


def _one_or_more(one: Schema) -> Schema:
    each = one.get("anyOf", [one])
    return {"anyOf": [*each, {"type": "array", "items": one, "minItems": 1, "maxItems": 1000}]}


def _stock() -> Schema:
    count = {"anyOf": [{"type": "integer", "minimum": 0, "maximum": 10_000}, _text(r"^ *[0-9]+ *$")]}
    return {"type": "object", "minProperties": 1, "additionalProperties": count}


def _pairs() -> Schema:
    side = {"anyOf": [{"type": "array", "items": {"type": ["number", "string"]}}, {"type": ["number", "string"]}]}
    return {"type": "object", "additionalProperties": False, "properties": {"left": side, "right": side}}
