"""`measure`: raw readings become dimensions, each with its error and how it was found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer, Source, opened
from wheelcalc.build.dimension import TOOL_SIGMA
from wheelcalc.build.whole import Build
from wheelcalc.files import how as hows
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.how import How
from wheelcalc.files.keys import keys
from wheelcalc.files.needs import demand
from wheelcalc.measuring.cost import cost
from wheelcalc.measuring.doubts import doubts
from wheelcalc.measuring.findings import taken_as_inches
from wheelcalc.measuring.methods import TYPICAL
from wheelcalc.measuring.readings import Measured, measured, unused
from wheelcalc.measuring.working import formula
from wheelcalc.page.blocks import Block, Column, Figure, Heading, Listed, Page, Sentence, Table, Verbatim, listed
from wheelcalc.page.numbers import counted
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, by_weight


@dataclass(frozen=True, kw_only=True)
class MeasureAnswer(Answer):
    """Answer of `measure`; erd is always to the spoke end here."""

    schema: ClassVar[str] = "wheelcalc/measure/1"
    records: ClassVar[str] = "dimensions"
    dimensions: Sequence[Measured]
    used: frozenset[str]

    def page(self, *, working: bool = False) -> Page:
        """Return the dimensions first, then how each was found."""
        taken = [each.key for each in self.dimensions if each.key in self.used]
        verdict = f"Your readings give {counted(len(self.dimensions), 'dimension')}; {len(taken)} of them are used."
        columns = [
            Column("dimension", lambda each: each.key, "left"),
            Column("mm", lambda each: f"{each.mean.value:.1f}", meaning="rim.erd is to the spoke end here"),
            Column(
                "+- mm",
                lambda each: f"{each.mean.within:.1f}",
                meaning="how accurate; 19 of 20 such errors are smaller",
            ),
            Column(
                "used",
                lambda each: "yes" if each.key in self.used else "no",
                "left",
                "no: the file has a value of its own, or the usual one is surer",
            ),
        ]
        return Page(
            verdict=f"Read again: {verdict[0].lower()}{verdict[1:]}" if self.stops else verdict,
            title=f"{self.title}: what your readings give",
            answer=[Table(columns, self.dimensions)],
            findings=self.findings,
            details=[
                Heading("How each was found:"),
                *[block for each in self.dimensions for block in _found(each)],
                *(listed(self.working(), "Working (mm, degrees):") if working else []),
            ],
            assumptions=self.assumptions,
        )

    def content(self) -> dict[str, Any]:
        """Return the dimensions, the methods behind each, and whether they agree."""
        return {"dimensions": [self._row(each) for each in self.dimensions]}

    def working(self) -> list[str]:
        """The formulas with the numbers put in, one line a method; readings as they stand have none."""
        shown = ((each, estimate, formula(estimate)) for each in self.dimensions for estimate in each.estimates)
        return [f"{each.key} = {text} = {estimate.value:.2f} mm" for each, estimate, text in shown if text]

    def _row(self, each: Measured) -> dict[str, Any]:
        row: dict[str, Any] = {
            "name": each.key,
            "value_mm": each.mean.value,
            "sigma_mm": each.mean.sigma,
            "from": each.words,
            "used": each.key in self.used,
            "methods": [{"from": e.words, "value_mm": e.value, "sigma_mm": e.sigma} for e in each.estimates],
        }
        if len(each.estimates) > 1:
            row |= {"agree": each.mean.agree, "chance": each.mean.chance, "in_words": each.agreement}
        return row


@dataclass(frozen=True, kw_only=True)
class HowAnswer(Answer):
    """Answer of `measure --how`: how to take a reading."""

    schema: ClassVar[str] = "wheelcalc/how/1"
    key: str
    how: How
    cost: Sequence[tuple[str, dict[str, float]]]

    def page(self) -> Page:
        """Return what the reading is, how it is taken, and what it costs in error."""
        drawing = self.how.drawing.rstrip("\n").splitlines()
        answer: list[Block] = [Listed(self.how.steps)] if self.how.steps else []
        if drawing:
            write = Verbatim(self.how.write.splitlines())
            answer += [Figure("", self.key, drawing), Heading("Into the build file:"), write]
        return Page(
            verdict=f"{self.key}: {self.how.what}",
            title="How to take it:" if self.how.steps else "",
            answer=answer,
            details=[*self._costs(), *([Sentence(self.how.matters)] if self.how.matters else [])],
            judges=False,
        )

    def _costs(self) -> list[Block]:
        if not self.cost:
            return []
        tools = [Column(tool, partial(self._with_tool, tool)) for tool in self.cost[0][1]]
        head = Heading("What it costs in error, each reading taken once (+- mm; 19 of 20 such errors are smaller):")
        return [head, Table([Column("way", lambda row: row[0], "left"), *tools], self.cost)]

    def _with_tool(self, tool: str, row: tuple[str, dict[str, float]]) -> str:
        return f"{self.within(row[1][tool]):.1f}"

    def content(self) -> dict[str, Any]:
        """Return words, drawing and cost."""
        cost = [{"from": words, **{f"sigma_{tool}_mm": sigma for tool, sigma in by.items()}} for words, by in self.cost]
        return {"key": self.key, **vars(self.how), "cost": cost}


def _found(each: Measured) -> list[Block]:
    """How a dimension was found: in words, or way by way."""
    if len(each.estimates) == 1:
        return [Sentence(f"{each.key}: {each.words}")]
    columns = [
        Column("mm", lambda way: f"{way.value:.1f}"),
        Column("+- mm", lambda way: f"{way.within:.1f}"),
        Column("way", lambda way: way.words, "left"),
    ]
    said = f"{each.key}: the weighted mean of {len(each.estimates)} ways; {each.agreement}."
    return [Sentence(said), Table(columns, each.estimates)]


def measure(source: Source, overrides: Overrides = (), **keys: Any) -> MeasureAnswer:
    """Return the dimensions that the section [readings] gives.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them

    Raises
    ------
    InputError
        If the input cannot be used, or the readings give nothing.
    """
    file = opened(source, overrides, keys, inches=True)
    with file.named():
        build = file.build
        demand("measure", build)
        dimensions = measured(build)
        if not dimensions:
            _refuse_nothing(build)
        return MeasureAnswer(
            title=file.title,
            findings=by_weight([*taken_as_inches(build), *doubts(build), *_unused(build)]),
            assumptions=_assumptions(build, dimensions),
            dimensions=dimensions,
            used=frozenset(key for key, entry in build.items() if entry.origin == "readings"),
        )


def how(key: str) -> HowAnswer:
    """Return how to take the reading behind a key.

    Raises
    ------
    InputError
        If there is no method for it.
    """
    topic = hows.topic(key)
    line = keys().get(key) or keys().get(key.rpartition(".")[0])
    if topic is None and line is not None:
        said = How(f"{line.how[:1].upper()}{line.how[1:]}.", (), "", "", "")
        return HowAnswer(title=key, findings=(), assumptions=(), key=key, how=said, cost=())
    return HowAnswer(
        title=key, findings=(), assumptions=(), key=topic or key, how=hows.explained(key), cost=cost(topic or "")
    )


def _unused(build: Build) -> list[Finding]:
    return [
        Finding("note", "reading-unused", f"{key} gives nothing yet: it {_needs(lacking)}.", _where_shown(lacking))
        for key, lacking in unused(build)
    ]


def _needs(lacking: Sequence[str]) -> str:
    if lacking:
        return f"needs {' and '.join(lacking)} too"
    return "is not for this kind of part, or another reading serves better"


def _where_shown(lacking: Sequence[str]) -> str:
    return f"`wheelcalc measure --how {lacking[0]}` shows how." if lacking and hows.topic(lacking[0]) else ""


def _refuse_nothing(build: Build) -> None:
    """Refuse readings that give no dimension at all: the first of them says what it lacks."""
    key, lacking = unused(build)[0]
    raise InputError(key, f"gives no dimension: it {_needs(lacking)}. {_where_shown(lacking)}".rstrip(" ."))


def _assumptions(build: Build, dimensions: Sequence[Measured]) -> list[str]:
    tool = build.measuring.tool
    said = [
        f"Readings with a {tool} are taken to be good to {TOOL_SIGMA[tool]:g} mm (one standard uncertainty; measuring.tool), "
        "round the rim by tape to 1 mm; of repeats the scatter counts besides.",
    ]
    inputs = {key for each in dimensions for estimate in each.estimates for key in estimate.inputs}
    for key in sorted(inputs):
        name = "cog_thickness" if key == "readings.cogs.thickness" else key.rsplit(".", 1)[-1]
        if name in TYPICAL and (key not in build or build[key].origin == "default"):
            value, sigma = TYPICAL[name]
            said.append(f"{key} was not measured: {value:g} +-{sigma:g} mm taken, as such parts usually have.")
    return said
