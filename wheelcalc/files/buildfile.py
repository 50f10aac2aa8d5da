"""The build file: TOML text becomes dimensions, or one error that names the key."""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from wheelcalc.build.dimension import Dimension
from wheelcalc.build.section import Key
from wheelcalc.build.whole import Build
from wheelcalc.files import values
from wheelcalc.files.bytes import bytes_of
from wheelcalc.files.drawer import DRAWER_ONLY, TAKERS, Part, drawer_of, is_drawer, taken, together
from wheelcalc.files.from_python import as_in_file
from wheelcalc.files.keys import keys, lists
from wheelcalc.wheel import give
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable
from wheelcalc.wheel.parts import SIDES

LARGEST_FILE = 1_000_000  # bytes; ours: a build file has a few thousand
STANDARD_INPUT = "-"
OVERRIDES = "overrides"  # where a value came from that was put in place of the file's, for messages
HOW_TO_OVERRIDE = 'give a dict, {"rim.erd": 602}, or texts, "rim.erd=602"'
Overrides = Iterable[str] | Mapping[str, Any]
LONGEST_OVERRIDE = 20_000  # letters; ours: a wheel listed spoke by spoke has three thousand
BYTE_ORDER_MARK = b"\xef\xbb\xbf"


@dataclass(frozen=True, eq=False)
class BuildFile:
    """A build file that was read.

    Parameters
    ----------
    name : the file, for messages
    build : what is known: key -> value, uncertainty, origin
    jar : "jar.rims", "jar.hubs", "jar.spokes" -> one set of dimensions per entry, its keys below "rim", "hub", "spokes"
    read_with : reads it again with more overrides, besides those that it was read with
    """

    name: str
    build: Build
    jar: Mapping[str, list[Build]] = field(default_factory=dict)
    read_with: Callable[[Overrides], BuildFile] | None = field(default=None, repr=False)

    def __repr__(self) -> str:
        given = sum(entry.origin != "default" for entry in self.build.values())
        return f"<BuildFile {self.name}: {self.title}, {given} keys given>"

    def having(self, overrides: Overrides) -> BuildFile:
        """Return the build with other values for some keys, read as if they stood in the file; itself where there are none.

        Raises
        ------
        InputError
            If one cannot be used.
        """
        if not overrides:
            return self
        if self.read_with is None:
            raise InputError(OVERRIDES, f"{self.name} was changed after it was read; give them where it is read")
        return self.read_with(overrides)

    @property
    def title(self) -> str:
        """What the user calls it, or the file's name."""
        return Path(self.name).stem if self.build.title is None else self.build.title

    @contextmanager
    def named(self) -> Iterator[None]:
        """Put the file's name before any `InputError` raised inside."""
        with in_file(self.name):
            yield


@contextmanager
def in_file(name: str) -> Iterator[None]:
    """Put a file's name before any `InputError` raised inside, once."""
    try:
        yield
    except InputError as error:
        raise error.in_file(name) from None


def read_build(
    source: str | Path, overrides: Overrides = (), drawers: Iterable[str | Path] = (), *, inches: bool = False
) -> BuildFile:
    """Read a build file.

    Parameters
    ----------
    source : path of the file, or "-" for standard input
    overrides : key -> value, or "KEY=VALUE" each, read as if they stood in the file
    drawers : paths of drawers, whose parts the build may take by name
    inches : whether a bare length that can be inches but not mm is taken so, its origin "inches"

    Raises
    ------
    InputError
        If the file cannot be read, is not TOML, or holds a key or value that is not allowed.
    """
    return build_of(tree_of(source), name_of(source), overrides, read_drawers(drawers), inches=inches)


def read_drawers(paths: Iterable[str | Path]) -> list[Part]:
    """Read drawers.

    Raises
    ------
    InputError
        If one cannot be read or is no drawer, or a kind of parts has one name twice.
    """
    return together(drawer_of(tree_of(path, DRAWER, ""), name_of(path)) for path in paths)


DRAWER = "a drawer of parts, TOML with [[rims]], [[hubs]], [[spokes]] or [[cranks]], each with a name"


def tree_of(
    source: str | Path,
    wanted: str = "a build file",
    hint: str = " (`wheelcalc start` writes one), or - for standard input",
) -> dict[str, Any]:
    """Return the tree of plain values of a file, "-" for standard input.

    Raises
    ------
    InputError
        If there is none, or it is no TOML: with the file's name, what was wanted and the hint.
    """
    with in_file(name_of(source)):
        return parsed(_bytes_of(source, wanted, hint))


def name_of(source: str | Path) -> str:
    """Name of a file for messages; on disk it may hold bytes that are no text, and signs that a terminal obeys."""
    return (
        "standard input" if str(source) == STANDARD_INPUT else printable(str(source).encode(errors="replace").decode())
    )


def build_of(
    tree: Mapping[str, Any],
    name: str,
    overrides: Overrides = (),
    parts: Sequence[Part] = (),
    *,
    inches: bool = False,
) -> BuildFile:
    """Return the build that a tree of plain values (as TOML gives it) describes; see `read_build`."""
    with in_file(name):
        refuse_drawer(tree)
        flat, jar = _flatten(tree)
    origin = dict.fromkeys(flat, name)
    asked = list(_asked(overrides))
    with in_file(OVERRIDES):
        changed = {path: value for one in asked for path, value in _overridden(*one).items()}
    flat |= changed
    origin |= dict.fromkeys(changed, OVERRIDES)
    tools = _take_parts(flat, origin, parts)
    with in_file(origin.get("measuring.tool", name)):
        tool = str(values.read("measuring.tool", keys()["measuring.tool"], flat.get("measuring.tool", "rule")).value)
    entries, reader = {}, values.read_as_inches if inches else values.read
    for path, raw in flat.items():
        with in_file(origin[path]):
            entries[path] = reader(path, key_of(path), raw, tools.get(path, tool))
    with in_file(name):
        entries |= _from_readings(entries)
        filled = Build(_with_defaults(entries))
        _check_together(filled)
        entered = {section: [_entry(section, one, tool) for one in written] for section, written in jar.items()}
    for section, more in _rest_of(parts, filled).items():
        entered[section] = [*entered.get(section, []), *more]

    def read_with(more: Overrides) -> BuildFile:
        return build_of(tree, name, dict([*asked, *_asked(more)]), parts, inches=inches)

    return BuildFile(name, filled, entered, read_with)


HOW_A_DRAWER_SERVES = (
    "give a build file and this one beside it (`drawers`). `wheelcalc check` lists what lies in it, `wheelcalc salvage --parts` what "
    "it builds"
)


def refuse_drawer(tree: Mapping[str, Any], instead: str = HOW_A_DRAWER_SERVES) -> None:
    """Refuse a drawer that was given as a build file, and say what to do instead.

    Raises
    ------
    InputError
        If it is one.
    """
    if is_drawer(tree):
        raise InputError("", f"is a drawer of parts, not a build file; {instead}")


def with_parts(flat: Mapping[str, Any], parts: Sequence[Part]) -> dict[str, Any]:
    """Return raw values with those of the parts that they take beside them, as `build_of` reads them."""
    out = dict(flat)
    _take_parts(out, dict.fromkeys(out, ""), parts)
    return out


def _take_parts(flat: dict[str, Any], origin: dict[str, str], parts: Sequence[Part]) -> dict[str, str]:
    """Put the keys of the parts that the build takes beside its own, which go before; path -> tool of the drawer."""
    tools: dict[str, str] = {}
    mine = frozenset(flat)
    for taker, kind in TAKERS.items():
        key = f"{taker}.part"
        if key not in flat:
            continue
        with in_file(origin[key]):
            part = taken(parts, kind, str(flat[key]), key)
        with in_file(part.file):
            own, _ = _flatten(_nested(taker, _of_section(part)))
        for path, raw in own.items():
            if path not in mine and not _own_goes_before(path, mine):
                flat[path], origin[path], tools[path] = raw, part.file, part.tool
        on_hand = part.table.get("on_hand")
        if on_hand is not None and not any(path in flat for path in ("stock.on_hand", "stock.lengths", "stock.step")):
            flat["stock.on_hand"], origin["stock.on_hand"] = on_hand, part.file
    return tools


def _own_goes_before(path: str, own: Set[str]) -> bool:
    """Whether a build's own key says the same in another way: an offset, an erd with where it was read to."""
    if path.endswith(".locknut_to_flange"):
        return path.removesuffix("locknut_to_flange") + "offset" in own
    return path == "rim.erd_to" and "rim.erd" in own


def _of_section(part: Part) -> dict[str, Any]:
    """Keys of a part that its section has; spokes have those of the jar besides."""
    if part.kind != "spokes":
        return dict(part.table)
    known = lists()["jar.spokes"]
    return {name: value for name, value in part.table.items() if name == "wire" or name not in known}


def _nested(path: str, table: Mapping[str, Any]) -> dict[str, Any]:
    out: Any = table
    for name in reversed(path.split(".")):
        out = {name: out}
    return dict(out)


def _rest_of(parts: Sequence[Part], known: Build) -> dict[str, list[Build]]:
    """The parts of the drawers that the build does not take already, as if they lay in its jar."""
    out: dict[str, list[Build]] = {}
    for part in parts:
        section = {"rim": "jar.rims", "hub": "jar.hubs", "spokes": "jar.spokes"}.get(part.kind)
        if section and known.value(f"{part.kind}.part") != part.name:
            table = {
                name: value for name, value in part.table.items() if part.kind != "spokes" or name in lists()[section]
            }
            with in_file(part.file):
                out.setdefault(section, []).append(_entry(section, {**table, "name": part.name}, part.tool, part.kind))
    return out


def _from_readings(entries: Mapping[str, Dimension]) -> Mapping[str, Dimension]:
    """What comes of raw readings, for keys that the file leaves open."""
    if not any(path.startswith("readings.") for path in entries):
        return {}
    from wheelcalc.measuring import readings  # noqa: PLC0415 - only a file with readings needs them

    return readings.fill(Build(entries))


def raw_values(tree: Mapping[str, Any]) -> dict[str, Any]:
    """Return dotted key -> raw value of a tree of plain values, sides written out; the lists of tables left out."""
    return _flatten(tree)[0]


def key_of(path: str) -> Key:
    """What a key takes; a side of a key that may differ by side takes what the key does."""
    return keys()[path] if path in keys() else keys()[path.rpartition(".")[0]]


def _bytes_of(source: str | Path, wanted: str, hint: str) -> bytes:
    if str(source) == STANDARD_INPUT:
        if sys.stdin is None:
            raise InputError("", f"is closed; give the path of {wanted}")
        return sys.stdin.buffer.read(LARGEST_FILE + 1)
    return bytes_of(source, LARGEST_FILE, wanted, hint)


def parsed(data: bytes) -> dict[str, Any]:
    """Return the tree of plain values of a build file's bytes, or `InputError`."""
    if len(data) > LARGEST_FILE:
        raise InputError("", "is larger than 1 MB; a build file has a few thousand characters")
    try:
        text = data.removeprefix(BYTE_ORDER_MARK).decode()
    except UnicodeDecodeError as error:
        text = f"is not UTF-8 text (byte {error.start + 1}); save it as plain text in UTF-8"
        raise InputError("", text) from None
    if "\0" in text:
        raise InputError("", "is not a text file; give a build file in TOML")
    if not text.strip():
        raise InputError("", "is empty; `wheelcalc start` writes a build file")
    _refuse_deep_names(text)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError("", f"is not TOML: {_cure(text, str(error))}") from None
    except (RecursionError, ValueError, OverflowError):
        raise InputError("", "is not a build file: nested too deeply, or a number too long to read") from None


# A key's text, so that what it holds does not count; a string or remark that does not end goes on to the line's end.
_TEXT = re.compile(r""""(?:[^"\\]|\\.)*+"?|'[^']*+'?|\#.*""")
_DEEPEST = 30  # parts of a name; ours: no key has more than four, and the time to read one grows with their square


def _refuse_deep_names(text: str) -> None:
    for number, line in enumerate(text.splitlines(), 1):
        if line.count(".") < _DEEPEST:
            continue
        bare = _TEXT.sub("x", line)
        if max(piece.count(".") for piece in re.split(r"[=,{}\[\]]", bare)) >= _DEEPEST:
            raise InputError(
                f"line {number}", f"has a name of more than {_DEEPEST} parts; write key = value, text in quotes"
            )


_AT_LINE = re.compile(r"at line ([0-9]+)")
_DECIMAL_COMMA = re.compile(r"(\s*[\w.-]+\s*=\s*)(-?[0-9]+),([0-9]+)(\s*(?:#.*)?)")
_BARE_TEXT = re.compile(r"(\s*[\w.-]+\s*=\s*)([^\s\"'\[{#][^\"'\[\]{}#=]*?)(\s*(?:#.*)?)")


def _cure(text: str, reason: str) -> str:
    """Return line, what stands there and what to write in its place, of a text that is not TOML."""
    at = _AT_LINE.search(reason)
    lines = text.split("\n")
    line = lines[int(at[1]) - 1].strip() if at and int(at[1]) <= len(lines) else ""
    shown = f'line {at[1]} is "{printable(line, LONGEST_ECHO)}"' if at and line else ""
    if shown and len(line) <= LONGEST_ECHO:
        if comma := _DECIMAL_COMMA.fullmatch(line):
            return f"{shown}; write the decimals behind a point: {comma[1].strip()} {comma[2]}.{comma[3]}"
        if bare := _BARE_TEXT.fullmatch(line):
            return f'{shown}; write text and numbers with a unit in quotes: {bare[1].strip()} "{bare[2]}"'
    said = f"{shown}: {_one_line(reason)}" if shown else _one_line(reason)
    return f"{said}; write key = value, text in quotes"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _flatten(tree: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, list[dict[str, Any]]]]:
    """Dotted key -> raw value, with both sides written out, and the lists of tables."""
    flat: dict[str, Any] = {}
    jar: dict[str, list[dict[str, Any]]] = {}
    pending: list[tuple[str, Any]] = list(reversed(list(tree.items())))
    while pending:
        path, value = pending.pop()
        if path in keys():
            flat.update(_sides(path, keys()[path], value))
        elif path in lists():
            jar[path] = _tables(path, value)
        elif isinstance(value, Mapping) and path in _sections():
            pending.extend((f"{path}.{name}", each) for name, each in reversed(list(value.items())))
        else:
            tables = value if isinstance(value, list) and value else [value]
            raise _unknown(path, all(isinstance(each, Mapping) for each in tables))
    return flat, jar


@cache
def _sections() -> frozenset[str]:
    """Every path that has keys below it."""
    every = (*keys(), *lists())
    return frozenset(key.rsplit(".", depth)[0] for key in every for depth in range(1, key.count(".") + 1))


def _unknown(path: str, is_section: bool) -> InputError:
    shown = values.shown(path)
    if path in _sections():
        return InputError(shown, f"is a section: write [{shown}] and its keys below it")
    if path in DRAWER_ONLY:
        text = (
            f"belongs into a drawer of parts, a file of its own (--parts); a build file has [{path.removesuffix('s')}]"
        )
        return InputError(shown, text)
    known = sorted(_sections() | set(lists())) if is_section else list(keys())
    near = _nearest(path, known)
    what = "section" if is_section else "key"
    hint = f"the nearest known is {near}" if near else "`wheelcalc tables keys` lists the known ones"
    return InputError(shown, f"is not a known {what}; {hint}")


def _nearest(path: str, known: list[str]) -> str | None:
    from wheelcalc.files.nearest import nearest  # noqa: PLC0415 - only an error needs it

    return nearest(path, known)


def _tables(path: str, value: object) -> list[dict[str, Any]]:
    if not (isinstance(value, list) and all(isinstance(each, dict) for each in value)):
        raise InputError(path, f"write [[{path}]] once for each")
    if len(value) > values.MOST:
        raise InputError(path, f"found {len(value)} of them; at most {values.MOST} are looked through at once")
    return value


def _sides(path: str, key: Key, value: Any) -> dict[str, Any]:
    if not key.per_side:
        return {path: value}
    if not isinstance(value, Mapping):
        return {f"{path}.{side}": value for side in SIDES}
    for name in value:
        if name not in SIDES:
            raise InputError(path, f"found {values.shown(name)!r}; the sides are left and right")
    if len(value) < 2 and key.default is None and path not in ONE_SIDE_WILL_DO:
        raise InputError(path, "names one side only; write { left = ..., right = ... }, or one value for both")
    return {f"{path}.{side}": each for side, each in value.items()}


ONE_SIDE_WILL_DO = ("spacers.fitted", "spokes.end_give")  # a default of their own stands for the other


def _asked(overrides: Overrides) -> Iterator[tuple[str, Any]]:
    """Key and value of every override."""
    if isinstance(overrides, Mapping):
        yield from ((str(path), as_in_file(value)) for path, value in overrides.items())
        return
    if not isinstance(overrides, Iterable):
        raise InputError(OVERRIDES, f"found {values.shown(overrides)}; {HOW_TO_OVERRIDE}")
    for text in [overrides] if isinstance(overrides, str) else overrides:
        if isinstance(text, Mapping):
            yield from _asked(text)
            continue
        if not isinstance(text, str):
            raise InputError(OVERRIDES, f"found {values.shown(text)}; {HOW_TO_OVERRIDE}")
        path, equals, value = text.partition("=")
        if not equals or not path.strip():
            with in_file(OVERRIDES):
                raise InputError("", f'found "{values.shown(text)}"; write KEY=VALUE, such as rim.erd="602 mm"')
        yield path.strip(), _typed(value.strip())


def _overridden(path: str, raw: Any) -> dict[str, Any]:
    parent, _, side = path.rpartition(".")
    if side in SIDES and parent in keys() and keys()[parent].per_side:
        return {path: raw}
    if isinstance(raw, Mapping) and path in _sections():
        flat, jar = _flatten({path: raw})
        if not jar:
            return flat
    if path not in keys():
        raise _unknown(path, is_section=False)
    return _sides(path, keys()[path], raw)


def _typed(text: str) -> Any:
    """Value of an override: TOML where it is TOML (numbers, lists, tables, true), else the text itself."""
    try:
        if "\n" in text or len(text) > LONGEST_OVERRIDE:
            return text
        _refuse_deep_names(text)
        return tomllib.loads(f"value = {text}")["value"]
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        return text


@cache
def _defaults() -> tuple[tuple[str, Dimension], ...]:
    """Every key that has a default, sides written out, and the default."""
    return tuple(
        (full, Dimension(key.default, 0.0, "default"))
        for path, key in keys().items()
        if key.default is not None
        for full in ([f"{path}.{side}" for side in SIDES] if key.per_side else [path])
    )


OPTIONAL = ("old_wheel.hub.", "geometry.new.")  # sections whose defaults only count where the section was begun


def _with_defaults(entries: Mapping[str, Dimension]) -> dict[str, Dimension]:
    filled = dict(entries)
    not_begun = tuple(section for section in OPTIONAL if not any(path.startswith(section) for path in entries))
    for path, default in _defaults():
        if not path.startswith(not_begun):
            filled.setdefault(path, default)
    for side in SIDES:
        ends = give.BY_HEAD[str(filled[f"hub.{side}.spoke_head"].value)]
        filled.setdefault(f"spokes.end_give.{side}", Dimension(ends.value, ends.sigma, "default"))
    slot = filled["nipple.slot_depth"]
    if slot.origin == "default" and "rim.erd_to" in filled and filled["rim.erd_to"].value == "nipple top":
        filled["nipple.slot_depth"] = Dimension(slot.value, SLOT_UNSURE, "default")
    material = filled["nipple.material"].value
    filled.setdefault("stock.short_at_most", Dimension(SHORT_AT_MOST[material], 0.0, "default"))
    through = "frame.dropout" in filled and filled["frame.dropout"].value == "through"
    filled.setdefault("frame.width_slack", Dimension(WIDTH_SLACK[through], 0.0, "default"))
    if "spacers.fitted.left" in filled or "spacers.fitted.right" in filled:
        for side in SIDES:
            filled.setdefault(f"spacers.fitted.{side}", Dimension(0.0))
    return filled


SLOT_UNSURE = 0.25  # mm, C: of the usual slot's depth, where it was not measured and the erd rests on it
# C: contested; brass 2, aluminium 0.5 (its unfilled heads snap).
SHORT_AT_MOST = {"brass": 2.0, "aluminium": 0.5}
# M: over or short that still fits; a through axle clamps on a shoulder and gives less.
WIDTH_SLACK = {False: 1.0, True: 0.3}


def _check_together(build: Build) -> None:
    if "rim.erd" in build and "rim.erd_to" not in build:
        raise InputError("rim.erd", f"a bare erd can mean two things; add rim.erd_to: {keys()['rim.erd_to'].how}")
    if build.rim.erd_to == "nipple seat" and not build.given("nipple.seat_to_end"):
        how = keys()["nipple.seat_to_end"].how
        raise InputError("nipple.seat_to_end", f'is needed where erd_to = "nipple seat": measure {how}')


def _entry(section: str, table: dict[str, Any], tool: str, named: str = "") -> Build:
    """One [[jar...]] table as dimensions, its keys below the section that they belong to; `named` in an error."""
    with of_part(table.get("name")):
        return _dimensions_of(section, table, tool, named or section)


@contextmanager
def of_part(name: object) -> Iterator[None]:
    """Put a part's name behind the text of any `InputError` raised inside: of several it must say which."""
    try:
        yield
    except InputError as error:
        if not isinstance(name, str) or error.key.endswith(".name"):
            raise
        raise InputError(error.key, f'{error.text} (of "{values.shown(name)}")', error.file) from None


def _dimensions_of(section: str, table: dict[str, Any], tool: str, named: str) -> Build:
    home = {"jar.rims": "rim", "jar.hubs": "hub", "jar.spokes": "spokes"}[section]
    entries: dict[str, Dimension] = {}
    pending: list[tuple[str, Any]] = list(table.items())
    known = lists()[section]
    while pending:
        path, value = pending.pop()
        if path in known:
            entries[f"{home}.{path}"] = values.read(f"{named}.{path}", known[path], value, tool)
        elif isinstance(value, Mapping) and any(key.startswith(path + ".") for key in known):
            pending.extend((f"{path}.{name}", each) for name, each in value.items())
        else:
            near = _nearest(path, list(known))
            hint = f"; the nearest known is {near}" if near else ""
            raise InputError(f"{named}.{values.shown(path)}", f"is not a known key{hint}")
    for name, key in known.items():
        if key.default is not None:
            entries.setdefault(f"{home}.{name}", Dimension(key.default, 0.0, "default"))
    return Build(entries)
