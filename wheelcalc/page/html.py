"""The page as HTML: the same blocks in the same order, for the notebook, the bench sheet and a phone."""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch

from wheelcalc.page.blocks import (
    Block,
    Column,
    Figure,
    Findings,
    Heading,
    Listed,
    Page,
    Sentence,
    Step,
    Steps,
    Table,
    Verbatim,
)
from wheelcalc.page.tags import Html, listed, tag
from wheelcalc.wheel.findings import Finding

WORDS = {"stop": "Stop", "caution": "Caution", "note": "Note"}
STYLE = """
.page { font: 1rem/1.4 "Liberation Sans", Arial, Helvetica, sans-serif; max-width: 60rem; overflow-wrap: break-word; }
.page h2 { font-size: 1.15rem; }
.page .verdict { font-size: 1.15rem; font-weight: bold; }
.page table { border-collapse: collapse; margin: 0 0 .8rem; }
.page th, .page td { border-bottom: 1px solid; padding: .15rem .5rem; text-align: left; vertical-align: top; }
.page thead th { vertical-align: bottom; border-bottom-width: 2px; }
.page .number { text-align: right; font-variant-numeric: tabular-nums; }
.page .scroll { overflow-x: auto; }
.page ul.findings { list-style: none; padding: 0; }
.page ul.findings li { border: 1px solid; border-left-width: 3px; padding: .3rem .6rem; margin: 0 0 .5rem; break-inside: avoid; }
.page ul.findings li.stop { border-width: 3px; }
.page pre { white-space: pre-wrap; }
.page figure { margin: 0; } .page figure svg { max-width: 100%; height: auto; }
.page tr, .page li { break-inside: avoid; }
@media (max-width: 30rem) { .page th, .page td { padding: .15rem .25rem; font-size: .9rem; } }
"""


def to_html(page: Page, *, every_assumption: bool = True, styled: bool = True) -> Html:
    """Return a page as one section of HTML.

    Parameters
    ----------
    page : what is written
    every_assumption : list those of little matter too
    styled : its style with it; else it takes that of the page around it
    """
    stops, rest = page.frame
    blocks = [*stops, *rest, *page.assumed(whole=every_assumption)]
    verdict = tag("p", page.first, class_="verdict")
    return tag("section", tag("style", Html(STYLE)) if styled else None, verdict, elements(blocks), class_="page")


def document(page: Page, *, every_assumption: bool = True) -> str:
    """Return a page as a whole HTML file."""
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", name="viewport", content="width=device-width"),
        tag("title", page.title or page.verdict),
    )
    body = tag("body", tag("main", tag("h1", page.title), to_html(page, every_assumption=every_assumption)))
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n"


def elements(blocks: Iterable[Block]) -> list[Html]:
    """Return blocks as HTML."""
    return [element(block) for block in blocks]


@singledispatch
def element(block: Block) -> Html:
    """Return a block as HTML."""
    raise NotImplementedError(type(block).__name__)


@element.register
def _(block: Heading) -> Html:
    return tag("h2", block.text.removesuffix(":"))


@element.register
def _(block: Sentence) -> Html:
    return tag("p", block.text)


@element.register
def _(block: Listed) -> Html:
    return listed(block.items)


@element.register
def _(block: Steps) -> Html:
    return listed(map(_step, block.items), ordered=True)


def _step(step: Step) -> list[Html]:
    title = [tag("strong", step.title), tag("br")] if step.title else []
    check = [tag("br"), tag("em", "Check:"), Html(" "), tag("span", step.check)] if step.check else []
    return [*title, tag("span", step.text), *check]


@element.register
def _(block: Table) -> Html:
    heads = [_head(column) for column in block.columns]
    rows = [_row(block, *each) for each in zip(block.rows, block.under, strict=True)]
    drawn = tag("table", tag("thead", tag("tr", heads)), tag("tbody", rows))
    names = f"table: {', '.join(column.name for column in block.columns)}"
    scroll = tag("div", drawn, class_="scroll", tabindex="0", role="region", aria_label=names)
    return Html(scroll + (tag("p", block.legend, class_="legend") if block.legend else ""))


def _row(block: Table, cells: list[str], under: str) -> list[Html]:
    row = tag("tr", [_cell(column, cell) for column, cell in zip(block.columns, cells, strict=True)])
    return [row, *([tag("tr", tag("td", under, colspan=len(cells)))] if under else [])]


def _head(column: Column) -> Html:
    return tag("th", column.name, scope="col", class_=_of(column)) if column.name else tag("td", "")


def _cell(column: Column, cell: str) -> Html:
    return tag("td", cell or "-", class_=_of(column))


def _of(column: Column) -> str | None:
    return "number" if column.align == "right" else None


@element.register
def _(block: Findings) -> Html:
    return listed_findings(block.items)


def listed_findings(findings: Iterable[Finding]) -> Html:
    """Return findings as a list; the level stands there as a word, and as the strength of the frame."""
    return tag("ul", [_finding(finding) for finding in findings], class_="findings")


def _finding(finding: Finding) -> Html:
    remedy = [Html(" "), tag("span", finding.remedy)] if finding.remedy else []
    return tag(
        "li",
        tag("strong", f"{WORDS[finding.level]}:"),
        Html(" "),
        tag("span", finding.text),
        remedy,
        class_=finding.level,
    )


@element.register
def _(block: Verbatim) -> Html:
    return tag("pre", "\n".join(block.lines))


@element.register
def _(block: Figure) -> Html:
    return tag("figure", Html(block.svg), tag("figcaption", block.title))
