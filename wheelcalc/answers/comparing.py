"""`compare`: what changes from one build file to another, and whether the spokes ordered for the first still serve."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from wheelcalc.answers import changes
from wheelcalc.answers.base import Answer, Source, from_readings, opened, worded
from wheelcalc.answers.bought import Serves, serves
from wheelcalc.answers.changes import Change
from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile, Overrides
from wheelcalc.files.needs import missing
from wheelcalc.files.order_json import BoughtLine, read_order
from wheelcalc.measuring import assemble
from wheelcalc.page.blocks import Page, Sentence
from wheelcalc.page.numbers import counted
from wheelcalc.spokes.ordering import EDGE, Line
from wheelcalc.wheel.findings import Finding, Level, by_weight
from wheelcalc.wheel.parts import SIDES

if TYPE_CHECKING:
    from wheelcalc.answers.ordering.answer import OrderAnswer

# What is compared: command, place in its JSON, its name, unit, and the difference that is worth a line.
WATCHED = (
    *(("lengths", f"sides.{side}.cut_length_mm", f"{side} spokes to buy", "mm", 0.05) for side in SIDES),
    *(("lengths", f"sides.{side}.bracing_angle_deg", f"{side} bracing angle", "degrees", 0.05) for side in SIDES),
    ("tension", "ratio_left_to_right", "tension, left over right", "", 0.005),
    *(("tension", f"sides.{side}.target_N", f"{side} target tension", "N", 1.0) for side in SIDES),
    ("tension", "structure.lateral_stiffness_N_per_mm", "lateral stiffness", "N/mm", 0.5),
    ("tension", "structure.radial_stiffness_N_per_mm", "radial stiffness", "N/mm", 5.0),
    ("tension", "structure.slack_load_N", "load at which a spoke goes slack", "N", 5.0),
    ("fit", "verdict", "hub in frame", "", 0.0),
    ("fit", "plans.0.left_mm", "spacer left, best plan", "mm", 0.05),
    ("fit", "plans.0.right_mm", "spacer right, best plan", "mm", 0.05),
    ("fit", "plans.0.width_left_over_mm", "width left over, best plan", "mm", 0.05),
    ("fit", "chainline.error_mm", "chainline error", "mm", 0.05),
)
COMPARED = ("lengths", "order", "tension", "fit")
SAME_ENDS = 0.01  # mm: spoke ends that have not moved
SAME_FLANGES = 0.05  # mm: flanges this alike are taken for the same hub


@dataclass(frozen=True, kw_only=True)
class CompareAnswer(Answer):
    """Answer of `compare`."""

    schema: ClassVar[str] = "wheelcalc/compare/1"
    records: ClassVar[str] = "changes"
    old: str
    new: str
    inputs: Sequence[Change]
    changes: Sequence[Change]
    builds: Sequence[str] = ()
    bought: Sequence[Serves] = ()

    @property
    def many(self) -> bool:
        """Whether more than two builds stand side by side."""
        return len(self.builds) > 2

    def page(self) -> Page:
        """Return what changes, and whether the spokes ordered still serve."""
        if self.many:
            keys = ", ".join(change.what for change in changes.own(self.inputs)) or "nothing that matters here"
            answer = [*changes.of_many(self.changes, self.builds), Sentence(f"What differs in the files: {keys}.")]
        else:
            answer = [*changes.of_two(changes.own(self.inputs), "In the file:"), *changes.aside(self.inputs)]
            answer += changes.of_two(self.changes, "What it changes:")
        if self.inputs and not self.changes and not self.many:
            answer.append(Sentence("No number that is computed changes with it."))
        return Page(
            verdict=self._verdict(),
            title=f"{self.title}: what changes" if answer else "",
            answer=answer,
            findings=self.findings,
            assumptions=self.assumptions,
        )

    def _verdict(self) -> str:
        names = {finding.name for finding in self.findings if finding.level == "stop"}
        if names & {"order-wrong", "order-pattern"}:
            return "The spokes ordered for the first file no longer serve."
        if names - {"bought-spokes-wrong"}:
            return "Not yet: there is a stop that must go first."
        said = "; ".join(filter(None, [self._of_bought(), "" if names else self._what_differs()]))
        return f"{said[0].upper()}{said[1:]}."

    def _of_bought(self) -> str:
        """Which builds the spokes bought serve; empty where none were."""
        if not self.bought:
            return ""
        able = [each.build for each in self.bought if not each.left_out]
        if len(able) == len(self.bought) == max(len(self.builds), 1):
            return f"the spokes bought serve{' both' if len(able) == 2 else ' all' if len(able) > 2 else ''}"
        if not able:
            return "the spokes bought do not serve"
        return f"the spokes bought serve {' and '.join(able)} only".replace("The ", "the ")

    def _what_differs(self) -> str:
        if self.many:
            differ = f"{counted(len(self.changes), 'result')} differ{'s' if len(self.changes) == 1 else ''}"
            return f"{len(self.builds)} builds side by side: {differ if self.changes else 'nothing that is computed differs'}"
        if len(self.builds) == 1:
            return ""
        if not self.inputs:
            return "nothing changes: the two files say the same"
        serve = any(finding.name == "order-still-serves" for finding in self.findings)
        counts = f"{counted(len(self.inputs), 'key')} of the file and {counted(len(self.changes), 'result')} change"
        return f"{counts}{'; the spokes ordered for the first still serve' if serve else ''}"

    def content(self) -> dict[str, Any]:
        """Return what differs in the files, and what changes with it."""
        out: dict[str, Any] = {"files": {"before": self.old, "after": self.new}}
        if self.many:
            out = {"builds": list(self.builds)}
        out |= {
            name: [self._row(c) for c in rows] for name, rows in (("inputs", self.inputs), ("changes", self.changes))
        }
        return {**out, "bought": [each.as_json() for each in self.bought]}

    def _row(self, change: Change) -> dict[str, Any]:
        row = {"what": change.what, "before": change.before, "after": change.after, "difference": change.difference}
        return {**row, "unit": change.unit, **({"values": list(change.values)} if self.many else {})}


def compare(
    old: Source,
    new: Source | None = None,
    overrides: Overrides = (),
    *,
    more: Sequence[Source] = (),
    bought: str | Path | None = None,
    **keys: Any,
) -> CompareAnswer:
    """Return what changes from one build to another, and only that; of several builds, one table.

    Parameters
    ----------
    old : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    new : the other one; None: the old one with the overrides
    overrides, keys : as every answer takes them, put into the new one
    more : further builds, compared with the first two
    bought : JSON of an order whose spokes were bought already; every build says whether they serve

    Raises
    ------
    InputError
        If an input cannot be used.
    """
    before, after = opened(old), opened(old if new is None else new, overrides, keys)
    spokes = None if bought is None else read_order(bought)
    if more:
        return _table([before, after, *(opened(each) for each in more)], spokes)
    alone = new is None and not overrides and not keys
    asked: list[tuple[str, BuildFile, Level]] = [("The first", before, "note"), ("The second", after, "stop")]
    serve = [] if spokes is None else _served(spokes, [(before.title, before, "stop")] if alone else asked)
    skipped: list[str] = []
    changes: list[Change] = []
    findings: list[Finding] = []
    for command in COMPARED:
        lacking = [file for file in (before, after) if missing(command, file.build)]
        if lacking:
            needed = ", ".join(ways[0] for ways in missing(command, lacking[0].build))
            skipped.append(f"Not compared: {command}; {lacking[0].name} lacks {needed}.")
            continue
        one, other = _answered(command, before), _answered(command, after)
        changes += _changes(command, one, other)
        findings += [each for each in one.findings if each.level == "stop"] if alone else _stops(one, other)
        if command == "order":
            changes += _dish(before.build, after.build)
            findings += [] if spokes else _order_now(one, other)
    findings += [each.finding for each in serve]
    return CompareAnswer(
        title=after.title,
        findings=by_weight(list(dict.fromkeys(findings))),
        assumptions=[*skipped, *from_readings(after.build, ("rim.", "hub.", "frame."))],
        old=before.name,
        new=after.name,
        inputs=_inputs(before.build, after.build),
        changes=changes,
        builds=(before.title,) if alone else (before.title, after.title),
        bought=serve,
    )


def _served(spokes: Sequence[BoughtLine], builds: Sequence[tuple[str, BuildFile, Level]]) -> list[Serves]:
    """Whether spokes bought serve each build that an order can be made for: its name, the build, how much it matters."""
    return [
        serves(spokes, _answered("order", file), name, level)
        for name, file, level in builds
        if not missing("order", file.build)
    ]


def _table(builds: Sequence[BuildFile], spokes: Sequence[BoughtLine] | None) -> CompareAnswer:
    """Several builds side by side: of all that is watched what is not the same in all of them."""
    skipped, changes, findings = [], [], []
    names = _names(builds)
    for command in COMPARED:
        lacking = [missing(command, each.build) for each in builds]
        if all(lacking):
            skipped.append(f"Not compared: {command}; every file lacks something for it.")
            continue
        skipped += [
            f"Not compared: {command} of {name}; it lacks {', '.join(ways[0] for ways in keys)}."
            for name, keys in zip(names, lacking, strict=True)
            if keys
        ]
        answers = [None if keys else _answered(command, each) for each, keys in zip(builds, lacking, strict=True)]
        changes += _rows(command, answers)
        for name, answer in zip(names, answers, strict=True):
            stops = answer.findings if answer is not None else ()
            findings += [replace(each, text=f"{name}: {each.text}") for each in stops if each.level == "stop"]
    asked: list[tuple[str, BuildFile, Level]] = [(n, each, "caution") for n, each in zip(names, builds, strict=True)]
    serve = [] if spokes is None else _served(spokes, asked)
    return CompareAnswer(
        title=f"{names[0]} and {len(names) - 1} others",
        findings=by_weight(list(dict.fromkeys([*findings, *(each.finding for each in serve)]))),
        assumptions=skipped,
        old=builds[0].name,
        new=builds[-1].name,
        inputs=_inputs_of_many([each.build for each in builds]),
        changes=changes,
        builds=names,
        bought=serve,
    )


def _names(builds: Sequence[BuildFile]) -> list[str]:
    """Titles of the builds; where two are alike, the names of their files."""
    titles = [each.title for each in builds]
    return titles if len(set(titles)) == len(titles) else [each.name for each in builds]


def _rows(command: str, answers: Sequence[Any]) -> list[Change]:
    if command == "order":
        sides = [[None if each is None else _lines_of(each, side) for each in answers] for side in SIDES]
        return [_many(f"{side} order", row, "") for side, row in zip(SIDES, sides, strict=True) if len(set(row)) > 1]
    trees = [{} if each is None else each.as_json() for each in answers]
    out = []
    for watched, path, what, unit, least in WATCHED:
        if watched == command:
            row = [_at(tree, path) if tree else None for tree in trees]
            numbers = [each for each in row if isinstance(each, float)]
            alike = len(set(row)) == 1 or (len(numbers) == len(row) and max(numbers) - min(numbers) < least)
            if not alike:
                out.append(_many(what, row, unit))
    return out


def _many(what: str, row: Sequence[float | str | None], unit: str) -> Change:
    return Change(what, row[0], row[-1], unit, tuple(row))


def _inputs_of_many(builds: Sequence[Build]) -> list[Change]:
    out = []
    for key in dict.fromkeys(key for build in builds for key in build):
        row = [build.value(key) for build in builds]
        if any(each != row[0] and not _same_number(row[0], each) for each in row[1:]):
            shown = row if all(isinstance(each, float) for each in row) else [_words(key, each) for each in row]
            out.append(_many(key, shown, ""))
    return out


def _answered(command: str, file: BuildFile) -> Any:
    return getattr(import_module("wheelcalc.answers"), command)(file)


def _stops(one: Answer, other: Answer) -> Iterator[Finding]:
    """What stops the new build and did not stop the old one, and the reverse as a note."""
    before, after = ([each for each in answer.findings if each.level == "stop"] for answer in (one, other))
    yield from (each for each in after if each.name not in {was.name for was in before})
    for each in before:
        if each.name not in {now.name for now in after}:
            yield Finding("note", "stop-gone", f"This no longer stops it: {each.text}")


def _changes(command: str, one: Any, other: Any) -> list[Change]:
    if command == "order":
        return list(_lines(one, other))
    values, others = one.as_json(), other.as_json()
    out = []
    for watched, path, what, unit, least in WATCHED:
        change = Change(what, _at(values, path), _at(others, path), unit)
        if watched == command and _differs(change, least):
            out.append(change)
    return out


def _at(values: Any, path: str) -> float | str | None:
    """Value at a dotted place of an answer's JSON, None where there is none."""
    for name in path.split("."):
        if isinstance(values, list):
            values = values[int(name)] if int(name) < len(values) else None
        elif isinstance(values, dict):
            values = values.get(name)
    return float(values) if isinstance(values, int | float) else values


def _differs(change: Change, least: float) -> bool:
    difference = change.difference
    return change.before != change.after if difference is None else abs(difference) >= least


def _inputs(before: Build, after: Build) -> list[Change]:
    """What differs in the files themselves."""
    out = []
    for key in dict.fromkeys([*before, *after]):
        one, other = before.value(key), after.value(key)
        if one != other and not _same_number(one, other):
            numbers = isinstance(one, float) and isinstance(other, float)
            shown = (one, other) if numbers else tuple(_words(key, value) for value in (one, other))
            out.append(Change(key, *shown))
    return out


def _same_number(one: Any, other: Any) -> bool:
    """Readings come out with rounding errors; a thousandth is no change."""
    return isinstance(one, float) and isinstance(other, float) and abs(one - other) < 1e-3


def _words(key: str, value: Any) -> str:
    if value is None:
        return "absent"
    if isinstance(value, dict):
        each = (
            f"{count} of {size:g} mm" if isinstance(size, float) else f"{size} {count}" for size, count in value.items()
        )
        return ", ".join(each)
    if isinstance(value, float):
        return f"{value:.4g}" if abs(value) < 1 else f"{value:.1f}".removesuffix(".0")
    return f"a list of {len(value)}" if isinstance(value, list) else worded(key, value)


def _lines(before: Any, after: Any) -> Iterator[Change]:
    for side in SIDES:
        one, other = (_lines_of(answer, side) for answer in (before, after))
        if one != other:
            yield Change(f"{side} order", one, other)


def _lines_of(answer: OrderAnswer, side: str) -> str:
    own = (f"{line.count} of {line.length:g} mm" for line in answer.lines if line.side == side)
    return " and ".join(own) or "none fits"


def _dish(before: Build, after: Build) -> Iterator[Change]:
    """How far the rim of a wheel already built on this hub would have to move."""
    one, other = assemble.hub(before), assemble.hub(after)
    apart = [abs(one.left.offset + one.right.offset - other.left.offset - other.right.offset)]
    apart += [abs(one.flange(side).pcd - other.flange(side).pcd) for side in SIDES]
    centres = [(hub.left.offset - hub.right.offset) / 2 for hub in (one, other)]
    frames = [build.frame.wheel_offset for build in (before, after)]
    move = centres[1] - centres[0] + frames[1] - frames[0]
    if max(apart) <= SAME_FLANGES and abs(move) >= SAME_FLANGES:
        yield Change("rim of a built wheel moves right", 0.0, move, "mm")


def _order_now(ordered: OrderAnswer, now: OrderAnswer) -> list[Finding]:
    """Whether the spokes ordered for the old file would serve the new one."""
    wrong = [finding for line in ordered.lines for finding in _line_now(line, now)]
    if wrong or not ordered.lines:
        return wrong
    means = [float(_ends(line, now).mean()) for line in ordered.lines]
    if all(abs(mean - line.end_position) < SAME_ENDS for mean, line in zip(means, ordered.lines, strict=True)):
        return []
    moved = [
        f"{line.side} {line.length:g} mm, ends {mean:+.1f} mm" for mean, line in zip(means, ordered.lines, strict=True)
    ]
    text = f"The spokes ordered for the first still serve: {'; '.join(moved)} from the slot's bottom."
    return [Finding("note", "order-still-serves", text)]


def _ends(line: Line, now: OrderAnswer) -> Floats:
    """Where the ends of a line's spokes would sit now [mm]; none where rim or pattern gave their holes away."""
    lacing = now.lengths.wheel.lacing
    places = np.isin(lacing.rim_hole, line.rim_holes) & lacing.on(line.side)
    return np.asarray(line.length - now.lengths.cut[places] if int(places.sum()) == line.count else [])


def _line_now(line: Line, now: OrderAnswer) -> Iterator[Finding]:
    ends = _ends(line, now)
    if not len(ends):
        text = f"The {line.length:g} mm spokes ordered for the {line.side} no longer have their holes: rim or pattern changed."
        yield Finding("stop", "order-pattern", text, "Order anew.")
        return
    short, beyond = -float(ends.min()) - now.window.short, float(ends.max()) - now.window.beyond
    if max(short, beyond) <= EDGE:
        return
    where = f"{-ends.min():.1f} mm short of" if short >= beyond else f"{ends.max():.1f} mm beyond"
    allowed = now.window.short if short >= beyond else now.window.beyond
    serve = (
        " and ".join(f"{each.length:g} mm" for each in now.lines if each.side == line.side)
        or "no length that can be had"
    )
    yield Finding(
        "stop",
        "order-wrong",
        f"Your order is now wrong by {abs(float(ends.mean()) - line.end_position):.1f} mm on the {line.side}: the {line.length:g} mm "
        f"spokes would end {where} the slot's bottom (allowed {allowed:g}).",
        f"Order {serve} for the {line.side}, before anything is cut or laced.",
    )
