"""Pages of reference/ that are made from the code: `python -m tests.tools.documents` writes them anew, a test says when that is due."""

from __future__ import annotations

import csv
import inspect
import shlex
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click

import wheelcalc
from tests.tools import answer_schemas
from wheelcalc import answers as answer_functions
from wheelcalc.answers.base import in_words
from wheelcalc.build.section import Key
from wheelcalc.cli.main import COMMANDS, job, run
from wheelcalc.files.drawer import SECTIONS
from wheelcalc.files.keys import keys, lists
from wheelcalc.files.schema import of_answers, unit_of

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "reference"
RENEW = "`python -m tests.tools.documents` writes reference/build-file.md, answers.md, commands.md and stable.md anew"
MADE = "Made from the code by `python -m tests.tools.documents`: change it there.\n"
KINDS = {
    "text": "text", "flag": "true or false", "count": "count", "wire": 'wire, such as "2.0/1.8/2.0"',
    "stock": 'length = count, such as { "288" = 20 }', "lengths": "a length or a list of them",
    "pairs": "{ left = [...], right = [...] }, lengths", "table": "list of [rim hole, length]", "holes": "list of rim holes",
    "kept": "list of { rim_hole, column }", "known": "list of { rim_hole, tension }",
    "loosened": "list of { rim_hole, turns, pitch_hz }",
}  # fmt: skip
ERRAND = "examples/errand-rear.toml"
CSV_FILES = {
    "lengths": f"lengths {ERRAND}",
    "order": f"order {ERRAND}",
    "lace": f"lace {ERRAND}",
    "fit": "fit examples/donor-hub.toml",
    "tension": f"tension {ERRAND}",
    "measure": "measure examples/errand-rear-salvage.toml",
    "salvage": "salvage examples/errand-rear-salvage.toml",
    "true": f"true {ERRAND} examples/errand-rear-readings.csv",
    "true --broken": f"true {ERRAND} --broken 14",
    "pluck": f"pluck {ERRAND} examples/errand-rear-right.wav --side right",
    "tap": f"tap {ERRAND} --radial examples/errand-rim-inward.wav",
    "compare": f"compare {ERRAND} examples/errand-uneven.toml",
    "tables": "tables chainlines",
}


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Return a table of Markdown."""
    cells = [[each.replace("|", "\\|").replace("\n", " ") for each in row] for row in rows]
    return ["", *(f"| {' | '.join(row)} |" for row in [head, ["---"] * len(head), *cells]), ""]


# --- build-file.md


BUILD_HEAD = """# The build file

{made}
TOML. A bare number is in the unit that stands beside the key; a text carries its own unit and may carry its standard
uncertainty: `"5 1/2 in"`, `"120 kgf"`, `"602.4 +- 0.5 mm"`. A list of a reading is repeats of it: their mean counts. A
reading without an error of its own has that of the tool (`measuring.tool`: tape 1, rule 0.5, calliper 0.1 mm). Left and
right are the rider's, facing forward. *By side*: one value, or `{{ left = ..., right = ... }}`. A section that a command
does not need may be left out; `wheelcalc check FILE` says what a command still lacks. A value outside its range is refused:
it catches a slipped unit or decimal point, and is no verdict on a part. The words of a reading, with a drawing:
`wheelcalc measure --how KEY`.
"""


def build_file() -> str:
    """Every key of the build file, section by section."""
    sections: dict[str, dict[str, Key]] = {}
    for name, key in keys().items():
        section, _, own = name.rpartition(".")
        sections.setdefault(section, {})[own] = key
    lines = [BUILD_HEAD.format(made=MADE)]
    for section, each in sections.items():
        lines += [f"## [{section}]" if section else "## At the top", *_keys(each)]
    for section, each in lists().items():
        lines += [f"## [[{section}]]", "", "Once for each.", *_keys(each)]
    kinds = ", ".join(f"`[[{listed}]]` with the keys of `[{kind}]`" for listed, kind in SECTIONS.items())
    lines += ["## A drawer", "", f"A file of own parts, for `--parts`: {kinds}, each with a `name`.", ""]
    return "\n".join(lines)


def _keys(each: Mapping[str, Key]) -> list[str]:
    head = ("key", "takes", "unit", "range", "without it", "what it is, how to come by it")
    return table(head, [_key_row(name, key) for name, key in each.items()])


def _key_row(name: str, key: Key) -> list[str]:
    takes = " or ".join(f'"{choice}"' for choice in key.choices) or KINDS.get(key.kind, key.kind)
    takes += ", with its unit" if key.with_unit else ""
    takes += ", a reading" if key.reading or key.raw else ""
    takes += ", by side" if key.per_side else ""
    bounds = "" if key.low is None or key.high is None else f"{key.low:g} to {key.high:g}"
    without = "needed" if key.needed else "" if key.default is None else in_words(key.kind, key.default)
    return [f"`{name}`", takes, unit_of(key).strip(" []"), bounds, without, key.how]


# --- answers.md


ANSWERS_HEAD = """# Answers for scripts

{made}
`--json` prints one object; `-o FILE` writes .txt, .json, .html, .csv or .svg by its suffix, whole or not at all, and over
a file only with `--force`. The same object comes from the library: `answers.order(FILE).as_json()`.

## Exit status

| status | means |
|---|---|
| 0 | computed, no stop finding |
| 1 | computed, at least one stop finding: do not order, do not ride. Everything is printed all the same |
| 2 | the input could not be used: nothing on standard output, nothing written |

With 2, one line on standard error that begins with `Error: ` names file and key, what was found and what would do.

## What may change

Keys are added freely. A key that stands here keeps its name and meaning as long as the number in `schema` stays. Numbers
are rounded to six digits behind the point; `_sigma` is one standard uncertainty, while the text says errors that hold in
19 of 20 cases. `[]` is a list, `*` a key that is data. A key not marked *always* is there only where it applies. JSON
Schemas: reference/schema, or `wheelcalc tables schema COMMAND`.
"""


def answers() -> str:
    """Exit status, every key of the JSON, every column of CSV."""
    lines = [ANSWERS_HEAD.format(made=MADE), "## In every answer", *_places("order", answer_schemas.meanings()["all"])]
    for name in [*(name for name in COMMANDS if name in of_answers()), "how"]:
        lines += [f"## {'measure --how' if name == 'how' else name}", *_places(name, None)]
    return "\n".join([*lines, *_csv_files(), ""])


SHARED = ("schema", "build", "findings", "assumptions")


def _places(name: str, _shared: Mapping[str, Any] | None) -> list[str]:
    schema = answer_schemas.shipped(name)
    wanted = {key: each for key, each in schema["properties"].items() if (key in SHARED) is (_shared is not None)}
    rows = [row for key, each in wanted.items() for row in _rows(key, each, always=key in schema["required"])]
    return table(("key", "type", "", "meaning"), rows)


def _rows(place: str, schema: Mapping[str, Any], *, always: bool) -> Iterator[list[str]]:
    types = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    inner = schema.get("items", {})
    own = inner if inner else schema
    words = "; one of " + ", ".join(f'"{word}"' for word in own["enum"] if word is not None) if "enum" in own else ""
    listed = f" of {inner['type']}" if isinstance(inner.get("type"), str) else ""
    said = " or ".join(f"{each}{listed if each == 'array' else ''}" for each in sorted(types, key="null".__eq__))
    yield [f"`{place}`", said, "always" if always else "", schema.get("description", "") + words]
    start = f"{place}[]" if inner else place
    if own.get("properties", {}).keys() == {"left", "right"} and _same(own["properties"]):
        yield from _below(f"{start}.left", own["properties"]["left"], sides=True)
        return
    yield from _below(start, own, sides=False)
    if "additionalProperties" in own:
        yield from _rows(f"{start}.*", own["additionalProperties"], always=False)


def _same(sides: Mapping[str, Mapping[str, Any]]) -> bool:
    """Whether both sides have the same keys, so that they are listed once."""
    return list(sides["left"].get("properties", ())) == list(sides["right"].get("properties", ())) != []


def _below(start: str, schema: Mapping[str, Any], *, sides: bool) -> Iterator[list[str]]:
    at = f"{start.removesuffix('left')}left|right" if sides else start
    for key, each in schema.get("properties", {}).items():
        yield from _rows(f"{at}.{key}", each, always=key in schema.get("required", ()))


def columns(call: str) -> list[str]:
    """Return the header of the CSV that a call writes."""
    words = [str(ROOT / word) if (ROOT / word).is_file() else word for word in shlex.split(call)]
    with TemporaryDirectory() as folder:
        path = Path(folder) / "out.csv"
        run([*words, "-o", str(path)])
        rows = csv.reader(line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#"))
        return next(rows)


def column_meaning(name: str, column: str) -> str:
    """Return what a column of a command's CSV means: as [csv] of meanings.toml has it, else as the JSON key of that name."""
    special = answer_schemas.meanings()["csv"]
    command = name.partition(" ")[0]
    for key in (f"{command}.{column}", column):
        if key in special:
            return str(special[key])
    for place in (*((start, column) for start in LISTS[command]), (column,)):
        try:
            return str(answer_schemas.described(command, place)["description"])
        except KeyError:
            continue
    raise KeyError(f"{command}: {column}")


# The lists of a command's JSON from which its CSV has its rows.
LISTS: Mapping[str, Sequence[str]] = {
    "lengths": ["spokes"], "order": ["lines"], "lace": ["spokes"], "fit": ["plans"], "tension": ["spokes"],
    "measure": ["dimensions"], "salvage": ["builds"], "true": ["spokes"], "pluck": [], "tap": ["modes"], "compare": ["changes"],
    "tables": [],
}  # fmt: skip


def _csv_files() -> list[str]:
    lines = ["## CSV", "", "Commas between the cells, a point in numbers, the unit at the end of a column's name.", ""]
    for name, call in CSV_FILES.items():
        found = columns(call)
        own = [column for column in found if name != "tables" or column in ("table", "units", "label", "source")]
        more = (
            ["", "The other columns are the table's own, in the units that stand in each row."]
            if name == "tables"
            else []
        )
        rows = [[f"`{column}`", column_meaning(name, column)] for column in own]
        lines += [f"### {name} -o x.csv", *table(("column", "meaning"), rows), *more]
    return [*lines, ""]


# --- commands.md


COMMANDS_HEAD = """# Commands

{made}
`wheelcalc COMMAND BUILDFILE [options]`; `-` as the build file reads standard input. In the order of the job.
"""


def commands() -> str:
    """Every command with its options."""
    context = click.Context(job)
    loaded = {name: job.get_command(context, name) for name in COMMANDS}
    shared = _shared(
        [each for name, each in loaded.items() if each is not None and name not in ("start", "stand", "tables")]
    )
    lines = [COMMANDS_HEAD.format(made=MADE), "## Options of every computing command", *table(OPTION_HEAD, shared)]
    for name, command in loaded.items():
        assert command is not None
        places = " ".join(
            each.metavar or (each.name or "").upper() for each in command.params if isinstance(each, click.Argument)
        )
        own = [row for row in _options(command) if row not in shared]
        lines += [
            f"## wheelcalc {name} {places}".rstrip(),
            "",
            (command.help or "").replace("\b\n", ""),
            *table(OPTION_HEAD, own),
        ]
    return "\n".join(lines)


OPTION_HEAD = ("option", "value", "what it does")


def _options(command: click.Command) -> list[list[str]]:
    return [
        [f"`{', '.join(each.opts)}`", _value(each), each.help or ""]
        for each in command.params
        if isinstance(each, click.Option) and not each.hidden
    ]


def _value(option: click.Option) -> str:
    if isinstance(option.type, click.Choice):
        return " or ".join(map(str, option.type.choices))
    return "" if option.is_flag else option.metavar or option.type.name.upper()


def _shared(every: Sequence[click.Command]) -> list[list[str]]:
    first, *others = (_options(each) for each in every)
    return [row for row in first if all(row in other for other in others)]


# --- stable.md


STABLE_HEAD = """# What is stable

{made}
Scripts may rely on, until the middle number of the version rises and changes.md says what changed:

- the build file: sections, keys, units, words (build-file.md), and that a file which was read is read;
- the JSON: names, units, meanings; columns of CSV; exit status (answers.md);
- commands and options (commands.md);
- the names below, with their parameters. An answer has `title`, `findings`, `assumptions`, `stops`, `as_json()`, and
  `rows()`, which gives one list of the JSON as records; printed it is the text of the command line, in a notebook the page;
- of the arrays of a `Wheel` and a `Lacing`: one entry a spoke, in rim-hole order.

Not stable, and free to change with any version: the wording of texts, findings and errors (their `name` is stable, by it a
script knows a finding), pages and pictures, every module and name that is not listed here, and figures within their error.
Messages for a person say what they mean to a person: do not take numbers out of them.

A name that begins with an underscore, and whatever is imported from a path below `wheelcalc.` that is not listed here, is
the house's own.
"""


PUBLIC = (
    "wheelcalc", "wheelcalc.answers", "wheelcalc.lacing", "wheelcalc.batch", "wheelcalc.pictures", "wheelcalc.tone",
)  # fmt: skip


def stable() -> str:
    """What scripts may rely on, with every public name."""
    lines = [STABLE_HEAD.format(made=MADE)]
    public = (wheelcalc, answer_functions, wheelcalc.lacing, wheelcalc.batch, wheelcalc.pictures, wheelcalc.tone)
    for module, title in zip(public, PUBLIC, strict=True):
        names = [name for name in module.__all__ if not name.startswith("_")]
        rows = [[f"`{name}`", _first_line(getattr(module, name))] for name in sorted(names, key=str.lower)]
        lines += [f"## {title}", *table(("name", "what it is"), rows)]
    return "\n".join(lines)


def _first_line(named: Any) -> str:
    return (inspect.getdoc(named) or "").partition("\n")[0]


PAGES: Mapping[str, Callable[[], str]] = {
    "build-file.md": build_file,
    "answers.md": answers,
    "commands.md": commands,
    "stable.md": stable,
}


def main() -> None:
    """Write all of them."""
    for name, make in PAGES.items():
        (FOLDER / name).write_text(make().rstrip("\n") + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
