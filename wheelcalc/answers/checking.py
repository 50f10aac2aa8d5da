"""`check`: what a build file is good for, what it still lacks, and which reading to take next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer, Source, from_readings, opened
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile, Overrides, build_of, name_of, of_part, tree_of
from wheelcalc.files.drawer import Part, drawer_of, is_drawer, together
from wheelcalc.files.from_python import as_in_file
from wheelcalc.files.needs import HUB, NEEDS, SECTIONS, how, missing, shortened
from wheelcalc.measuring.doubts import doubts, odd_lengths
from wheelcalc.page.blocks import Column, Page, Sentence, Table
from wheelcalc.page.numbers import counted, several
from wheelcalc.wheel.errors import InputError, printable
from wheelcalc.wheel.findings import Finding, by_weight

# The order of the job; a command that is not named comes last.
JOB = ("measure", "salvage", "fit", "lengths", "order", "compare", "lace", "tap", "tension", "true", "pluck", "sheet")


NOT_ENOUGH = "Not enough yet for any step of the new wheel"
ASKED_BY_START = (
    "`wheelcalc start` with this file asks for what is missing, one by one, and says how to read it. While an old wheel is still built, "
    "`wheelcalc salvage` says what to read of it first."
)
READING = "reading"
USED_FIRST = ("fit", "order")  # the steps that need least, and most


@dataclass(frozen=True)
class Readiness:
    """What one command could do with the file.

    Parameters
    ----------
    command : its name
    missing : keys that it still needs, the first of each choice
    problem : why it cannot work although every key is there; empty where it can
    stopped_by : names of the stops that its own answer begins with
    fed : whether the file holds what it works on; a command without needs runs on any file, and proves nothing
    """

    command: str
    missing: tuple[str, ...]
    problem: str = ""
    stopped_by: tuple[str, ...] = ()
    fed: bool = True

    @property
    def ready(self) -> bool:
        """Whether it has all that it needs, and no stop stands in its way."""
        return not (self.missing or self.problem or self.stopped_by)


@dataclass(frozen=True)
class NextReading:
    """The reading to take next: its key, how, and what it brings."""

    key: str
    how: str
    brings: str


@dataclass(frozen=True)
class PartReadiness:
    """A part of a drawer: what it is, its name, and the keys without which no wheel can be built with it."""

    kind: str
    name: str
    missing: tuple[str, ...]

    @property
    def ready(self) -> bool:
        """Whether a wheel can be built with it."""
        return not self.missing


@dataclass(frozen=True, kw_only=True)
class CheckAnswer(Answer):
    """Answer of `check`; of a drawer it has parts and no commands."""

    schema: ClassVar[str] = "wheelcalc/check/1"
    records: ClassVar[str] = "commands"
    commands: Sequence[Readiness]
    next: NextReading | None
    parts: Sequence[PartReadiness] = ()

    def page(self) -> Page:
        """Return what the file is good for, what it lacks, and what to read next; of a drawer, what lies in it."""
        if self.parts:
            return self._drawer()
        open_ = [each.command for each in self.commands if not each.ready]
        columns = [
            Column("step", lambda each: each.command, "left"),
            Column("state", self._state, "left"),
        ]
        return Page(
            verdict=self._verdict(open_),
            title=f"{self.title}: what this file is good for",
            answer=[*([Table(columns, self.commands)] if open_ else []), *self._next()],
            findings=self.findings,
            assumptions=self.assumptions,
        )

    def _verdict(self, open_: Sequence[str]) -> str:
        """Say for which steps it holds enough; those that work with any file prove nothing and are not counted."""
        ready = [each.command for each in self.commands if each.ready and each.fed]
        waiting = [each.command for each in self.commands if each.command in open_ and not each.missing]
        lacking = [each for each in open_ if each not in waiting]
        parts = [f"ready for {several(ready)}"] if ready else []
        parts += [f"not yet for {several(lacking)}"] if lacking and (ready or waiting) else []
        if waiting:
            below = "stops" if sum(each.level == "stop" for each in self.findings) > 1 else "stop"
            parts.insert(0, f"Put the {below} below right first: {several(waiting)} must wait")
        return f"{'; '.join(parts)[:1].upper()}{'; '.join(parts)[1:]}." if parts else self._not_enough()

    def _not_enough(self) -> str:
        """Say how many readings the first steps lack; what works with any file proves nothing."""
        lacking = {each.command: len(each.missing) for each in self.commands if each.command in USED_FIRST}
        return f"{NOT_ENOUGH}: {several([f'`{name}` lacks {counted(lacking[name], READING)}' for name in USED_FIRST])}."

    def _drawer(self) -> Page:
        first = self.parts[0]
        columns = [
            Column("section", lambda part: part.kind, "left"),
            Column("name", lambda part: part.name, "left"),
            Column("state", lambda part: "ready" if part.ready else f"lacks {', '.join(part.missing)}", "left"),
        ]
        one = f'{first.kind}.part = "{first.name}"'
        use = f"A build takes one with, for example, {one} and this drawer beside it (`wheelcalc order --parts`)."
        ready = sum(part.ready for part in self.parts)
        return Page(
            verdict=f"{counted(len(self.parts), 'part')} in this drawer, {ready} of them ready.",
            title="What lies in this drawer:",
            answer=[Table(columns, self.parts), Sentence(use)],
            findings=self.findings,
            assumptions=self.assumptions,
        )

    def _state(self, each: Readiness) -> str:
        """Say what a command lacks; a list that was said before is not said again."""
        if each.ready:
            return "ready" if each.fed else "works with what is there"
        if not each.missing:
            return f"not yet: {'the stop' if len(each.stopped_by) == 1 else 'the stops'} above"
        same = next(other.command for other in self.commands if other.missing == each.missing)
        return f"not yet: lacks {', '.join(each.missing) if same == each.command else f'the same as {same}'}"

    def _next(self) -> list[Sentence]:
        if self.next is None:
            return []
        brings = self.next.brings
        said = [Sentence(f"Next: {self.next.key} ({self.next.how}). {brings[:1].upper()}{brings[1:]}")]
        if any(each.ready and each.fed for each in self.commands):
            return said
        return [*said, Sentence(ASKED_BY_START)]

    def content(self) -> dict[str, Any]:
        """Return the commands and the next reading."""
        names = ("command", "ready", "missing", "problem", "stopped_by")
        rows = [{name: getattr(each, name) for name in names} for each in self.commands]
        parts = [{"kind": p.kind, "name": p.name, "ready": p.ready, "missing": p.missing} for p in self.parts]
        return {"commands": rows, "next": None if self.next is None else vars(self.next), "parts": parts}


def check(source: Source, overrides: Overrides = (), **keys: Any) -> CheckAnswer:
    """Return what each command could do with a build file, or which parts of a drawer a wheel can be built with.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them; the path of a drawer will do too

    Raises
    ------
    InputError
        If the file cannot be read or holds what no build file may.
    """
    if not isinstance(source, BuildFile):
        tree, name = (as_in_file(source), "drawer") if isinstance(source, Mapping) else (tree_of(source), str(source))
        if is_drawer(tree):
            return _of_drawer(together([drawer_of(tree, name)]), name)
        source = build_of(tree, name_of(source) if not isinstance(source, Mapping) else "build")
    file = opened(source, overrides, keys)
    with file.named():
        build = file.build
        tried = _each_tried(file)
        commands = [_readiness(command, build, tried) for command in _in_order()]
        return CheckAnswer(
            title=file.title,
            findings=_worth_saying(build, tried),
            assumptions=from_readings(build, ("rim.", "hub.", "frame.", "crank.", "cogs.")),
            commands=commands,
            next=_next(file, commands),
        )


# Kind of part -> the keys that a wheel needs of it, each with what stands in for it.
OF_A_PART = {
    "rim": (("rim.holes",), ("rim.erd",)),
    "hub": HUB,
    "spokes": (("spokes.wire.left",), ("stock.on_hand",)),
    "crank": (("crank.standard", "crank.chainline"),),
}


def _of_drawer(parts: Sequence[Part], name: str) -> CheckAnswer:
    """Read every part as a build would; what cannot be read is an `InputError` with file and key."""
    rows = []
    for part in parts:
        with of_part(part.name):
            build = build_of({part.kind: {"part": part.name}}, part.file, (), [part]).build
        lacking = tuple(ways[0] for ways in OF_A_PART[part.kind] if not any(build.given(key) for key in ways))
        rows.append(PartReadiness(part.kind, part.name, lacking))
    return CheckAnswer(title=printable(name), findings=[], assumptions=[], commands=[], next=None, parts=rows)


def _in_order() -> list[str]:
    return sorted(NEEDS, key=lambda command: JOB.index(command) if command in JOB else len(JOB))


# What `salvage` works on; without any of it, it says what to read while the old wheel is still built.
OF_THE_OLD = ("old_wheel.", "readings.", "jar.", "stock.on_hand")


def _readiness(command: str, build: Build, tried: Mapping[str, TriedCommand]) -> Readiness:
    keys = tuple(dict.fromkeys(shortened(ways[0]) for ways in missing(command, build)))
    stops = [stop for each in STOPPED_WITH.get(command, (command,)) if each in tried for stop in tried[each].stops]
    problem = next((tried[each].problem for each in STOPPED_WITH.get(command, (command,)) if each in tried), "")
    names = () if keys else tuple(dict.fromkeys(stop.name for stop in stops))
    return Readiness(command, keys, "" if keys else problem, names, _fed(command, build))


def _fed(command: str, build: Build) -> bool:
    if command == "salvage":
        return any(key.startswith(OF_THE_OLD) for key in build)
    return bool(NEEDS[command]) or not missing("lengths", build)


# What a command says can be told from the build file alone.
TRIED = ("lengths", "order", "lace", "tension", "fit")
# What wants readings of its own waits for the stops of the wheel that it works on; the sheet prints all.
STOPPED_WITH = {"true": ("lengths",), "pluck": ("lengths",), "sheet": TRIED}


@dataclass(frozen=True)
class TriedCommand:
    """What a command finds in a build, or why it cannot work."""

    findings: tuple[Finding, ...] = ()
    problem: str = ""

    @property
    def stops(self) -> list[Finding]:
        """Those that say: do not order, do not ride."""
        return [each for each in self.findings if each.level == "stop"]


def _each_tried(file: BuildFile) -> dict[str, TriedCommand]:
    """Try what the file holds enough for; what follows from a stop of the lengths is not worked out."""
    tried: dict[str, TriedCommand] = {}
    for command in (each for each in TRIED if not missing(each, file.build)):
        lengths = tried.get("lengths")
        waits = lengths is not None and bool(lengths.stops) and command != "fit"
        tried[command] = lengths if lengths is not None and waits else _tried(command, file)
    return tried


def _tried(command: str, file: BuildFile) -> TriedCommand:
    from wheelcalc import answers  # noqa: PLC0415 - each command loads when it is tried

    try:
        return TriedCommand(tuple(getattr(answers, command)(file).findings))
    except InputError as error:
        problem = f"{error.key}: {error.text}" if error.key else error.text
        remedy = "Put that right first; all that needs the wheel waits for it."
        return TriedCommand((Finding("stop", "cannot-be-built", problem, remedy),), problem)


def _worth_saying(build: Build, tried: Mapping[str, TriedCommand]) -> list[Finding]:
    """Every stop; what else is to be said of the readings, each command says of its own work."""
    readings = tried["lengths"].findings if "lengths" in tried and not tried["lengths"].problem else doubts(build)
    return by_weight([*readings, *odd_lengths(build), *(stop for each in tried.values() for stop in each.stops)])


def _next(file: BuildFile, commands: Sequence[Readiness]) -> NextReading | None:
    """Return the missing key that most commands wait for; where nothing is missing, the reading to repeat."""
    # Nobody has to tap a rim, so nothing waits for it.
    waiting = Counter(key for each in commands if each.command != "tap" for key in each.missing if key not in SECTIONS)
    if waiting:
        key = max(waiting, key=lambda key: (waiting[key], -list(waiting).index(key)))
        served = [each.command for each in commands if key in each.missing]
        return NextReading(key, how(key), f"needed by {', '.join(served)}")
    if any(each.problem for each in commands):
        return None
    from wheelcalc.answers.spoke_lengths import lengths  # noqa: PLC0415
    from wheelcalc.spokes.lengths import worst_share  # noqa: PLC0415

    answer = lengths(file)
    worst = worst_share(answer.error_budget)
    return None if worst is None else NextReading(worst[0], how(worst[0]), answer.advice())
