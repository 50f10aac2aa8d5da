"""The pages of the bench sheet: their size, letters, lines and running titles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wheelcalc.page.tags import Html, in_css, tag

# What fits on A4 and on Letter alike, inside the margins [mm].
WIDTH, HEIGHT = 186.0, 245.0
PAPERS = {"any": "", "A4": "size: 210mm 297mm;", "Letter": "size: 8.5in 11in;"}

STYLE = """
html { background: #fff; color: #000; }
body { margin: 0 auto; padding: 0 0.3mm; font: 11.5pt/1.35 "Liberation Sans", Arial, Helvetica, sans-serif; overflow-wrap: break-word; }
@media screen { body { padding: 6mm; max-width: 186mm; } section { margin-bottom: 20mm; } }
section { break-after: page; }
section:last-of-type { break-after: auto; }
h1 { position: absolute; width: 1px; height: 1px; overflow: hidden; margin: -1px; }
.head { display: flex; align-items: stretch; border: 0.7mm solid #000; margin: 0 0 4mm; }
.head { break-inside: avoid; break-after: avoid; }
.head .number { background: #000; color: #fff; font-weight: bold; font-size: 17pt; padding: 1mm 3.5mm; }
.head .number { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
.head h2 { flex: 1; margin: 0; padding: 1mm 3.5mm; font-size: 17pt; line-height: 1.25; }
.head p { margin: 0; padding: 2mm 3.5mm; border-left: 0.3mm solid #000; font-size: 10pt; max-width: 70mm; }
.head p { overflow-wrap: anywhere; align-self: center; }
h3 { font-size: 13pt; margin: 5mm 0 1.5mm; break-after: avoid; }
p { margin: 0 0 2.5mm; orphans: 3; widows: 3; }
.large { font-size: 14pt; line-height: 1.3; }
.small { font-size: 10pt; }
td .large, th .large { white-space: nowrap; }
table { border-collapse: collapse; width: 100%; margin: 0 0 3mm; }
caption { text-align: left; font-weight: bold; padding-bottom: 1mm; }
th, td { border: 0.25mm solid #000; padding: 1mm 2mm; text-align: left; vertical-align: middle; font-weight: normal; }
th, td { overflow-wrap: break-word; }
thead th { font-weight: bold; border-bottom-width: 0.6mm; font-size: 10pt; }
tbody th { font-weight: bold; }
tr { break-inside: avoid; }
.log td, .log th { height: 7.4mm; padding: 0 1.2mm; }
.log.low td, .log.low th { height: 6.4mm; }
.slip td:nth-child(n+5) { white-space: nowrap; }
.filled td, .filled th { white-space: nowrap; font-size: 10.5pt; padding: 0 0.9mm; }
.dense td, .dense th { font-size: 9.5pt; padding: 0.5mm 1.5mm; line-height: 1.25; }
.record td:nth-child(2) { overflow-wrap: anywhere; }
.record th, .record td:last-child { white-space: nowrap; }
.dense tbody th { font-weight: normal; }
.plain td, .plain th { border: 0; padding: 0.5mm 2mm 0.5mm 0; }
.pair { display: flex; gap: 6mm; align-items: flex-start; }
.pair > * { flex: 1; min-width: 0; }
ul, ol { margin: 0 0 3mm; padding-left: 6mm; }
li { margin-bottom: 1.2mm; break-inside: avoid; }
ul.tick { list-style: none; padding: 0; }
ul.tick > li { display: flex; gap: 3mm; margin-bottom: 2mm; }
.box { display: inline-block; flex: none; width: 4.6mm; height: 4.6mm; border: 0.4mm solid #000; margin-top: 0.3mm; vertical-align: -1mm; }
.blank { display: inline-block; border-bottom: 0.35mm solid #000; height: 5.5mm; vertical-align: baseline; }
.finding { border: 0.4mm solid #000; padding: 1.5mm 2.5mm; margin: 0 0 2.5mm; break-inside: avoid; }
.finding.stop { border-width: 1.4mm; }
.finding.note { border-style: dashed; }
.finding b { text-transform: uppercase; letter-spacing: 0.04em; }
.step { border-left: 1mm solid #000; padding: 0 0 0 3mm; margin: 0 0 4mm; break-inside: avoid; }
.step h3 { margin: 0 0 1mm; }
.keep { break-inside: avoid; }
.next-page { break-before: page; }
figure { margin: 0 0 3mm; break-inside: avoid; }
figcaption { font-size: 10pt; }
svg { display: block; max-width: none; }
.reading { display: flex; gap: 4mm; align-items: flex-start; }
.reading figure { flex: none; width: 62mm; }
.readings td:first-of-type { min-width: 32mm; }
.readings td:last-child, .readings thead th { white-space: nowrap; }
.readings td, .readings th { font-size: 10pt; }
.flange figure { flex: none; }
.headless thead { display: none; }
.ruler { position: relative; }
.ruler figure { margin: 0; }
.corner { position: absolute; width: 84mm; }
.corner.upper { top: 0; left: 0; }
.corner.lower { bottom: 0; right: 0; width: 116mm; }
.corner .checked { display: block; }
.checked { display: flex; gap: 4mm; align-items: center; break-inside: avoid; margin: 1mm 0 3mm; }
.checked svg { flex: none; }
.checked p { margin: 0; }
.wrap { display: flex; flex-wrap: wrap; gap: 4mm 3mm; }
.wrap figure { margin: 0; }
.label { border: 0.5mm dashed #000; padding: 5mm; margin: 0 0 8mm; break-inside: avoid; }
.label .side { font-size: 46pt; font-weight: bold; line-height: 1; }
.label .length { font-size: 34pt; font-weight: bold; line-height: 1.1; }
"""
MARGIN_BOX = 'font: 9.5pt "Liberation Sans", Arial, Helvetica, sans-serif; color: #000;'


@dataclass(frozen=True)
class Page:
    """One section of the sheet, on as many pages as it needs.

    Parameters
    ----------
    name : for --only and --without
    title : heads it and runs along the top of its pages
    body : what stands on it
    narrow_margins : for what needs all of the paper
    """

    name: str
    title: str
    body: Sequence[Html]
    narrow_margins: bool = False


def document(build: str, pages: Sequence[Page], paper: str) -> str:
    """Return the whole HTML file.

    Parameters
    ----------
    build : title of the build, as the user typed it
    pages : the sections
    paper : "any" (whatever the printer holds), "A4" or "Letter"
    """
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", name="viewport", content="width=device-width"),
        tag("title", f"{build}: bench sheet"),
        tag("style", Html(STYLE + "".join(_running(build, page, paper) for page in pages))),
    )
    sections = [_section(build, number, page) for number, page in enumerate(pages, start=1)]
    body = tag("body", tag("main", tag("h1", f"{build}: bench sheet"), sections))
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n"


def shortened(text: str, most: int) -> str:
    """Return a text cut to a number of signs; the record has the whole."""
    return text if len(text) <= most else text[: most - 3].rstrip() + "..."


def _section(build: str, number: int, page: Page) -> Html:
    head = tag(
        "div",
        tag("span", number, class_="number"),
        tag("h2", page.title),
        tag("p", shortened(build, 70)),
        class_="head",
    )
    return tag("section", head, page.body, id=page.name, style=f"page: {page.name}")


def _running(build: str, page: Page, paper: str) -> str:
    """CSS that puts the titles and the page's number on every page of a section."""
    margin, below = ("11mm 8mm 10mm", "1.5mm") if page.narrow_margins else ("16mm 12mm 15mm", "4mm")
    titles = f"@top-left {{ content: {in_css(shortened(build, 40))}; {MARGIN_BOX} vertical-align: bottom; padding-bottom: {below}; }} "
    titles += (
        f"@top-right {{ content: {in_css(page.title)}; {MARGIN_BOX} vertical-align: bottom; padding-bottom: {below}; }}"
    )
    number = (
        f'@bottom-right {{ content: "page " counter(page) " of " counter(pages); {MARGIN_BOX} vertical-align: top; }}'
    )
    maker = f"@bottom-left {{ content: {in_css('wheelcalc bench sheet; print at 100 %')}; {MARGIN_BOX} vertical-align: top; }}"
    return f"@page {page.name} {{ {PAPERS[paper]} margin: {margin}; {titles} {number} {maker} }}\n"
