"""Calls of every command for the fuzzers: arguments, options, the files beside them, standard input."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.tools.fuzz_files import build_file, readings, recording, trees
from tests.tools.fuzz_values import KINDS, Draw, strange, value_for, value_in_toml
from wheelcalc.build.section import Key
from wheelcalc.cli import main
from wheelcalc.files.buildfile import raw_values
from wheelcalc.files.keys import keys


@dataclass(frozen=True)
class Case:
    """One call: the arguments, the files that lie in its folder, and standard input."""

    arguments: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)
    stdin: bytes = b""


HOLES = (
    "1",
    "3,9",
    "1,2",
    "36",
    "37",
    "0",
    "-3",
    "x",
    "",
    ",",
    "1,1",
    "1-5",
    "1e3",
    "\u0663",
    "9" * 30,
    "1, 2 ,3",
    "nan",
    "2.5",
)
SEEN = (
    "1-R4, 2-L9",
    "1-R4",
    "1-L4",
    "",
    ",",
    "1-R",
    "R4-1",
    "1-R4, 1-R5",
    "99-R99",
    "1-R4 2-L9 3-R1",
    "0-L0",
    "1-r4",
    "--",
    "x" * 200,
)
SUFFIXES = (".txt", ".json", ".csv", ".svg", ".html", ".toml", ".xyz", "")
OWN_OPTIONS: dict[str, tuple[tuple[str, ...], ...]] = {
    "lengths": (("--working",),),
    "order": (("--working",),),
    "fit": (("--working",),),
    "tension": (("--working",), ("--structure",)),
    "lace": (("--seen", "SEEN"),),
    "true": (("--broken", "HOLES"), ("--own-plane",)),
    "pluck": (("--from", "HOLES"), ("--side", "SIDE"), ("--skip", "HOLES"), ("--before", "old.csv")),
    "sheet": (("--only", "SECTIONS"), ("--without", "SECTIONS"), ("--paper", "PAPER")),
    "measure": (("--how", "KEY"),),
    "tables": (("--find", "WORDS"), ("--sources",)),
}
SECTIONS = (
    "order",
    "lace",
    "fit",
    "tension",
    "measure,order",
    "nothing",
    "",
    ",",
    "gate",
    "record",
    "labels",
    "ride",
    "ORDER",
    "true",
)
WEIGHTS = {"sheet": 0.5, "pluck": 0.25, "tap": 0.25, "salvage": 0.7, "tables": 0.3, "start": 0.6, "measure": 0.7}


def _filled(draw: Draw, word: str) -> str:
    choices: dict[str, Callable[[], str]] = {
        "SEEN": lambda: draw.choice(SEEN),
        "HOLES": lambda: draw.choice(HOLES),
        "SIDE": lambda: draw.choice(("left", "right", "both", "middle", "")),
        "SECTIONS": lambda: draw.choice(SECTIONS),
        "PAPER": lambda: draw.choice(("any", "a4", "letter", "a5", "")),
        "KEY": lambda: draw.choice((*keys(), "rim", "", "rim.erdd", "x" * 300, "hub.left", "erd")),
        "WORDS": lambda: draw.choice(("622", "thread", "", "zzz", "%", "[", "road double", "\u00e9", "a " * 90)),
    }
    return choices[word]() if word in choices else word


def override(draw: Draw) -> str:
    """A value for --set."""
    if draw.random() < 0.1:
        return draw.choice(
            (
                "",
                "=",
                "rim.erd",
                "=5",
                "rim.erd=",
                "rim=5",
                "rim.erd=5=6",
                "rim.erd=[",
                "RIM.ERD=600",
                "a" * 500,
                "rim.erd='",
                "x=\n",
            )
        )
    name = draw.choice(list(keys()))
    if draw.random() < 0.1 and keys()[name].per_side:
        return f"{name}.{draw.choice(('left', 'right'))}={value_in_toml(KINDS[keys()[name].kind](draw, keys()[name]))}"
    return f"{name}={value_in_toml(value_for(draw, keys()[name], 0.15))}"


def _start(draw: Draw) -> Case:
    from wheelcalc.cli.start import command

    names = [
        name
        for option in command.params
        for name in option.opts
        if name.startswith("--") and name not in ("--help", "--output")
    ]
    by_option = {"--" + name.replace(".", "-").replace("_", "-"): key for name, key in keys().items()}
    arguments = []
    for name in draw.sample(names, draw.choice((0, 1, 3, 10, 30, len(names)))):
        key = by_option.get(name)
        value = value_for(draw, key, 0.1) if key else strange(draw)
        arguments += [name, value if isinstance(value, str) else value_in_toml(value)]
    files = {}
    if draw.gentle:
        return Case(("start", "new.toml", *_clean(_answers(draw, by_option, names))), {}, b"")
    target = draw.choice(
        (["new.toml"], ["-o", "new.toml"], ["-o", "none/new.toml"], [], ["wheel.toml"], ["-o", "new.txt"])
    )
    if "wheel.toml" in target:
        files["wheel.toml"] = build_file(draw)
    stdin = draw.choice((b"", b"\n" * 60, b"36\n602\nx\n", b"\xff\n", b"?\n" * 5, b"-\n" * 80))
    return Case(("start", *target, *_clean(arguments)), files, stdin)


def _answers(draw: Draw, by_option: dict[str, Key], names: list[str]) -> list[str]:
    """Options as a user may answer: what an example holds, a few answers changed, and one or two left out."""
    held = raw_values(json.loads(draw.choice(trees())))
    held |= {name.removesuffix(".left"): value for name, value in held.items() if name == "lacing.crosses.left"}
    held = {"--" + name.replace(".", "-").replace("_", "-"): value for name, value in held.items()}
    for name in draw.sample(sorted(by_option), 2):
        held[name] = value_for(draw, by_option[name], 0.0)
    out = []
    for name in names:
        if name in held and draw.random() < 0.99:
            value = held[name]
            out += [name, value if isinstance(value, str) else value_in_toml(value).strip("[]{}")]
    return out


def _clean(arguments: list[str]) -> list[str]:
    return [argument.replace("\0", "") for argument in arguments]


def case(draw: Draw) -> Case:
    """A call of some command."""
    draw.gentle = draw.random() < 0.65
    names = [name for name in main.COMMANDS if name != "stand"]  # it serves until it is ended
    command = draw.choices(names, [WEIGHTS.get(name, 1.0) for name in names])[0]
    if command == "start":
        return _start(draw)
    files: dict[str, bytes] = {}
    arguments = [command]
    if command == "tables":
        if draw.random() < 0.8:
            arguments.append(
                draw.choice(
                    ("keys", "limits", "sources", "rims", "cranks", "", "nothing", "threads", "..", "limits.toml")
                )
            )
    elif not (command == "measure" and draw.random() < 0.3):
        arguments.append(
            "wheel.toml" if draw.gentle else draw.choices(("wheel.toml", "-", "none.toml", "."), (90, 5, 1, 1))[0]
        )
        files["wheel.toml"] = build_file(draw)
    if command == "compare" and draw.random() < 0.9:
        arguments.append("other.toml")
        files["other.toml"] = build_file(draw)
    arguments += _read(draw, command, files)
    arguments += _options(draw, command, files)
    return Case(tuple(_clean(arguments)), files, files.get("wheel.toml", b""))


def _read(draw: Draw, command: str, files: dict[str, bytes]) -> list[str]:
    """What `true` and `pluck` read besides the build file: its name; the file itself goes to `files`."""
    arguments: list[str] = []
    if command == "true" and draw.gentle:
        files["readings.csv"] = readings(draw)
        arguments += draw.choice(
            (
                ["readings.csv"],
                ["readings.csv"],
                ["readings.csv", "--own-plane"],
                ["--broken", str(draw.randint(1, 18))],
            )
        )
    elif command == "true" and draw.random() < 0.75:
        arguments.append(draw.choices(("readings.csv", "none.csv", "-", "."), (90, 1, 1, 1))[0])
        files["readings.csv"] = readings(draw)
    if command == "tap":
        for option in ("--radial", "--lateral"):
            if draw.random() < 0.8:
                arguments += [option, draw.choices(("rim.wav", "none.wav", "."), (90, 1, 1))[0]]
        files["rim.wav"] = recording(draw)
    if command == "pluck":
        arguments.append(draw.choices(("plucks.wav", "none.wav", "."), (90, 1, 1))[0])
        files["plucks.wav"] = recording(draw)
        files["old.csv"] = readings(draw)
    return arguments


def _options(draw: Draw, command: str, files: dict[str, bytes]) -> list[str]:
    out: list[str] = []
    for option in OWN_OPTIONS.get(command, ()):
        if draw.gentle and command in ("true", "pluck", "sheet") and draw.random() < 0.8:
            continue
        if draw.random() < (0.5 if command == "tension" else 0.25):
            out += [_filled(draw, word) for word in option]
    if command != "tables":
        for _ in range(draw.choice((0, 0, 0, 0, 0, 0, 1) if draw.gentle else (0, 0, 0, 0, 1, 1, 2))):
            out += ["--set", override(draw)]
    if draw.random() < 0.3:
        out.append("--json")
    if draw.random() < 0.2:
        name = "out" + draw.choice(SUFFIXES[:5] if draw.gentle else SUFFIXES)
        out += ["-o", draw.choices((name, "none/" + name, "wheel.toml"), (90, 5, 5))[0]]
        if draw.random() < 0.2:
            files[name] = b"old"
        if draw.random() < 0.3:
            out.append("--force")
    if draw.random() < 0.01:
        out.append(draw.choice(("--nothing", "-x", "--help", "--version", "--json=1", "--", "")))
    return out
