"""What a page is made of: blocks that say what stands there, not how it looks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Literal, NamedTuple

from wheelcalc.page.numbers import counted
from wheelcalc.wheel.findings import Finding

FEW = 240  # letters of assumptions, up to which one paragraph holds them
Align = Literal["left", "right"]


class Heading(NamedTuple):
    """Names what follows it."""

    text: str


class Sentence(NamedTuple):
    """One paragraph."""

    text: str


class Listed(NamedTuple):
    """Items in no order, a line each where they are short."""

    items: Sequence[str]


class Step(NamedTuple):
    """One thing to do.

    Parameters
    ----------
    text : what to do
    title : heads it, where there are several sentences
    check : how to see that it was done right
    """

    text: str
    title: str = ""
    check: str = ""


class Steps(NamedTuple):
    """Things to do in this order, numbered."""

    items: Sequence[Step]


class Column(NamedTuple):
    """One column of a table.

    Parameters
    ----------
    name : heads it, with the unit
    cell : makes its text from what a row is about
    align : numbers to the right, words to the left
    meaning : a plain definition for the legend, where the name is not enough
    """

    name: str
    cell: Callable[[Any], str]
    align: Align = "right"
    meaning: str = ""


class Table(NamedTuple):
    """Rows below columns; the first column names the row.

    Parameters
    ----------
    columns : left to right
    about : what each row is about; the columns make their cells from it
    abreast : parts may stand side by side where there is room, since the rows are many and short
    below : makes the words that stand under a row, too long for a column
    """

    columns: Sequence[Column]
    about: Sequence[Any]
    abreast: bool = False
    below: Callable[[Any], str] | None = None

    @property
    def rows(self) -> list[list[str]]:
        """Its cells as text."""
        return [[column.cell(each) for column in self.columns] for each in self.about]

    @property
    def under(self) -> list[str]:
        """The words under each row; empty where there are none."""
        return [self.below(each) if self.below else "" for each in self.about]

    @property
    def legend(self) -> str:
        """What the columns mean, a definition each."""
        return " ".join(f"{column.name}: {column.meaning}." for column in self.columns if column.meaning)


class Findings(NamedTuple):
    """What the reader must know besides, heaviest first."""

    items: Sequence[Finding]


class Verbatim(NamedTuple):
    """Lines that are copied as they stand, such as into a file."""

    lines: Sequence[str]


class Figure(NamedTuple):
    """A picture.

    Parameters
    ----------
    svg : the picture itself
    title : what it shows, for who cannot see it
    text : what stands for it where there are only letters
    """

    svg: str
    title: str
    text: Sequence[str] = ()


Block = Heading | Sentence | Listed | Steps | Table | Findings | Verbatim | Figure


class Brief(str):
    """An assumption that a short text need not say in full; the JSON and the whole list hold its sentence.

    Parameters
    ----------
    text : the sentence
    short : what stands in its place; nothing where it is of little matter and only counted
    defaults : how many defaults it tells of
    """

    __slots__ = ("defaults", "short")
    short: str
    defaults: int

    def __new__(cls, text: str, short: str = "", defaults: int = 1) -> Brief:
        """Take the sentence, its short form, and how many defaults it tells of."""
        brief = super().__new__(cls, text)
        brief.short = short
        brief.defaults = defaults
        return brief


class Page(NamedTuple):
    """An answer laid out. Writers put the stops right below the verdict, cautions and notes below `answer`.

    Parameters
    ----------
    verdict : one sentence that answers the question; under a stop it says "not yet"
    title : what the page is about
    answer : what is read first
    findings : of every level
    details : what explains the answer
    assumptions : what was taken where the reader gave nothing; `Brief` ones in their short form
    judges : whether stops are counted beside the verdict; not where the page only explains
    """

    verdict: str
    title: str
    answer: Sequence[Block]
    findings: Sequence[Finding] = ()
    details: Sequence[Block] = ()
    assumptions: Sequence[str] = ()
    judges: bool = True

    @property
    def first(self) -> str:
        """The verdict and how many stops and cautions there are."""
        return f"{self.verdict} {self.counts}." if self.judges else self.verdict

    @property
    def frame(self) -> tuple[list[Block], list[Block]]:
        """What stands right below the verdict, and the rest."""
        stops, rest = self.of_level("stop"), self.of_level("caution", "note")
        head: list[Block] = [Findings(stops)] if stops else []
        body: list[Block] = [*([Heading(self.title)] if self.title else []), *self.answer]
        return head, [*body, *([Findings(rest)] if rest else []), *self.details]

    def of_level(self, *levels: str) -> list[Finding]:
        """Findings of some levels."""
        return [finding for finding in self.findings if finding.level in levels]

    @property
    def counts(self) -> str:
        """How many stops and cautions there are, such as "1 stop, 2 cautions"."""
        stops, cautions = len(self.of_level("stop")), len(self.of_level("caution"))
        said = [counted(stops, "stop") if stops else "No stop"]
        return ", ".join([*said, *([counted(cautions, "caution")] if cautions else [])])

    def assumed(self, *, whole: bool = False) -> list[Block]:
        """What was assumed; those of little matter counted in one line unless the whole is wanted."""
        said = [each.short if isinstance(each, Brief) and not whole else each for each in self.assumptions]
        little = [each.defaults for each in self.assumptions if isinstance(each, Brief) and not (whole or each.short)]
        matter = [*filter(None, said)]
        last = [_defaults(sum(little))] if little else []
        if sum(map(len, matter)) > FEW:
            return [Heading("Assumed:"), Listed([*matter, *last])]
        said = [f"Assumed: {' '.join(matter)}", *last] if matter else last
        return [Sentence(" ".join(said))] if said else []


def _defaults(count: int) -> str:
    return f"{counted(count, 'default')} used; --assumed lists {'it' if count == 1 else 'them'}."


def listed(items: Iterable[str], heading: str) -> list[Block]:
    """Return a headed list, or nothing where there are no items."""
    of = list(items)
    return [Heading(heading), Listed(of)] if of else []
