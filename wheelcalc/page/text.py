"""The page as text: folded to a width, Latin-1, colour only where a terminal shows it and never alone."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from functools import singledispatch
from typing import NamedTuple

from wheelcalc.page.blocks import Block, Figure, Findings, Heading, Listed, Page, Sentence, Step, Steps, Table, Verbatim
from wheelcalc.page.text_table import table_lines
from wheelcalc.wheel.findings import Finding

NARROWEST, WIDEST = 40, 100
ROOMY = 60  # below, what stands behind a mark is not indented to it
MARKS = {"stop": "STOP", "caution": "Caution", "note": "Note"}
INK = {"stop": "\x1b[1;31m", "caution": "\x1b[1;33m", "note": "\x1b[1m", "heading": "\x1b[1m"}
PLAIN = "\x1b[0m"


class Screen(NamedTuple):
    """Where the text is read.

    Parameters
    ----------
    width : letters in a line; 40 to 100 are used
    height : lines that are seen at once
    colour : whether it shows colour and bold
    """

    width: int = 80
    height: int = 24
    colour: bool = False

    @property
    def used(self) -> int:
        """Letters in a line that are used."""
        return min(max(self.width, NARROWEST), WIDEST)

    def inked(self, text: str, ink: str) -> str:
        """Return a text in the ink of its kind, where there is any."""
        return f"{INK[ink]}{text}{PLAIN}" if self.colour and text else text


def to_text(page: Page, screen: Screen | None = None, *, every_assumption: bool = False) -> str:
    """Return a page as text.

    Parameters
    ----------
    page : what is written
    screen : where it is read; else 80 letters wide, without colour
    every_assumption : list those of little matter too
    """
    screen = screen or Screen()
    top = [screen.inked(line, "heading") for line in folded(page.first, screen.used)]
    stops, rest = page.frame
    body = _stacked([*stops, *rest, *page.assumed(whole=every_assumption)], screen)
    lines = [*top, *([] if stops or not body else [""]), *body]
    foot = [] if len(lines) < screen.height or not (stops or page.of_level("caution")) else _foot(page, screen)
    return "\n".join([*lines, *foot])


def _foot(page: Page, screen: Screen) -> list[str]:
    where = "Read them at the top" if page.of_level("stop") else "Above"
    return folded(f"{where}: {page.counts.lower()}.", screen.used)


def _stacked(blocks: Iterable[Block], screen: Screen) -> list[str]:
    """Blocks below each other, a blank line between those that do not belong together."""
    lines: list[str] = []
    before: Block | None = None
    for block in blocks:
        if before is not None and not _close(before, block):
            lines.append("")
        lines += block_lines(block, screen)
        before = block
    return lines


def _close(before: Block, block: Block) -> bool:
    """Whether a block follows another without a blank line."""
    if isinstance(before, Heading):
        return not isinstance(block, Heading)
    return isinstance(before, Sentence) and isinstance(block, Sentence | Listed | Steps | Table | Verbatim)


def folded(text: str, width: int, first: str = "", later: str | None = None) -> list[str]:
    """Return text folded to a width, its lines indented."""
    return textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=" " * len(first) if later is None else later,
        break_on_hyphens=False,
    )


@singledispatch
def block_lines(block: Block, _screen: Screen) -> list[str]:
    """Return a block's lines."""
    raise NotImplementedError(type(block).__name__)


@block_lines.register
def _(block: Heading, screen: Screen) -> list[str]:
    return [screen.inked(line, "heading") for line in folded(block.text, screen.used)]


@block_lines.register
def _(block: Sentence, screen: Screen) -> list[str]:
    return folded(block.text, screen.used)


@block_lines.register
def _(block: Listed, screen: Screen) -> list[str]:
    return [line for each in block.items for line in folded(each, screen.used, "- ")]


@block_lines.register
def _(block: Steps, screen: Screen) -> list[str]:
    lines: list[str] = []
    for number, step in enumerate(block.items, start=1):
        lines += ["", *_step(number, step, screen)] if lines and step.title else _step(number, step, screen)
    return lines


def _step(number: int, step: Step, screen: Screen) -> list[str]:
    mark = f"{number}. "
    margin = " " * len(mark)
    out = folded(step.title or step.text, screen.used, mark)
    out += folded(step.text, screen.used, margin) if step.title else []
    return [*out, *(folded(f"Check: {step.check}", screen.used, margin) if step.check else [])]


@block_lines.register
def _(block: Table, screen: Screen) -> list[str]:
    return [*table_lines(block, screen.used), *folded(block.legend, screen.used)]


@block_lines.register
def _(block: Findings, screen: Screen) -> list[str]:
    return [line for finding in block.items for line in finding_lines(finding, screen)]


def finding_lines(finding: Finding, screen: Screen) -> list[str]:
    """Return a finding behind its mark, and what to do about it."""
    word = MARKS[finding.level]
    roomy = screen.used >= ROOMY
    mark = f"{word:9}" if roomy else f"{word}: "
    margin = " " * (len(mark) if roomy else 2)
    first, *later = folded(f"{finding.text} {finding.remedy}", screen.used, mark, margin)
    return [screen.inked(word, finding.level) + first[len(word) :], *later]


@block_lines.register
def _(block: Verbatim, screen: Screen) -> list[str]:
    margin = "    "
    width = screen.used - len(margin)
    return [margin + part for line in block.lines for part in _unbroken(line, width)]


def _unbroken(line: str, width: int) -> list[str]:
    """A line as it stands; folded below its own beginning only where it does not fit."""
    if len(line) <= width:
        return [line]
    indent = line[: len(line) - len(line.lstrip())]
    return folded(line, width, indent, indent + "    ")


@block_lines.register
def _(block: Figure, screen: Screen) -> list[str]:
    if not block.text:
        return folded(f"({block.title}: -o FILE.svg draws it.)", screen.used)
    wide = max(map(len, block.text))
    if wide > screen.used:
        return folded(f"({block.title}: the drawing is {wide} columns wide.)", screen.used)
    return list(block.text)


def lines_of(blocks: Sequence[Block], screen: Screen | None = None) -> list[str]:
    """Return blocks alone, without the frame of a page."""
    return _stacked(blocks, screen or Screen())
