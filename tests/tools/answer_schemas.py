"""Schemas of the commands' answers, read off the answers themselves: what is always there, of which type, what may be null.

`python -m tests.tools.answer_schemas` writes reference/schema anew; a test holds the files against the answers.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterable, Iterator
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

from wheelcalc.cli.main import run
from wheelcalc.files.schema import DRAFT, OF_FILES

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "reference" / "schema"
EXAMPLES = ROOT / "examples"
NAMES = {bool: "boolean", int: "number", float: "number", str: "string", type(None): "null"}
BUILD = "errand-rear.toml"
CALLS: dict[str, list[list[str]]] = {
    "lengths": [[BUILD], ["trailer-two-to-one.toml"], ["errand-uneven.toml"]],
    "order": [[BUILD], ["trailer-two-to-one.toml"], [BUILD, "--set", "stock.lengths=[240, 400]"]],
    "lace": [[BUILD], ["trailer-two-to-one.toml"], ["errand-uneven.toml"]],
    "fit": [[BUILD], ["donor-hub.toml"], ["smaller-wheels.toml"]],
    "tension": [[BUILD], ["trailer-two-to-one.toml"], [BUILD, "--set", "rim.holes=36"]],
    "measure": [["errand-rear-salvage.toml"]],
    "salvage": [["errand-rear-salvage.toml"]],
    "true": [[BUILD, "errand-rear-readings.csv"], [BUILD, "--broken", "14"]],
    "pluck": [[BUILD, "errand-rear-right.wav", "--side", "right"]],
    "tap": [[BUILD, "--radial", "errand-rim-inward.wav", "--lateral", "errand-rim-sideways.wav"]],
    "check": [[BUILD], ["donor-hub.toml"]],
    "compare": [[BUILD, "errand-rear-fitted.toml"], [BUILD, "errand-rear-fitted.toml", "errand-uneven.toml"]],
    "tables": [["chainlines"], ["keys"]],
}  # fmt: skip


def answers(command: str) -> Iterator[dict[str, Any]]:
    """Yield the JSON of some calls of a command."""
    for call in CALLS[command]:
        words = [str(EXAMPLES / word) if (EXAMPLES / word).is_file() else word for word in call]
        said = io.StringIO()
        with redirect_stdout(said):
            run([command, *words, "--json"])
        yield json.loads(said.getvalue())


def seen(values: Iterable[Any]) -> dict[str, Any]:
    """Return the schema that all these values keep to."""
    values = list(values)
    out: dict[str, Any] = {}
    kinds = {NAMES.get(type(value), "array" if isinstance(value, list) else "object") for value in values}
    if kinds:
        out["type"] = sorted(kinds) if len(kinds) > 1 else kinds.pop()
    tables = [value for value in values if isinstance(value, dict)]
    if tables:
        names = list(dict.fromkeys(name for table in tables for name in table))
        out["properties"] = {name: seen(table[name] for table in tables if name in table) for name in names}
        out["required"] = [name for name in names if all(name in table for table in tables)]
    lists = [value for value in values if isinstance(value, list)]
    if any(lists):
        out["items"] = seen(each for value in lists for each in value)
    return out


def of_command(command: str) -> dict[str, Any]:
    """Return the schema of a command's answer."""
    return {"$schema": DRAFT, "title": f"What `wheelcalc {command} --json` prints", **seen(answers(command))}


def written() -> dict[str, dict[str, Any]]:
    """Every schema by the name of its file."""
    return {name: make() for name, make in OF_FILES.items()} | {command: of_command(command) for command in CALLS}


def main() -> None:
    """Write all of them."""
    FOLDER.mkdir(exist_ok=True)
    for name, schema in written().items():
        (FOLDER / f"{name}.json").write_text(json.dumps(schema, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
